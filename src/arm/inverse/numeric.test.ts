import { expect, test } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { puma560 } from "../../../test/arms/puma560.ts";
import { mulberry32, randomArm } from "../../../test/arms/random.ts";
import { limitedPuma } from "../../../test/arms/tending.ts";
import { ContractError } from "../../math/contract-error.ts";
import { angleBetween, distanceBetween, identityPose } from "../../math/pose.ts";
import { buildArm } from "../build.ts";
import { forwardKinematics } from "../forward.ts";
import { createInverse } from "./create.ts";
import { numericInverse } from "./numeric.ts";

const right = Math.PI / 2;
const reached = identityPose();

test("reachable poses of random arms of 3 to 7 joints, sliding ones among them", () => {
  const random = mulberry32(81);
  let found = 0;
  for (let t = 0; t < 120; t++) {
    const arm = buildArm(randomArm(random));
    const q = Float64Array.from({ length: arm.n }, (_, k) => (arm.prismatic[k] ? 0.5 : 2) * (2 * random() - 1));
    const pose = forwardKinematics(arm, q, identityPose());
    const answer = numericInverse(arm, pose, new Float64Array(arm.n));
    forwardKinematics(arm, answer.q, reached);
    expect(distanceBetween(reached, pose)).toBeCloseTo(answer.positionError, 10);
    expect(angleBetween(reached, pose)).toBeCloseTo(answer.rotationError, 7);
    if (answer.reached) found++;
  }
  expect(found).toBe(120);
});

test("limits hold, and a seed at the solution is kept", () => {
  const arm = buildArm(limitedPuma());
  const random = mulberry32(82);
  for (let t = 0; t < 40; t++) {
    const q = Float64Array.from({ length: 6 }, (_, k) => arm.min[k]! + (arm.max[k]! - arm.min[k]!) * random());
    const pose = forwardKinematics(arm, q, identityPose());
    const answer = numericInverse(arm, pose, new Float64Array(6));
    expect(answer.reached).toBe(true);
    for (let k = 0; k < 6; k++) expect(answer.q[k]! >= arm.min[k]! && answer.q[k]! <= arm.max[k]!).toBe(true);
    const kept = numericInverse(arm, pose, q);
    expect(kept.starts).toBe(1);
    for (let k = 0; k < 6; k++) expect(kept.q[k]).toBeCloseTo(q[k]!, 9);
  }
});

test("the same input gives the same answer, and out of reach is reported with its errors", () => {
  const arm = buildArm(puma560());
  const pose = identityPose();
  pose[3] = 2;
  const a = numericInverse(arm, pose, new Float64Array(6)),
    b = numericInverse(arm, pose, new Float64Array(6));
  expect(a.reached).toBe(false);
  expect(a.positionError).toBeGreaterThan(1);
  expect(b).toEqual(a);
  expect(() => numericInverse(arm, pose, [0, 0])).toThrow(ContractError);
});

test("a planar three-joint arm: both solutions, said not to be guaranteed complete", () => {
  const arm = buildArm(
    describeDh("planar", [
      { a: 1, alpha: 0, d: 0 },
      { a: 1, alpha: 0, d: 0 },
      { a: 0.3, alpha: 0, d: 0 },
    ]),
  );
  const inverse = createInverse(arm);
  expect(inverse.complete).toBe(false);
  expect(inverse.method).toMatch(/numeric, completeness not guaranteed \(3 joints\)/);
  const pose = forwardKinematics(arm, [0.3, 0.9, -0.4], identityPose());
  const result = inverse.solve(pose, inverse.result());
  expect(result.exact).toBe(true);
  expect(result.count).toBe(2);
  const elbows = [result.q[1]!, result.q[4]!].sort((x, y) => x - y);
  expect(elbows).toEqual([expect.closeTo(-0.9, 8), expect.closeTo(0.9, 8)]);
});

test("five and seven joints, and a slide among six", () => {
  const random = mulberry32(83);
  const tables = {
    five: [
      [0.1, right, 0.3],
      [0.4, 0, 0],
      [0.3, 0, 0],
      [0, right, 0],
      [0, 0, 0.1],
    ], // prettier-ignore
    seven: [
      [0, right, 0.3],
      [0, -right, 0],
      [0, right, 0.4],
      [0, -right, 0],
      [0, right, 0.4],
      [0, -right, 0],
      [0, 0, 0.1],
    ], // prettier-ignore
  };
  for (const [name, rows] of Object.entries(tables)) {
    const arm = buildArm(
      describeDh(
        name,
        rows.map(([a, alpha, d]) => ({ a: a!, alpha: alpha!, d: d! })),
      ),
    );
    const inverse = createInverse(arm);
    const result = inverse.result();
    for (let t = 0; t < 4; t++) {
      const q = Array.from({ length: arm.n }, () => 2 * (2 * random() - 1));
      const pose = forwardKinematics(arm, q, identityPose());
      inverse.solve(pose, result);
      expect(result.exact).toBe(true);
      if (name === "seven") expect(result.count).toBeGreaterThan(4);
      for (let s = 0; s < result.count; s++) {
        forwardKinematics(arm, result.q.subarray(arm.n * s, arm.n * (s + 1)), reached);
        for (let k = 0; k < 12; k++) expect(Math.abs(reached[k]! - pose[k]!)).toBeLessThan(1e-9);
      }
      if (arm.n === 5) {
        const hit = Array.from({ length: result.count }, (_, s) => result.q.subarray(5 * s, 5 * s + 5)).some((row) =>
          row.every((x, k) => Math.abs(Math.sin((x - q[k]!) / 2)) < 1e-6),
        );
        expect(hit).toBe(true);
      }
    }
  }
});
