/** Published arm against figures recomputed outside this project (sources: test/arms/puma560.ts). */
import { expect, test } from "vitest";
import { puma560 } from "../../test/arms/puma560.ts";
import { identityPose } from "../math/pose.ts";
import { buildArm, forwardKinematics, geometricJacobian, manipulability } from "./index.ts";

const deg = Math.PI / 180;
const arm = buildArm(puma560());
const nominal = [0, Math.PI / 4, Math.PI, 0, Math.PI / 4, 0];
const general = [30, 45, -60, 20, 40, -10].map((x) => x * deg);

test.each([
  [
    [0, 0, 0, 0, 0, 0],
    [0.4521, -0.15005, 0.4318],
  ],
  [
    [0, Math.PI / 2, -Math.PI / 2, 0, 0, 0],
    [0.0203, -0.15005, 0.8636],
  ],
  [
    [0, 0, -Math.PI / 2, 0, 0, 0],
    [0.8636, -0.15005, -0.0203],
  ],
  [nominal, [0.596303, -0.15005, -0.014354]],
  [general, [0.453214, 0.0884, 0.717161]],
])("flange position at %j", (q, position) => {
  const pose = forwardKinematics(arm, q, identityPose());
  expect(pose[3]).toBeCloseTo(position[0]!, 6);
  expect(pose[7]).toBeCloseTo(position[1]!, 6);
  expect(pose[11]).toBeCloseTo(position[2]!, 6);
});

test("flange orientation", () => {
  const rows = (q: number[]) => {
    const p = forwardKinematics(arm, q, identityPose());
    return [p[0], p[1], p[2], p[4], p[5], p[6], p[8], p[9], p[10]] as number[];
  };
  const expected = [0.737162, -0.637632, -0.223648, 0.53512, 0.752977, -0.38298, 0.412601, 0.16264, 0.896275];
  rows(general).forEach((value, i) => expect(value).toBeCloseTo(expected[i]!, 6));
  [0, 0, 1, 0, 1, 0, -1, 0, 0].forEach((value, i) => expect(rows(nominal)[i]).toBeCloseTo(value, 12));
});

test("Jacobian at the nominal pose", () => {
  const expected = [
    [0.15005, 0.014354, 0.319683, 0, 0, 0],
    [0.596303, 0, 0, 0, 0, 0],
    [0, 0.596303, 0.290974, 0, 0, 0],
    [0, 0, 0, Math.SQRT1_2, 0, 1],
    [0, -1, -1, 0, -1, 0],
    [1, 0, 0, -Math.SQRT1_2, 0, 0],
  ].flat();
  const j = geometricJacobian(arm, nominal, undefined, new Float64Array(36));
  expected.forEach((value, i) => expect(j[i]).toBeCloseTo(value, 6));
});

test("manipulability", () => {
  expect(manipulability(arm, nominal)).toBeCloseTo(0.0786172, 7);
  expect(manipulability(arm, general)).toBeCloseTo(0.0240378, 7);
});
