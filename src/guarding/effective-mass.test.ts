import fc from "fast-check";
import { expect, it } from "vitest";
import { describeDh } from "../../test/arms/describe.ts";
import { puma560 } from "../../test/arms/puma560.ts";
import { buildArm, createDynamics, geometricJacobian } from "../arm/index.ts";
import { createEffectiveMass } from "./effective-mass.ts";

/** Two turning joints in a plane with point masses at elbow and tip (the tip's on a slide across the plane). */
function planar(l1: number, l2: number, m1: number, m2: number) {
  const point = (mass: number) => ({ mass, centre: [0, 0, 0] as const, tensor: [0, 0, 0, 0, 0, 0] as const });
  return buildArm(
    describeDh("planar arm", [
      { a: l1, alpha: 0, d: 0, inertia: point(m1) },
      { a: l2, alpha: 0, d: 0, inertia: point(0) },
      { kind: "prismatic", a: 0, alpha: 0, d: 0, inertia: point(m2) },
    ]),
  );
}

it("agrees with the closed form of the planar arm: 1/m = cos²β/(m2 + m1/sin²q2) + sin²β/m2, β from the forearm", () => {
  // Derived by hand: the elbow's speed is that of the tip along the forearm, divided by sin q2.
  const length = fc.double({ min: 0.1, max: 1, noNaN: true });
  const mass = fc.double({ min: 0.2, max: 20, noNaN: true });
  const angle = fc.double({ min: -3, max: 3, noNaN: true });
  const elbow = fc.double({ min: 0.2, max: 2.9, noNaN: true });
  fc.assert(
    fc.property(length, length, mass, mass, angle, elbow, angle, (l1, l2, m1, m2, q1, q2, beta) => {
      const meter = createEffectiveMass(planar(l1, l2, m1, m2));
      const direction = [Math.cos(q1 + q2 + beta), Math.sin(q1 + q2 + beta), 0];
      const found = meter.of([q1, q2, 0], direction, undefined, undefined);
      const expected = 1 / (Math.cos(beta) ** 2 / (m2 + m1 / Math.sin(q2) ** 2) + Math.sin(beta) ** 2 / m2);
      expect(found / expected).toBeCloseTo(1, 9);
    }),
    { seed: 1995, numRuns: 200 },
  );
});

it("is without end where the arm cannot move that way: along a stretched planar arm", () => {
  const meter = createEffectiveMass(planar(0.5, 0.5, 2, 2));
  expect(meter.of([0, 0, 0], [1, 0, 0], undefined, undefined)).toBeGreaterThan(1e12);
  // Across it both masses turn with it: hand count, elbow free to give way.
  expect(meter.of([0, 0, 0], [0, 1, 0], undefined, undefined)).toBeLessThan(3);
});

it("Puma 560 with motors: from its inertia matrix and Jacobian as published and recomputed", () => {
  // Inertia at (0, π/4, π, 0, π/4, 0), the first three joints (those that move the flange point); the coupling with the wrist is
  // below 1e-3 of it. Diagonal with motors as in a 2011 textbook (recalled), off-diagonal recomputed outside this project.
  const M = [
    [3.659375, -0.404361, 0.100614],
    [-0.404361, 4.413742, 0.350891],
    [0.100614, 0.350891, 0.937842],
  ];
  const J = [
    [0.15005, 0.014354, 0.319683],
    [0.596303, 0, 0],
    [0, 0.596303, 0.290974],
  ];
  const meter = createEffectiveMass(buildArm(puma560({ motors: true })));
  const q = [0, Math.PI / 4, Math.PI, 0, Math.PI / 4, 0];
  for (const u of [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
    [0.6, 0, -0.8],
    [0.48, 0.64, 0.6],
  ]) {
    const x = [0, 1, 2].map((i) => u[0]! * J[0]![i]! + u[1]! * J[1]![i]! + u[2]! * J[2]![i]!);
    const y = solve3(M, x);
    const expected = 1 / (x[0]! * y[0]! + x[1]! * y[1]! + x[2]! * y[2]!);
    expect(meter.of(q, u, undefined, undefined) / expected).toBeCloseTo(1, 2);
  }
});

/** Cramer's rule: another way than that of the program. */
function solve3(m: readonly (readonly number[])[], b: readonly number[]): number[] {
  const det = (a: readonly (readonly number[])[]) =>
    a[0]![0]! * (a[1]![1]! * a[2]![2]! - a[1]![2]! * a[2]![1]!) -
    a[0]![1]! * (a[1]![0]! * a[2]![2]! - a[1]![2]! * a[2]![0]!) +
    a[0]![2]! * (a[1]![0]! * a[2]![1]! - a[1]![1]! * a[2]![0]!);
  return [0, 1, 2].map((k) => det(m.map((row, i) => row.map((v, j) => (j === k ? b[i]! : v)))) / det(m));
}

it("a heavier load makes it no lighter, and half m v² is never above the energy of the whole arm", () => {
  const arm = buildArm(puma560({ motors: true }));
  const meter = createEffectiveMass(arm);
  const dynamics = createDynamics(arm);
  const m = new Float64Array(36);
  const jacobian = new Float64Array(36);
  const joint = fc.double({ min: -3, max: 3, noNaN: true });
  const vector = fc.array(joint, { minLength: 6, maxLength: 6 });
  const load = (mass: number) => ({ mass, centre: [0, 0, 0.1], inertia: [0, 0, 0, 0, 0, 0] });
  fc.assert(
    fc.property(vector, vector, (q, qd) => {
      geometricJacobian(arm, q, undefined, jacobian);
      const v = [0, 1, 2].map((r) => qd.reduce((sum, rate, i) => sum + jacobian[6 * r + i]! * rate, 0));
      const speed = Math.hypot(...v);
      fc.pre(speed > 1e-3);
      const u = v.map((c) => c / speed);
      const bare = meter.of(q, u, undefined, undefined);
      expect(meter.of(q, u, undefined, load(3))).toBeGreaterThanOrEqual(bare - 1e-9);
      dynamics.massMatrix(q, undefined, m);
      const energy = qd.reduce((sum, a, i) => sum + qd.reduce((s, b, j) => s + a * m[6 * i + j]! * b, 0), 0) / 2;
      expect((bare * speed * speed) / 2).toBeLessThanOrEqual(energy * (1 + 1e-9));
    }),
    { seed: 560, numRuns: 200 },
  );
});
