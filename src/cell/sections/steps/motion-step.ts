/** `go`: a motion. */

import { given, type Kind, refined } from "../../form/kind.ts";
import { measures, parseQuantity, sameDimension } from "../../form/quantity.ts";
import { may, record } from "../../form/records.ts";
import { quantity, word, yesNo } from "../../form/scalars.ts";
import type { StepSpeed, Target } from "../../steps.ts";
import { valueAt } from "../../text/written.ts";
import type { BareStep } from "./bare-step.ts";
import { gripperName, nameOr, targetName } from "./names-by-part.ts";
import { nearnessFields } from "./nearness.ts";
import { targetFields, targetFrom } from "./target.ts";

const fraction = quantity("share", { above: "0 %", atMost: "100 %" });
const toolSpeed = quantity("speed", { above: "0 mm/s" });
const speedRecord = record("a speed", {
  joints: may(fraction, "share of the joint speeds"),
  tool: may(toolSpeed, "speed of the tool centre point"),
  acceleration: may(quantity("acceleration", { above: "0 m/s^2" }), "acceleration of the tool centre point"),
  constant: may(yesNo, "constant tool speed along the whole motion"),
});

const speedKind: Kind<StepSpeed> = {
  expected:
    "a share of the joint speeds such as 50 %, a tool speed such as 200 mm/s, or { joints, tool, acceleration, constant }",
  read(at, reading) {
    if (at.kind === "map") {
      const value = speedRecord.read(at, reading);
      return (
        value &&
        given({
          fraction: value.joints,
          tool: value.tool,
          toolAcceleration: value.acceleration,
          constant: value.constant ?? false,
        })
      );
    }
    const parsed = at.kind === "scalar" ? parseQuantity(at.text) : undefined;
    if (parsed && "value" in parsed && sameDimension(parsed.dimension, measures.speed.dimension)) {
      const tool = toolSpeed.read(at, reading);
      return tool === undefined ? undefined : { tool, constant: false };
    }
    if (parsed && "value" in parsed && parsed.share) {
      const share = fraction.read(at, reading);
      return share === undefined ? undefined : { fraction: share, constant: false };
    }
    if (parsed && "problem" in parsed && parsed.problem === "no unit")
      return reading.log.wrong(
        "missing-unit",
        at,
        this.expected,
        `Write the unit with the number: ${parsed.number} % or ${parsed.number} mm/s.`,
      );
    return reading.log.wrong("wrong-unit", at, this.expected, "Write the speed in % of the joint speeds, or in mm/s.");
  },
  schema: (parts) => ({ anyOf: [fraction.schema(parts), toolSpeed.schema(parts), speedRecord.schema(parts)] }),
};

const viaTarget: Kind<Target> = nameOr(
  "a pose or holder, or { to, offset, … }",
  refined(targetName, (to, at, reading) => targetFrom({ to }, at, reading)),
  refined(record("the point on the way", targetFields), (value, at, reading) => targetFrom(value, at, reading)),
);
export const go = nameOr<BareStep>(
  "a pose or holder, or { to, … }",
  refined(targetName, (to, at, reading) => {
    const target = targetFrom({ to }, at, reading);
    return target && { kind: "go", to: target, by: "joint", speed: { constant: false }, blend: 0 };
  }),
  refined(
    record("a motion", {
      ...targetFields,
      by: may(word(["joint", "line", "arc"] as const), "joint if left out"),
      via: may(viaTarget, "point passed on the way, for by: arc"),
      route: may(word(["find"] as const), "find: a clear route is found, for by: joint; straight if left out"),
      speed: may(
        speedKind,
        "50 % of the joint speeds, 200 mm/s of the tool, or { joints, tool, acceleration, constant }",
      ),
      blend: may(
        quantity("length", { atLeast: "0 mm" }),
        "radius within which the corner may be rounded, 0 if left out",
      ),
      gripper: may(gripperName, "gripper whose tool centre point moves"),
      ...nearnessFields,
    }),
    (value, at, reading) => {
      if ((value.by === "arc") !== (value.via !== undefined))
        return reading.log.wrong(
          "conflicting-keys",
          valueAt(at, value.via ? "via" : "by")!,
          "by: arc together with via",
          value.via ? "Add by: arc." : "Add via: the point passed on the way.",
        );
      if (value.route !== undefined && (value.by ?? "joint") !== "joint")
        return reading.log.wrong(
          "conflicting-keys",
          valueAt(at, "route")!,
          "route: find with by: joint only",
          `Remove route, or by: ${value.by}.`,
        );
      const to = targetFrom(value, at, reading);
      return (
        to &&
        given({
          kind: "go" as const,
          to,
          by: value.by ?? "joint",
          route: value.route,
          via: value.via,
          speed: value.speed ?? { constant: false },
          blend: value.blend ?? 0,
          gripper: value.gripper,
          clearance: value.clearance,
          mayTouch: value["may touch"],
        })
      );
    },
  ),
);
