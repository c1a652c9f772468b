/** An arm in front of a machine enclosure: 10 robot bodies, 13 world bodies, 156 pairs. Metres, base frame, z up. Invented. */
import {
  type Body,
  type BodySet,
  boxBody,
  type CarriedBody,
  capsuleBody,
  createBodySet,
  cylinderBody,
  meshBody,
} from "../../src/clearance/index.ts";
import { identityPose, type Pose, translation } from "../../src/math/pose.ts";
import { mulberry32 } from "../arms/random.ts";

/** Segment p-q and radius, in DH frame `frame`. */
const capsules = [
  { name: "L0", frame: 0, p: [0, 0, 0.03], q: [0, 0, 0.1], radius: 0.07 },
  { name: "L1", frame: 1, p: [0, -0.04, 0], q: [0, 0, 0], radius: 0.065 },
  { name: "L2", frame: 2, p: [0.43, 0, 0], q: [0, 0, 0], radius: 0.055 },
  { name: "L3", frame: 3, p: [0.39, 0, 0], q: [0, 0, 0], radius: 0.045 },
  { name: "L4", frame: 4, p: [0, -0.13, 0], q: [0, 0, 0], radius: 0.04 },
  { name: "L5", frame: 5, p: [0, 0.1, 0], q: [0, 0, 0], radius: 0.04 },
  { name: "L6", frame: 6, p: [0, 0, -0.09], q: [0, 0, -0.03], radius: 0.035 },
] as const;

const worldBoxes = [
  ["back", [0.02, 1.2, 1.2], [1.74, 0, 0.3]],
  ["left", [1.2, 0.02, 1.2], [1.15, 0.59, 0.3]],
  ["right", [1.2, 0.02, 1.2], [1.15, -0.59, 0.3]],
  ["floor", [1.2, 1.2, 0.02], [1.15, 0, -0.29]],
  ["ceiling", [1.2, 1.2, 0.02], [1.15, 0, 0.89]],
  ["front_left", [0.02, 0.3, 1.2], [0.56, 0.45, 0.3]],
  ["front_right", [0.02, 0.3, 1.2], [0.56, -0.45, 0.3]],
  ["front_top", [0.02, 0.6, 0.3], [0.56, 0, 0.75]],
  ["front_bottom", [0.02, 0.6, 0.3], [0.56, 0, -0.15]],
  ["pedestal", [0.3, 0.3, 0.5], [0, 0, -0.3]],
  ["headstock", [0.3, 0.4, 0.4], [1.55, 0, 0.3]],
  ["part_stand", [0.4, 0.4, 0.4], [-0.05, -0.65, -0.35]],
] as const;

/** Joint rows of the arm, standard DH: a, alpha, d. */
export const sceneArm = [
  { a: 0, alpha: Math.PI / 2, d: 0.16 },
  { a: -0.43, alpha: 0, d: 0 },
  { a: -0.39, alpha: 0, d: 0 },
  { a: 0, alpha: Math.PI / 2, d: 0.13 },
  { a: 0, alpha: -Math.PI / 2, d: 0.1 },
  { a: 0, alpha: 0, d: 0.09 },
] as const;

/** Torus, axis +x, as 2 · nu · nv triangles. */
export function ring(nu: number, nv: number): { readonly vertices: Float64Array; readonly indices: Uint32Array } {
  const R = 0.12,
    r = 0.045;
  const vertices: number[] = [],
    indices: number[] = [];
  for (let i = 0; i < nu; i++)
    for (let j = 0; j < nv; j++) {
      const u = (2 * Math.PI * i) / nu,
        w = (2 * Math.PI * j) / nv,
        across = R + r * Math.cos(w);
      vertices.push(1.25 + r * Math.sin(w), across * Math.cos(u), 0.3 + across * Math.sin(u));
      const at = (k: number, l: number) => (k % nu) * nv + (l % nv);
      indices.push(at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j), at(i + 1, j + 1), at(i, j + 1));
    }
  return { vertices: Float64Array.from(vertices), indices: Uint32Array.from(indices) };
}

/** A pose whose z axis runs from p to q, at their middle. */
export function poseAlong(p: ArrayLike<number>, q: ArrayLike<number>): Pose {
  const d = [0, 1, 2].map((k) => q[k]! - p[k]!) as [number, number, number];
  const length = Math.hypot(...d);
  const z = d.map((v) => v / length) as [number, number, number];
  const least = z.map(Math.abs).indexOf(Math.min(...z.map(Math.abs)));
  const e = [0, 1, 2].map((k) => (k === least ? 1 : 0));
  const cross = (a: readonly number[], b: readonly number[]) => [
    a[1]! * b[2]! - a[2]! * b[1]!,
    a[2]! * b[0]! - a[0]! * b[2]!,
    a[0]! * b[1]! - a[1]! * b[0]!,
  ];
  const x0 = cross(e, z),
    norm = Math.hypot(...x0),
    x = x0.map((v) => v / norm),
    y = cross(z, x);
  const pose = identityPose();
  for (let k = 0; k < 3; k++) pose.set([x[k]!, y[k]!, z[k]!, (p[k]! + q[k]!) / 2], 4 * k);
  return pose;
}

