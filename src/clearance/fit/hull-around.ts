/**
 * A convex hull around a mesh with few enough corners to compute with. Where the exact hull has more, a polytope around it: the
 * planes of the hull of the farthest points, each moved out until no point is beyond it. Its corners are the faces of the hull
 * of the dual points n / h (polar duality; Preparata and Shamos, Computational Geometry, 1985, 7.3.1).
 */

import { hullTriangles } from "../../cell/convex-hull.ts";
import { ContractError } from "../../math/contract-error.ts";
import { cross, dot, minus } from "../../math/vectors.ts";
import { usedPoints } from "./capsules.ts";
import { extremePoints, spreadDirections } from "./directions.ts";
import { principalAxes } from "./principal-axes.ts";

type Point = readonly [number, number, number];

export interface HullAround {
  /** Corners, m. */
  readonly points: readonly Point[];
  /** m³; 0 for a flat set. */
  readonly volume: number;
  /** The convex hull itself, but for points that stand out by less than 1e-10 of its size; false: a polytope around it. */
  readonly exact: boolean;
}

const DIRECTIONS = spreadDirections(200);
/** Most points outside the hull of the farthest ones with which the exact hull is computed. */
const MOST_OUTSIDE = 300;
const FLAT = 1e-10;

/**
 * @param vertices x, y, z, finite @param indices three per triangle; vertices that no triangle uses do not count
 * @throws ContractError if there is no triangle
 */
export function hullAround(vertices: Float64Array, indices: Uint32Array): HullAround {
  if (indices.length === 0) throw new ContractError("hullAround: needs at least one triangle");
  const all = usedPoints(vertices, indices);
  const far = listed(extremePoints(all, DIRECTIONS));
  const faces = hullTriangles(far);
  if (faces === undefined) return flatBox(all);
  const planes = planesOf(far, faces);
  const size = Math.max(
    ...[0, 1, 2].map((k) => Math.max(...far.map((p) => p[k]!)) - Math.min(...far.map((p) => p[k]!))),
  );
  const outside = beyond(planes, all, FLAT * size);
  if (outside !== undefined) {
    const points = [...far, ...outside];
    const triangles = hullTriangles(points)!;
    const kept = [...new Set(triangles.flat())].sort((a, b) => a - b);
    return { points: kept.map((i) => points[i]!), volume: volumeOf(points, triangles), exact: true };
  }
  const middle = [0, 1, 2].map((k) => far.reduce((sum, p) => sum + p[k]!, 0) / far.length) as unknown as Point;
  return polytope(
    planes.map(({ normal, height }) => ({ normal, height: Math.max(height, reachOf(all, normal)) })),
    middle,
    all,
  );
}

interface Plane {
  readonly normal: Point;
  /** Of the plane over the origin, along the normal. */
  readonly height: number;
}

/** Points beyond any of the planes; undefined when they are too many. */
function beyond(planes: readonly Plane[], all: Float64Array, by: number): readonly Point[] | undefined {
  const flat = Float64Array.from(planes.flatMap(({ normal, height }) => [...normal, height + by]));
  const out: Point[] = [];
  for (let i = 0; i < all.length; i += 3) {
    const x = all[i]!,
      y = all[i + 1]!,
      z = all[i + 2]!;
    for (let f = 0; f < flat.length; f += 4)
      if (flat[f]! * x + flat[f + 1]! * y + flat[f + 2]! * z > flat[f + 3]!) {
        if (out.length === MOST_OUTSIDE) return undefined;
        out.push([x, y, z]);
        break;
      }
  }
  return out;
}

/** Farthest height of the points along a direction. */
function reachOf(all: Float64Array, [nx, ny, nz]: Point): number {
  let reach = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < all.length; i += 3) {
    const h = nx * all[i]! + ny * all[i + 1]! + nz * all[i + 2]!;
    if (h > reach) reach = h;
  }
  return reach;
}

/** The body behind all planes, made a little larger about its middle where rounding left a point outside. */
function polytope(planes: readonly Plane[], middle: Point, all: Float64Array): HullAround {
  const dual = planes.map(({ normal, height }): Point => {
    const h = height - dot(normal, middle);
    return [normal[0] / h, normal[1] / h, normal[2] / h];
  });
  const corners = planesOf(dual, hullTriangles(dual)!).map(
    ({ normal, height }): Point => [
      middle[0] + normal[0] / height,
      middle[1] + normal[1] / height,
      middle[2] + normal[2] / height,
    ],
  );
  const triangles = hullTriangles(corners)!;
  let growth = 1;
  let far = 0;
  for (let i = 0; i < all.length; i += 3)
    far = Math.max(far, Math.hypot(all[i]! - middle[0], all[i + 1]! - middle[1], all[i + 2]! - middle[2]));
  for (const { normal, height } of planesOf(corners, triangles)) {
    const least = height - dot(normal, middle);
    // A face hardly turned against its plane, by rounding, lets points beyond by no more than the turn times their distance.
    const plane = planes.reduce((best, one) => (dot(one.normal, normal) > dot(best.normal, normal) ? one : best));
    const turn = Math.hypot(...minus(plane.normal, normal)) * far;
    const reach =
      turn < FLAT * far ? plane.height - dot(plane.normal, middle) + turn : reachOf(all, normal) - dot(normal, middle);
    growth = Math.max(growth, reach / least);
  }
  if (growth > 1) growth *= 1 + 1e-12;
  const kept = [...new Set(triangles.flat())].sort((a, b) => a - b);
  const points = kept.map(
    (i) => [0, 1, 2].map((k) => middle[k]! + growth * (corners[i]![k]! - middle[k]!)) as unknown as Point,
  );
  return { points, volume: volumeOf(corners, triangles) * growth ** 3, exact: false };
}

/** Planes of triangles that have an area. */
function planesOf(points: readonly Point[], triangles: readonly (readonly [number, number, number])[]): Plane[] {
  return triangles.flatMap(([i, j, k]) => {
    const a = points[i]!;
    const across = cross(minus(points[j]!, a), minus(points[k]!, a));
    const length = Math.hypot(...across);
    if (!(length > 0)) return [];
    const normal: Point = [across[0] / length, across[1] / length, across[2] / length];
    return [{ normal, height: dot(normal, a) }];
  });
}

/** Corners of the box along the principal axes of points in one plane. */
function flatBox(all: Float64Array): HullAround {
  const axes = principalAxes(all);
  const ranges = axes.map((axis) => {
    let low = Number.POSITIVE_INFINITY,
      high = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < all.length; i += 3) {
      const h = axis[0] * all[i]! + axis[1] * all[i + 1]! + axis[2] * all[i + 2]!;
      low = Math.min(low, h);
      high = Math.max(high, h);
    }
    return [low, high] as const;
  });
  const points = Array.from({ length: 8 }, (_, corner) =>
    [0, 1, 2].map((k) => axes.reduce((sum, axis, a) => sum + axis[k]! * ranges[a]![(corner >> a) & 1]!, 0)),
  ) as unknown as Point[];
  return { points, volume: 0, exact: false };
}

function volumeOf(points: readonly Point[], triangles: readonly (readonly [number, number, number])[]): number {
  const origin = points[triangles[0]![0]]!;
  const from = (corner: number) => minus(points[corner]!, origin);
  return triangles.reduce((sum, [i, j, k]) => sum + dot(from(i), cross(from(j), from(k))) / 6, 0);
}

function listed(flat: Float64Array): Point[] {
  return Array.from({ length: flat.length / 3 }, (_, i) => [flat[3 * i]!, flat[3 * i + 1]!, flat[3 * i + 2]!] as const);
}
