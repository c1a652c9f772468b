/** Text of one file to what is written in it. Never throws, whatever the text. */
import { isAlias, isMap, isScalar, isSeq } from "yaml";
import { composeText } from "./compose-text.ts";
import { didYouMean } from "./did-you-mean.ts";
import type { IssueLog } from "./issue-log.ts";
import { syntaxMessage } from "./syntax-messages.ts";
import { type Path, pathText, printable, type SourceText, type Written, type WrittenEntry } from "./written.ts";

/** Largest text of one file, characters. */
const LARGEST_TEXT = 500_000;
/** Deepest nesting of maps and lists. */
const DEEPEST = 60;
/** Most values in one file, aliases written out. */
const MOST_VALUES = 100_000;
const MOST_SYNTAX_ISSUES = 20;

/**
 * Parses YAML 1.2 or JSON. Scalars stay text (failsafe schema), keys are text, aliases are written out.
 * @returns undefined when the text is not usable; the reasons are then in the log
 */
export function parseText(text: string, name: string, order: number, log: IssueLog): Written | undefined {
  const body = text.charCodeAt(0) === 0xfeff ? text.slice(1) : text;
  const length = Math.min(body.length, LARGEST_TEXT);
  let lineStarts: readonly number[] | undefined;
  const source: SourceText = {
    name,
    order,
    place(offset) {
      lineStarts ??= startsOfLines(body, length);
      const at = Math.max(0, Math.min(offset, length));
      const line = lastAtMost(lineStarts, at);
      return { file: name, line: line + 1, column: at - lineStarts[line]! + 1 };
    },
  };
  const at = (start: number) => ({ source, start, path: [] as Path });

  if (body.length > LARGEST_TEXT) {
    log.add(
      "too-large",
      at(0),
      `${body.length} characters`,
      `at most ${LARGEST_TEXT}`,
      "A cell file is text written by hand: check that this is the right file, or split it with include.",
    );
    return undefined;
  }
  const odd = firstOddCharacter(body);
  if (odd >= 0) {
    log.add(
      "not-text",
      at(odd),
      `a character that is not text (U+${body.codePointAt(odd)!.toString(16).toUpperCase().padStart(4, "0")})`,
      "a YAML or JSON text in UTF-8",
      "Check that this is the right file and save it as UTF-8 text.",
    );
    return undefined;
  }
  const composed = composeText(body);
  if ("problem" in composed) {
    if (composed.problem === "too deep") return tooDeep(log, at(composed.at));
    log.add(
      "too-many-values",
      at(composed.at),
      "far more than a cell file holds",
      "fewer words and signs",
      "Check that this is the right file.",
    );
    return undefined;
  }
  const { document, second } = composed;
  const troubles = [...document.errors, ...document.warnings];
  for (const { code, pos } of troubles.slice(0, MOST_SYNTAX_ISSUES)) {
    const start = Math.min(pos[0], body.length);
    const { expected, mend } = syntaxMessage(code);
    log.add(code === "TAB_AS_INDENT" ? "tab" : "syntax", at(start), excerpt(body, start), expected, mend);
  }
  if (second !== undefined) {
    const { expected, mend } = syntaxMessage("MULTIPLE_DOCS");
    log.add("syntax", at(second), excerpt(body, second), expected, mend);
  }
  if (troubles.length > 0 || second !== undefined) return undefined;

  return write(document.contents, source, body, log);
}

