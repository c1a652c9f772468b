/** Kinds of lists, maps and records. */
import { nearest } from "../text/did-you-mean.ts";
import { describe, isNothing, keysOf, printable, type Written, type WrittenMap } from "../text/written.ts";
import type { JsonSchema, Kind, Reading } from "./kind.ts";
import { type Measure, type MeasureName, measures, parseQuantity } from "./quantity.ts";
import { isPlainNumber, NAME, NUMBER_PATTERN, quantityPattern, readQuantity, text } from "./scalars.ts";

/** A list of any length in [least, most]; undefined as soon as one item is wrong (all of them are read). */
export function listOf<T>(what: string, item: Kind<T>, least = 0, most = 10_000): Kind<readonly T[]> {
  return {
    expected: what,
    read(at, reading) {
      if (at.kind !== "list")
        return reading.log.wrong(
          "wrong-type",
          at,
          what,
          "Write a list: [a, b], or one entry a line beginning with '- '.",
        );
      if (at.items.length < least || at.items.length > most)
        return reading.log.wrong(
          "wrong-length",
          at,
          `${what}, ${least === most ? `${least}` : `${least} to ${most}`} entries`,
          "Add or remove entries.",
        );
      const read = at.items.map((entry) => item.read(entry, reading));
      return read.every((value) => value !== undefined) ? (read as T[]) : undefined;
    },
    schema: (parts) => ({
      type: "array",
      items: item.schema(parts),
      minItems: least,
      ...(most < 10_000 ? { maxItems: most } : {}),
      description: what,
    }),
  };
}

/** A map from names chosen by the user. Entries that are wrong are left out (their reasons are in the log). */
export function mapOf<T>(
  what: string,
  item: Kind<T>,
  options: { readonly reserved?: readonly string[]; readonly least?: number; readonly anyKey?: boolean } = {},
): Kind<ReadonlyMap<string, T>> {
  const { reserved = [], least = 0, anyKey = false } = options;
  return {
    expected: what,
    read(at, reading) {
      if (at.kind !== "map") return reading.log.wrong("wrong-type", at, what, "Write each entry as name: value.");
      if (at.entries.length < least)
        return reading.log.wrong("wrong-length", at, `${what}, at least ${least}`, "Add an entry.");
      const out = new Map<string, T>();
      for (const { key, keySpot, value } of at.entries) {
        if (!anyKey && !NAME.test(key)) {
          reading.log.add(
            "bad-name",
            keySpot,
            printable(key, 70),
            "a name of letters, digits, - and _, at most 64",
            "Choose a name without spaces and other signs.",
          );
        } else if (reserved.includes(key)) {
          reading.log.add("bad-name", keySpot, key, "another name", `${key} is given and cannot be declared.`);
        }
        const read = item.read(value, reading);
        if (read !== undefined) out.set(key, read);
      }
      return out;
    },
    schema: (parts) => ({
      type: "object",
      ...(least > 0 ? { minProperties: least } : {}),
      ...(anyKey
        ? {}
        : { propertyNames: { pattern: NAME.source, ...(reserved.length > 0 ? { not: { enum: reserved } } : {}) } }),
      additionalProperties: item.schema(parts),
      description: what,
    }),
  };
}

