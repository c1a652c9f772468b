/**
 * Closed form along paths whose binding limits are constant: channels that run straight (constant first derivative) bound
 * ṡ, s̈ and s⃛ by constants, so the double-S law of the tightest of them is the least time for these limits alone. If it
 * keeps every other limit too it is the optimum of the whole problem.
 */

import type { PathState } from "./path-types.ts";
import type { PathUse, StretchLimits } from "./path-use.ts";
import { restLaw } from "./point-to-point.ts";
import { type Profile, sampleProfile } from "./profile.ts";
import { trapezoid } from "./trapezoid.ts";

/** Points at which a channel must look straight to be taken for straight. */
const PROBES = 5;
/** A channel is straight if c1 varies, and c2, c3 differ from 0, by less than this share of c1 over the whole length. */
const STRAIGHT = 1e-9;

/** Constant bounds from the straight channels and groups; undefined where there is nothing to start from. */
interface ScalarBounds {
  readonly velocity: number;
  readonly acceleration: number;
  readonly jerk: number;
  /** Every channel, group and torque row with a limit is among the straight ones. */
  readonly complete: boolean;
  /** 1 for those that run straight. */
  readonly channels: Uint8Array;
  readonly groups: Uint8Array;
  /** A curved channel or group has a finite jerk limit. */
  readonly otherJerk: boolean;
}

/** Least-time law from rest to rest, or undefined if this path needs more than constant bounds. */
export function straightLaw(use: PathUse): Profile | undefined {
  const common = use.commonLimits();
  const bounds = common && scalarBounds(use, common);
  if (!bounds) return undefined;
  const { velocity, acceleration, jerk } = bounds;
  const length = use.path.length;
  let law: Profile;
  if (jerk < Number.POSITIVE_INFINITY) law = restLaw(length, velocity, acceleration, jerk);
  else if (acceleration < Number.POSITIVE_INFINITY && !bounds.otherJerk)
    law = trapezoid(0, length, 0, 0, velocity, acceleration);
  else return undefined;
  if (bounds.complete) return law;
  // Between breaks a corner may hide from the points of the check.
  if (use.path.breaks.length > 0) return undefined;
  use.skippedChannels = bounds.channels;
  use.skippedGroups = bounds.groups;
  let most = largestNeed(use, law, 8);
  if (most >= 0.98 && most < 1) most = largestNeed(use, law, 64);
  use.skippedChannels = undefined;
  use.skippedGroups = undefined;
  return most < 1 - 1e-4 ? law : undefined;
}

