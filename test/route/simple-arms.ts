/** Arms simple enough that their routes can be told by hand. */
import { type Arm, buildArm } from "../../src/arm/index.ts";
import { identityPose } from "../../src/math/pose.ts";
import { describeDh } from "../arms/describe.ts";

/** Three slides along x, y and z: joint values are the place of the flange, m. */
export function gantry(min: number, max: number): Arm {
  const blank = describeDh(
    "gantry",
    [0, 1, 2].map(() => ({ kind: "prismatic" as const, a: 0, alpha: 0, d: 0 })),
  );
  const axes = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ] as const;
  return buildArm({
    ...blank,
    joints: blank.joints.map((joint, i) => ({ ...joint, parentFromJoint: identityPose(), axis: axes[i]!, min, max })),
  });
}

/** Three turning joints about z, links of the given lengths along x, in the plane z = 0. */
export function planarArm(lengths: readonly [number, number, number], range: number): Arm {
  const blank = describeDh(
    "planar arm",
    lengths.map((a) => ({ a, alpha: 0, d: 0 })),
  );
  return buildArm({ ...blank, joints: blank.joints.map((joint) => ({ ...joint, min: -range, max: range })) });
}
