/** Rough bounds of the path parameter, for the reference law and the resolution of the grid. */
import type { GroupLimits, PathLimits } from "./path-types.ts";
import { PathUse } from "./path-use.ts";
import type { RoughBounds } from "./reference-law.ts";

/** Least time over which an acceleration is built up, as a share of the duration of the stretch. */
const QUICKEST = 1 / 250;
/** The same for a speed. */
const QUICKEST_SPEED = 1 / 16000;
/** Times the mean speed over the stretch that is never worth exceeding: what is run at that takes this part of the time. */
const FASTEST = 500;
/** Times what the jerk limit can build up in the whole time (and the acceleration limit) that is never worth allowing. */
const BEYOND = 16;

/**
 * Limits far above what the stretch can make use of, lowered to where they cost next to nothing, because shorter changes are
 * below the resolution of the grid: limits out of reach within the duration, speed limits beyond FASTEST times the mean speed along the path, acceleration limits that would build
 * up the speed limit within less than QUICKEST_SPEED of the duration, and jerk limits that would build up the acceleration
 * limit within less than QUICKEST of it (or which there are none). The last costs about half of QUICKEST per change of
 * acceleration; the others matter only in motions many times slower than their accelerations, or slow in places only.
 */
export function softened(use: PathUse, duration: number, typical: Typical): PathUse {
  const { limits } = use;
  const least = QUICKEST * duration;
  let changed = false;
  const lower = (limit: number, most: number): number => {
    if (!(limit > most)) return limit;
    changed = true;
    return most;
  };
  /** Speeds worth having: all speed limits lowered alike, and to what the acceleration limit can reach in the time. */
  const share = (FASTEST * typical.length) / (duration * typical.fastest);
  const reached = (limit: number, rise: number): number =>
    limit < Number.POSITIVE_INFINITY ? lower(limit, BEYOND * rise * duration) : limit;
  const speedOf = (speed: number, at: number, acceleration: number): number =>
    speed < Number.POSITIVE_INFINITY ? reached(lower(speed, typical.top[at]! * share), acceleration) : speed;
  const softer = (acceleration: number, fastest: number): number =>
    acceleration < Number.POSITIVE_INFINITY ? lower(acceleration, fastest / (QUICKEST_SPEED * duration)) : acceleration;
  const softest = (jerk: number, acceleration: number): number =>
    acceleration < Number.POSITIVE_INFINITY ? lower(jerk, acceleration / least) : jerk;
  const channels = use.path.channels;
  const softGroup = <T extends GroupLimits>(group: T, q: number): T => {
    const at = channels + q;
    const reachable = reached(group.acceleration, group.jerk);
    const speed = speedOf(group.speed, at, reachable);
    const acceleration = softer(reachable, speedOf(typical.top[at]!, at, reachable));
    return { ...group, speed, acceleration, jerk: softest(group.jerk, acceleration) };
  };
  const reachable = limits.acceleration.map((a, i) => reached(a, limits.jerk[i]!));
  const top = typical.top.subarray(0, channels).map((v, i) => speedOf(v, i, reachable[i]!));
  const acceleration = reachable.map((a, i) => softer(a, top[i]!));
  const next: PathLimits = {
    ...limits,
    acceleration,
    jerk: limits.jerk.map((j, i) => softest(j, acceleration[i]!)),
    groups: limits.groups.map(softGroup),
    ...(limits.ranges
      ? {
          ranges: limits.ranges.map((range) =>
            range.groups ? { ...range, groups: range.groups.map(softGroup) } : range,
          ),
        }
      : {}),
  };
  return changed ? new PathUse(use.path, next, top) : use;
}

/** What motion along a stretch amounts to, as seen at the points of the rough bounds. */
export interface Typical {
  readonly length: number;
  /** Largest speed along the path, per s. */
  readonly fastest: number;
  /** Largest speed limit of each channel, then of each group. */
  readonly top: Float64Array;
}

/** Points at which the rough bounds are taken. */
const PROBES = 12;

/**
 * Typical bounds of ṡ, s̈ and s⃛ on a stretch: medians over a few points of what channels, groups and torques allow at each.
 * They shape the reference law only, so they need not be safe.
 */
export function roughBounds(use: PathUse, from: number, to: number): RoughBounds & Typical {
  const { limits } = use;
  const slow = new Float64Array(PROBES);
  const lazy = new Float64Array(PROBES);
  const soft = new Float64Array(PROBES);
  const channels = use.path.channels;
  const top = new Float64Array(channels + limits.groups.length);
  let fastest = 0;
  for (let p = 0; p < PROBES; p++) {
    use.load(from + ((to - from) * (p + 0.5)) / PROBES, 1);
    let v = 0;
    let a = 0;
    let j = 0;
    for (let i = 0; i < channels; i++) {
      const d1 = Math.abs(use.c1[i]!);
      const d2 = Math.abs(use.c2[i]!);
      const d3 = Math.abs(use.c3[i]!);
      const A = limits.acceleration[i]!;
      const J = limits.jerk[i]!;
      top[i] = Math.max(top[i]!, use.stretch.velocity[i]!);
      v = Math.max(v, d1 / use.stretch.velocity[i]!, Math.sqrt(d2 / A), Math.cbrt(d3 / J));
      a = Math.max(a, d1 / A);
      j = Math.max(j, d1 / J);
    }
    for (let q = 0; q < limits.groups.length; q++) {
      const { first, size } = limits.groups[q]!;
      let d1 = 0;
      let d2 = 0;
      for (let i = first; i < first + size; i++) {
        d1 += use.c1[i]! ** 2;
        d2 += use.c2[i]! ** 2;
      }
      d1 = Math.sqrt(d1);
      top[channels + q] = Math.max(top[channels + q]!, use.stretch.groups[3 * q]!);
      const A = use.stretch.groups[3 * q + 1]!;
      v = Math.max(v, d1 / use.stretch.groups[3 * q]!, Math.sqrt(Math.sqrt(d2) / A));
      a = Math.max(a, d1 / A);
      j = Math.max(j, d1 / use.stretch.groups[3 * q + 2]!);
    }
    const torque = limits.torque;
    if (torque) {
      for (let i = 0; i < torque.rows; i++) {
        a = Math.max(a, Math.abs(use.ta[i]!) / (torque.limit[i]! - Math.abs(use.tc[i]!)));
      }
    }
    slow[p] = v;
    fastest = Math.max(fastest, 1 / v);
    lazy[p] = a;
    soft[p] = j;
  }
  const bound = (values: Float64Array): number => {
    const middle = values.sort()[PROBES >> 1]!;
    return middle > 0 ? 1 / middle : Number.POSITIVE_INFINITY;
  };
  return { velocity: bound(slow), acceleration: bound(lazy), jerk: bound(soft), length: to - from, fastest, top };
}

/**
 * Time to pass a stretch at the speed that is possible at each place for itself, s: what a motion takes at least, about, if
 * it is slow in places.
 */
export function passingTime(use: PathUse, from: number, to: number, borders: readonly number[]): number {
  if (use.commonLimits()) return 0;
  let time = 0;
  let start = from;
  for (const end of [...borders, to]) {
    for (const share of [0.2, 0.5, 0.8]) {
      use.load(start + share * (end - start), 1);
      use.measure(1, 0, 0);
      time += ((end - start) * use.need) / 3;
    }
    start = end;
  }
  return time;
}
