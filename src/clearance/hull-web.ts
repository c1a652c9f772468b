/**
 * Edges of a convex hull, to climb from corner to corner towards a direction: where no neighbour lies farther, no corner does.
 * That holds for a closed surface that is convex at every edge and has no corner in the middle of a face or an edge (from there
 * all neighbours may be level while the far side of the hull is better). Both are checked here; a hull that fails is
 * searched corner by corner instead.
 */
import { cross, dot, minus } from "../math/vectors.ts";

/** Fewer corners are looked at faster one by one. */
const LEAST_CORNERS = 16;
/** How far a corner may stand out over a neighbouring face, as a share of the size. */
const FLAT = 1e-13;
/** Volume that the normals of the faces around a true corner span at least. */
const POINTED = 1e-9;

export interface HullWeb {
  /** Neighbours of corner i: near[from[i]] to near[from[i + 1] - 1]. */
  readonly near: Int32Array;
  readonly from: Int32Array;
  /** Farthest corner towards each of the eight octants, by the signs of x (1), y (2) and z (4), set when negative. */
  readonly starts: Int32Array;
  /** Corner found last in the query that runs, the best start when the direction has hardly turned; -1 before the first. */
  readonly last: Int32Array;
}

type Point = readonly [number, number, number];

/**
 * @param corners of the hull @param triangles outward, by numbers that `kept` lists in the order of the corners
 * @returns undefined for a small hull or one that is not safely convex
 */
export function weaveHull(
  corners: readonly Point[],
  triangles: readonly (readonly [number, number, number])[],
  kept: readonly number[],
): HullWeb | undefined {
  const n = corners.length;
  if (n < LEAST_CORNERS) return undefined;
  const place = new Map(kept.map((number, i) => [number, i]));
  /** Corner opposite to each directed edge. */
  const across = new Map<number, number>();
  const faces = triangles.map((t) => t.map((number) => place.get(number)!) as [number, number, number]);
  for (const [i, j, k] of faces)
    for (const [from, to, other] of [
      [i, j, k],
      [j, k, i],
      [k, i, j],
    ] as const) {
      if (across.has(from * n + to)) return undefined;
      across.set(from * n + to, other);
    }
  // Closed, of the topology of a sphere.
  if (n - across.size / 2 + faces.length !== 2) return undefined;
  const size = Math.max(...corners.map((p) => Math.hypot(...p)));
  const near = corners.map((): number[] => []);
  for (const [key, other] of across) {
    const from = Math.floor(key / n),
      to = key % n;
    const beyond = across.get(to * n + from);
    if (beyond === undefined) return undefined;
    if (!(height(corners[from]!, corners[to]!, corners[other]!, corners[beyond]!) < FLAT * size)) return undefined;
    near[from]!.push(to);
  }
  const around = corners.map((): Point[] => []);
  for (const face of faces) {
    const normal = normalOf(corners[face[0]]!, corners[face[1]]!, corners[face[2]]!);
    for (const i of face) around[i]!.push(normal);
  }
  if (!around.every(isPointed)) return undefined;
  const starts = Int32Array.from({ length: 8 }, (_, octant) => {
    const reach = ([x, y, z]: Point) => (octant & 1 ? -x : x) + (octant & 2 ? -y : y) + (octant & 4 ? -z : z);
    return corners.reduce((best, p, i) => (reach(p) > reach(corners[best]!) ? i : best), 0);
  });
  const from = new Int32Array(n + 1);
  for (let i = 0; i < n; i++) from[i + 1] = from[i]! + near[i]!.length;
  return { near: Int32Array.from(near.flat()), from, starts, last: Int32Array.of(-1) };
}

/** How far p stands out over the plane of a, b, c (counter-clockwise from outside). */
const height = (a: Point, b: Point, c: Point, p: Point) => dot(normalOf(a, b, c), minus(p, a));

/** Whether the normals of the faces around a corner span all directions: in the middle of a face or an edge they do not. */
function isPointed(normals: readonly Point[]): boolean {
  const first = normals[0]!;
  const across = normals.map((n) => cross(first, n)).reduce((best, v) => (dot(v, v) > dot(best, best) ? v : best));
  return Math.max(...normals.map((n) => Math.abs(dot(across, n)))) > POINTED;
}

/** Unit normal of a triangle; not a number where it has no area. */
function normalOf(a: Point, b: Point, c: Point): Point {
  const n = cross(minus(b, a), minus(c, a));
  const length = Math.hypot(...n);
  return [n[0] / length, n[1] / length, n[2] / length];
}
