/** Published arm against figures recomputed outside this project (sources: test/arms/puma560.ts). */
import { expect, test } from "vitest";
import { puma560 } from "../../test/arms/puma560.ts";
import { identityPose } from "../math/pose.ts";
import { buildArm, createDynamics, forwardKinematics, geometricJacobian, manipulability } from "./index.ts";

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
  for (const [i, value] of rows(general).entries()) expect(value).toBeCloseTo(expected[i]!, 6);
  for (const [i, value] of [0, 0, 1, 0, 1, 0, -1, 0, 0].entries()) expect(rows(nominal)[i]).toBeCloseTo(value, 12);
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
  for (const [i, value] of expected.entries()) expect(j[i]).toBeCloseTo(value, 6);
});

test("manipulability", () => {
  expect(manipulability(arm, nominal)).toBeCloseTo(0.0786172, 7);
  expect(manipulability(arm, general)).toBeCloseTo(0.0240378, 7);
});

const gravity = [0, 0, -9.81];
const dynamics = createDynamics(arm);
const still = new Float64Array(6);
const closeTo = (actual: Float64Array, expected: readonly number[], digits = 5) => {
  for (const [i, value] of expected.entries()) expect(actual[i], `joint ${i + 1}`).toBeCloseTo(value, digits);
};

test.each([
  [
    [0, 0, 0, 0, 0, 0],
    [0, 37.483667, 0.248929, 0, 0, 0],
  ],
  [
    [0, Math.PI / 2, -Math.PI / 2, 0, 0, 0],
    [0, -0.775235, 0.248929, 0, 0, 0],
  ],
  [
    [0, 0, -Math.PI / 2, 0, 0, 0],
    [0, 46.006938, 8.7722, 0, 0.028253, 0],
  ],
  [nominal, [0, 31.63988, 6.035138, 0, 0.028253, 0]],
  [general, [0, 28.097407, 2.492665, -0.001608, -0.012278, 0]],
])("gravity torque at %j", (q, expected) => {
  closeTo(dynamics.gravityTorque(q, gravity, undefined, new Float64Array(6)), expected);
});

test("inverse dynamics in motion", () => {
  const qd = [0.5, -0.4, 0.3, 1, -0.8, 0.6];
  const qdd = [1, 0.5, -0.7, 2, 1, -1.5];
  const at = (q: number[]) => dynamics.torque(q, qd, qdd, gravity, undefined, new Float64Array(6));
  closeTo(at(nominal), [2.88279, 32.134267, 5.906416, 0.00033, 0.028655, -0.000002]);
  closeTo(at(general), [2.618939, 28.695455, 2.573459, 0.001971, -0.012448, 0.000061]);
});

test("velocity torque", () => {
  const ones = [1, 1, 1, 1, 1, 1];
  const at = (q: number[]) => dynamics.torque(q, ones, still, [0, 0, 0], undefined, new Float64Array(6));
  closeTo(at(nominal), [-1.391074, 1.782919, -0.752027, 0.001223, 0.002379, 0.000148]);
  closeTo(at(general), [-3.794223, 0.66157, 0.527239, 0.005644, 0.006796, -0.000007]);
});

test("holding torque added by a payload of 2 kg, 0.1 m out along the flange axis", () => {
  const payload = { mass: 2, centre: [0, 0, 0.1], inertia: [0, 0, 0, 0, 0, 0] };
  const added = (q: number[]) => {
    const loaded = dynamics.gravityTorque(q, gravity, payload, new Float64Array(6));
    const bare = dynamics.gravityTorque(q, gravity, undefined, new Float64Array(6));
    return loaded.map((value, i) => value - bare[i]!);
  };
  closeTo(added(nominal), [0, 13.661468, 7.670919, 0, 1.962, 0]);
  closeTo(added(general), [0, 7.812245, 1.821696, -0.111639, -0.852637, 0]);
});

test("joint-space inertia matrix", () => {
  const diagonal = (m: Float64Array) => Float64Array.from({ length: 6 }, (_, i) => m[7 * i]!);
  const matrix = (q: number[], from = dynamics) => from.massMatrix(q, undefined, new Float64Array(36));
  closeTo(diagonal(matrix([0, 0, 0, 0, 0, 0])), [3.177096, 2.131807, 0.361779, 0.00164, 0.000642, 0.00004]);
  closeTo(
    diagonal(matrix([0, Math.PI / 2, -Math.PI / 2, 0, 0, 0])),
    [1.553321, 2.882133, 0.361779, 0.00164, 0.000642, 0.00004],
  );
  const m = matrix(nominal);
  closeTo(diagonal(m), [2.875345, 2.088927, 0.360968, 0.001741, 0.000642, 0.00004]);
  closeTo(Float64Array.of(m[1]!, m[2]!, m[8]!), [-0.404361, 0.100614, 0.350891]);
  const driven = createDynamics(buildArm(puma560({ motors: true })));
  closeTo(diagonal(matrix(nominal, driven)), [3.659375, 4.413742, 0.937842, 0.192532, 0.171348, 0.194105]);
});

test("gravity constants of the 1986 paper, rebuilt from its masses and centres", () => {
  // Armstrong, Khatib & Burdick 1986: g1 -37.2, g2 -8.44, g3 1.02, g4 0.249, g5 -0.0282 N m (from memory of the paper).
  // Here with the 1994 set, whose d4 is 0.4318: the terms that do not contain d4 are the same.
  const at = (q: number[]) => dynamics.gravityTorque(q, gravity, undefined, new Float64Array(6));
  const atZero = at([0, 0, 0, 0, 0, 0]);
  expect(atZero[2]).toBeCloseTo(0.249, 3);
  expect(at([0, 0, -Math.PI / 2, 0, 0, 0])[4]).toBeCloseTo(0.0282, 3);
  // Torque 2 at the zero pose is -(g1) + g4 in that paper's signs.
  expect(atZero[1]).toBeCloseTo(37.235 + 0.24893, 3);
});
