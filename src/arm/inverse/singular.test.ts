/** Singular poses, poses at the edge of reach and beyond it, and input that is no pose. */
import { describe, expect, test } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { puma560 } from "../../../test/arms/puma560.ts";
import { mulberry32, randomDirection } from "../../../test/arms/random.ts";
import { offsetWrist } from "../../../test/arms/tending.ts";
import { ContractError } from "../../math/contract-error.ts";
import { angleBetween, distanceBetween, identityPose, type Pose, rotationAbout } from "../../math/pose.ts";
import { buildArm } from "../build.ts";
import { forwardKinematics } from "../forward.ts";
import type { Arm } from "../model.ts";
import { createInverse } from "./create.ts";
import { Descent } from "./descent.ts";
import type { InverseResult } from "./result.ts";

const right = Math.PI / 2;
const puma = buildArm(puma560());
const offset = buildArm(offsetWrist());
/** No shoulder offset: the wrist point can lie on axis 1; tilted last axes. */
const upright = buildArm(
  describeDh("upright", [
    { a: 0, alpha: right, d: 0.4 },
    { a: 0.5, alpha: 0, d: 0 },
    { a: 0, alpha: right, d: 0 },
    { a: 0, alpha: -1, d: 0.5 },
    { a: 0, alpha: 1, d: 0 },
    { a: 0, alpha: 0, d: 0.1 },
  ]),
);
const reached = identityPose();

function worst(arm: Arm, pose: Pose, result: InverseResult): number {
  let most = 0;
  for (let s = 0; s < result.count; s++) {
    forwardKinematics(arm, result.q.subarray(6 * s, 6 * s + 6), reached);
    for (let k = 0; k < 12; k++) most = Math.max(most, Math.abs(reached[k]! - pose[k]!));
  }
  return result.q.subarray(0, 6 * result.count).some(Number.isNaN) ? Number.NaN : most;
}

function expectReached(arm: Arm, q: readonly number[]): InverseResult {
  const inverse = createInverse(arm);
  const pose = forwardKinematics(arm, q, identityPose());
  const result = inverse.solve(pose, inverse.result());
  expect(result.exact).toBe(true);
  expect(result.count).toBeGreaterThan(0);
  expect(worst(arm, pose, result)).toBeLessThan(1e-9);
  return result;
}

describe("singular poses are solved, with the free angle 0", () => {
  test.each([
    ["Puma 560, wrist aligned", puma, [0.3, 0.4, -0.5, 0.2, 0, 0.1]],
    ["Puma 560, all joints 0", puma, [0, 0, 0, 0, 0, 0]],
    ["Puma 560, straight up", puma, [0, right, -right, 0, 0, 0]],
    ["offset wrist, axis 6 along 4", offset, [0.3, 0.4, -0.5, 0.2, 0, 0.1]],
    ["offset wrist, axis 6 against 4", offset, [0.3, 0.4, -0.5, 0.2, Math.PI, 0.1]],
    ["offset wrist, stretched and aligned", offset, [0.3, 0.4, 0, 0.2, 0, 0.1]],
    ["offset wrist, straight up", offset, [0, -right, 0, -right, 0, 0]],
    ["offset wrist, folded", offset, [0.3, 0.4, Math.PI, 0.2, 0.7, 0.1]],
    ["upright, wrist point on axis 1", upright, [0.3, right, right, 0.4, 0.8, -0.3]],
    ["upright, all joints 0", upright, [0, 0, 0, 0, 0, 0]],
    ["upright, wrist axes 4 and 6 aligned", upright, [0.3, 0.4, 0.5, 0.6, 0, 0.2]],
    ["upright, folded onto the shoulder", upright, [0.3, 0.4, -right, 0.6, 0.2, 0.2]],
  ])("%s", (_, arm, q) => {
    const first = expectReached(arm, q).q.slice(0, 6);
    // A second solver, the same pose: the same representative.
    expect(expectReached(arm, q).q.slice(0, 6)).toEqual(first);
  });

  test("the free wrist angle is 0 and the sum of the turns is kept", () => {
    const result = expectReached(puma, [0.3, 0.4, -0.5, 0.2, 0, 0.1]);
    const rows = Array.from({ length: result.count }, (_, s) => result.q.subarray(6 * s, 6 * s + 6));
    const own = rows.find((r) => Math.abs(r[0]! - 0.3) + Math.abs(r[1]! - 0.4) + Math.abs(r[2]! + 0.5) < 1e-6)!;
    expect(own[3]).toBe(0);
    expect(own[5]).toBeCloseTo(0.3, 9);
  });

  test("offset wrist aligned: reachable although q6 = 0 would not reach", () => {
    const random = mulberry32(61);
    for (let t = 0; t < 300; t++) {
      const q = Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
      q[4] = t % 2 === 0 ? 0 : Math.PI;
      if (t % 3 === 0) q[2] = 0;
      expectReached(offset, q);
    }
  });

  test.each([
    ["Puma 560", puma],
    ["offset wrist", offset],
    ["upright", upright],
  ])("%s: down to the singularity no solution is off by more than 1e-9", (_, arm) => {
    const random = mulberry32(62);
    for (const size of [1e-3, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9, 1e-10, 1e-12, 1e-15]) {
      for (let t = 0; t < 60; t++) {
        const q = Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
        q[4] = size * (random() - 0.5);
        if (t % 4 === 0) q[2] = size * (random() - 0.5);
        expectReached(arm, q);
      }
    }
  });
});