export interface SceneBody {
  readonly name: string;
  /** DH frame 0 (base) to 6; undefined: world. */
  readonly frame: number | undefined;
  readonly frameFromBody: Pose;
  readonly body: Body;
}

export function sceneBodies(): SceneBody[] {
  const torus = ring(50, 20);
  return [
    ...capsules.map(({ name, frame, p, q, radius }) => ({
      name,
      frame,
      frameFromBody: poseAlong(p, q),
      body: capsuleBody(radius, Math.hypot(q[0] - p[0], q[1] - p[1], q[2] - p[2])),
    })),
    { name: "palm", frame: 6, frameFromBody: translation(0, 0, 0.03), body: boxBody([0.08, 0.08, 0.06]) },
    { name: "fingers", frame: 6, frameFromBody: translation(0, 0, 0.09), body: boxBody([0.06, 0.03, 0.06]) },
    { name: "part", frame: 6, frameFromBody: translation(0, 0, 0.14), body: cylinderBody(0.025, 0.06) },
    ...worldBoxes.map(([name, size, centre]) => ({
      name,
      frame: undefined,
      frameFromBody: translation(centre[0], centre[1], centre[2]),
      body: boxBody(size),
    })),
    {
      name: "ring",
      frame: undefined,
      frameFromBody: identityPose(),
      body: meshBody(torus.vertices, torus.indices, false),
    },
  ];
}

const linkPairs = ["L0-L3 L0-L4 L0-L5 L0-L6 L1-L3 L1-L4 L1-L5 L1-L6 L2-L4 L2-L5 L2-L6 L3-L6"]
  .flatMap((text) => text.split(" "))
  .map((text) => text.split("-") as [string, string]);

export function scenePairs(bodies: readonly SceneBody[]): [number, number][] {
  const index = (name: string) => bodies.findIndex((b) => b.name === name);
  const robot = bodies.flatMap((b, i) => (b.frame === undefined ? [] : [i]));
  const world = bodies.flatMap((b, i) => (b.frame === undefined ? [i] : []));
  return [
    ...robot.flatMap((i) =>
      world.filter((j) => !(i === index("L0") && j === index("pedestal"))).map((j): [number, number] => [i, j]),
    ),
    ...linkPairs.map(([a, b]): [number, number] => [index(a), index(b)]),
    ...["L0", "L1", "L2", "L3", "L4"].flatMap((link) =>
      ["palm", "fingers", "part"].map((tool): [number, number] => [index(link), index(tool)]),
    ),
  ];
}

/** The set, its moving frames being DH frames 0 to 6. */
export function sceneSet(bodies = sceneBodies()): BodySet {
  const carried = bodies.map(
    ({ frame, frameFromBody, body }): CarriedBody => ({ frame: frame ?? -1, frameFromBody, body }),
  );
  return createBodySet(carried, 7, scenePairs(bodies));
}

/** DH frames 0 to 6 of the arm, 12 numbers each. */
export function sceneFrames(q: ArrayLike<number>, out: Float64Array): Float64Array {
  out.fill(0, 0, 12);
  out[0] = out[5] = out[10] = 1;
  for (let i = 0; i < 6; i++) {
    const { a, alpha, d } = sceneArm[i]!;
    const c = Math.cos(q[i]!),
      s = Math.sin(q[i]!);
    const flat = alpha === 0;
    const ca = flat ? 1 : 0,
      sa = flat ? 0 : Math.sign(alpha);
    const b = 12 * i,
      o = b + 12;
    for (let r = 0; r < 12; r += 4) {
      const x = out[b + r]!,
        y = out[b + r + 1]!,
        z = out[b + r + 2]!;
      const along = x * c + y * s,
        across = y * c - x * s;
      out[o + r] = along;
      out[o + r + 1] = across * ca + z * sa;
      out[o + r + 2] = z * ca - across * sa;
      out[o + r + 3] = along * a + z * d + out[b + r + 3]!;
    }
  }
  return out;
}

/** 5,000 states, q1 to q6 of each in turn, uniform in -π to π. */
export function sceneStates(): Float64Array[] {
  const random = mulberry32(2024);
  return Array.from({ length: 5000 }, () => Float64Array.from({ length: 6 }, () => -Math.PI + 2 * Math.PI * random()));
}
