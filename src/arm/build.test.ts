import { expect, test } from "vitest";
import { puma560 } from "../../test/arms/puma560.ts";
import { mulberry32, randomArm } from "../../test/arms/random.ts";
import type { ArmDescription } from "../cell/arm-description.ts";
import { compose, identityPose } from "../math/pose.ts";
import { buildArm } from "./index.ts";

const arm = puma560();
const withJoint = (change: object): ArmDescription => ({
  ...arm,
  joints: arm.joints.map((joint, i) => (i === 2 ? { ...joint, ...change } : joint)),
});

test.each<[string, ArmDescription, RegExp]>([
  [
    "two joints",
    { ...arm, joints: arm.joints.slice(0, 2), links: arm.links.slice(0, 3) },
    /joints must be 3 to 7, got 2/,
  ],
  ["a missing link", { ...arm, links: arm.links.slice(1) }, /links must be one more than joints \(7\), got 6/],
  ["an axis too long", withJoint({ axis: [0, 0, 2] }), /joints\[2\]\.axis must be a unit vector, got \(0, 0, 2\)/],
  ["an axis of NaN", withJoint({ axis: [Number.NaN, 0, 0] }), /joints\[2\]\.axis must be a unit vector/],
  ["a pose of NaN", withJoint({ parentFromJoint: new Float64Array(16).fill(Number.NaN) }), /must be finite, got NaN/],
  [
    "a sheared pose",
    withJoint({ parentFromJoint: Float64Array.of(1, 0.1, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1) }),
    /orthonormal/,
  ],
  [
    "a mirrored pose",
    withJoint({ parentFromJoint: Float64Array.of(-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1) }),
    /right-handed/,
  ],
  ["limits the wrong way", withJoint({ min: 1, max: -1 }), /joints\[2\]: min must not be above max, got 1 and -1/],
  ["a speed of zero", withJoint({ velocity: 0 }), /joints\[2\]\.velocity must be > 0, got 0/],
  ["a jerk of NaN", withJoint({ jerk: Number.NaN }), /joints\[2\]\.jerk must be > 0, got NaN/],
  ["a negative drive inertia", withJoint({ motorInertia: -1 }), /motorInertia must be finite and not below 0, got -1/],
  [
    "a negative mass",
    {
      ...arm,
      links: arm.links.map((link) => ({
        ...link,
        inertia: { mass: -1, centre: [0, 0, 0], tensor: [0, 0, 0, 0, 0, 0] },
      })),
    },
    /links\[1\]\.inertia\.mass must not be below 0 kg, got -1/,
  ],
])("refuses %s", (_, description, message) => {
  expect(() => buildArm(description)).toThrow(message);
});

test("masses are known only when every moving link states one", () => {
  expect(buildArm(arm).hasMasses).toBe(true);
  const { inertia: _, ...bare } = arm.links[3]!;
  expect(buildArm({ ...arm, links: arm.links.map((link, i) => (i === 3 ? bare : link)) }).hasMasses).toBe(false);
  const { inertia: __, ...base } = { inertia: undefined, ...arm.links[0]! };
  expect(buildArm({ ...arm, links: [base, ...arm.links.slice(1)] }).hasMasses).toBe(true);
});

test("every axis lies on z of its kernel frame, and the fixed transforms compose to the arm at zero", () => {
  const random = mulberry32(7);
  for (let k = 0; k < 50; k++) {
    const description = randomArm(random);
    const built = buildArm(description);
    const product = identityPose();
    const step = identityPose();
    for (let i = 0; i <= built.n; i++) {
      step.set(built.fixed.subarray(12 * i, 12 * i + 12));
      compose(product, step, product);
      if (i === built.n) break;
      for (let r = 0; r < 3; r++)
        expect(built.describedFromKernel[9 * i + 3 * r + 2]).toBeCloseTo(description.joints[i]!.axis[r]!, 12);
    }
    const expected = [...description.joints.map((joint) => joint.parentFromJoint), description.lastFromFlange].reduce(
      (a, b) => compose(a, b),
    );
    for (const [i, value] of expected.entries()) expect(product[i]).toBeCloseTo(value, 12);
  }
});
