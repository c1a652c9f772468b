import { expect, test } from "vitest";
import { describeDh } from "../../test/arms/describe.ts";
import { puma560 } from "../../test/arms/puma560.ts";
import { mulberry32, randomArm } from "../../test/arms/random.ts";
import { offsetWrist } from "../../test/arms/tending.ts";
import { buildArm } from "./build.ts";
import { geometricJacobian, manipulability } from "./jacobian.ts";
import type { Arm } from "./model.ts";
import { branchOf, createSingularityMeter } from "./singularity.ts";

const right = Math.PI / 2;
/** Upright arm with shoulder offset, spherical wrist and a base joint offset, invented. */
const upright = describeDh("upright", [
  { a: 0.15, alpha: right, d: 0.4, theta: 0.3 },
  { a: 0.6, alpha: 0, d: 0.02 },
  { a: 0.12, alpha: right, d: 0 },
  { a: 0, alpha: -right, d: 0.65 },
  { a: 0, alpha: right, d: 0 },
  { a: 0, alpha: 0, d: 0.1 },
]);

function determinant(arm: Arm, q: number[]): number {
  const a = Array.from(geometricJacobian(arm, q, undefined, new Float64Array(36)));
  let det = 1;
  for (let c = 0; c < 6; c++) {
    let p = c;
    for (let r = c + 1; r < 6; r++) if (Math.abs(a[6 * r + c]!) > Math.abs(a[6 * p + c]!)) p = r;
    if (p !== c) {
      for (let k = 0; k < 6; k++) [a[6 * c + k], a[6 * p + k]] = [a[6 * p + k]!, a[6 * c + k]!];
      det = -det;
    }
    det *= a[7 * c]!;
    for (let r = c + 1; r < 6; r++) {
      const f = a[6 * r + c]! / a[7 * c]!;
      for (let k = c; k < 6; k++) a[6 * r + k]! -= f * a[6 * c + k]!;
    }
  }
  return det;
}

test.each([
  ["Puma 560", puma560()],
  ["offset wrist", offsetWrist()],
  ["upright", upright],
])("%s: the product of the three measures is the Jacobian's determinant up to a constant", (_, description) => {
  const arm = buildArm(description);
  const meter = createSingularityMeter(arm);
  expect(meter.named).toBe(true);
  const random = mulberry32(11);
  let constant = Number.NaN;
  for (let t = 0; t < 200; t++) {
    const q = Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
    const m = meter.measure(q);
    expect(m.unnamed).toBeNaN();
    for (const value of [m.wrist, m.elbow, m.shoulder]) expect(Math.abs(value)).toBeLessThanOrEqual(1 + 1e-12);
    const ratio = determinant(arm, q) / (m.wrist * m.elbow * m.shoulder);
    if (t === 0) constant = ratio;
    expect(Math.abs(ratio / constant - 1)).toBeLessThan(1e-9);
  }
});

test("Puma 560: each named singularity at its own joint values", () => {
  const meter = createSingularityMeter(buildArm(puma560()));
  const q = [0.3, 0.4, -0.2, 0.5, 0.7, 0.1];
  expect(meter.measure(q).wrist).toBeCloseTo(Math.sin(0.7), 12);
  expect(meter.nearest([0.3, 0.4, -0.2, 0.5, 0, 0.1])).toEqual({ kind: "wrist", measure: expect.closeTo(0, 12) });
  // Forearm in line with the upper arm: the wrist point lies d4 along x3's normal and a3 along x3.
  const straight = Math.atan2(0.0203, 0.4318) - right;
  const stretched = [straight, straight + Math.PI].map((q3) =>
    Math.abs(meter.measure([0.3, 0.4, q3, 0.5, 0.7, 0.1]).elbow),
  );
  expect(Math.max(...stretched)).toBeLessThan(1e-9);
  expect(branchOf(meter, q).wrist).toBe(1);
  expect(branchOf(meter, [0.3, 0.4, -0.2, 0.5, -0.7, 0.1]).wrist).toBe(-1);
  expect(branchOf(meter, [0.3, 0.4, -0.2, 0.5, 0, 0.1]).wrist).toBe(0);
});

test("the side of axis 1 is positive where axis 2 lies", () => {
  const meter = createSingularityMeter(buildArm(upright));
  expect(branchOf(meter, [0, 0.5, 0.3, 0, 1, 0]).shoulder).toBe(1);
  expect(branchOf(meter, [0, Math.PI - 0.5, 0.3, 0, 1, 0]).shoulder).toBe(-1);
});

test("other arms: the smallest singular value, zero exactly when the manipulability is", () => {
  const random = mulberry32(5);
  let unnamed = 0;
  for (let t = 0; t < 60; t++) {
    const arm = buildArm(randomArm(random));
    const meter = createSingularityMeter(arm);
    const q = Array.from({ length: arm.n }, () => Math.PI * (2 * random() - 1));
    const { unnamed: least } = meter.measure(q);
    if (meter.named) continue;
    unnamed++;
    expect(least >= 0).toBe(true);
    if (manipulability(arm, q) > 1e-6) expect(least).toBeGreaterThan(1e-9);
    if (least > 1e-3) expect(manipulability(arm, q)).toBeGreaterThan(0);
  }
  expect(unnamed).toBeGreaterThan(30);
});
