/** Collects issues while a cell is read, in any order; hands them out in the order of the files, at most a hundred. */
import type { InputIssue } from "../issue.ts";
import { describe, pathText, printable, type Spot, type Written } from "./written.ts";

const MOST_LISTED = 100;
const MOST_KEPT = 5000;
/** Longest part of a message. */
const LONGEST = 800;

export class IssueLog {
  readonly #kept: { readonly issue: InputIssue; readonly order: number; readonly start: number }[] = [];
  #dropped = 0;

  /** Number of issues so far. */
  get count(): number {
    return this.#kept.length + this.#dropped;
  }

  /** An issue at a spot, `found` in the caller's words. */
  add(code: string, spot: Spot, found: string, expected: string, mend: string): void {
    if (this.#kept.length >= MOST_KEPT) {
      this.#dropped++;
      return;
    }
    const { source, start, path } = spot;
    this.#kept.push({
      issue: {
        code,
        path: pathText(path),
        place: source.place(start),
        found: found.trim() === "" ? `"${printable(found, LONGEST)}"` : printable(found, LONGEST),
        expected: printable(expected, LONGEST),
        mend: printable(mend, LONGEST),
      },
      order: source.order,
      start,
    });
  }

  /** An issue in the caller's words. Returns undefined, to be returned by readers. */
  report(code: string, spot: Spot, found: string, expected: string, mend: string): undefined {
    this.add(code, spot, found, expected, mend);
    return undefined;
  }

  /** An issue about a value, which is shown as written. Returns undefined, to be returned by readers. */
  wrong(code: string, at: Written, expected: string, mend: string): undefined {
    this.add(code, at, describe(at), expected, mend);
    return undefined;
  }

  /** An issue found by another reader, in a file of its own. */
  foreign(issue: InputIssue): void {
    if (this.#kept.length >= MOST_KEPT) this.#dropped++;
    else this.#kept.push({ issue, order: Number.MAX_SAFE_INTEGER, start: this.#kept.length });
  }

  /** All issues by file and position; past a hundred the last one says how many more there are. */
  list(): readonly InputIssue[] {
    const sorted = [...this.#kept].sort((a, b) => a.order - b.order || a.start - b.start).map(({ issue }) => issue);
    if (this.count <= MOST_LISTED) return sorted;
    const last = sorted[MOST_LISTED - 1]!;
    return [
      ...sorted.slice(0, MOST_LISTED - 1),
      {
        code: "too-many-issues",
        path: "",
        place: last.place,
        found: `${this.count - MOST_LISTED + 1} more problems from here on`,
        expected: "fewer",
        mend: "Mend the ones listed first and load the file again.",
      },
    ];
  }
}
