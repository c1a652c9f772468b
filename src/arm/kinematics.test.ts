/** Forward kinematics and Jacobian of random arms against slow direct methods. */
import { expect, test } from "vitest";
import { offsetWrist } from "../../bench/arms.ts";
import { describeDh } from "../../test/arms/describe.ts";
import { mulberry32, randomArm, randomPose } from "../../test/arms/random.ts";
import type { ArmDescription } from "../cell/arm-description.ts";
import { compose, identityPose, type Pose, rotationAbout, translation } from "../math/pose.ts";
import {
  biasAcceleration,
  buildArm,
  forwardKinematics,
  geometricJacobian,
  jointFrames,
  linkFrames,
  manipulability,
} from "./index.ts";

/** Frames of links 0..n and the flange straight from the description, by full matrix products. */
function naive({ joints, lastFromFlange }: ArmDescription, q: readonly number[]): Pose[] {
  const frames = [identityPose()];
  joints.forEach(({ kind, axis, parentFromJoint }, i) => {
    const [x, y, z] = axis.map((part) => part * q[i]!) as [number, number, number];
    const motion = kind === "revolute" ? rotationAbout(axis, q[i]!) : translation(x, y, z);
    frames.push(compose(compose(frames[i]!, parentFromJoint), motion));
  });
  frames.push(compose(frames.at(-1)!, lastFromFlange));
  return frames;
}

const random = mulberry32(11);
const cases = Array.from({ length: 200 }, () => {
  const description = randomArm(random);
  const arm = buildArm(description);
  const list = (span: number) => Array.from({ length: arm.n }, () => span * (2 * random() - 1));
  return { description, arm, q: list(Math.PI), qd: list(2), tcp: randomPose(random, 0.3) };
});
const worst = (a: ArrayLike<number>, b: ArrayLike<number>) =>
  Array.from(a).reduce((most, value, i) => Math.max(most, Math.abs(value - b[i]!)), 0);

test("frames equal the naive matrix products", () => {
  for (const { description, arm, q } of cases) {
    const { n } = arm;
    const expected = naive(description, q);
    expect(worst(forwardKinematics(arm, q, new Float64Array(16)), expected[n + 1]!)).toBeLessThan(1e-13);
    const links = linkFrames(arm, q, new Float64Array(12 * (n + 1)));
    const joints = jointFrames(arm, q, new Float64Array(12 * (n + 1)));
    for (let i = 0; i <= n; i++) {
      expect(worst(links.subarray(12 * i, 12 * i + 12), expected[i]!)).toBeLessThan(1e-13);
      if (i === n) expect(worst(joints.subarray(12 * n), expected[n + 1]!)).toBeLessThan(1e-13);
      else {
        // Same origin as the link that the joint moves, z along the joint's axis.
        const frame = expected[i + 1]!,
          axis = description.joints[i]!.axis;
        for (let r = 0; r < 3; r++) {
          const along = frame[4 * r]! * axis[0] + frame[4 * r + 1]! * axis[1] + frame[4 * r + 2]! * axis[2];
          expect(joints[12 * i + 4 * r + 2]).toBeCloseTo(along, 12);
          expect(joints[12 * i + 4 * r + 3]).toBeCloseTo(frame[4 * r + 3]!, 12);
        }
      }
    }
  }
});

/** TCP velocity (v, w) by central differences of the naive kinematics. */
function differenced(description: ArmDescription, q: number[], qd: number[], tcp: Pose): number[] {
  const h = 1e-6;
  const at = (t: number) =>
    compose(
      naive(
        description,
        q.map((value, i) => value + t * qd[i]!),
      ).at(-1)!,
      tcp,
    );
  const before = at(-h),
    here = at(0),
    after = at(h);
  const rate = (k: number) => (after[k]! - before[k]!) / (2 * h);
  // [w]× = Ṙ·Rᵀ
  const spin = (a: number, b: number) =>
    rate(4 * a) * here[4 * b]! + rate(4 * a + 1) * here[4 * b + 1]! + rate(4 * a + 2) * here[4 * b + 2]!;
  return [rate(3), rate(7), rate(11), spin(2, 1), spin(0, 2), spin(1, 0)];
}

