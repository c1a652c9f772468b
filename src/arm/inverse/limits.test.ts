import fc from "fast-check";
import { expect, test } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { mulberry32 } from "../../../test/arms/random.ts";
import { limitedPuma, offsetWrist } from "../../../test/arms/tending.ts";
import { ContractError } from "../../math/contract-error.ts";
import { identityPose } from "../../math/pose.ts";
import { buildArm } from "../build.ts";
import { forwardKinematics } from "../forward.ts";
import type { Arm } from "../model.ts";
import { createInverse } from "./create.ts";
import { nearestSolution, withinLimits } from "./limits.ts";
import type { InverseResult } from "./result.ts";

const TWO_PI = 2 * Math.PI;

/** Three planar joints; the result is made by hand. */
function planar(limits: readonly (readonly [number, number])[]): Arm {
  const blank = describeDh("planar", [
    { a: 1, alpha: 0, d: 0 },
    { a: 1, alpha: 0, d: 0 },
    { a: 1, alpha: 0, d: 0 },
  ]);
  return buildArm({ ...blank, joints: blank.joints.map((j, i) => ({ ...j, min: limits[i]![0], max: limits[i]![1] })) });
}
const result = (...rows: number[][]): InverseResult => ({
  count: rows.length,
  q: Float64Array.from(rows.flat()),
  exact: true,
  positionError: 0,
  rotationError: 0,
});
const lists = (rows: readonly Float64Array[]) => rows.map((r) => Array.from(r));

test("copies by full turns, counted by hand", () => {
  const arm = planar([
    [-TWO_PI, TWO_PI],
    [-1, 1],
    [0, 7],
  ]); // prettier-ignore
  const r = result([1, 0.5, 0.3], [1, 1.5, 0.3]);
  // Joint 1: 1 and 1 - 2π; joint 3: 0.3 and 0.3 + 2π; the second branch has joint 2 outside.
  expect(lists(withinLimits(arm, r, { allTurns: true }))).toEqual([
    [1 - TWO_PI, 0.5, 0.3],
    [1 - TWO_PI, 0.5, 0.3 + TWO_PI],
    [1, 0.5, 0.3],
    [1, 0.5, 0.3 + TWO_PI],
  ]);
  // Middle of the ranges: 0, 0, 3.5, to which 0.3 + 2π is nearer than 0.3.
  expect(lists(withinLimits(arm, r, { allTurns: false }))).toEqual([[1, 0.5, 0.3 + TWO_PI]]);
});

test("a range that excludes the principal value but includes a copy counts; joints without stops keep theirs", () => {
  const free = Number.POSITIVE_INFINITY;
  const arm = planar([
    [4, 6],
    [-free, free],
    [-free, -10],
  ]); // prettier-ignore
  const rows = withinLimits(arm, result([-1, 3, 0]), { allTurns: true });
  expect(lists(rows)).toEqual([[-1 + TWO_PI, 3, -2 * TWO_PI]]);
});

test("a value outside by rounding is put on the limit; by more it is outside", () => {
  const arm = planar([
    [-1, 1],
    [-1, 1],
    [-1, 1],
  ]); // prettier-ignore
  expect(lists(withinLimits(arm, result([1 + 1e-12, 0, 0]), { allTurns: true }))).toEqual([[1, 0, 0]]);
  expect(withinLimits(arm, result([1 + 1e-8, 0, 0]), { allTurns: true })).toEqual([]);
});

test("nearest branch and turn", () => {
  const arm = planar([
    [-TWO_PI, TWO_PI],
    [-2, 2],
    [-TWO_PI, TWO_PI],
  ]); // prettier-ignore
  const out = new Float64Array(3);
  const r = result([3, 1, 0], [-3, -1, 0]);
  expect(nearestSolution(arm, r, [3.2, 0.9, 6], out)).toBe(true);
  expect(Array.from(out)).toEqual([3, 1, TWO_PI]);
  expect(nearestSolution(arm, r, [3.2, -0.9, 0.1], out)).toBe(true);
  expect(Array.from(out)).toEqual([-3 + TWO_PI, -1, 0]);
  // A heavy joint 1 outweighs joint 2.
  expect(nearestSolution(arm, r, [3, -0.9, 0], out, [100, 1, 1])).toBe(true);
  expect(out[1]).toBe(1);
  expect(nearestSolution(arm, result([3, 3, 0]), [3, 2, 0], out)).toBe(false);
  expect(nearestSolution(arm, { ...r, exact: false }, [3, 1, 0], out)).toBe(false);
  expect(() => nearestSolution(arm, r, [0, 0], out)).toThrow(ContractError);
});

test("property: rows inside the limits reproduce the pose, hold the joint position it came from, and the nearest is nearest", () => {
  for (const description of [limitedPuma(), offsetWrist()]) {
    const arm = buildArm(description);
    const inverse = createInverse(arm);
    const r = inverse.result();
    const position = fc.integer().map((seed) => {
      const random = mulberry32(seed);
      return Array.from({ length: 6 }, (_, k) => arm.min[k]! + (arm.max[k]! - arm.min[k]!) * random());
    });
    fc.assert(
      fc.property(position, position, (q, reference) => {
        const pose = forwardKinematics(arm, q, identityPose());
        inverse.solve(pose, r);
        const all = withinLimits(arm, r, { allTurns: true });
        const one = withinLimits(arm, r, { allTurns: false });
        expect(one.length).toBeLessThanOrEqual(r.count);
        expect(all.length).toBeGreaterThanOrEqual(one.length);
        const reached = identityPose();
        let off = 0;
        for (const row of [...all.slice(0, 40), ...one]) {
          forwardKinematics(arm, row, reached);
          for (let k = 0; k < 12; k++) off = Math.max(off, Math.abs(reached[k]! - pose[k]!));
        }
        expect(off).toBeLessThan(2e-9);
        expect([...all, ...one].every((row) => row.every((x, k) => x >= arm.min[k]! && x <= arm.max[k]!))).toBe(true);
        const cost = (row: ArrayLike<number>) => reference.reduce((sum, x, k) => sum + (row[k]! - x) ** 2, 0);
        const nearest = new Float64Array(6);
        expect(nearestSolution(arm, r, reference, nearest)).toBe(all.length > 0);
        expect(Math.min(...all.map(cost))).toBeGreaterThan(cost(nearest) - 1e-9);
        expect(all.some((row) => q.every((x, k) => Math.abs(row[k]! - x) < 1e-5))).toBe(true);
      }),
      { seed: 71, numRuns: 100 },
    );
  }
});
