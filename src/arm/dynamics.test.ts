/** Dynamics of random arms against energies computed from the description by a different route. */
import { expect, test } from "vitest";
import { mulberry32, randomArm, randomInertia } from "../../test/arms/random.ts";
import type { InertiaDescription } from "../cell/arm-description.ts";
import { combineInertias, reframeInertia } from "../cell/reframe.ts";
import type { Pose } from "../math/pose.ts";
import { type Arm, buildArm, createDynamics, forwardKinematics, linkFrames } from "./index.ts";

const random = mulberry32(23);
const list = (n: number, span: number) => Array.from({ length: n }, () => span * (2 * random() - 1));
const cases = Array.from({ length: 60 }, () => {
  const description = randomArm(random);
  const arm = buildArm(description);
  const { n } = arm;
  const payload: InertiaDescription = randomInertia(random);
  return {
    description,
    arm,
    payload: { mass: payload.mass, centre: payload.centre, inertia: payload.tensor },
    bodies: description.links.slice(1).map((link) => link.inertia!),
    load: payload,
    q: list(n, Math.PI),
    qd: list(n, 2),
    qdd: list(n, 4),
    gravity: list(3, 10),
  };
});
type Case = (typeof cases)[number];

/** Links 1..n and the payload, each in base axes. */
function placed({ arm, bodies, load }: Case, q: readonly number[]): InertiaDescription[] {
  const frames = linkFrames(arm, q, new Float64Array(12 * (arm.n + 1)));
  const pose = (i: number): Pose => Float64Array.of(...frames.subarray(12 * i, 12 * i + 12), 0, 0, 0, 1);
  return [
    ...bodies.map((body, i) => reframeInertia(body, pose(i + 1))),
    reframeInertia(load, forwardKinematics(arm, q, new Float64Array(16))),
  ];
}

/** Potential energy in a uniform field. */
function potential(c: Case, q: readonly number[]): number {
  const { mass, centre } = combineInertias(placed(c, q));
  return -mass * (centre[0] * c.gravity[0]! + centre[1] * c.gravity[1]! + centre[2] * c.gravity[2]!);
}

/** Kinetic energy from differenced positions of the bodies: ½·m·v² + ½·w·I·w, plus the drives. */
function kinetic(c: Case, q: readonly number[], qd: readonly number[]): number {
  const h = 1e-5;
  const moved = (t: number) => q.map((value, i) => value + t * qd[i]!);
  const before = placed(c, moved(-h)),
    after = placed(c, moved(h)),
    here = placed(c, q);
  const spins = angularVelocities(c.arm, q, qd);
  let energy = 0;
  here.forEach(({ mass, tensor }, i) => {
    for (let k = 0; k < 3; k++) energy += 0.5 * mass * ((after[i]!.centre[k]! - before[i]!.centre[k]!) / (2 * h)) ** 2;
    const [x, y, z] = spins[Math.min(i, c.arm.n - 1)]!;
    const [xx, yy, zz, xy, xz, yz] = tensor;
    energy += 0.5 * (xx * x * x + yy * y * y + zz * z * z) + xy * x * y + xz * x * z + yz * y * z;
  });
  for (const [i, rate] of qd.entries()) energy += 0.5 * c.description.joints[i]!.motorInertia * rate * rate;
  return energy;
}

/** Sum of the turning joints' rates about their axes, link by link, straight from the description. */
function angularVelocities(arm: Arm, q: readonly number[], qd: readonly number[]): [number, number, number][] {
  const frames = linkFrames(arm, q, new Float64Array(12 * (arm.n + 1)));
  const w: [number, number, number] = [0, 0, 0];
  return qd.map((rate, i) => {
    if (arm.prismatic[i] === 0) {
      for (let r = 0; r < 3; r++) {
        let along = 0;
        for (let k = 0; k < 3; k++)
          along += frames[12 * (i + 1) + 4 * r + k]! * arm.describedFromKernel[9 * i + 3 * k + 2]!;
        w[r]! += rate * along;
      }
    }
    return [...w];
  });
}

test("gravity torque is the slope of the potential energy", () => {
  const h = 1e-5;
  for (const c of cases) {
    const { arm, q, gravity, payload } = c;
    const torque = createDynamics(arm).gravityTorque(q, gravity, payload, new Float64Array(arm.n));
    for (let i = 0; i < arm.n; i++) {
      const at = (t: number) => q.map((value, k) => (k === i ? value + t : value));
      const slope = (potential(c, at(h)) - potential(c, at(-h))) / (2 * h);
      expect(Math.abs(torque[i]! - slope)).toBeLessThan(1e-6 * Math.max(1, Math.abs(slope)));
    }
  }
});

