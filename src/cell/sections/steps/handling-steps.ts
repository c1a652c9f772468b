/** `hold`, `free` and `press`: what is done with a part. */

import { given, refined } from "../../form/kind.ts";
import { may, need, record } from "../../form/records.ts";
import { quantity } from "../../form/scalars.ts";
import { valueAt } from "../../text/written.ts";
import type { BareStep } from "./bare-step.ts";
import { gripName, gripperName, holderName, nameOr, onlyGripper } from "./names-by-part.ts";
import { nearnessFields } from "./nearness.ts";

const DEFAULT_PRESS_SPEED = 0.01;

export const hold = nameOr<BareStep>(
  "a holder, or { gripper, from, grip }",
  refined(holderName, (from, at, reading) => {
    const gripper = onlyGripper(at, reading);
    return gripper === undefined ? undefined : { kind: "hold", gripper, from };
  }),
  refined(
    record("closing a gripper", {
      gripper: may(gripperName, "gripper; may be left out when there is one"),
      from: need(holderName, "holder the part is taken from"),
      grip: may(gripName, "grip"),
    }),
    (value, at, reading) => {
      const gripper = value.gripper ?? onlyGripper(at, reading);
      return gripper === undefined
        ? undefined
        : given({ kind: "hold" as const, gripper, from: value.from, grip: value.grip });
    },
  ),
);
export const free = nameOr<BareStep>(
  "a holder, or { gripper, into }",
  refined(holderName, (into, at, reading) => {
    const gripper = onlyGripper(at, reading);
    return gripper === undefined ? undefined : { kind: "free", gripper, into };
  }),
  refined(
    record("opening a gripper", {
      gripper: may(gripperName, "gripper; may be left out when there is one"),
      into: need(holderName, "holder the part is left in"),
    }),
    (value, at, reading) => {
      const gripper = value.gripper ?? onlyGripper(at, reading);
      return gripper === undefined ? undefined : { kind: "free", gripper, into: value.into };
    },
  ),
);

const length = quantity("length", { atLeast: "0 mm" });
export const press = refined(
  record("a push", {
    force: need(quantity("force", { above: "0 N" }), "force held"),
    time: need(quantity("time", { atLeast: "0 s" }), "time it is held"),
    travel: need(quantity("length", { above: "0 mm" }), "largest travel before contact"),
    expect: may(length, "travel expected before contact, 0 if left out"),
    speed: may(quantity("speed", { above: "0 mm/s" }), "speed until contact, 10 mm/s if left out"),
    ...nearnessFields,
  }),
  (value, at, reading): BareStep | undefined => {
    const expect = value.expect ?? 0;
    if (expect > value.travel)
      return reading.log.wrong(
        "out-of-range",
        valueAt(at, "expect")!,
        "at most the travel",
        "Correct expect or travel.",
      );
    return given({
      kind: "press" as const,
      force: value.force,
      time: value.time,
      travel: value.travel,
      expect,
      speed: value.speed ?? DEFAULT_PRESS_SPEED,
      clearance: value.clearance,
      mayTouch: value["may touch"],
    });
  },
);
