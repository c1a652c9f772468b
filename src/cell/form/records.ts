/** Records: maps with known keys. One table of fields reads them, reports what is unknown or missing, and prints their schema. */
import { nearest } from "../text/did-you-mean.ts";
import { describe, isNothing, keysOf, printable, type WrittenEntry, type WrittenMap } from "../text/written.ts";
import type { JsonSchema, Kind, Reading } from "./kind.ts";
import { text } from "./scalars.ts";

export interface Field<T, Needed extends boolean = boolean> {
  readonly kind: Kind<T>;
  readonly needed: Needed;
  readonly doc: string;
}

/** A key that has to be written. */
export const need = <T>(kind: Kind<T>, doc: string): Field<T, true> => ({ kind, needed: true, doc });
/** A key that may be left out. */
export const may = <T>(kind: Kind<T>, doc: string): Field<T, false> => ({ kind, needed: false, doc });

export type Fields = Readonly<Record<string, Field<unknown>>>;

/** What a record with these fields reads to: needed keys always there, the others perhaps, and where it is written. */
export type RecordOf<F extends Fields> = {
  readonly [K in keyof F as F[K] extends Field<unknown, true> ? K : never]: F[K] extends Field<infer T> ? T : never;
} & {
  readonly [K in keyof F as F[K] extends Field<unknown, true> ? never : K]?: F[K] extends Field<infer T> ? T : never;
} & { readonly written: WrittenMap };

export interface RecordOptions {
  /** Free text under the key `note` is allowed. */
  readonly note?: boolean;
  /** Groups of keys of which at most one may be written. */
  readonly atMostOne?: readonly (readonly string[])[];
  /** Groups of keys of which exactly one has to be written. */
  readonly exactlyOne?: readonly (readonly string[])[];
}

/** A map with known keys. Unknown and missing keys are issues; undefined when anything is wrong, after everything is read. */
export function record<F extends Fields>(what: string, fields: F, options: RecordOptions = {}): Kind<RecordOf<F>> {
  const all: Fields =
    options.note === true && !("note" in fields) ? { ...fields, note: may(text, "free text") } : fields;
  return {
    expected: what,
    read(at, reading) {
      if (at.kind !== "map")
        return reading.log.wrong("wrong-type", at, what, `Write ${what} as a map with ${someKeys(all)}.`);
      const groups = [...(options.exactlyOne ?? []), ...(options.atMostOne ?? [])];
      const fitting = groups.map((group) =>
        checkGroup(at, group, options.exactlyOne?.includes(group) === true, what, reading),
      );
      const read = readRecord(at, all, what, reading) as RecordOf<F> | undefined;
      return fitting.includes(false) ? undefined : read;
    },
    schema(parts) {
      const properties: Record<string, JsonSchema> = {};
      for (const [key, field] of Object.entries(all)) {
        const own = field.kind.schema(parts);
        properties[key] = { ...own, description: field.doc };
      }
      const required = Object.entries(all).flatMap(([key, field]) => (field.needed ? [key] : []));
      const groups = [
        ...(options.exactlyOne ?? []).map((group) => ({ oneOf: group.map((key) => ({ required: [key] })) })),
        ...(options.atMostOne ?? []).map((group) => ({
          not: { anyOf: pairs(group).map((pair) => ({ required: pair })) },
        })),
      ];
      return {
        type: "object",
        properties,
        ...(required.length > 0 ? { required } : {}),
        ...(groups.length > 0 ? { allOf: groups } : {}),
        additionalProperties: false,
        description: what,
      };
    },
  };
}

function checkGroup(
  at: WrittenMap,
  group: readonly string[],
  needed: boolean,
  what: string,
  reading: Reading,
): boolean {
  const present = at.entries.filter(({ key }) => group.includes(key));
  if (present.length === 1 || (present.length === 0 && !needed)) return true;
  const choice = `one of ${group.join(", ")}`;
  if (present.length === 0) {
    // A mistyped key is reported as unknown, with what was meant; a second issue for the same slip would only confuse.
    if (at.entries.some(({ key }) => nearest(key, group) !== undefined)) return false;
    reading.log.add("missing-key", at, `${describe(at)} without ${choice}`, choice, `State ${choice} for ${what}.`);
  } else {
    reading.log.add(
      "conflicting-keys",
      present[1]!.keySpot,
      `${present.map(({ key }) => key).join(" and ")} together`,
      needed ? choice : `at most ${choice}`,
      "Keep one of them.",
    );
  }
  return false;
}

const pairs = (group: readonly string[]) => group.flatMap((a, i) => group.slice(i + 1).map((b) => [a, b]));

/** Reads the entries of a map by fields. */
export function readRecord(
  at: WrittenMap,
  fields: Fields,
  what: string,
  reading: Reading,
): Record<string, unknown> | undefined {
  const before = reading.log.count;
  const out: Record<string, unknown> = { written: at };
  const present = new Set(keysOf(at));
  for (const [i, { key, keySpot, value }] of at.entries.entries()) {
    const field = Object.hasOwn(fields, key) ? fields[key] : undefined;
    if (field === undefined) {
      const unused = Object.keys(fields).filter((known) => !present.has(known));
      const near = nearest(key, unused) ?? nearest(key, Object.keys(fields));
      reading.log.add(
        "unknown-key",
        keySpot,
        printable(key, 60),
        `a key of ${what} (${Object.keys(fields).join(", ")})`,
        near
          ? `Did you mean ${near}?`
          : isNothing(value) && afterText(at.entries[i - 1], keySpot)
            ? "If it belongs to the text before the comma, put that text in quotes; else remove it."
            : "Remove it, or write it as a comment or note.",
      );
      continue;
    }
    const read = field.kind.read(value, reading);
    if (read !== undefined) out[key] = read;
  }
  for (const [key, field] of Object.entries(fields)) {
    if (!field.needed || present.has(key)) continue;
    reading.log.add(
      "missing-key",
      at,
      `${describe(at)} without ${key}`,
      `${key}: ${field.kind.expected}`,
      `Add ${key}: ${field.doc}.`,
    );
  }
  return reading.log.count === before ? out : undefined;
}

/** True for a key on the line of a text before it: in braces, a comma ends a text that is not in quotes. */
function afterText(before: WrittenEntry | undefined, keySpot: WrittenEntry["keySpot"]): boolean {
  if (before?.value.kind !== "scalar" || before.value.quoted) return false;
  return before.value.source.place(before.value.start).line === keySpot.source.place(keySpot.start).line;
}

function someKeys(fields: Fields): string {
  const needed = Object.entries(fields).filter(([, field]) => field.needed);
  const shown = (needed.length > 0 ? needed : Object.entries(fields)).slice(0, 4).map(([key]) => key);
  return shown.join(", ");
}
