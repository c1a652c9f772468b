/** `poses`: named poses, by joint values or in a frame, with the branch of the arm preferred. */
import type { Pose } from "../../math/pose.ts";
import { mapOf } from "../form/collections.ts";
import { given, type JsonSchema, type Kind, refined } from "../form/kind.ts";
import { nameOf } from "../form/named.ts";
import { posedIn } from "../form/poses.ts";
import { measures } from "../form/quantity.ts";
import { may, record } from "../form/records.ts";
import { quantityPattern } from "../form/scalars.ts";
import type { BranchChoice } from "../model.ts";
import { keysOf, valueAt } from "../text/written.ts";
import { readJointValues } from "./joints.ts";

export interface ReadPose {
  readonly target:
    | { readonly kind: "joints"; readonly q: readonly number[] }
    | { readonly kind: "frame"; readonly in?: string; readonly pose: Pose };
  readonly branch: BranchChoice | undefined;
}

const PLUS = ["plus", "+", "+1", "1"];
const MINUS = ["minus", "-", "-1", "−"];
const side: Kind<1 | -1> = {
  expected: "plus or minus",
  read(at, reading) {
    const text = at.kind === "scalar" ? at.text.trim() : "";
    if (PLUS.includes(text)) return 1;
    if (MINUS.includes(text)) return -1;
    return reading.log.wrong("unknown-word", at, "plus or minus", "Write plus or minus (or + and - in quotes).");
  },
  schema: () => ({ enum: ["plus", "minus", "+", "-", 1, -1] }),
};

const branchRecord = record("a branch", {
  near: may(nameOf("pose"), "pose given by joints, to whose joint values the solution is nearest"),
  shoulder: may(side, "plus or minus"),
  elbow: may(side, "plus or minus"),
  wrist: may(side, "plus or minus"),
});

/** A branch; `near` names a pose given by joint values. */
export const branchKind: Kind<BranchChoice> = refined(branchRecord, (value, at, reading): BranchChoice | undefined => {
  const keys = keysOf(at);
  if (keys.length === 0 || (value.near !== undefined && keys.length > 1))
    return reading.log.wrong(
      "conflicting-keys",
      at,
      "near alone, or any of shoulder, elbow and wrist",
      "Keep one of the two ways.",
    );
  if (value.near === undefined) return given({ shoulder: value.shoulder, elbow: value.elbow, wrist: value.wrist });
  if (!reading.names.jointPoses.has(value.near))
    return reading.log.wrong(
      "bad-branch",
      valueAt(at, "near")!,
      "a pose given by joints",
      "Name a pose with joints, such as home.",
    );
  return { near: value.near };
});

const jointsSchema = (): JsonSchema => {
  const own = {
    type: "string",
    pattern: `^(?:${quantityPattern(measures.angle)}|${quantityPattern(measures.length)})$`,
  };
  return { type: "array", items: { anyOf: [own, { type: "number" }] }, minItems: 3, maxItems: 7 };
};

const jointValues: Kind<readonly number[]> = {
  expected: "joint values, base to wrist",
  // Without the arm's joints (it could not be read, which is reported) the values are not looked at.
  read: (at, reading) => (reading.joints ? readJointValues(at, reading.joints, reading) : []),
  schema: jointsSchema,
};

const pose: Kind<ReadPose> = refined(
  posedIn(
    "a pose",
    {
      joints: may(jointValues, "one value for each joint, [0, 90, 0, 0, -90, 0 deg]"),
      branch: may(branchKind, "solution of the arm wanted"),
    },
    { note: true },
  ),
  (value, at, reading): ReadPose | undefined => {
    const cartesian = keysOf(at).filter((key) => ["in", "at", "abc", "axes", "quaternion", "branch"].includes(key));
    if (value.joints && cartesian.length > 0)
      return reading.log.wrong(
        "conflicting-keys",
        at,
        `joints alone, without ${cartesian.join(", ")}`,
        "Give the pose in one of the two ways.",
      );
    if (value.joints) return { target: { kind: "joints", q: value.joints }, branch: undefined };
    if (valueAt(at, "at") === undefined)
      return reading.log.wrong(
        "missing-key",
        at,
        "joints, or at with an orientation",
        "Add joints: […], or at: [x, y, z].",
      );
    return { target: given({ kind: "frame" as const, in: value.in, pose: value.pose }), branch: value.branch };
  },
);

export const posesKind: Kind<ReadonlyMap<string, ReadPose>> = mapOf("poses by name", pose, { least: 1 });