test("the Jacobian is the derivative of the pose", () => {
  for (const { description, arm, q, tcp } of cases) {
    const { n } = arm;
    const j = geometricJacobian(arm, q, tcp, new Float64Array(6 * n));
    for (let i = 0; i < n; i++) {
      const unit = q.map((_, k) => (k === i ? 1 : 0));
      const column = Array.from({ length: 6 }, (_, r) => j[r * n + i]!);
      expect(worst(column, differenced(description, q, unit, tcp))).toBeLessThan(1e-8);
    }
  }
});

test("the bias acceleration is the derivative of the Jacobian times the joint speeds", () => {
  const h = 1e-6;
  for (const { arm, q, qd, tcp } of cases) {
    const { n } = arm;
    const j = (t: number) =>
      geometricJacobian(
        arm,
        q.map((value, i) => value + t * qd[i]!),
        tcp,
        new Float64Array(6 * n),
      );
    const before = j(-h),
      after = j(h);
    const expected = Array.from({ length: 6 }, (_, r) =>
      qd.reduce((sum, rate, i) => sum + ((after[r * n + i]! - before[r * n + i]!) / (2 * h)) * rate, 0),
    );
    expect(worst(biasAcceleration(arm, q, qd, tcp, new Float64Array(6)), expected)).toBeLessThan(1e-7);
  }
});

test("manipulability is 0 when the arm loses a direction and |det J| for six joints", () => {
  const six = cases.filter(({ arm }) => arm.n === 6);
  expect(six.length).toBeGreaterThan(10);
  for (const { arm, q } of six) {
    const j = geometricJacobian(arm, q, undefined, new Float64Array(36));
    expect(manipulability(arm, q)).toBeCloseTo(Math.abs(determinant(j, 6)), 14);
  }
  const planar = buildArm({
    ...cases[0]!.description,
    joints: Array.from({ length: 3 }, (_, i) => ({
      ...cases[0]!.description.joints[0]!,
      kind: "revolute" as const,
      axis: [0, 0, 1] as const,
      parentFromJoint: translation(i === 0 ? 0 : 1, 0, 0),
    })),
    links: Array.from({ length: 4 }, (_, i) => ({ name: `${i}`, shapes: [] })),
    lastFromFlange: translation(1, 0, 0),
  });
  // Three parallel axes in line: the columns are (−y, x) of each joint with wz = 1 and become dependent.
  expect(manipulability(planar, [0.3, 0, 0])).toBeLessThan(1e-15);
  expect(manipulability(planar, [0.3, 1, 0])).toBeGreaterThan(0.1);
});

/** By Gaussian elimination with row pivoting. */
function determinant(matrix: Float64Array, n: number): number {
  const m = Float64Array.from(matrix);
  let product = 1;
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c + 1; r < n; r++) if (Math.abs(m[r * n + c]!) > Math.abs(m[pivot * n + c]!)) pivot = r;
    if (m[pivot * n + c] === 0) return 0;
    if (pivot !== c) {
      for (let k = 0; k < n; k++) [m[c * n + k], m[pivot * n + k]] = [m[pivot * n + k]!, m[c * n + k]!];
      product = -product;
    }
    product *= m[c * n + c]!;
    for (let r = c + 1; r < n; r++) {
      const factor = m[r * n + c]! / m[c * n + c]!;
      for (let k = c; k < n; k++) m[r * n + k]! -= factor * m[c * n + k]!;
    }
  }
  return product;
}

test("the benchmark arm reaches the stated start and goal of its planning problem", () => {
  // Stated with the reference scene, joint values to four decimals; tool centre point 0.12 m out along the flange axis.
  const arm = buildArm(describeDh("offset wrist", offsetWrist));
  const tcp = (q: number[]) => compose(forwardKinematics(arm, q, new Float64Array(16)), translation(0, 0, 0.12));
  const start = tcp([-1.4468, -2.1723, -1.6803, -0.8597, 1.5708, 0.124]);
  const goal = tcp([0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708]);
  const place = (pose: Pose) => [pose[3], pose[7], pose[11]] as number[];
  const toolAxis = (pose: Pose) => [pose[2], pose[6], pose[10]] as number[];
  expect(worst(place(start), [-0.05, -0.65, 0.05])).toBeLessThan(2e-4);
  expect(worst(toolAxis(start), [0, 0, -1])).toBeLessThan(2e-4);
  expect(worst(place(goal), [0.9, 0, 0.3])).toBeLessThan(2e-4);
  expect(worst(toolAxis(goal), [1, 0, 0])).toBeLessThan(2e-4);
});