describe("out of reach", () => {
  test.each([
    ["Puma 560", puma],
    ["offset wrist", offset],
  ])("%s: flagged, errors are those of row 0, and no random restart does better", (_, arm) => {
    const inverse = createInverse(arm);
    const result = inverse.result();
    const random = mulberry32(63);
    const descent = new Descent(arm);
    for (let t = 0; t < 6; t++) {
      const pose = rotationAbout(randomDirection(random), 3 * random());
      const direction = randomDirection(random);
      for (let k = 0; k < 3; k++) pose[4 * k + 3] = (1.3 + random()) * direction[k]!;
      inverse.solve(pose, result);
      expect(result.exact).toBe(false);
      expect(result.count).toBe(1);
      forwardKinematics(arm, result.q.subarray(0, 6), reached);
      expect(distanceBetween(reached, pose)).toBeCloseTo(result.positionError, 9);
      expect(angleBetween(reached, pose)).toBeCloseTo(result.rotationError, 7);
      const cost = Math.hypot(result.positionError, descent.radianLength * result.rotationError);
      for (let s = 0; s < 60; s++) {
        const q = Float64Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
        expect(descent.minimise(pose, q, 100, false)).toBeGreaterThan(cost - 1e-6);
      }
    }
  });
});

test("a pose that is not finite, or no rotation, is the caller's error; one printed to six digits is put right", () => {
  for (const arm of [puma, offset]) {
    const inverse = createInverse(arm);
    const result = inverse.result();
    for (const [index, value] of [
      [7, Number.NaN],
      [0, Number.NaN],
      [3, Number.POSITIVE_INFINITY],
      [5, 2],
      [10, -1],
    ] as const) {
      // prettier-ignore
      const pose = identityPose();
      pose[index] = value;
      expect(() => inverse.solve(pose, result)).toThrow(ContractError);
    }
    const q = [0.3, 0.4, -0.5, 0.2, 0.8, 0.1];
    const printed = forwardKinematics(arm, q, identityPose()).map((x) => Math.round(x * 1e6) / 1e6);
    inverse.solve(printed, result);
    expect(result.exact).toBe(true);
    expect(worst(arm, printed, result)).toBeLessThan(2e-6);
    const rows = Array.from({ length: result.count }, (_, s) => result.q.subarray(6 * s, 6 * s + 6));
    expect(rows.some((row) => q.every((x, k) => Math.abs(x - row[k]!) < 2e-5))).toBe(true);
  }
  expect(() => createInverse({ ...puma, n: 2 })).toThrow(ContractError);
});
