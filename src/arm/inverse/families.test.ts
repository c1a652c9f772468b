/**
 * Properties of inverse kinematics on random geometries of every family: each solution meets the pose, all are distinct, the
 * joint position that the pose was made from is among them, and a numeric solver with random restarts finds no other.
 */
import { describe, expect, test } from "vitest";
import { describeAxes, type PlacedAxis, randomAxes } from "../../../test/arms/axes.ts";
import { describeDh } from "../../../test/arms/describe.ts";
import { puma560 } from "../../../test/arms/puma560.ts";
import { mulberry32 } from "../../../test/arms/random.ts";
import { offsetWrist } from "../../../test/arms/tending.ts";
import { identityPose, type Pose } from "../../math/pose.ts";
import { smallestSingularValue } from "../../math/singular-values.ts";
import { buildArm } from "../build.ts";
import { forwardKinematics } from "../forward.ts";
import { geometricJacobian } from "../jacobian.ts";
import type { Arm } from "../model.ts";
import { homeAxes } from "./axes.ts";
import { createInverse } from "./create.ts";
import { Descent } from "./descent.ts";
import { GeneralInverse } from "./general.ts";
import type { InverseKinematics, InverseResult } from "./result.ts";

const wrapped = (d: number) => Math.abs(Math.atan2(Math.sin(d), Math.cos(d)));
const apart = (a: ArrayLike<number>, b: ArrayLike<number>) =>
  Array.from(a).reduce((most, x, k) => Math.max(most, wrapped(x - b[k]!)), 0);
const rowsOf = (r: InverseResult) => Array.from({ length: r.count }, (_, s) => r.q.subarray(6 * s, 6 * s + 6));
const check = identityPose();

/** Every row meets the pose to 1e-9 m and 1e-9 rad (entrywise, which is stricter), lies in (-π, π] and is unlike the others. */
function expectSound(arm: Arm, pose: Pose, result: InverseResult): void {
  expect(result.exact).toBe(true);
  const rows = rowsOf(result);
  let worst = 0;
  for (const [i, q] of rows.entries()) {
    forwardKinematics(arm, q, check);
    for (let k = 0; k < 12; k++) worst = Math.max(worst, Math.abs(check[k]! - pose[k]!));
    for (const x of q) expect(x > -Math.PI && x <= Math.PI).toBe(true);
    for (let j = 0; j < i; j++) expect(apart(q, rows[j]!)).toBeGreaterThan(9e-7);
  }
  expect(worst).toBeLessThan(1e-9);
}

/** Solutions that damped least squares from random starts reaches. */
function restarts(arm: Arm, pose: Pose, random: () => number, starts: number): Float64Array[] {
  const descent = new Descent(arm);
  const found: Float64Array[] = [];
  for (let s = 0; s < starts; s++) {
    const q = Float64Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
    descent.minimise(pose, q, 60, false);
    if (descent.positionError < 1e-10 && descent.rotationError < 1e-10) found.push(q);
  }
  return found;
}

function exercise(arm: Arm, inverse: InverseKinematics, random: () => number, poses: number, starts: number): number {
  const result = inverse.result();
  let most = 0;
  for (let t = 0; t < poses; t++) {
    const q = Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
    const pose = forwardKinematics(arm, q, identityPose());
    inverse.solve(pose, result);
    expectSound(arm, pose, result);
    const rows = rowsOf(result);
    expect(Math.min(...rows.map((row) => apart(row, q)))).toBeLessThan(1e-6);
    if (t === 0) {
      for (const other of restarts(arm, pose, random, starts)) {
        expect(Math.min(...rows.map((row) => apart(row, other)))).toBeLessThan(1e-5);
      }
    }
    most = Math.max(most, result.count);
  }
  return most;
}

