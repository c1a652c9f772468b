import { expect, test } from "vitest";
import { mulberry32, randomArm, randomPose } from "../../../test/arms/random.ts";
import { buildArm, forwardKinematics, geometricJacobian } from "../../arm/index.ts";
import { compose, identityPose } from "../../math/pose.ts";
import { createToolPoint, createToolRates, poseOfPoint } from "./tool-rates.ts";

const random = mulberry32(11);

/** Joint values and derivatives of the cubic q(s) = a + b s + c s² + d s³. */
function cubic(n: number) {
  const k = Array.from({ length: 4 }, () => Float64Array.from({ length: n }, () => 2 * random() - 1));
  const at = (s: number, order: number) =>
    Float64Array.from({ length: n }, (_, i) => {
      const [a, b, c, d] = k.map((x) => x[i]!) as [number, number, number, number];
      return [a + s * (b + s * (c + s * d)), b + s * (2 * c + s * 3 * d), 2 * c + 6 * d * s, 6 * d][order]!;
    });
  return at;
}

test("pose and Jacobian are the arm's own, on random arms of 3 to 7 joints with slides", () => {
  for (let round = 0; round < 40; round++) {
    const arm = buildArm(randomArm(random));
    const tool = createToolRates(arm);
    const flangeFromTcp = randomPose(random, 0.3);
    tool.setTool(flangeFromTcp);
    const q = cubic(arm.n)(0.3, 0);
    const point = createToolPoint();
    tool.place(q, point);
    const expected = compose(forwardKinematics(arm, q, identityPose()), flangeFromTcp);
    const pose = poseOfPoint(point);
    for (let i = 0; i < 16; i++) expect(Math.abs(pose[i]! - expected[i]!)).toBeLessThan(1e-13);
    const own = new Float64Array(6 * arm.n);
    tool.jacobian(own);
    const other = geometricJacobian(arm, q, flangeFromTcp, new Float64Array(6 * arm.n));
    for (let i = 0; i < own.length; i++) expect(Math.abs(own[i]! - other[i]!)).toBeLessThan(1e-13);
  }
});

test("each derivative is the difference quotient of the one before", () => {
  for (let round = 0; round < 40; round++) {
    const arm = buildArm(randomArm(random));
    const tool = createToolRates(arm);
    tool.setTool(randomPose(random, 0.3));
    const q = cubic(arm.n);
    const at = (s: number) => {
      const point = createToolPoint();
      tool.place(q(s, 0), point);
      tool.rates(q(s, 1), q(s, 2), q(s, 3), point);
      return point;
    };
    const h = 1e-5;
    const before = at(0.4 - h);
    const here = at(0.4);
    const after = at(0.4 + h);
    for (let k = 0; k < 3; k++) {
      const slope = (f: (p: typeof here) => number) => (f(after) - f(before)) / (2 * h);
      const close = (value: number, expected: number) =>
        expect(Math.abs(value - expected)).toBeLessThan(2e-7 * (1 + Math.abs(expected)));
      close(
        slope((p) => p.p[k]!),
        here.p1[k]!,
      );
      close(
        slope((p) => p.p1[k]!),
        here.p2[k]!,
      );
      close(
        slope((p) => p.p2[k]!),
        here.p3[k]!,
      );
      close(
        slope((p) => p.w[k]!),
        here.w1[k]!,
      );
      close(
        slope((p) => p.w1[k]!),
        here.w2[k]!,
      );
      // R' = ω × R, column by column.
      for (let c = 0; c < 3; c++) {
        const [x, y, z] = [here.r[c]!, here.r[3 + c]!, here.r[6 + c]!];
        const [wx, wy, wz] = here.w as unknown as [number, number, number];
        const turned = [wy * z - wz * y, wz * x - wx * z, wx * y - wy * x];
        close(
          slope((p) => p.r[3 * k + c]!),
          turned[k]!,
        );
      }
    }
  }
});
