/**
 * How far the points of a carried body can move while every joint stays within a spread of a middle state.
 *
 * Joints are let go one after the other, the most distal first, so that each joint's axis is still where it is in the middle
 * state. A point p that the joints further out have moved by e then goes to R(p + e), R turning by δ about the axis, and
 *
 *   R(p + e) - p = (R p - p) + R e,   |R p - p| = 2·sin(|δ|/2)·(distance of p from the axis),   |R e| = |e|:
 *
 * way = Σ chord_j · distance_j, with the distances of the middle state, plus the spread of each joint that slides. That bounds
 * the way of the point for every combination of joint values. The distance from a line is a convex function, so over a body
 * it is greatest at a corner. Derived here.
 */
import type { Arm } from "./model.ts";

/** Points whose convex hull, with a ball of `radius` around each, holds a body: the ends of a capsule, the corners of a box. */
export interface Extent {
  /** x, y, z of each point in the body's frame, m. */
  readonly points: Float64Array;
  /** m, at least 0. */
  readonly radius: number;
}

/** Number of joints, counted from the base, that move a frame: 0 to n - 1 for links 1 to n, n for the flange. */
export const jointsMoving = (arm: Arm, frame: number): number => Math.min(frame + 1, arm.n);

/**
 * Points of an extent placed by the row-major 3 x 4 transform at `pose[at]`, written to `out` from `to` on.
 * @returns how many numbers were written
 */
export function placeExtent(
  points: Float64Array,
  pose: Float64Array,
  at: number,
  out: Float64Array,
  to: number,
): number {
  const x0 = pose[at]!,
    x1 = pose[at + 1]!,
    x2 = pose[at + 2]!,
    x3 = pose[at + 3]!;
  const y0 = pose[at + 4]!,
    y1 = pose[at + 5]!,
    y2 = pose[at + 6]!,
    y3 = pose[at + 7]!;
  const z0 = pose[at + 8]!,
    z1 = pose[at + 9]!,
    z2 = pose[at + 10]!,
    z3 = pose[at + 11]!;
  for (let k = 0; k < points.length; k += 3) {
    const x = points[k]!,
      y = points[k + 1]!,
      z = points[k + 2]!;
    out[to + k] = x0 * x + x1 * y + x2 * z + x3;
    out[to + k + 1] = y0 * x + y1 * y + y2 * z + y3;
    out[to + k + 2] = z0 * x + z1 * y + z2 * z + z3;
  }
  return points.length;
}

/**
 * Largest distance (m) of the placed points, plus the radius, from the line through (ox, oy, oz) along the unit vector (zx, zy, zz).
 * @param placed numbers `from` to `end` are the points, x, y, z each
 */
export function farthestFromLine(
  placed: Float64Array,
  from: number,
  end: number,
  radius: number,
  zx: number,
  zy: number,
  zz: number,
  ox: number,
  oy: number,
  oz: number,
): number {
  let most = 0;
  for (let k = from; k < end; k += 3) {
    const x = placed[k]! - ox,
      y = placed[k + 1]! - oy,
      z = placed[k + 2]! - oz;
    const cx = zy * z - zz * y,
      cy = zz * x - zx * z,
      cz = zx * y - zy * x;
    const square = cx * cx + cy * cy + cz * cz;
    if (square > most) most = square;
  }
  return Math.sqrt(most) + radius;
}

/**
 * Per joint the largest distance (m) of any point of a body from the joint's axis, 1 for a joint that slides (so that way =
 * distance · spread in both cases), written to `out[to + j]` for the joints `first` to `last` - 1.
 * @param frames joint frames at the state, as `jointFrames` writes them (base axes)
 * @param placed points of the body's extent in base axes, numbers `from` to `end`
 * @param radius of the extent, m
 */
export function axisDistances(
  arm: Arm,
  frames: Float64Array,
  placed: Float64Array,
  from: number,
  end: number,
  radius: number,
  first: number,
  last: number,
  out: Float64Array,
  to: number,
): void {
  for (let j = first, at = 12 * first; j < last; j++, at += 12)
    out[to + j] =
      arm.prismatic[j] === 1
        ? 1
        : farthestFromLine(
            placed,
            from,
            end,
            radius,
            frames[at + 2]!,
            frames[at + 6]!,
            frames[at + 10]!,
            frames[at + 3]!,
            frames[at + 7]!,
            frames[at + 11]!,
          );
}

/** Chord of a turn by at most `angle` (rad, at least 0) on the unit circle: 2·sin(angle/2), 2 from half a turn on. */
export const chordOf = (angle: number): number => (angle < Math.PI ? 2 * Math.sin(angle / 2) : 2);

/**
 * Bound (m) of the way of every point of a body, relative to what joint `first` stands on, while the joints `first` to
 * `last` - 1 stay within their spreads.
 * @param ways per joint: chord of the spread (`chordOf`) where it turns, the spread itself (m) where it slides
 * @param distances per joint, from `at` on, as `axisDistances` writes them at the middle state
 */
export function wayOfBody(
  ways: Float64Array,
  distances: Float64Array,
  at: number,
  first: number,
  last: number,
): number {
  let way = 0;
  for (let j = first; j < last; j++) way += ways[j]! * distances[at + j]!;
  return way;
}