const run = (kind: "meeting" | "parallel", first: number, count: number) => ({ kind, first, count });
const families: readonly [string, ReturnType<typeof run>[], RegExp, number][] = [
  ["axes 4 5 6 meet", [run("meeting", 3, 3)], /^spherical wrist \(axes 4 5 6\)$/, 8],
  [
    "axes 4 5 6 meet, 1 2 parallel",
    [run("meeting", 3, 3), run("parallel", 0, 2)],
    /^spherical wrist .*axes 1 2 parallel$/,
    8,
  ],
  [
    "axes 4 5 6 meet, 2 3 parallel",
    [run("meeting", 3, 3), run("parallel", 1, 2)],
    /^spherical wrist .*axes 2 3 parallel$/,
    8,
  ],
  [
    "axes 4 5 6 meet, 1 2 intersect",
    [run("meeting", 3, 3), run("meeting", 0, 2)],
    /^spherical wrist .*axes 1 2 intersect$/,
    8,
  ],
  [
    "axes 4 5 6 meet, 2 3 intersect",
    [run("meeting", 3, 3), run("meeting", 1, 2)],
    /^spherical wrist .*axes 2 3 intersect$/,
    8,
  ],
  ["axes 1 2 3 meet", [run("meeting", 0, 3)], /^spherical shoulder \(axes 1 2 3\)$/, 8],
  ["axes 1 2 3 meet, 4 5 parallel", [run("meeting", 0, 3), run("parallel", 3, 2)], /^spherical shoulder/, 8],
  ["axes 2 3 4 meet", [run("meeting", 1, 3)], /^three axes through one point \(axes 2 3 4\)/, 8],
  ["axes 3 4 5 meet", [run("meeting", 2, 3)], /^three axes through one point \(axes 3 4 5\)/, 8],
  ["axes 1 2 3 parallel", [run("parallel", 0, 3)], /^three parallel axes \(axes 1 2 3\)/, 8],
  ["axes 2 3 4 parallel", [run("parallel", 1, 3)], /^three parallel axes \(axes 2 3 4\)/, 8],
  ["axes 2 3 4 parallel, 5 6 intersect", [run("parallel", 1, 3), run("meeting", 4, 2)], /^three parallel axes/, 8],
  ["axes 2 3 4 parallel, 5 6 parallel", [run("parallel", 1, 3), run("parallel", 4, 2)], /^three parallel axes/, 8],
  ["axes 2 3 4 parallel, 1 2 intersect", [run("parallel", 1, 3), run("meeting", 0, 2)], /^three parallel axes/, 8],
  ["axes 3 4 5 parallel", [run("parallel", 2, 3)], /^three parallel axes \(axes 3 4 5\)/, 8],
  ["axes 3 4 5 parallel, 1 2 intersect", [run("parallel", 2, 3), run("meeting", 0, 2)], /^three parallel axes/, 8],
  ["axes 4 5 6 parallel", [run("parallel", 3, 3)], /^three parallel axes \(axes 4 5 6\)/, 8],
  ...[0, 1, 2, 3, 4].flatMap((i): [string, ReturnType<typeof run>[], RegExp, number][] => [
    [`axes ${i + 1} ${i + 2} intersect`, [run("meeting", i, 2)], /^elimination .*intersect/, 16],
    [`axes ${i + 1} ${i + 2} parallel`, [run("parallel", i, 2)], /^elimination .*parallel/, 16],
  ]),
  [
    "axes 1 2 and 5 6 intersect, 3 4 parallel",
    [run("meeting", 0, 2), run("meeting", 4, 2), run("parallel", 2, 2)],
    /^elim/,
    16,
  ],
  ["no special axes", [], /^elimination to 16 solutions \(general axes\)/, 16],
];

describe("random arms of each family", () => {
  test.each(families)("%s", (_, runs, method, bound) => {
    const random = mulberry32(41);
    for (let a = 0; a < 3; a++) {
      const arm = buildArm(describeAxes(randomAxes(random, runs), random));
      const inverse = createInverse(arm);
      expect(inverse.method).toMatch(method);
      expect(exercise(arm, inverse, random, 25, 40)).toBeLessThanOrEqual(bound);
    }
  });
});

describe("joint tables with right angles, zero lengths and offsets, where several structures coincide", () => {
  test("120 random tables", () => {
    const random = mulberry32(43);
    const right = Math.PI / 2;
    let tried = 0;
    for (let a = 0; a < 120; a++) {
      const table = Array.from({ length: 6 }, () => ({
        a: random() < 0.5 ? 0 : random() - 0.5,
        alpha: [0, right, -right, Math.PI, right, -right, 3 * (2 * random() - 1)][Math.floor(7 * random())]!,
        d: random() < 0.5 ? 0 : random() - 0.5,
        theta: random() < 0.7 ? 0 : 3 * (2 * random() - 1),
      }));
      const arm = buildArm(describeDh("table", table));
      const inverse = createInverse(arm);
      if (inverse.method.includes("do not span six freedoms")) {
        // Every pose it can take has a continuum of solutions; those answered meet the pose.
        const pose = forwardKinematics(arm, [0.3, 0.5, -0.7, 0.9, 1.1, -1.3], identityPose());
        expectSound(arm, pose, inverse.solve(pose, inverse.result()));
        continue;
      }
      tried++;
      exercise(arm, inverse, random, 6, 0);
    }
    expect(tried).toBeGreaterThan(50);
  });
});