test("the inertia matrix gives the kinetic energy", () => {
  for (const c of cases) {
    const { arm, q, qd, payload } = c;
    const { n } = arm;
    const m = createDynamics(arm).massMatrix(q, payload, new Float64Array(n * n));
    let energy = 0;
    for (let a = 0; a < n; a++)
      for (let b = 0; b < n; b++) {
        energy += 0.5 * qd[a]! * m[a * n + b]! * qd[b]!;
        expect(m[a * n + b]).toBeCloseTo(m[b * n + a]!, 12);
      }
    const expected = kinetic(c, q, qd);
    expect(Math.abs(energy - expected)).toBeLessThan(1e-7 * Math.max(1, expected));
  }
});

test("power of the drives is the rate of the energy", () => {
  const h = 1e-4;
  for (const c of cases) {
    const { arm, q, qd, qdd, gravity, payload } = c;
    const torque = createDynamics(arm).torque(q, qd, qdd, gravity, payload, new Float64Array(arm.n));
    const power = torque.reduce((sum, value, i) => sum + value * qd[i]!, 0);
    const energy = (t: number) => {
      const at = q.map((value, i) => value + t * qd[i]! + 0.5 * t * t * qdd[i]!);
      return (
        kinetic(
          c,
          at,
          qd.map((rate, i) => rate + t * qdd[i]!),
        ) + potential(c, at)
      );
    };
    const rate = (energy(h) - energy(-h)) / (2 * h);
    const size = torque.reduce((sum, value, i) => sum + Math.abs(value * qd[i]!), 1);
    expect(Math.abs(power - rate)).toBeLessThan(1e-5 * size);
  }
});

test("torque satisfies Lagrange's equations with the inertia matrix: M·q̈ + Ṁ·q̇ - ½·∂(q̇ᵀ·M·q̇)/∂q + g", () => {
  const h = 1e-5;
  for (const { arm, q, qd, qdd, gravity, payload } of cases) {
    const { n } = arm;
    const dynamics = createDynamics(arm);
    const m = (at: readonly number[]) => dynamics.massMatrix(at, payload, new Float64Array(n * n));
    const apply = (matrix: Float64Array, v: readonly number[]) =>
      Array.from({ length: n }, (_, a) => v.reduce((sum, value, b) => sum + matrix[a * n + b]! * value, 0));
    const along = (t: number) => q.map((value, i) => value + t * qd[i]!);
    const ahead = apply(m(along(h)), qd),
      behind = apply(m(along(-h)), qd),
      pushed = apply(m(q), qdd);
    const hold = dynamics.gravityTorque(q, gravity, payload, new Float64Array(n));
    const torque = dynamics.torque(q, qd, qdd, gravity, payload, new Float64Array(n));
    for (let i = 0; i < n; i++) {
      const energy = (t: number) => {
        const moved = apply(m(q.map((value, k) => (k === i ? value + t : value))), qd);
        return 0.5 * moved.reduce((sum, value, k) => sum + value * qd[k]!, 0);
      };
      const expected = pushed[i]! + (ahead[i]! - behind[i]!) / (2 * h) - (energy(h) - energy(-h)) / (2 * h) + hold[i]!;
      const size = Math.max(1, ...torque.map(Math.abs));
      expect(Math.abs(torque[i]! - expected)).toBeLessThan(1e-6 * size);
    }
  }
});

test("a payload changed in place is noticed, and leaving it off again gives the bare arm", () => {
  const { arm, q, gravity } = cases[0]!;
  const dynamics = createDynamics(arm);
  const hold = (payload?: { mass: number; centre: number[]; inertia: number[] }) => [
    ...dynamics.gravityTorque(q, gravity, payload, new Float64Array(arm.n)),
  ];
  const payload = { mass: 1, centre: [0, 0, 0.1], inertia: [0, 0, 0, 0, 0, 0] };
  const bare = hold();
  const one = hold(payload);
  payload.mass = 3;
  const three = hold(payload);
  for (let i = 0; i < arm.n; i++) expect(three[i]! - bare[i]!).toBeCloseTo(3 * (one[i]! - bare[i]!), 9);
  expect(hold()).toEqual(bare);
});

test("an arm without masses has no dynamics", () => {
  const { description } = cases[0]!;
  const bare = buildArm({ ...description, links: description.links.map(({ name, shapes }) => ({ name, shapes })) });
  expect(() => createDynamics(bare)).toThrow(/must have a mass/);
});