function scalarBounds(use: PathUse, common: StretchLimits): ScalarBounds | undefined {
  const { path, limits } = use;
  const n = path.channels;
  const length = path.length;
  const rate = new Float64Array(n);
  const straight = new Uint8Array(n).fill(1);
  let left = n;
  for (let p = 0; p < PROBES && left > 0; p++) {
    const s = (length * p) / (PROBES - 1);
    path.evaluate(s, use.c, use.c1, use.c2, use.c3);
    for (let i = 0; i < n; i++) {
      if (!straight[i]) continue;
      if (p === 0) rate[i] = use.c1[i]!;
      const most = STRAIGHT * Math.abs(rate[i]!);
      if (
        Math.abs(use.c1[i]! - rate[i]!) > most ||
        Math.abs(use.c2[i]!) * length > most ||
        Math.abs(use.c3[i]!) * length * length > most
      ) {
        straight[i] = 0;
        left--;
      }
    }
  }
  if (left === 0) return undefined;
  let velocity = Number.POSITIVE_INFINITY;
  let acceleration = Number.POSITIVE_INFINITY;
  let jerk = Number.POSITIVE_INFINITY;
  let complete = limits.torque === undefined;
  let otherJerk = false;
  for (let i = 0; i < n; i++) {
    const c1 = Math.abs(rate[i]!);
    if (straight[i]) {
      if (c1 === 0) continue;
      velocity = Math.min(velocity, common.velocity[i]! / c1);
      acceleration = Math.min(acceleration, limits.acceleration[i]! / c1);
      jerk = Math.min(jerk, limits.jerk[i]! / c1);
    } else {
      const finite = Math.min(limits.velocity[i]!, limits.acceleration[i]!, limits.jerk[i]!) < Number.POSITIVE_INFINITY;
      if (finite) complete = false;
      if (limits.jerk[i]! < Number.POSITIVE_INFINITY) otherJerk = true;
    }
  }
  const groups = new Uint8Array(limits.groups.length);
  for (let g = 0; g < groups.length; g++) {
    const group = limits.groups[g]!;
    const [speed, most, groupJerk] = common.groups.subarray(3 * g, 3 * g + 3) as unknown as [number, number, number];
    let norm = 0;
    let all = true;
    for (let i = group.first; i < group.first + group.size; i++) {
      if (!straight[i]) all = false;
      norm += rate[i]! ** 2;
    }
    if (all) {
      groups[g] = 1;
      norm = Math.sqrt(norm);
      if (norm === 0) continue;
      velocity = Math.min(velocity, speed / norm);
      acceleration = Math.min(acceleration, most / norm);
      jerk = Math.min(jerk, groupJerk / norm);
    } else {
      if (Math.min(speed, most, groupJerk) < Number.POSITIVE_INFINITY) complete = false;
      if (groupJerk < Number.POSITIVE_INFINITY) otherJerk = true;
    }
  }
  return { velocity, acceleration, jerk, complete, channels: straight, groups, otherJerk };
}

const state = new Float64Array(4);

/** Largest time factor needed over at least `parts` points in each piece of the law and 8 times as many over the whole way. */
function largestNeed(use: PathUse, law: Profile, parts: number): number {
  let most = 0;
  const pieces = law.starts.length - 1;
  const length = use.path.length;
  for (let k = 0; k < pieces; k++) {
    const from = law.starts[k]!;
    const to = law.starts[k + 1]!;
    const way = (k + 1 < pieces ? law.states[4 * (k + 1)]! : length) - law.states[4 * k]!;
    const count = Math.max(parts, Math.ceil((8 * parts * way) / length));
    for (let i = 0; i <= count; i++) {
      // Just inside the piece, so that the jerk is that of the piece.
      const t = from + (to - from) * Math.min(Math.max(i / count, 1e-9), 1 - 1e-9);
      sampleProfile(law, t, state);
      use.load(Math.min(length, state[0]!), 1);
      use.measure(state[1]!, state[2]!, state[3]!);
      if (use.need > most) most = use.need;
      if (most > 1) return most;
    }
  }
  return most;
}

/** A profile as a law of the path parameter. */
export class ProfileLaw {
  readonly duration: number;
  private readonly profile: Profile;
  private readonly work = new Float64Array(4);

  constructor(profile: Profile) {
    this.profile = profile;
    this.duration = profile.duration;
  }

  sample(time: number, out: PathState): void {
    sampleProfile(this.profile, time, this.work);
    out.s = this.work[0]!;
    out.sd = this.work[1]!;
    out.sdd = this.work[2]!;
    out.sddd = this.work[3]!;
  }

  /** Bisection and Newton steps on the increasing s(t). */
  timeAt(s: number): number {
    let low = 0;
    let high = this.duration;
    let t = high / 2;
    for (let i = 0; i < 100; i++) {
      sampleProfile(this.profile, t, this.work);
      const miss = this.work[0]! - s;
      if (miss > 0) high = t;
      else low = t;
      let next = this.work[1]! > 0 ? t - miss / this.work[1]! : (low + high) / 2;
      if (!(next > low && next < high)) next = (low + high) / 2;
      if (Math.abs(next - t) <= 1e-15 * this.duration) return next;
      t = next;
    }
    return t;
  }
}
