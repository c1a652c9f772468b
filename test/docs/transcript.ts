/**
 * Transcripts in the documentation, run as a reader would run them. In a page, in order:
 *  - a block `file=NAME` writes that file, `append=NAME` adds to it;
 *  - a block of language diff with `file=NAME` changes lines of it: those with `-` are found, those with `+` take their place;
 *  - in a block of language console, lines that begin with "$ " are commands (going on after a backslash at the end of a line,
 *    and in lines that begin with "> "), the others what they print. A line with only "…" stands for any number of lines.
 */
import type { Block } from "./page.ts";

export interface Exchange {
  /** The lines of the command as written, with the "$ ". */
  readonly prompt: readonly string[];
  readonly command: string;
  readonly shown: readonly string[];
}

/** Commands of a console block with what the page says that they print. */
export function exchangesOf(block: Block): Exchange[] {
  const exchanges: { prompt: string[]; command: string; shown: string[] }[] = [];
  for (let i = 0; i < block.lines.length; i++) {
    const line = block.lines[i]!;
    if (!line.startsWith("$ ")) {
      const last = exchanges.at(-1);
      if (last === undefined) throw new Error(`line ${block.line}: a console block must begin with a command`);
      last.shown.push(line);
      continue;
    }
    const prompt = [line];
    while (prompt.at(-1)!.endsWith("\\") || block.lines[i + 1]?.startsWith("> ")) prompt.push(block.lines[++i]!);
    const command = prompt.map((text) => text.replace(/^[$>] /, "")).join("\n");
    exchanges.push({ prompt, command, shown: [] });
  }
  return exchanges;
}

/** Whether a line is the one that leaves lines out. */
const isGap = (line: string): boolean => line.trim() === "…";

/** The lines printed, as far as the page shows them; undefined when what is shown does not fit what is printed. */
export function matchShown(
  shown: readonly string[],
  printed: readonly string[],
  same: (shown: string, printed: string) => boolean,
): string[] | undefined {
  const out: string[] = [];
  let at = 0;
  let mayJump = false;
  for (let i = 0; i < shown.length; ) {
    if (isGap(shown[i]!)) {
      out.push(shown[i]!);
      mayJump = true;
      i++;
      continue;
    }
    let end = i;
    while (end < shown.length && !isGap(shown[end]!)) end++;
    const piece = shown.slice(i, end);
    const fitsAt = (from: number) =>
      from + piece.length <= printed.length && piece.every((line, k) => same(line, printed[from + k]!));
    // The last piece must reach to the end of what was printed.
    let from = end === shown.length && mayJump ? printed.length - piece.length : at;
    if (from < at) return undefined;
    while (mayJump && end < shown.length && from < printed.length && !fitsAt(from)) from++;
    if (!fitsAt(from)) return undefined;
    out.push(...printed.slice(from, from + piece.length));
    at = from + piece.length;
    mayJump = false;
    i = end;
  }
  return mayJump || at === printed.length ? out : undefined;
}

const NUMBER = /-?\d+(?:\.\d+)?(?:e[+-]?\d+)?/g;
/** Numbers that differ by less, absolutely or as a share, are the same: the last digits depend on the processor. */
const SAME_NUMBER = 1e-9;

/** The same text, numbers compared as numbers. */
export function agrees(shown: string, printed: string): boolean {
  if (shown === printed) return true;
  const [a, b] = [shown.match(NUMBER) ?? [], printed.match(NUMBER) ?? []].map((list) => list.map(Number));
  return (
    shown.replaceAll(NUMBER, "#") === printed.replaceAll(NUMBER, "#") &&
    a!.every((value, i) => Math.abs(value - b![i]!) <= SAME_NUMBER * Math.max(1, Math.abs(value)))
  );
}

/**
 * What is shown, with each paragraph as it is printed now: paragraphs are found again by their first line, numbers apart,
 * the first one by its place. Undefined where one is gone, or where what comes out would leave lines out without saying so.
 */
export function renewed(shown: readonly string[], printed: readonly string[]): string[] | undefined {
  const paragraphs: string[][] = [[]];
  for (const line of printed) {
    if (line === "") paragraphs.push([]);
    else paragraphs.at(-1)!.push(line);
  }
  const out: string[] = [];
  for (let i = 0; i < shown.length; ) {
    const line = shown[i]!;
    if (line === "" || isGap(line)) {
      out.push(line);
      i++;
      continue;
    }
    const now =
      i === 0 ? paragraphs[0] : paragraphs.find(([first]) => first !== undefined && shape(first) === shape(line));
    if (now === undefined) return undefined;
    out.push(...now);
    while (i < shown.length && shown[i] !== "" && !isGap(shown[i]!)) i++;
  }
  return matchShown(out, printed, (a, b) => a === b);
}

const shape = (line: string): string => line.replaceAll(NUMBER, "#");

/** A text with the lines of a diff block changed. @throws Error when the old lines do not stand there exactly once */
export function change(text: string, diff: readonly string[], where: string): string {
  let changed = text;
  for (const { old, fresh } of hunks(diff)) {
    const from = `\n${changed}`.indexOf(`\n${old}`);
    if (old === "" || from < 0) throw new Error(`${where}: not found:\n${old}`);
    if (`\n${changed}`.indexOf(`\n${old}`, from + 1) >= 0) throw new Error(`${where}: found more than once:\n${old}`);
    changed = changed.slice(0, from) + fresh + changed.slice(from + old.length);
  }
  return changed;
}

/** Each stretch of lines as they were and as they become; an empty line or "…" between two parts them. */
function hunks(diff: readonly string[]): { old: string; fresh: string }[] {
  const parts: string[][] = [[]];
  for (const line of diff) {
    if (line.trim() === "" || isGap(line)) parts.push([]);
    else parts.at(-1)!.push(line);
  }
  const side = (lines: string[], signs: string) =>
    lines.flatMap((line) => (signs.includes(line[0]!) ? [`${line.slice(1)}\n`] : [])).join("");
  return parts.filter((p) => p.length > 0).map((p) => ({ old: side(p, "- "), fresh: side(p, "+ ") }));
}
