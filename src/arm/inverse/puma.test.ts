/** The eight solutions of one pose of the Puma 560, recomputed outside this project by random restarts of a numeric solver. */
import { expect, test } from "vitest";
import { puma560 } from "../../../test/arms/puma560.ts";
import { identityPose } from "../../math/pose.ts";
import { buildArm } from "../build.ts";
import { forwardKinematics } from "../forward.ts";
import { createInverse } from "./create.ts";

const expected = [
  [30, 45, -60, 20, 40, -10],
  [30, 45, -60, -160, -40, 170],
  [30, 72.3237, -114.6167, 13.9048, 66.1844, -0.1292],
  [30, 72.3237, -114.6167, -166.0952, -66.1844, 179.8708],
  [172.0742, 107.6763, -60, 27.8513, -61.3963, -150.3601],
  [172.0742, 107.6763, -60, -152.1487, 61.3963, 29.6399],
  [172.0742, 135, -114.6167, 41.0919, -38.6115, -170.437],
  [172.0742, 135, -114.6167, -138.9081, 38.6115, 9.563],
];

test("Puma 560: exactly the eight known solutions", () => {
  const arm = buildArm(puma560());
  const inverse = createInverse(arm);
  expect(inverse.method).toBe("spherical wrist (axes 4 5 6), axes 1 2 intersect, axes 2 3 parallel");
  const radians = expected[0]!.map((d) => (d * Math.PI) / 180);
  const result = inverse.solve(forwardKinematics(arm, radians, identityPose()), inverse.result());
  expect(result.exact).toBe(true);
  expect(result.count).toBe(8);
  const found = Array.from({ length: 8 }, (_, s) =>
    Array.from(result.q.subarray(6 * s, 6 * s + 6), (r) => (r * 180) / Math.PI),
  );
  for (const row of expected) {
    expect(found.some((f) => f.every((v, k) => Math.abs(v - row[k]!) < 1e-4))).toBe(true);
  }
});
