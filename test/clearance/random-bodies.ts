/** Random bodies with a description of their own, so that tests can judge distances without the program's support functions. */
import { hullTriangles } from "../../src/cell/convex-hull.ts";
import {
  type Body,
  boxBody,
  capsuleBody,
  cylinderBody,
  hullBody,
  meshBody,
  sphereBody,
} from "../../src/clearance/index.ts";
import type { Pose } from "../../src/math/pose.ts";
import { randomDirection, randomPose } from "../arms/random.ts";

type Point = readonly [number, number, number];
type Triangles = readonly (readonly [number, number, number])[];

export const convexKinds = ["sphere", "capsule", "box", "cylinder", "convex"] as const;
export const kinds = [...convexKinds, "mesh"] as const;
export type Kind = (typeof kinds)[number];

export interface Sample {
  readonly kind: Kind;
  /** sphere r; capsule r, length; box x, y, z; cylinder r, length; empty for convex and mesh. */
  readonly sizes: readonly number[];
  /** Corners of convex and mesh. */
  readonly points: readonly Point[];
  readonly triangles: Triangles;
  readonly body: Body;
}

type Random = () => number;

export function randomSample(kind: Kind, random: Random): Sample {
  const size = () => 0.02 + 0.3 * random() ** 2;
  const plain = (sizes: number[], body: Body): Sample => ({ kind, sizes, points: [], triangles: [], body });
  switch (kind) {
    case "sphere": {
      const r = size();
      return plain([r], sphereBody(r));
    }
    case "capsule": {
      const r = size(),
        length = 2 * size();
      return plain([r, length], capsuleBody(r, length));
    }
    case "box": {
      const sizes = [size(), size(), size()];
      return plain(sizes, boxBody(sizes));
    }
    case "cylinder": {
      const r = size(),
        length = 2 * size();
      return plain([r, length], cylinderBody(r, length));
    }
    case "convex": {
      const all = cloud(4 + Math.floor(30 * random()), random, size);
      const triangles = hullTriangles(all)!;
      const used = [...new Set(triangles.flat())];
      const points = used.map((i) => all[i]!);
      return {
        kind,
        sizes: [],
        points,
        triangles: triangles.map((t) => t.map((i) => used.indexOf(i)) as [number, number, number]),
        body: hullBody(all),
      };
    }
    case "mesh": {
      const { points, triangles } = bumpyBall(3 + Math.floor(4 * random()), random, size());
      const body = meshBody(Float64Array.from(points.flat()), Uint32Array.from(triangles.flat()), true);
      return { kind, sizes: [], points, triangles, body };
    }
  }
}

function cloud(n: number, random: Random, size: () => number): Point[] {
  const stretch = [size(), size(), size()];
  return Array.from({ length: n }, () => {
    const d = randomDirection(random);
    return d.map((v, k) => v * stretch[k]! + 0.05) as [number, number, number];
  });
}

/** A closed, outward, star-shaped mesh that is not convex: a sphere of rings with random radii. */
export function bumpyBall(rings: number, random: Random, size: number): { points: Point[]; triangles: Triangles } {
  const around = 2 * rings;
  const radius = () => size * (0.5 + random());
  const points: Point[] = [[0, 0, radius()]];
  for (let i = 1; i < rings; i++)
    for (let j = 0; j < around; j++) {
      const polar = (Math.PI * i) / rings,
        turn = (2 * Math.PI * j) / around,
        r = radius();
      points.push([r * Math.sin(polar) * Math.cos(turn), r * Math.sin(polar) * Math.sin(turn), r * Math.cos(polar)]);
    }
  points.push([0, 0, -radius()]);
  const at = (i: number, j: number) => 1 + (i - 1) * around + (j % around);
  const triangles: [number, number, number][] = [];
  for (let j = 0; j < around; j++) {
    triangles.push([0, at(1, j), at(1, j + 1)]);
    for (let i = 1; i < rings - 1; i++)
      triangles.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)], [at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
    triangles.push([at(rings - 1, j), points.length - 1, at(rings - 1, j + 1)]);
  }
  return { points, triangles };
}

