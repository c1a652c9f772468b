/** Conditions on signals, and on what the routine keeps count of. */
import { listOf } from "../../form/collections.ts";
import { type Kind, named, type Reading, refined } from "../../form/kind.ts";
import { checkSignal, nameOf, resolveName, signal } from "../../form/named.ts";
import { missingName } from "../../form/names.ts";
import { may, need, record } from "../../form/records.ts";
import { level, word } from "../../form/scalars.ts";
import type { Condition, SignalCondition } from "../../steps.ts";
import { describe, isNothing, keysOf, valueAt, type Written } from "../../text/written.ts";

type SignalUse = "input" | "any";

/** SIGNAL (on), { SIGNAL: off } or { signal, is }. */
function signalForm(use: SignalUse): Kind<{ kind: "signal"; signal: string; is: boolean }> {
  const name = signal(use);
  const full = record("a condition on a signal", { signal: need(name, "signal"), is: may(level, "on if left out") });
  return {
    expected: "a signal, { SIGNAL: off } or { signal, is }",
    read(at, reading) {
      if (at.kind === "map" && !keysOf(at).includes("signal")) return shortSignal(at, use, reading);
      if (at.kind === "map") {
        const value = full.read(at, reading);
        return value && { kind: "signal", signal: value.signal, is: value.is ?? true };
      }
      const found = name.read(at, reading);
      return found === undefined ? undefined : { kind: "signal", signal: found, is: true };
    },
    schema: (parts) => ({
      anyOf: [
        name.schema(parts),
        full.schema(parts),
        { type: "object", additionalProperties: level.schema(parts), minProperties: 1, maxProperties: 1 },
      ],
    }),
  };
}

function shortSignal(
  at: Written,
  use: SignalUse,
  reading: Reading,
): { kind: "signal"; signal: string; is: boolean } | undefined {
  const entry = at.kind === "map" && at.entries.length === 1 ? at.entries[0] : undefined;
  if (entry === undefined)
    return reading.log.wrong(
      "wrong-type",
      at,
      "one signal, { SIGNAL: off } or { signal, is }",
      "Write one signal, or all: or any: with a list of them.",
    );
  const spot: Written = { kind: "scalar", text: entry.key, quoted: false, ...entry.keySpot };
  const signalName = resolveName(spot, entry.key, "signal", reading);
  const is = level.read(entry.value, reading);
  if (signalName === undefined || is === undefined || !checkSignal(spot, signalName, use, true, reading))
    return undefined;
  return { kind: "signal", signal: signalName, is };
}

const inputForm = signalForm("input");
const anySignalForm = signalForm("any");

/** A group: { all: […] } or { any: […] }, where those are the only keys. */
const groupOf = (at: Written): "all" | "any" | undefined => {
  const keys = keysOf(at);
  return keys.length === 1 && (keys[0] === "all" || keys[0] === "any") ? keys[0] : undefined;
};

/** What the arm controller can wait for. */
const signalCondition: Kind<SignalCondition> = named("signal-condition", () => ({
  expected: "a signal, { SIGNAL: off }, { all: […] } or { any: […] }",
  read(at, reading) {
    const group = groupOf(at);
    if (group === undefined) return inputForm.read(at, reading);
    const of = signalConditions.read(valueAt(at, group)!, reading);
    return of && { kind: group, of };
  },
  schema: (parts) => ({
    anyOf: [
      inputForm.schema(parts),
      groupSchema("all", signalConditions.schema(parts)),
      groupSchema("any", signalConditions.schema(parts)),
    ],
  }),
}));

export const signalConditions: Kind<readonly SignalCondition[]> = listOf("a list of conditions", signalCondition, 1);

const groupSchema = (key: string, of: object) => ({
  type: "object",
  properties: { [key]: of },
  required: [key],
  additionalProperties: false,
});

type Has = "part" | "nothing" | { readonly stage: string };
const stageForm = record("a stage", { stage: need(nameOfStage(), "stage") });

