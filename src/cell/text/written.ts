/**
 * A cell file as it is written: maps, lists and scalars that know where they stand, and nothing about their meaning.
 * Scalars keep their text; what the text means (a number, a level, a quantity) is decided by whoever reads them.
 */
import type { SourcePlace } from "../issue.ts";

/** Path from the top of the cell: ["routines", "load", 3, "go"]. */
export type Path = readonly (string | number)[];

/** A text with a name, able to turn an offset into line and column. */
export interface SourceText {
  readonly name: string;
  /** Position in reading order among the files of a cell; orders issues. */
  readonly order: number;
  /** Line and column, both from 1, of an offset in the text (clamped to it). */
  place(offset: number): SourcePlace;
}

/** Anything an issue can point at. */
export interface Spot {
  readonly source: SourceText;
  readonly start: number;
  readonly path: Path;
}

export interface WrittenScalar extends Spot {
  readonly kind: "scalar";
  readonly text: string;
  /** False for plain text; an empty plain scalar is "nothing". */
  readonly quoted: boolean;
}

export interface WrittenList extends Spot {
  readonly kind: "list";
  readonly items: readonly Written[];
}

export interface WrittenEntry {
  readonly key: string;
  readonly keySpot: Spot;
  readonly value: Written;
}

export interface WrittenMap extends Spot {
  readonly kind: "map";
  readonly entries: readonly WrittenEntry[];
}

export type Written = WrittenScalar | WrittenList | WrittenMap;

/** True for an empty value, `null` or `~`. */
export function isNothing(at: Written): boolean {
  return at.kind === "scalar" && !at.quoted && (at.text === "" || at.text === "null" || at.text === "~");
}

/** The value of a key of a map; undefined when it is not written or not a map. */
export function valueAt(at: Written | undefined, key: string): Written | undefined {
  return at?.kind === "map" ? at.entries.find((entry) => entry.key === key)?.value : undefined;
}

/** Keys of a map in the order written; none for anything else. */
export function keysOf(at: Written | undefined): readonly string[] {
  return at?.kind === "map" ? at.entries.map((entry) => entry.key) : [];
}

/** Path as text: routines.load[3].go; keys that are not plain words in quotes. */
export function pathText(path: Path): string {
  let text = "";
  for (const part of path) {
    if (typeof part === "number") text += `[${part}]`;
    else text += (text === "" ? "" : ".") + (/^[\w .-]{1,64}$/.test(part) ? part : printable(JSON.stringify(part), 40));
  }
  return text;
}

/** What stands there, for a message. */
export function describe(at: Written): string {
  if (at.kind === "list") return at.items.length === 0 ? "an empty list" : `a list of ${at.items.length}`;
  if (at.kind === "map") {
    const keys = at.entries.slice(0, 4).map((entry) => printable(entry.key, 24));
    if (keys.length === 0) return "an empty map";
    return `a map with ${keys.join(", ")}${at.entries.length > 4 ? ", …" : ""}`;
  }
  if (isNothing(at)) return "nothing";
  return at.quoted ? `"${printable(at.text, 60)}"` : printable(at.text, 60);
}

/** Text cut to a length, with control characters made visible. */
export function printable(text: string, limit: number): string {
  const cut = text.length > limit ? `${text.slice(0, limit)}…` : text;
  let out = "";
  for (const character of cut) {
    const code = character.codePointAt(0)!;
    const hidden = code < 32 || (code >= 127 && code < 160) || (code >= 0xd800 && code < 0xe000) || code === 0xfeff;
    out += hidden ? `\\u${code.toString(16).padStart(4, "0")}` : character;
  }
  return out;
}

/**
 * Where a path is written: the nearest enclosing place when the path itself is not. Keys that a short form or a step's
 * keyword leaves out are looked through, so that ["routines", "load", 4, "do", 0] finds the step inside `each`.
 */
export function locate(root: Written, path: Path): SourcePlace {
  let at: Written = root;
  let spot: Spot = root;
  for (const part of path) {
    const next: { readonly spot: Spot; readonly value: Written } | undefined = inside(at, part, 2);
    if (next === undefined) break;
    spot = next.spot;
    at = next.value;
  }
  return spot.source.place(spot.start);
}

function inside(at: Written, part: string | number, depth: number): { spot: Spot; value: Written } | undefined {
  if (typeof part === "number") {
    if (at.kind === "list") {
      const item = at.items[part];
      return item && { spot: item, value: item };
    }
  } else if (at.kind === "map") {
    const entry = at.entries.find(({ key }) => key === part);
    if (entry) return { spot: entry.keySpot, value: entry.value };
  }
  if (at.kind !== "map" || depth === 0) return undefined;
  for (const { key, value } of at.entries) {
    if (key === "note" || value.kind === "scalar") continue;
    const found = inside(value, part, depth - 1);
    if (found) return found;
  }
  return undefined;
}
