/** `rules`: what must never be so, and what must always follow. */
import { mapOf } from "../form/collections.ts";
import { given, type Kind, refined } from "../form/kind.ts";
import { nameOf } from "../form/named.ts";
import { may, need, record } from "../form/records.ts";
import { quantity, word } from "../form/scalars.ts";
import type { Rule, RuleCondition } from "../rules.ts";
import { isNothing, valueAt } from "../text/written.ts";
import { checkPosition } from "./devices.ts";
import { conditionsOf, contentForms } from "./steps/conditions.ts";

type DeviceIs = Extract<RuleCondition, { kind: "device" }>;

const deviceForm: Kind<DeviceIs> = refined(
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
  (value, at, reading): DeviceIs | undefined => {
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
    (value) => ({ kind: "process" as const, process: value.process, is: value.is }),
  ),
  zone: refined(
    record("a condition on a zone", {
      zone: need(nameOf("zone"), "zone"),
      has: need(word(["arm", "nothing"] as const), "arm or nothing"),
    }),
    (value) => ({ kind: "zone" as const, zone: value.zone, has: value.has }),
  ),
  ...contentForms,
} as const;

/** How things stand. */
const ruleCondition: Kind<RuleCondition> = conditionsOf<RuleCondition>(
  "rule-condition",
  "a condition: a signal, { device, is }, { process, is }, { zone, has }, { holder, has }, { gripper, has }, { all }, { any } or { not }",
  forms,
);

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