describe("joint positions at multiples of 90°, 60° and 30°, where solutions coincide and equations degenerate", () => {
  test.each([90, 60, 30])("%d°", (degrees) => {
    const random = mulberry32(45);
    const right = Math.PI / 2;
    const step = (degrees * Math.PI) / 180;
    let regular = 0;
    for (let a = 0; a < 60; a++) {
      const tenth = () => (random() < 0.5 ? 0 : Math.round(10 * random() - 5) / 10);
      const table = Array.from({ length: 6 }, () => ({
        a: tenth(),
        alpha: [0, right, -right, Math.PI, right, -right, right / 2][Math.floor(7 * random())]!,
        d: tenth(),
        theta: random() < 0.7 ? 0 : right,
      }));
      const arm = buildArm(describeDh("table", table));
      const inverse = createInverse(arm);
      if (inverse.method.includes("do not span six freedoms")) continue;
      const result = inverse.result();
      for (let t = 0; t < 6; t++) {
        const q = Array.from({ length: 6 }, () => step * Math.floor((random() * 2 * Math.PI) / step));
        const pose = forwardKinematics(arm, q, identityPose());
        inverse.solve(pose, result);
        expectSound(arm, pose, result);
        const jacobian = geometricJacobian(arm, q, undefined, new Float64Array(36));
        if (smallestSingularValue(jacobian, 6, 6) < 1e-6) continue;
        regular++;
        expect(Math.min(...rowsOf(result).map((row) => apart(row, q)))).toBeLessThan(1e-6);
      }
    }
    expect(regular).toBeGreaterThan(30);
  });
});

describe("closed forms against elimination", () => {
  test.each([
    ["Puma 560", buildArm(puma560())],
    ["offset wrist", buildArm(offsetWrist())],
    ["random spherical wrist", randomArmOf([run("meeting", 3, 3)])],
    ["random three parallel axes", randomArmOf([run("parallel", 1, 3)])],
  ])("%s: the same solutions, neither has one more", (_, arm) => {
    const random = mulberry32(47);
    const closed = createInverse(arm),
      general = new GeneralInverse(arm, homeAxes(arm), undefined);
    expect(closed.method).not.toMatch(/elimination/);
    const a = closed.result(),
      b = general.result();
    for (let t = 0; t < 25; t++) {
      const q = Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
      const pose = forwardKinematics(arm, q, identityPose());
      closed.solve(pose, a);
      general.solve(pose, b);
      expect(b.count).toBe(a.count);
      for (const row of rowsOf(a)) expect(Math.min(...rowsOf(b).map((other) => apart(row, other)))).toBeLessThan(1e-6);
    }
  });
});

describe("arms whose structure is only approximate", () => {
  const right = Math.PI / 2;
  const tables: Record<string, number[][]> = {
    "spherical wrist": [
      [0.15, right, 0.4],
      [0.6, 0, 0],
      [0.12, right, 0],
      [0, -right, 0.65],
      [0, right, 0],
      [0, 0, 0.1],
    ], // prettier-ignore
    "three parallel axes": [
      [0, right, 0.16],
      [-0.43, 0, 0],
      [-0.39, 0, 0],
      [0, right, 0.13],
      [0, -right, 0.1],
      [0, 0, 0.09],
    ], // prettier-ignore
  };
  const sizes = [1e-9, 4e-6, 1e-3, 1e-2];
  test.each(Object.keys(tables).flatMap((name) => sizes.map((size) => [name, size] as const)))(
    "%s, off by up to %d",
    (name, size) => {
      const random = mulberry32(53);
      const off = () => size * (2 * random() - 1);
      const table = tables[name]!.map(([a, alpha, d]) => ({
        a: a! + off(),
        alpha: alpha! + off(),
        d: d! + off(),
        theta: off(),
      }));
      const arm = buildArm(describeDh(name, table));
      const inverse = createInverse(arm);
      if (size < 1e-5) expect(inverse.method).toContain(`nearly ${name}`);
      exercise(arm, inverse, random, 40, 60);
    },
  );
});

function randomArmOf(runs: ReturnType<typeof run>[]): Arm {
  const random = mulberry32(59);
  const axes: PlacedAxis[] = randomAxes(random, runs);
  return buildArm(describeAxes(axes, random));
}
