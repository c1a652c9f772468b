/** Issues of input files as text. */
import { formatIssue, type InputIssue } from "../cell/issue.ts";
import { clean } from "./text.ts";

/** Issues printed one by one; the rest are counted. */
const MOST = 100;

/** One issue per line, in the order given, behind a line that counts them. */
export function issuesText(issues: readonly InputIssue[]): string {
  const lines = issues.slice(0, MOST).map((issue) => clean(formatIssue(issue)));
  const left = issues.length - lines.length;
  if (left > 0) lines.push(`… and ${left} more`);
  const count =
    issues.length === 1 ? "the input cannot be used:" : `the input cannot be used, ${issues.length} issues:`;
  return [count, ...lines].join("\n");
}
