/** `poses`: named poses, by joint values or in a frame, with the branch of the arm preferred. */
import type { Pose } from "../../math/pose.ts";
import type { JointDescription } from "../arm-description.ts";
import { mapOf, may, record } from "../form/collections.ts";
import { given, type JsonSchema, type Kind, type Reading, refined } from "../form/kind.ts";
import { posedIn } from "../form/poses.ts";
import { measures } from "../form/quantity.ts";
import { nameOf, quantityPattern } from "../form/scalars.ts";
import type { BranchChoice } from "../model.ts";
import { keysOf, valueAt, type Written } from "../text/written.ts";
import { readJointValues } from "./arm.ts";

export interface ReadPose {
  readonly target:
    | { readonly kind: "joints"; readonly q: readonly number[] }
    | { readonly kind: "frame"; readonly in?: string; readonly pose: Pose };
  readonly branch: BranchChoice | undefined;
  readonly written: Written;
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

/** Reads a branch; `byJoints` tells which poses are given by joint values. */
export function branchKind(byJoints: (name: string) => boolean): Kind<BranchChoice> {
  return refined(branchRecord, (value, at, reading): BranchChoice | undefined => {
    const keys = keysOf(at);
    if (keys.length === 0 || (value.near !== undefined && keys.length > 1))
      return reading.log.wrong(
        "conflicting-keys",
        at,
        "near alone, or any of shoulder, elbow and wrist",
        "Keep one of the two ways.",
      );
    if (value.near === undefined) return given({ shoulder: value.shoulder, elbow: value.elbow, wrist: value.wrist });
    if (!byJoints(value.near))
      return reading.log.wrong(
        "bad-branch",
        valueAt(at, "near")!,
        "a pose given by joints",
        "Name a pose with joints, such as home.",
      );
    return { near: value.near };
  });
}

const jointsSchema = (): JsonSchema => {
  const own = {
    type: "string",
    pattern: `^(?:${quantityPattern(measures.angle)}|${quantityPattern(measures.length)})$`,
  };
  return { type: "array", items: { anyOf: [own, { type: "number" }] }, minItems: 3, maxItems: 7 };
};

/** @param joints of the arm; undefined when the arm could not be read: joint values are then not looked at */
export function posesKind(
  joints: readonly JointDescription[] | undefined,
  byJoints: (name: string) => boolean,
): Kind<ReadonlyMap<string, ReadPose>> {
  const jointValues: Kind<readonly number[]> = {
    expected: "joint values, base to wrist",
    read: (at, reading: Reading) => (joints ? readJointValues(at, joints, reading) : []),
    schema: jointsSchema,
  };
  const pose = refined(
    posedIn(
      "a pose",
      {
        joints: may(jointValues, "one value for each joint, [0, 90, 0, 0, -90, 0 deg]"),
        branch: may(branchKind(byJoints), "solution of the arm wanted"),
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
      if (value.joints) return { target: { kind: "joints", q: value.joints }, branch: undefined, written: at };
      if (valueAt(at, "at") === undefined)
        return reading.log.wrong(
          "missing-key",
          at,
          "joints, or at with an orientation",
          "Add joints: […], or at: [x, y, z].",
        );
      return {
        target: given({ kind: "frame" as const, in: value.in, pose: value.pose }),
        branch: value.branch,
        written: at,
      };
    },
  );
  return mapOf("poses by name", pose, { least: 1 });
}
