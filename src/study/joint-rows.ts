/** Joint positions compared: room to the limits, sameness, turns, nearness in time. */
import type { Arm } from "../arm/model.ts";

/** Least distance of the joints from their limits, rad or m; negative outside. */
export function roomOf(arm: Arm, q: ArrayLike<number>): number {
  let room = Number.POSITIVE_INFINITY;
  for (let i = 0; i < arm.n; i++) room = Math.min(room, q[i]! - arm.min[i]!, arm.max[i]! - q[i]!);
  return room;
}

export function sameRow(a: Float64Array, b: Float64Array): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

export function turnsFar(a: Float64Array, b: Float64Array, most: number): boolean {
  for (let i = 0; i < a.length; i++) if (Math.abs(a[i]! - b[i]!) > most) return true;
  return false;
}

export function nearestOf(
  rows: readonly Float64Array[],
  from: Float64Array,
  weights: Float64Array,
): Float64Array | undefined {
  let best: Float64Array | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (const q of rows) {
    let sum = 0;
    for (let i = 0; i < q.length; i++) sum += weights[i]! * (q[i]! - from[i]!) ** 2;
    if (sum < least) {
      least = sum;
      best = q;
    }
  }
  return best;
}
