/** `rules`: what must never be so, and what must always follow. */
import { listOf, mapOf } from "../form/collections.ts";
import { given, type Kind, named, refined } from "../form/kind.ts";
import { nameOf } from "../form/named.ts";
import { may, need, record } from "../form/records.ts";
import { quantity, word } from "../form/scalars.ts";
import type { Rule, RuleCondition } from "../rules.ts";
import { isNothing, keysOf, valueAt } from "../text/written.ts";
import { checkPosition } from "./devices.ts";
import { anySignalForm, groupOf, groupSchema, hasKind } from "./steps/conditions.ts";

const deviceForm: Kind<RuleCondition> = refined(
  record("a condition on a device", {
    device: need(nameOf("device"), "device"),
    is: need(
      {
        expected: "a position of the device, or moving",
        read: (at, reading) =>
          at.kind === "scalar" && !isNothing(at)
            ? at.text.trim()
            : reading.log.wrong("wrong-type", at, "a position of the device, or moving", "Write the position's name."),
        schema: () => ({ type: ["string", "integer", "boolean"] }),
      } as Kind<string>,
      "position, or moving",
    ),
  }),
  (value, at, reading): RuleCondition | undefined => {
    const positions = reading.names.positions.get(value.device) ?? [];
    const known = value.is === "moving" || checkPosition(valueAt(at, "is")!, value.is, positions, reading);
    return known ? { kind: "device", device: value.device, is: value.is } : undefined;
  },
);

const forms = {
  device: deviceForm,
  process: refined(
    record("a condition on a process", {
      process: need(nameOf("process"), "process"),
      is: need(word(["running", "idle"] as const), "running or idle"),
    }),
    (value): RuleCondition => ({ kind: "process", process: value.process, is: value.is }),
  ),
  zone: refined(
    record("a condition on a zone", {
      zone: need(nameOf("zone"), "zone"),
      has: need(word(["arm", "nothing"] as const), "arm or nothing"),
    }),
    (value): RuleCondition => ({ kind: "zone", zone: value.zone, has: value.has }),
  ),
  holder: refined(
    record("a condition on a holder", {
      holder: need(nameOf("holder"), "holder"),
      has: need(hasKind, "part, nothing or { stage: … }"),
    }),
    (value): RuleCondition => ({ kind: "holder", holder: value.holder, has: value.has }),
  ),
  gripper: refined(
    record("a condition on a gripper", {
      gripper: need(nameOf("gripper"), "gripper"),
      has: need(hasKind, "part, nothing or { stage: … }"),
    }),
    (value): RuleCondition => ({ kind: "gripper", gripper: value.gripper, has: value.has }),
  ),
} as const;

/** How things stand. */
const ruleCondition: Kind<RuleCondition> = named("rule-condition", () => {
  const many = listOf("a list of conditions", ruleCondition, 1);
  return {
    expected:
      "a condition: a signal, { device, is }, { process, is }, { zone, has }, { holder, has }, { gripper, has }, { all }, { any } or { not }",
    read(at, reading): RuleCondition | undefined {
      const group = groupOf(at);
      if (group !== undefined) {
        const of = many.read(valueAt(at, group)!, reading);
        return of && { kind: group, of };
      }
      const keys = keysOf(at);
      if (keys.length === 1 && keys[0] === "not") {
        const of = ruleCondition.read(valueAt(at, "not")!, reading);
        return of && { kind: "not", of };
      }
      for (const key of Object.keys(forms) as (keyof typeof forms)[])
        if (keys.includes(key)) return forms[key].read(at, reading);
      if (at.kind === "list" || isNothing(at))
        return reading.log.wrong(
          "wrong-type",
          at,
          this.expected,
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
        groupSchema("not", ruleCondition.schema(parts)),
      ],
    }),
  };
});

const ruleKind: Kind<Rule["rule"]> = refined(
  record(
    "a rule",
    {
      never: may(ruleCondition, "what must never be so"),
      when: may(ruleCondition, "what must always be followed by something"),
      "followed by": may(ruleCondition, "what must follow, sooner or later"),
      within: may(quantity("time", { above: "0 s" }), "longest time until it follows"),
    },
    { note: true, exactlyOne: [["never", "when"]] },
  ),
  (value, at, reading): Rule["rule"] | undefined => {
    if (value.never !== undefined) {
      for (const key of ["followed by", "within"])
        if (valueAt(at, key) !== undefined)
          return reading.log.wrong(
            "unknown-key",
            valueAt(at, key)!,
            `no ${key} beside never`,
            `Take ${key} out, or write when: in the place of never:.`,
          );
      return { kind: "never", that: value.never };
    }
    const followedBy = value["followed by"];
    if (followedBy === undefined) {
      // An issue inside it has been logged already.
      if (valueAt(at, "followed by") === undefined)
        reading.log.wrong("missing-key", at, "followed by: what must follow", "Add followed by.");
      return undefined;
    }
    return given({ kind: "always followed by" as const, when: value.when!, followedBy, within: value.within });
  },
);

export const rulesKind: Kind<readonly Rule[]> = refined(mapOf("rules by name", ruleKind), (rules): readonly Rule[] =>
  [...rules].map(([name, rule]) => ({ name, rule })),
);
