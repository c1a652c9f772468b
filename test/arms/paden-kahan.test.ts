/** All branches of the product's solvers against those of the subproblem decomposition, on random arms and published ones. */
import { expect, test } from "vitest";
import { type Arm, buildArm, createInverse, forwardKinematics } from "../../src/arm/index.ts";
import { describeAxes, randomAxes } from "./axes.ts";
import { sphericalWristSolutions, threeParallelSolutions } from "./paden-kahan.ts";
import { puma560 } from "./puma560.ts";
import { mulberry32 } from "./random.ts";
import { offsetWrist } from "./tending.ts";

/** Near a double solution, where two branches meet, both methods know the angles to the root of their rounding only. */
const SAME = 1e-6;

const wrapped = (d: number) => Math.abs(Math.atan2(Math.sin(d), Math.cos(d)));
const apart = (a: ArrayLike<number>, b: ArrayLike<number>) => Math.max(...Array.from(a, (x, k) => wrapped(x - b[k]!)));

/** Compares all branches at poses made from random joint values; the largest number of branches met. */
function compareBranches(
  arm: Arm,
  reference: (arm: Arm, pose: Float64Array) => number[][],
  random: () => number,
  poses: number,
): number {
  const inverse = createInverse(arm);
  const result = inverse.result();
  let most = 0;
  for (let t = 0; t < poses; t++) {
    const q = Float64Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
    const pose = forwardKinematics(arm, q, new Float64Array(16));
    inverse.solve(pose, result);
    const rows = Array.from({ length: result.count }, (_, s) => result.q.slice(6 * s, 6 * s + 6));
    const expected = reference(arm, pose);
    expect(rows).toHaveLength(expected.length);
    for (const row of expected) expect(Math.min(...rows.map((other) => apart(row, other)))).toBeLessThan(SAME);
    most = Math.max(most, rows.length);
  }
  return most;
}

test("arms with a spherical wrist and axes 1 and 2 that meet", () => {
  const random = mulberry32(31);
  let most = 0;
  for (let a = 0; a < 60; a++) {
    const axes = randomAxes(random, [
      { kind: "meeting", first: 0, count: 2 },
      { kind: "meeting", first: 3, count: 3 },
    ]);
    const arm = buildArm(describeAxes(axes, random));
    most = Math.max(most, compareBranches(arm, sphericalWristSolutions, random, 20));
  }
  expect(most).toBe(8);
});

test("arms with three parallel axes and an offset wrist", () => {
  const random = mulberry32(32);
  let most = 0;
  for (let a = 0; a < 60; a++) {
    const axes = randomAxes(random, [
      { kind: "parallel", first: 1, count: 3 },
      { kind: "meeting", first: 4, count: 2 },
    ]);
    const arm = buildArm(describeAxes(axes, random));
    most = Math.max(most, compareBranches(arm, threeParallelSolutions, random, 20));
  }
  expect(most).toBe(8);
});

test("the Puma 560 and the offset-wrist arm of the bench", () => {
  expect(compareBranches(buildArm(puma560()), sphericalWristSolutions, mulberry32(33), 200)).toBe(8);
  expect(compareBranches(buildArm(offsetWrist()), threeParallelSolutions, mulberry32(34), 200)).toBe(8);
});