function nameOfStage(): Kind<string> {
  return {
    expected: "the name of a stage",
    read(at, reading) {
      const stages = [...new Set([...reading.names.stages.values()].flat())];
      const name = at.kind === "scalar" ? at.text.trim() : describe(at);
      return stages.includes(name) ? name : missingName(reading, at, "stage", name, stages);
    },
    schema: () => ({ type: ["string", "integer"] }),
  };
}

const hasKind: Kind<Has> = {
  expected: "part, nothing or { stage: … }",
  read: (at, reading) => {
    if (at.kind !== "map") return word(["part", "nothing"] as const).read(at, reading);
    const value = stageForm.read(at, reading);
    return value && { stage: value.stage };
  },
  schema: (parts) => ({ anyOf: [{ enum: ["part", "nothing"] }, stageForm.schema(parts)] }),
};

type Asked = Extract<Condition, { kind: "holder" | "gripper" }>;

/** What holders and grippers have: asked by steps and rules alike. */
export const contentForms = {
  holder: refined(
    record("a condition on a holder", {
      holder: need(nameOf("holder"), "holder"),
      has: need(hasKind, "part, nothing or { stage: … }"),
    }),
    (value): Asked => ({ kind: "holder", holder: value.holder, has: value.has }),
  ),
  gripper: refined(
    record("a condition on a gripper", {
      gripper: need(nameOf("gripper"), "gripper"),
      has: need(hasKind, "part, nothing or { stage: … }"),
    }),
    (value): Asked => ({ kind: "gripper", gripper: value.gripper, has: value.has }),
  ),
} as const;

type SignalIs = Extract<Condition, { kind: "signal" }>;
type Joined<C> = { readonly kind: "all" | "any"; readonly of: readonly C[] } | { readonly kind: "not"; readonly of: C };

/**
 * Conditions on signals and of the given forms, each told by its first key, joined by all, any and not.
 * @param name of the part of the schema
 */
export function conditionsOf<C extends { readonly kind: string }>(
  name: string,
  expected: string,
  forms: Readonly<Record<string, Kind<Exclude<C, SignalIs | Joined<C>>>>>,
): Kind<C | SignalIs | Joined<C>> {
  type Any = C | SignalIs | Joined<C>;
  const kind: Kind<Any> = named(name, () => {
    const many = listOf("a list of conditions", kind, 1) as Kind<readonly C[]>;
    return {
      expected,
      read(at, reading): Any | undefined {
        const group = groupOf(at);
        if (group !== undefined) {
          const of = many.read(valueAt(at, group)!, reading);
          return of && { kind: group, of };
        }
        const keys = keysOf(at);
        if (keys.length === 1 && keys[0] === "not") {
          const of = kind.read(valueAt(at, "not")!, reading);
          return of && { kind: "not", of: of as C };
        }
        for (const key of Object.keys(forms)) if (keys.includes(key)) return forms[key]!.read(at, reading);
        if (at.kind === "list" || isNothing(at))
          return reading.log.wrong(
            "wrong-type",
            at,
            expected,
            "Write one condition, or all: or any: with a list of them.",
          );
        return anySignalForm.read(at, reading);
      },
      schema: (parts) => ({
        anyOf: [
          anySignalForm.schema(parts),
          ...Object.values(forms).map((form) => form.schema(parts)),
          groupSchema("all", many.schema(parts)),
          groupSchema("any", many.schema(parts)),
          groupSchema("not", kind.schema(parts)),
        ],
      }),
    };
  });
  return kind;
}

/** What `when` can ask. */
export const condition: Kind<Condition> = conditionsOf<Condition>(
  "condition",
  "a condition: a signal, { variant }, { holder, has }, { gripper, has }, { pass }, { all }, { any } or { not }",
  {
    variant: refined(
      record("a condition on the part", { variant: need(nameOf("part"), "part being run") }),
      (value) => ({ kind: "variant" as const, part: value.variant }),
    ),
    ...contentForms,
    pass: refined(
      record("a condition on the pass", { pass: need(word(["first", "last"] as const), "first or last") }),
      (value) => ({ kind: "pass" as const, which: value.pass }),
    ),
  },
);
