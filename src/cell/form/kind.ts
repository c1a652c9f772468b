/**
 * A kind of value in the cell file: one definition that both reads what is written and prints its JSON Schema, so that the
 * published schema cannot drift from what the loader accepts.
 */
import type { ArmDescription, JointDescription } from "../arm-description.ts";
import type { IssueLog } from "../text/issue-log.ts";
import type { Written } from "../text/written.ts";
import type { Names } from "./names.ts";

export type JsonSchema = { readonly [key: string]: unknown };

/** Named parts of the schema, filled while it is printed. */
export type SchemaParts = Map<string, JsonSchema>;

/** What readers need besides the value: where issues go, and the names declared anywhere in the cell. */
export interface Reading {
  readonly log: IssueLog;
  readonly names: Names;
  /** Machine whose section is being read: its devices, processes and holders go by their short names. */
  readonly machine?: string;
  /** Positions of the device being read. */
  readonly positions?: readonly string[];
  /** Kind of the joint whose row or limits are being read; revolute where not stated. */
  readonly jointKind?: JointDescription["kind"];
  /** Joints of the arm, once it is read. */
  readonly joints?: readonly JointDescription[];
  /** Reads the URDF file that a scalar names; undefined after an issue. */
  readonly readUrdf: (
    at: Written,
    file: string,
    options: { readonly base?: string; readonly tip?: string },
  ) => ArmDescription | undefined;
  /** Least pulse width that each output needs, as its device or process states; undefined where those could not be read. */
  readonly pulseWidths?: ReadonlyMap<string, number>;
  /** Path, relative to the cell's folder, of a file that the file of `at` names; undefined when it leads outside. */
  readonly resolveFile: (at: Written, named: string) => string | undefined;
}

export interface Kind<T> {
  /** What is expected, in the words of a message: "a length such as 420 mm". */
  readonly expected: string;
  /** The value, or undefined once the reason is in the log. */
  read(at: Written, reading: Reading): T | undefined;
  schema(parts: SchemaParts): JsonSchema;
}

/** A kind whose schema is printed once under a name and referred to from everywhere else; `make` may refer to the result itself. */
export function named<T>(name: string, make: () => Kind<T>): Kind<T> {
  let kind: Kind<T> | undefined;
  const get = () => {
    kind ??= make();
    return kind;
  };
  return {
    get expected() {
      return get().expected;
    },
    read: (at, reading) => get().read(at, reading),
    schema(parts) {
      if (!parts.has(name)) {
        parts.set(name, {});
        parts.set(name, get().schema(parts));
      }
      return { $ref: `#/$defs/${name}` };
    },
  };
}

/** A kind whose value is worked on further; `then` returns undefined when it has logged an issue. */
export function refined<A, B>(
  kind: Kind<A>,
  then: (value: A, at: Written, reading: Reading) => B | undefined,
): Kind<B> {
  return {
    expected: kind.expected,
    read(at, reading) {
      const value = kind.read(at, reading);
      return value === undefined ? undefined : then(value, at, reading);
    },
    schema: (parts) => kind.schema(parts),
  };
}

/** A kind read with more known about its surroundings, found in what is written there. */
export function within<T>(kind: Kind<T>, surroundings: (at: Written) => Partial<Reading>): Kind<T> {
  return {
    expected: kind.expected,
    read: (at, reading) => kind.read(at, { ...reading, ...surroundings(at) }),
    schema: (parts) => kind.schema(parts),
  };
}

/** The same object without its undefined entries, as `exactOptionalPropertyTypes` wants it. */
export function given<T extends object>(object: T): Given<T> {
  const out: Record<string, unknown> = {};
  for (const [key, value] of Object.entries(object)) if (value !== undefined) out[key] = value;
  return out as never;
}

type OptionalKeys<T> = { [K in keyof T]-?: undefined extends T[K] ? K : never }[keyof T];
type Given<T> = Omit<T, OptionalKeys<T>> & { [K in OptionalKeys<T>]?: Exclude<T[K], undefined> };
