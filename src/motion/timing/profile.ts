/**
 * Motion of one coordinate as pieces of constant jerk. Every closed-form law of this folder ends up as one of these, so
 * there is one way to evaluate them all.
 */

/** One coordinate over time: pieces of constant jerk, the acceleration may jump between pieces (trapezoidal law). */
export interface Profile {
  /** Time at which each piece starts, s; one entry more than pieces, the last is the duration. */
  readonly starts: Float64Array;
  /** Position, speed, acceleration and jerk at the start of each piece: 4 numbers per piece. */
  readonly states: Float64Array;
  /** s, >= 0. */
  readonly duration: number;
  /** State at the end: position, speed, acceleration. */
  readonly end: Float64Array;
}

/**
 * Profile that starts in (p0, v0, a0) and keeps jerk `jerks[k]` for `durations[k]` seconds. Pieces of no duration are
 * left out.
 */
export function jerkProfile(
  p0: number,
  v0: number,
  a0: number,
  durations: ArrayLike<number>,
  jerks: ArrayLike<number>,
): Profile {
  const pieces = countPositive(durations);
  const starts = new Float64Array(pieces + 1);
  const states = new Float64Array(4 * pieces);
  let p = p0;
  let v = v0;
  let a = a0;
  let t = 0;
  let k = 0;
  for (let i = 0; i < durations.length; i++) {
    const d = durations[i]!;
    if (!(d > 0)) continue;
    const j = jerks[i]!;
    starts[k] = t;
    states[4 * k] = p;
    states[4 * k + 1] = v;
    states[4 * k + 2] = a;
    states[4 * k + 3] = j;
    p += d * (v + d * (a / 2 + (d * j) / 6));
    v += d * (a + (d * j) / 2);
    a += d * j;
    t += d;
    k++;
  }
  starts[k] = t;
  return { starts, states, duration: t, end: Float64Array.of(p, v, a) };
}

/** Profile that starts in (p0, v0) and keeps acceleration `accelerations[k]` for `durations[k]` seconds. */
export function accelerationProfile(
  p0: number,
  v0: number,
  durations: ArrayLike<number>,
  accelerations: ArrayLike<number>,
): Profile {
  const pieces = countPositive(durations);
  const starts = new Float64Array(pieces + 1);
  const states = new Float64Array(4 * pieces);
  let p = p0;
  let v = v0;
  let t = 0;
  let k = 0;
  let a = 0;
  for (let i = 0; i < durations.length; i++) {
    const d = durations[i]!;
    if (!(d > 0)) continue;
    a = accelerations[i]!;
    starts[k] = t;
    states[4 * k] = p;
    states[4 * k + 1] = v;
    states[4 * k + 2] = a;
    p += d * (v + (d * a) / 2);
    v += d * a;
    t += d;
    k++;
  }
  starts[k] = t;
  return { starts, states, duration: t, end: Float64Array.of(p, v, a) };
}

/**
 * Position, speed, acceleration and jerk at `time` (s, clamped into [0, duration]) into `out[0..3]`. Allocates nothing.
 */
export function sampleProfile(profile: Profile, time: number, out: Float64Array): void {
  const { starts, states } = profile;
  const pieces = starts.length - 1;
  if (pieces === 0 || time >= profile.duration) {
    out[0] = profile.end[0]!;
    out[1] = profile.end[1]!;
    out[2] = profile.end[2]!;
    out[3] = pieces === 0 ? 0 : states[4 * pieces - 1]!;
    return;
  }
  const t = Math.max(time, 0);
  let k = 0;
  while (k + 1 < pieces && starts[k + 1]! <= t) k++;
  const d = t - starts[k]!;
  const p = states[4 * k]!;
  const v = states[4 * k + 1]!;
  const a = states[4 * k + 2]!;
  const j = states[4 * k + 3]!;
  out[0] = p + d * (v + d * (a / 2 + (d * j) / 6));
  out[1] = v + d * (a + (d * j) / 2);
  out[2] = a + d * j;
  out[3] = j;
}

function countPositive(durations: ArrayLike<number>): number {
  let n = 0;
  for (let i = 0; i < durations.length; i++) if (durations[i]! > 0) n++;
  return n;
}