/** A map whose keys are names of something declared elsewhere, resolved by `key`. Keeps the order written. */
export function mapBy<T>(
  what: string,
  key: (at: Written, name: string, reading: Reading) => string | undefined,
  item: Kind<T>,
): Kind<ReadonlyMap<string, T>> {
  return {
    expected: what,
    read(at, reading) {
      if (at.kind !== "map") return reading.log.wrong("wrong-type", at, what, "Write each entry as name: value.");
      const out = new Map<string, T>();
      for (const entry of at.entries) {
        const name = key({ kind: "scalar", text: entry.key, quoted: false, ...entry.keySpot }, entry.key, reading);
        const read = item.read(entry.value, reading);
        if (name !== undefined && read !== undefined) out.set(name, read);
      }
      return out;
    },
    schema: (parts) => ({ type: "object", additionalProperties: item.schema(parts), description: what }),
  };
}

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
  for (const { key, keySpot, value } of at.entries) {
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
          : isNothing(value)
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

function someKeys(fields: Fields): string {
  const needed = Object.entries(fields).filter(([, field]) => field.needed);
  const shown = (needed.length > 0 ? needed : Object.entries(fields)).slice(0, 4).map(([key]) => key);
  return shown.join(", ");
}

/**
 * A list of like quantities, [0 mm, 120 mm, 35 mm]; the unit may stand with the last entry only, and the whole may be plain
 * text, "0, 120, 35 mm".
 */
export function quantities(name: MeasureName, lengths: readonly number[], what: string): Kind<readonly number[]> {
  const measure: Measure = measures[name];
  const sample = `[${Array.from({ length: lengths[0]! }, () => measure.sample.split(" ")[0]).join(", ")} ${measure.units[0]}]`;
  const expected = `${what} such as ${sample}`;
  return {
    expected,
    read(at, reading) {
      const items = itemsOf(at);
      if (items === undefined)
        return reading.log.wrong("wrong-type", at, expected, `Write ${what} in brackets with its unit.`);
      if (!lengths.includes(items.length))
        return reading.log.report(
          "wrong-length",
          at,
          `${items.length} ${items.length === 1 ? "value" : "values"}`,
          `${what}, ${lengths.join(" or ")} values`,
          "Add or remove values.",
        );
      return readLike(items, measure, `${measure.name} such as ${measure.sample}`, reading);
    },
    schema: () => ({
      anyOf: [
        ...lengths.map((length) => likeSchema(measure, length)),
        {
          type: "string",
          pattern: `^${NUMBER_PATTERN}(?:, ?${NUMBER_PATTERN}){${Math.min(...lengths) - 1},${Math.max(...lengths) - 1}} ?${unitPattern(measure)}$`,
        },
      ],
      description: expected,
    }),
  };
}

const unitPattern = (measure: Measure) => quantityPattern(measure).slice(NUMBER_PATTERN.length).replace(/^ \?/, "");

/** Schema of a list of `length` quantities whose last one carries a unit. */
export function likeSchema(measure: Measure, length: number): JsonSchema {
  const own = { type: "string", pattern: `^${quantityPattern(measure)}$` };
  const lent = { anyOf: [own, { type: "number" }] };
  return {
    type: "array",
    prefixItems: [...Array.from({ length: length - 1 }, () => lent), own],
    items: false,
    minItems: length,
  };
}

/** Items of a list, or of text with commas. */
export function itemsOf(at: Written): readonly Written[] | undefined {
  if (at.kind === "list") return at.items;
  if (at.kind !== "scalar" || !at.text.includes(",")) return undefined;
  return at.text.split(",").map((item) => ({ ...at, text: item.trim() }));
}

/** Reads like quantities; bare numbers take the unit of the last item. */
export function readLike(
  items: readonly Written[],
  measure: Measure,
  expected: string,
  reading: Reading,
): readonly number[] | undefined {
  const last = items.at(-1);
  if (last && items.length > 1 && items.every((item) => item.kind === "scalar" && isPlainNumber(item.text))) {
    const shown = items.map((item) => (item.kind === "scalar" ? item.text.trim() : "")).join(", ");
    const mend = `Write the unit with the last number: [${printable(shown, 60)} ${measure.units[0]}].`;
    return reading.log.report("missing-unit", items[0]!, printable(shown, 60), expected, mend);
  }
  const parsed = last?.kind === "scalar" ? parseQuantity(last.text) : undefined;
  const unit = parsed && "value" in parsed ? parsed.unit : undefined;
  const values = items.map((item) => readQuantity(item, measure, expected, reading, unit));
  return values.every((value) => value !== undefined) ? (values as number[]) : undefined;
}

/** A list of plain numbers of a fixed length. */
export function numbers(length: number, what: string): Kind<readonly number[]> {
  const expected = `${what}, ${length} plain numbers`;
  return {
    expected,
    read(at, reading) {
      const items = itemsOf(at);
      if (items?.length !== length)
        return reading.log.wrong("wrong-type", at, expected, `Write ${length} numbers in brackets.`);
      const values = items.map((item) => {
        const plain = item.kind === "scalar" && isPlainNumber(item.text);
        const value = plain ? Number(item.text) : Number.NaN;
        return Number.isFinite(value)
          ? value
          : reading.log.wrong("not-a-number", item, "a plain number", "Write a finite number without unit.");
      });
      return values.every((value) => value !== undefined) ? (values as number[]) : undefined;
    },
    schema: () => ({
      type: "array",
      items: { type: "number" },
      minItems: length,
      maxItems: length,
      description: expected,
    }),
  };
}

/** A smallest and a largest value: [0.4, 0.6 s] or "0.4 to 0.6 s"; with `single`, one value stands for both. */
export function range(
  name: MeasureName,
  options: { readonly single?: boolean; readonly atLeast?: number } = {},
): Kind<{ readonly min: number; readonly max: number }> {
  const measure: Measure = measures[name];
  const { single = false, atLeast } = options;
  const [amount, unit] = [measure.sample.split(" ")[0]!, measure.units[0]!];
  const sample = `${amount} to ${Number((Number(amount) * 2).toPrecision(6))} ${unit}`;
  const expected = single
    ? `${measure.name} such as ${measure.sample}, or a range such as ${sample}`
    : `a range such as ${sample}`;
  return {
    expected,
    read(at, reading) {
      let items: readonly Written[] | undefined;
      if (at.kind === "list") items = at.items;
      else if (at.kind === "scalar" && / to /.test(at.text))
        items = at.text.split(" to ").map((item) => ({ ...at, text: item.trim() }));
      else if (at.kind === "scalar" && single) items = [at];
      if (items === undefined || (items.length !== 2 && !(single && items.length === 1)))
        return reading.log.wrong(
          "wrong-type",
          at,
          expected,
          `Write the smallest and the largest value: [${amount}, ${Number((Number(amount) * 2).toPrecision(6))} ${unit}].`,
        );
      const values = readLike(items, measure, expected, reading);
      if (values === undefined) return undefined;
      const min = values[0]!;
      const max = values.at(-1)!;
      if (min > max)
        return reading.log.report(
          "range-order",
          at,
          shown(items),
          "the smallest value first",
          "Swap the two values, or correct them.",
        );
      if (atLeast !== undefined && min < atLeast)
        return reading.log.report(
          "out-of-range",
          at,
          shown(items),
          `${measure.name} of at least ${atLeast} ${unit}`,
          "Correct the value.",
        );
      return { min, max };
    },
    schema: () => ({
      anyOf: [
        likeSchema(measure, 2),
        { type: "string", pattern: `^${NUMBER_PATTERN}(?: ?${unitPattern(measure)})? to ${quantityPattern(measure)}$` },
        ...(single ? [{ type: "string", pattern: `^${quantityPattern(measure)}$` }] : []),
      ],
      description: expected,
      examples: [sample],
    }),
  };
}

const shown = (items: readonly Written[]) => items.map(describe).join(" to ");

/** Another way of writing a value: when `when` says so, `short` reads it, else `full`. The schema offers both. */
export function either<T>(
  expected: string,
  when: (at: Written, reading: Reading) => boolean,
  short: Kind<T>,
  full: Kind<T>,
): Kind<T> {
  return {
    expected,
    read: (at, reading) => (when(at, reading) ? short : full).read(at, reading),
    schema: (parts) => ({ anyOf: [short.schema(parts), full.schema(parts)], description: expected }),
  };
}

export const isScalar = (at: Written): boolean => at.kind === "scalar";
export const isList = (at: Written): boolean => at.kind === "list";
