/** Kinds of lists, and of maps from names. */
import { printable, type Written } from "../text/written.ts";
import type { Kind, Reading } from "./kind.ts";
import { NAME } from "./named.ts";

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
      const counts = at.items.length >= least && at.items.length <= most;
      if (!counts)
        reading.log.wrong(
          "wrong-length",
          at,
          `${what}, ${least === most ? `${least}` : `${least} to ${most}`} entries`,
          "Add or remove entries.",
        );
      // A wrong number of entries does not hide what is wrong inside them.
      const read = at.items.slice(0, most).map((entry) => item.read(entry, reading));
      return counts && read.every((value) => value !== undefined) ? (read as T[]) : undefined;
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