/** Mostly random, one in four turned by right angles only, so that faces and edges are parallel. */
export function randomPlace(random: Random, reach: number): Pose {
  const pose = randomPose(random, reach);
  if (random() > 0.25) return pose;
  const axes = [
    [1, 0, 0, 0, 1, 0, 0, 0, 1],
    [0, -1, 0, 1, 0, 0, 0, 0, 1],
    [0, 0, 1, 0, 1, 0, -1, 0, 0],
    [1, 0, 0, 0, 0, -1, 0, 1, 0],
  ][Math.floor(4 * random())]!;
  for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) pose[4 * r + c] = axes[3 * r + c]!;
  if (random() < 0.3) for (const k of [3, 7, 11]) pose[k] = Math.round(pose[k]! * 20) / 20;
  return pose;
}

/** How far the placed sample reaches along `d` (unit): max of d·x over its points. */
export function reachAlong(sample: Sample, pose: Pose, d: readonly number[]): number {
  const local = [0, 1, 2].map((c) => pose[c]! * d[0]! + pose[c + 4]! * d[1]! + pose[c + 8]! * d[2]!);
  const [x, y, z] = local as [number, number, number];
  const origin = pose[3]! * d[0]! + pose[7]! * d[1]! + pose[11]! * d[2]!;
  const { sizes } = sample;
  switch (sample.kind) {
    case "sphere":
      return origin + sizes[0]!;
    case "capsule":
      return origin + sizes[0]! + (Math.abs(z) * sizes[1]!) / 2;
    case "box":
      return origin + (Math.abs(x) * sizes[0]! + Math.abs(y) * sizes[1]! + Math.abs(z) * sizes[2]!) / 2;
    case "cylinder":
      return origin + sizes[0]! * Math.hypot(x, y) + (Math.abs(z) * sizes[1]!) / 2;
    default:
      return origin + Math.max(...sample.points.map((p) => p[0] * x + p[1] * y + p[2] * z));
  }
}

/** How far point p is outside the placed sample (0 inside), for kinds with a simple test; hulls by their face planes. */
export function outsideBy(sample: Sample, pose: Pose, p: readonly number[]): number {
  const d = [p[0]! - pose[3]!, p[1]! - pose[7]!, p[2]! - pose[11]!];
  const [x, y, z] = [0, 1, 2].map((c) => pose[c]! * d[0]! + pose[c + 4]! * d[1]! + pose[c + 8]! * d[2]!) as [
    number,
    number,
    number,
  ];
  const { sizes } = sample;
  const over = (v: number, half: number) => Math.max(0, Math.abs(v) - half);
  switch (sample.kind) {
    case "sphere":
      return Math.max(0, Math.hypot(x, y, z) - sizes[0]!);
    case "capsule":
      return Math.max(0, Math.hypot(x, y, over(z, sizes[1]! / 2)) - sizes[0]!);
    case "box":
      return Math.hypot(over(x, sizes[0]! / 2), over(y, sizes[1]! / 2), over(z, sizes[2]! / 2));
    case "cylinder":
      return Math.hypot(Math.max(0, Math.hypot(x, y) - sizes[0]!), over(z, sizes[1]! / 2));
    default: {
      let most = 0;
      for (const [i, j, k] of sample.triangles) {
        const a = sample.points[i]!,
          u = sub(sample.points[j]!, a),
          v = sub(sample.points[k]!, a);
        const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
        const length = Math.hypot(...n);
        const above = (n[0]! * (x - a[0]) + n[1]! * (y - a[1]) + n[2]! * (z - a[2])) / length;
        most = Math.max(most, above);
      }
      return most;
    }
  }
}

const sub = (a: Point, b: Point) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
