/** Arms for tests from the places of their axes with all joints at 0, as the geometry of a family is stated. */
import type { ArmDescription } from "../../src/cell/arm-description.ts";
import { compose, invert, type Pose, rotationAbout } from "../../src/math/pose.ts";
import { describeDh } from "./describe.ts";
import { randomDirection, randomPose } from "./random.ts";

type Vector = readonly [number, number, number];
export interface PlacedAxis {
  readonly h: Vector;
  readonly p: Vector;
}

const cross = (a: Vector, b: Vector): [number, number, number] => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

/** A turning-joint arm with these axes; joint frames sit anywhere on the axes and are turned at random (joint offsets). */
export function describeAxes(axes: readonly PlacedAxis[], random: () => number): ArmDescription {
  const blank = describeDh(
    "axes",
    axes.map(() => ({ a: 0, alpha: 0, d: 0 })),
  );
  // The base frame is not where the axes are stated, so that bases are tilted and offset.
  let before: Pose = randomPose(random, 0.5);
  const joints = blank.joints.map((joint, i) => {
    const { h, p } = axes[i]!;
    const normal = cross([0, 0, 1], h);
    const sine = Math.hypot(...normal);
    const frame =
      sine > 1e-9 ? rotationAbout(normal, Math.atan2(sine, h[2])) : rotationAbout([1, 0, 0], h[2] > 0 ? 0 : Math.PI);
    const along = 0.4 * (2 * random() - 1);
    for (let k = 0; k < 3; k++) frame[4 * k + 3] = p[k]! + along * h[k]!;
    const turned = compose(frame, rotationAbout([0, 0, 1], 6 * random()));
    const parentFromJoint = compose(invert(before), turned);
    before = turned;
    return { ...joint, parentFromJoint };
  });
  return { ...blank, joints, lastFromFlange: randomPose(random, 0.3) };
}

function randomAxis(random: () => number): PlacedAxis {
  const p = [0, 1, 2].map(() => 0.6 * (2 * random() - 1)) as [number, number, number];
  return { h: randomDirection(random), p };
}

/** Six axes at random, except that a run of them from `first` meets in one point or is parallel (either way round). */
export function randomAxes(
  random: () => number,
  runs: readonly { readonly kind: "meeting" | "parallel"; readonly first: number; readonly count: number }[],
): PlacedAxis[] {
  const axes = Array.from({ length: 6 }, () => randomAxis(random));
  for (const { kind, first, count } of runs) {
    const lead = axes[first]!;
    for (let i = first + 1; i < first + count; i++) {
      const side = random() < 0.5 ? 1 : -1;
      if (kind === "parallel") axes[i] = { h: lead.h.map((x) => side * x) as unknown as Vector, p: axes[i]!.p };
      else axes[i] = { h: axes[i]!.h, p: lead.p };
    }
  }
  return axes;
}
