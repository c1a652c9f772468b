/** Bounds of the motion of points along a straight edge in joint space. */
import type { Arm } from "../arm/model.ts";

/** Largest t with rate·t + ½·bend·t² ≤ gap. */
export function reachOf(gap: number, rate: number, bend: number): number {
  const sum = rate + Math.sqrt(rate * rate + 2 * bend * gap);
  return sum > 0 ? (2 * gap) / sum : Number.POSITIVE_INFINITY;
}

/**
 * Greatest |dp/dt| and |d²p/dt²| of a point that the joints `low` to `high` - 1 move, over the straight edge, t from 0 to 1.
 * @param radius per joint the farthest that the point can be from its axis with sliding joints at 0
 * @param out receives both
 */
export function boundMotion(
  { prismatic }: Arm,
  low: number,
  high: number,
  radius: Float64Array,
  from: ArrayLike<number>,
  to: ArrayLike<number>,
  out: Float64Array,
): void {
  let fast = 0,
    curve = 0,
    slid = 0,
    // Turning of the joints before: what is beyond joint k turns with them.
    turning = 0;
  for (let k = low; k < high; k++) turning += prismatic[k] === 0 ? Math.abs(to[k]! - from[k]!) : 0;
  for (let k = high - 1; k >= low; k--) {
    const rate = Math.abs(to[k]! - from[k]!);
    if (prismatic[k] === 0) {
      turning -= rate;
      const r = radius[k]! + slid;
      fast += r * rate;
      curve += r * rate * (rate + 2 * turning);
    } else {
      fast += rate;
      curve += 2 * rate * turning;
      slid += Math.max(Math.abs(from[k]!), Math.abs(to[k]!));
    }
  }
  out[0] = fast;
  out[1] = curve;
}

/** Greatest |d²p/dt²| of a point fixed to the flange over a straight edge; its radii as `pointRadii` tells them. */
export function bendBound(arm: Arm, radius: Float64Array, from: ArrayLike<number>, to: ArrayLike<number>): number {
  const bounds = new Float64Array(2);
  boundMotion(arm, 0, arm.n, radius, from, to, bounds);
  return bounds[1]!;
}
