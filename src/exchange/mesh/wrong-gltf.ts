/** Thrown inside the glTF reader at the first thing that is wrong, caught at its entry. */
export class WrongGltf {
  constructor(
    readonly code:
      | "mesh-truncated"
      | "mesh-syntax"
      | "mesh-unsupported"
      | "mesh-too-large"
      | "missing-file"
      | "outside",
    readonly found: string,
    readonly expected: string,
    readonly mend: string,
    readonly line = 1,
  ) {}
}

export const EXPORT_AGAIN = "Export it again; the file is damaged or its exporter is.";

/** @param at place in the file, "accessors[3].count" */
export const broken = (at: string, found: string, expected: string): WrongGltf =>
  new WrongGltf("mesh-syntax", `${at}: ${found}`, expected, EXPORT_AGAIN);

/** Parts of a JSON tree of which nothing is known. */
type Json = { readonly [key: string]: unknown };

export function objectAt(value: unknown, at: string): Json {
  if (typeof value === "object" && value !== null && !Array.isArray(value)) return value as Json;
  throw broken(at, shown(value), "an object");
}

/** A list; an empty one where there is none. */
export function listAt(value: unknown, at: string): readonly unknown[] {
  if (value === undefined) return [];
  if (Array.isArray(value)) return value;
  throw broken(at, shown(value), "a list");
}

/** A whole number of at least `least`; `missing` where there is none. */
export function countAt(value: unknown, at: string, least = 0, missing?: number): number {
  if (value === undefined && missing !== undefined) return missing;
  if (Number.isSafeInteger(value) && (value as number) >= least) return value as number;
  throw broken(at, shown(value), `a whole number of at least ${least}`);
}

/** Entry of a list by a number that stands in the file. */
export function entryAt(list: readonly unknown[], index: unknown, at: string, what: string): Json {
  const i = countAt(index, at);
  if (i >= list.length) throw broken(at, `${i}`, `one of the ${list.length} ${what}`);
  return objectAt(list[i], `${what}[${i}]`);
}

const shown = (value: unknown) => (value === undefined ? "nothing" : JSON.stringify(value).slice(0, 40));
