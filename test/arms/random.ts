/** Random arms for tests, the same for the same seed. */
import type { ArmDescription, InertiaDescription } from "../../src/cell/arm-description.ts";
import { rotateTensor } from "../../src/cell/reframe.ts";
import { type Pose, rotationAbout } from "../../src/math/pose.ts";
import { describeDh } from "./describe.ts";

/** mulberry32: uniform numbers in [0, 1) from a 32-bit seed. */
export function mulberry32(seed: number): () => number {
  let a = seed | 0;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

type Random = () => number;

const between = (random: Random, min: number, max: number) => min + (max - min) * random();

export function randomDirection(random: Random): [number, number, number] {
  const z = between(random, -1, 1),
    turn = between(random, -Math.PI, Math.PI),
    r = Math.sqrt(1 - z * z);
  return [r * Math.cos(turn), r * Math.sin(turn), z];
}

export function randomPose(random: Random, reach: number): Pose {
  const pose = rotationAbout(randomDirection(random), between(random, -Math.PI, Math.PI));
  for (const k of [3, 7, 11]) pose[k] = between(random, -reach, reach);
  return pose;
}

/** A body that can exist: the tensor of a few point masses, turned. */
export function randomInertia(random: Random): InertiaDescription {
  const mass = between(random, 0.1, 20);
  const [x, y, z] = [random(), random(), random()].map((u) => mass * (0.02 + 0.1 * u) ** 2) as [number, number, number];
  const turn = rotationAbout(randomDirection(random), between(random, -Math.PI, Math.PI));
  return {
    mass,
    centre: [between(random, -0.3, 0.3), between(random, -0.3, 0.3), between(random, -0.3, 0.3)],
    tensor: rotateTensor(turn, [y + z, x + z, x + y, 0, 0, 0]),
  };
}

const axes = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
  [-1, 0, 0],
  [0, -1, 0],
  [0, 0, -1],
] as const;

/** An arm of 3 to 7 joints, turning and sliding, from a DH table (either convention) or with arbitrary axes, with masses. */
export function randomArm(random: Random): ArmDescription {
  const n = 3 + Math.floor(5 * random());
  const kind = () => (random() < 0.2 ? ("prismatic" as const) : ("revolute" as const));
  const name = `random ${n}`;
  const form = random();
  if (form < 0.5) {
    const right = Math.PI / 2;
    const table = Array.from({ length: n }, () => ({
      kind: kind(),
      a: random() < 0.3 ? 0 : between(random, -0.6, 0.6),
      alpha: [0, right, -right, Math.PI, between(random, -3, 3)][Math.floor(5 * random())]!,
      d: random() < 0.3 ? 0 : between(random, -0.6, 0.6),
      theta: random() < 0.5 ? 0 : between(random, -3, 3),
      inertia: randomInertia(random),
      motorInertia: random() < 0.5 ? 0 : between(random, 0, 2),
    }));
    return describeDh(name, table, form < 0.25 ? "standard" : "modified");
  }
  const blank = describeDh(
    name,
    Array.from({ length: n }, () => ({ kind: kind(), a: 0, alpha: 0, d: 0, motorInertia: between(random, 0, 2) })),
  );
  return {
    ...blank,
    joints: blank.joints.map((joint) => ({
      ...joint,
      parentFromJoint: randomPose(random, 0.6),
      axis: random() < 0.5 ? axes[Math.floor(6 * random())]! : randomDirection(random),
    })),
    links: blank.links.map((link, i) => (i === 0 ? link : { ...link, inertia: randomInertia(random) })),
    lastFromFlange: randomPose(random, 0.2),
  };
}
