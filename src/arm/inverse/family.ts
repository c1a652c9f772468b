/** What the closed-form solvers of the arm families have in common. */
import { invert34, multiply34 } from "../../math/pose.ts";
import type { Axes } from "./axes.ts";

/** Most solutions of a decomposable six-joint arm. */
export const FAMILY_SOLUTIONS = 8;

/**
 * Closed-form solver of one family of six-axis arms, in the order of axes that the family is stated for.
 * `setAxes` may be called again for every goal (readings that begin elsewhere in the loop need it).
 */
export interface FamilySolver {
  setAxes(axes: Axes): void;
  /**
   * All solutions of E1·…·E6 = goal.
   * @param goal row-major 3 x 4   @param out 8 x 6 angles, rad, each in (-π, π]
   * @returns number of solutions written
   */
  solve(goal: Float64Array, out: Float64Array): number;
  /** Bit i set: solution i of the last `solve` lies where rounding may spoil it, and wants a check. */
  readonly doubtful: number;
  /** How far sin² of an angle may fall below zero and still count as a touching solution; TOUCHING for exact axes. */
  slack: number;
}

/** Largest share by which sin² of an angle may fall below zero through rounding. */
export const TOUCHING = 1e-13;
/** Below this length (relative to the unit vector or link it belongs to) a direction is undefined and the angle about it free. */
export const ALIGNED = 1e-10;
/** Departure (share of the largest coefficient) up to which a row of the circle pair is zero, and up to which it nearly is. */
export const ZERO_ROW = 1e-11;
export const SMALL_ROW = 1e-5;

const PI = Math.PI;
const TWO_PI = 2 * Math.PI;

/** The angle in (-π, π] that differs from `a` by full turns. */
export function wrap(a: number): number {
  let x = a > 10 || a < -10 ? a - TWO_PI * Math.round(a / TWO_PI) : a;
  while (x > PI) x -= TWO_PI;
  while (x <= -PI) x += TWO_PI;
  return x;
}

/** A rotation, row-major 3 x 3 at `at`, whose z column is the unit vector `h[i..i+2]`. */
export function frameAlong(h: Float64Array, i: number, out: Float64Array, at: number): void {
  const x = h[i]!,
    y = h[i + 1]!,
    z = h[i + 2]!;
  const up = z >= 0 ? 1 : -1;
  const k = 1 / (1 + up * z);
  out[at] = 1 - x * x * k;
  out[at + 3] = -x * y * k;
  out[at + 6] = -up * x;
  out[at + 1] = -up * x * y * k;
  out[at + 4] = up * (1 - y * y * k);
  out[at + 7] = -y;
  out[at + 2] = x;
  out[at + 5] = y;
  out[at + 8] = z;
}

/** Row-major 3 x 4 pose from a row-major 3 x 3 rotation and an origin. */
export function placeFrame(rotation: Float64Array, x: number, y: number, z: number, out: Float64Array): void {
  for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) out[4 * r + c] = rotation[3 * r + c]!;
  out[3] = x;
  out[7] = y;
  out[11] = z;
}

/** The axes and goals of a solver in a frame of its own choice. */
export class WorkFrame {
  /** baseFromWork, row-major 3 x 4. */
  readonly base = new Float64Array(12);
  private readonly inverse = new Float64Array(12);
  readonly h = new Float64Array(18);
  readonly p = new Float64Array(18);
  readonly goal = new Float64Array(12);

  /** Takes over `base` and writes the axes in it. */
  setAxes(axes: Axes): void {
    const w = invert34(this.base, this.inverse);
    for (let i = 0; i < 18; i += 3) {
      for (let r = 0; r < 3; r++) {
        const a = w[4 * r]!,
          b = w[4 * r + 1]!,
          c = w[4 * r + 2]!;
        this.h[i + r] = a * axes.h[i]! + b * axes.h[i + 1]! + c * axes.h[i + 2]!;
        this.p[i + r] = a * axes.p[i]! + b * axes.p[i + 1]! + c * axes.p[i + 2]! + w[4 * r + 3]!;
      }
    }
  }

  setGoal(goal: Float64Array): Float64Array {
    multiply34(this.inverse, goal, this.goal);
    return multiply34(this.goal, this.base, this.goal);
  }
}
