/** The published arm with 16 real solutions (Manseur & Doty, IJRR 1989); see README.md beside this file. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { buildArm, createInverse, forwardKinematics } from "../../../src/arm/index.ts";
import { identityPose, type Pose } from "../../../src/math/pose.ts";
import { describeDh } from "../../arms/describe.ts";

interface Data {
  table: [number, number, number][];
  pose: number[];
  firstJoints: { arm: number[]; variant: number[] };
  solutions: number[][];
}
const data: Data = JSON.parse(readFileSync(new URL("solutions.json", import.meta.url), "utf8"));
const degree = Math.PI / 180;
/** The pose is printed to six decimals. */
const TOLERANCE_DEG = 0.01;
const turns = (a: number, b: number) => Math.abs(((((a - b + 180) % 360) + 360) % 360) - 180);

function orthonormal(printed: number[]): Pose {
  const pose = Float64Array.from(printed);
  const column = (c: number) => [pose[c]!, pose[4 + c]!, pose[8 + c]!];
  const unit = (v: number[]) => v.map((x) => x / Math.hypot(...v));
  const x = unit(column(0));
  const y0 = column(1);
  const along = y0.reduce((sum, v, k) => sum + v * x[k]!, 0);
  const y = unit(y0.map((v, k) => v - along * x[k]!));
  const z = [x[1]! * y[2]! - x[2]! * y[1]!, x[2]! * y[0]! - x[0]! * y[2]!, x[0]! * y[1]! - x[1]! * y[0]!];
  for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) pose[4 * r + c] = [x, y, z][c]![r]!;
  return pose;
}

function solve(lastTwist: number) {
  const rows = data.table.map(([a, alpha, d], i) => ({ a, alpha: (i === 5 ? lastTwist : alpha) * degree, d }));
  const arm = buildArm(describeDh("16 solutions", rows));
  const inverse = createInverse(arm);
  const pose = orthonormal(data.pose);
  const result = inverse.solve(pose, inverse.result());
  const found = Array.from({ length: result.count }, (_, s) => result.q.subarray(6 * s, 6 * s + 6));
  const reached = identityPose();
  for (const q of found) {
    forwardKinematics(arm, q, reached);
    for (let k = 0; k < 12; k++) expect(Math.abs(reached[k]! - pose[k]!)).toBeLessThan(1e-9);
  }
  return { method: inverse.method, found: found.map((q) => Array.from(q, (x) => x / degree)) };
}

test("16 real solutions, and they are the published ones", () => {
  const { method, found } = solve(1);
  expect(method).toMatch(/^elimination/);
  expect(found.length).toBe(16);
  for (const q1 of data.firstJoints.arm) expect(found.filter((q) => turns(q[0]!, q1) < TOLERANCE_DEG).length).toBe(2);
  for (const q of data.solutions) {
    expect(found.filter((f) => f.every((x, k) => turns(x, q[k]!) < TOLERANCE_DEG)).length).toBe(1);
  }
});

test("the variant with last twist 0 has 16 as well", () => {
  const { found } = solve(0);
  expect(found.length).toBe(16);
  for (const q1 of data.firstJoints.variant)
    expect(found.filter((q) => turns(q[0]!, q1) < TOLERANCE_DEG).length).toBe(2);
});
