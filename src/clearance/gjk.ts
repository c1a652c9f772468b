/**
 * Distance of two convex cores after Gilbert, Johnson and Keerthi (IEEE J. Robotics and Automation 4(2), 1988): the point of
 * the difference A - B nearest to the origin, over a simplex of support points. Each turn bounds the distance from both
 * sides: below by the plane through the newest support point, above by the nearest point found.
 */
import type { Body } from "./body.ts";
import type { CoreResult } from "./core-result.ts";
import { INSIDE, keep, nearestOn, newSimplex } from "./simplex.ts";
import { isPolytope, support } from "./support.ts";

/** Relative gap of the two bounds at which the search ends: for polytopes it ends on the exact feature anyway. */
const GAP = 1e-13;
const GAP_CURVED = 1e-12;
/** Share of the size of the bodies that is rounding. */
const ROUNDING = 4e-16;
const MOST_TURNS = 256;

/** The simplex of the last query; after an overlap the depth search starts from it. */
export const simplex = newSimplex();
/** How many points of it are in use. */
export const simplexSize = new Int32Array(1);
const best = new Float64Array(8);

/** Answers of gjk. */
export const OVERLAP = 0;
export const APART = 1;
/** Farther apart than the limit; the result holds only a lower bound of the distance. */
export const BEYOND = 2;

/** Adds the support point of A - B in direction -(x, y, z), frame of B, to the simplex at `count`. */
export function addSupport(
  a: Body,
  b: Body,
  rel: Float64Array,
  x: number,
  y: number,
  z: number,
  points: Float64Array,
  at: number,
): void {
  support(
    a,
    -(rel[0]! * x + rel[4]! * y + rel[8]! * z),
    -(rel[1]! * x + rel[5]! * y + rel[9]! * z),
    -(rel[2]! * x + rel[6]! * y + rel[10]! * z),
    points,
    at + 3,
  );
  support(b, x, y, z, points, at + 6);
  const px = points[at + 3]!,
    py = points[at + 4]!,
    pz = points[at + 5]!;
  const ax = rel[0]! * px + rel[1]! * py + rel[2]! * pz + rel[3]!,
    ay = rel[4]! * px + rel[5]! * py + rel[6]! * pz + rel[7]!,
    az = rel[8]! * px + rel[9]! * py + rel[10]! * pz + rel[11]!;
  points[at + 3] = ax;
  points[at + 4] = ay;
  points[at + 5] = az;
  points[at] = ax - points[at + 6]!;
  points[at + 1] = ay - points[at + 7]!;
  points[at + 2] = az - points[at + 8]!;
}

/**
 * @param rel places A in the frame of B, row-major 3 x 4
 * @param limit gives up as soon as the cores are known to be farther apart than this, m
 * @returns OVERLAP, APART or BEYOND; the result is written for the last two
 */
export function gjk(a: Body, b: Body, rel: Float64Array, limit: number, out: CoreResult): number {
  const { points, weights, nearest } = simplex;
  // Each query starts afresh, so that no answer depends on the ones before it.
  if (a.web !== undefined) a.web.last[0] = -1;
  if (b.web !== undefined) b.web.last[0] = -1;
  const scale = a.bound + b.bound + Math.abs(rel[3]!) + Math.abs(rel[7]!) + Math.abs(rel[11]!);
  const rounding = ROUNDING * scale;
  const gap = isPolytope(a) && isPolytope(b) ? GAP : GAP_CURVED;
  // From the middle of B to the middle of A.
  let vx = rel[0]! * a.cx + rel[1]! * a.cy + rel[2]! * a.cz + rel[3]! - b.cx,
    vy = rel[4]! * a.cx + rel[5]! * a.cy + rel[6]! * a.cz + rel[7]! - b.cy,
    vz = rel[8]! * a.cx + rel[9]! * a.cy + rel[10]! * a.cz + rel[11]! - b.cz;
  let square = vx * vx + vy * vy + vz * vz;
  if (!(square > 0)) {
    vx = 1;
    vy = vz = 0;
    square = 1;
  }
  let count = 0,
    known = Number.POSITIVE_INFINITY;
  for (let turn = 0; turn < MOST_TURNS; turn++) {
    addSupport(a, b, rel, vx, vy, vz, points, 9 * count);
    const at = 9 * count;
    const wx = points[at]!,
      wy = points[at + 1]!,
      wz = points[at + 2]!;
    const along = vx * wx + vy * wy + vz * wz;
    const length = Math.sqrt(square);
    if (along > limit * length) {
      out[0] = along / length;
      return BEYOND;
    }
    if (count > 0) {
      if (square - along <= length * (gap * length + rounding)) break;
      let repeated = false;
      for (let i = 0; i < at; i += 9)
        if (points[i] === wx && points[i + 1] === wy && points[i + 2] === wz) repeated = true;
      if (repeated) break;
      for (let i = 0; i < count; i++) best[i] = weights[i]!;
    }
    const mask = nearestOn(simplex, count + 1);
    if (mask === INSIDE) {
      simplexSize[0] = 4;
      return OVERLAP;
    }
    const fresh = nearest[3]!;
    if (!(fresh < known)) {
      // Rounding has stopped all progress: what was known is the answer.
      for (let i = 0; i < count; i++) weights[i] = best[i]!;
      break;
    }
    known = fresh;
    count = keep(simplex, mask);
    vx = nearest[0]!;
    vy = nearest[1]!;
    vz = nearest[2]!;
    square = fresh;
    if (square <= rounding * rounding) {
      simplexSize[0] = count;
      return OVERLAP;
    }
  }
  simplexSize[0] = count;
  let ax = 0,
    ay = 0,
    az = 0;
  for (let i = 0; i < count; i++) {
    const weight = weights[i]!;
    ax += weight * points[9 * i + 3]!;
    ay += weight * points[9 * i + 4]!;
    az += weight * points[9 * i + 5]!;
  }
  const distance = Math.sqrt(square),
    k = -1 / distance;
  out[0] = distance;
  out[1] = ax;
  out[2] = ay;
  out[3] = az;
  out[4] = ax - vx;
  out[5] = ay - vy;
  out[6] = az - vz;
  out[7] = k * vx;
  out[8] = k * vy;
  out[9] = k * vz;
  return APART;
}
