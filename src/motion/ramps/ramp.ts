/** One change of speed along a path, and the room it takes. */

/** One change of speed: constant jerk, constant acceleration, constant jerk back. */
export interface Ramp {
  acceleration: number;
  /** At its start and at its end. */
  firstJerk: number;
  lastJerk: number;
}

/** Duration of the phases of a ramp that changes the speed by `change` >= 0, into out[0..2]. @returns their sum */
export function phases(ramp: Ramp, change: number, out: Float64Array): number {
  const { acceleration: a, firstJerk: j1, lastJerk: j2 } = ramp;
  const bends = (a * a) / (2 * j1) + (a * a) / (2 * j2);
  const peak = change >= bends ? a : Math.sqrt((2 * change) / (1 / j1 + 1 / j2));
  out[0] = peak / j1;
  out[1] = change >= bends && a < Number.POSITIVE_INFINITY ? (change - bends) / a : 0;
  out[2] = peak / j2;
  return out[0] + out[1] + out[2];
}

const scratch = new Float64Array(3);

/** Way of a ramp between two speeds. */
export function wayOf(ramp: Ramp, from: number, to: number): number {
  const change = Math.abs(to - from);
  const time = phases(ramp, change, scratch);
  const [t1, t2, t3] = scratch;
  const sign = to >= from ? 1 : -1;
  const peak = t1 * ramp.firstJerk;
  // Speed gained, integrated phase by phase.
  const v1 = (peak * t1) / 2;
  const gained = (peak * t1 * t1) / 6 + v1 * t2 + (peak * t2 * t2) / 2 + (v1 + peak * t2) * t3 + (peak * t3 * t3) / 3;
  return from * time + sign * gained;
}

/** Highest speed between two levels, at most `top`, that leaves room for both ramps. */
export function peakOf(rise: Ramp, fall: Ramp, from: number, to: number, top: number, way: number): number {
  const least = Math.max(from, to);
  if (wayOf(rise, from, top) + wayOf(fall, top, to) <= way) return top;
  let low = least;
  let high = top;
  for (let step = 0; step < 50; step++) {
    const middle = (low + high) / 2;
    if (wayOf(rise, from, middle) + wayOf(fall, middle, to) <= way) low = middle;
    else high = middle;
  }
  return low;
}