function write(contents: unknown, source: SourceText, body: string, log: IssueLog): Written | undefined {
  const anchors = new Map<string, unknown>();
  const open = new Set<unknown>();
  let values = 0;
  let given = false;

  const giveUp = (
    code: string,
    start: number,
    path: Path,
    found: string,
    expected: string,
    mend: string,
  ): undefined => {
    if (!given) log.add(code, { source, start, path }, found, expected, mend);
    given = true;
    return undefined;
  };

  function convert(node: unknown, start: number, path: Path, depth: number): Written | undefined {
    if (given) return undefined;
    if (++values > MOST_VALUES)
      return giveUp(
        "too-many-values",
        start,
        path,
        `more than ${MOST_VALUES} values with aliases written out`,
        "fewer",
        "Use fewer or smaller aliases.",
      );
    if (depth > DEEPEST)
      return giveUp(
        "too-deep",
        start,
        path,
        `nesting deeper than ${DEEPEST}`,
        `at most ${DEEPEST} maps and lists inside each other`,
        "Flatten it; a cell file needs far less.",
      );
    if (isAlias(node)) {
      const target = anchors.get(node.source);
      const here = node.range?.[0] ?? start;
      if (target === undefined) {
        const mend = didYouMean(node.source, anchors.keys()) || `Write &${node.source} before the value that is meant.`;
        log.add(
          "missing-anchor",
          { source, start: here, path },
          `*${printable(node.source, 40)}`,
          "the alias of an anchor written above it",
          mend,
        );
        return { kind: "scalar", text: "", quoted: false, source, start: here, path };
      }
      if (open.has(target))
        return giveUp(
          "alias-cycle",
          here,
          path,
          `*${printable(node.source, 40)} inside its own anchor`,
          "an alias of something else",
          "Write the value out here.",
        );
      return convert(target, here, path, depth);
    }
    const tag = (node as { tag?: unknown } | null)?.tag;
    if (typeof tag === "string") {
      const spot = { source, start: (node as { range?: readonly number[] }).range?.[0] ?? start, path };
      const { expected, mend } = syntaxMessage("TAG_RESOLVE_FAILED");
      log.add("syntax", spot, `the tag ${printable(tag, 60)}`, expected, mend);
    }
    if (isScalar(node)) {
      if (node.anchor) anchors.set(node.anchor, node);
      const quoted = node.type !== undefined && node.type !== "PLAIN";
      const text = typeof node.value === "string" ? node.value : node.value == null ? "" : String(node.value);
      // An empty value has no place of its own: its key, or its list, stands for it.
      const own = text === "" && !quoted ? start : (node.range?.[0] ?? start);
      return { kind: "scalar", text, quoted, source, start: own, path };
    }
    if (isSeq(node)) {
      if (node.anchor) anchors.set(node.anchor, node);
      open.add(node);
      const own = node.range?.[0] ?? start;
      const items: Written[] = [];
      for (const item of node.items) {
        const value = convert(item, own, [...path, items.length], depth + 1);
        if (value === undefined) return undefined;
        items.push(value);
      }
      open.delete(node);
      return { kind: "list", items, source, start: own, path };
    }
    if (isMap(node)) {
      if (node.anchor) anchors.set(node.anchor, node);
      open.add(node);
      const own = node.range?.[0] ?? start;
      const entries = new Map<string, WrittenEntry>();
      for (const pair of node.items) {
        const keyStart = (pair.key as { range?: readonly number[] } | null)?.range?.[0] ?? own;
        if (!isScalar(pair.key) || typeof pair.key.value !== "string" || pair.key.value === "") {
          log.add(
            "bad-key",
            { source, start: keyStart, path },
            "a key that is not a word",
            "a key followed by ':'",
            "Write the key as plain text.",
          );
          continue;
        }
        const key = pair.key.value;
        const inner = [...path, key];
        const keySpot = { source, start: keyStart, path: inner };
        const value = convert(pair.value, keyStart, inner, depth + 1);
        if (value === undefined && given) return undefined;
        const first = entries.get(key);
        if (first) {
          const { line } = source.place(first.keySpot.start);
          log.add(
            "duplicate-key",
            keySpot,
            `${printable(key, 40)} a second time`,
            `${pathText([key])} once (first on line ${line})`,
            "Remove or rename one of the two.",
          );
          continue;
        }
        entries.set(key, {
          key,
          keySpot,
          value: value ?? { kind: "scalar", text: "", quoted: false, source, start: keyStart, path: inner },
        });
      }
      open.delete(node);
      return { kind: "map", entries: [...entries.values()], source, start: own, path };
    }
    return { kind: "scalar", text: "", quoted: false, source, start: Math.min(start, body.length), path };
  }

  return convert(contents, 0, [], 0);
}

function tooDeep(log: IssueLog, spot: { source: SourceText; start: number; path: Path }): undefined {
  log.add(
    "too-deep",
    spot,
    "maps or lists nested too deeply",
    `at most ${DEEPEST} inside each other`,
    "Check that this is the right file.",
  );
  return undefined;
}

function startsOfLines(text: string, length: number): readonly number[] {
  const starts = [0];
  for (let i = text.indexOf("\n"); i >= 0 && i < length; i = text.indexOf("\n", i + 1)) starts.push(i + 1);
  return starts;
}

/** Index of the last entry that is at most `value`, in a rising list whose first entry is. */
function lastAtMost(list: readonly number[], value: number): number {
  let low = 0;
  let high = list.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (list[middle]! <= value) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Offset of the first control character or damaged character, -1 when there is none. */
function firstOddCharacter(text: string): number {
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code < 32 ? code !== 9 && code !== 10 && code !== 13 : code === 0xfffd || code === 0x7f) return i;
  }
  return -1;
}

/** The rest of the line at an offset, shortened. */
function excerpt(text: string, start: number): string {
  const end = text.indexOf("\n", start);
  const rest = text.slice(start, end < 0 ? undefined : end).trimEnd();
  if (start >= text.length) return "the end of the file";
  return rest === "" ? "the end of the line" : printable(rest, 40);
}
