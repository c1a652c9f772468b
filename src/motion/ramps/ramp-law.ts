/**
 * A quick law along a path: levels of constant path speed with jerk-limited ramps between them. The levels are standstill at
 * both ends, one speed for each rounded corner (or stretch of constant tool speed), and one top speed between two of those.
 * Each ramp has its own acceleration and two jerks, found by asking what the limits allow where it runs, and again where it
 * runs then. At the end the whole law is looked at closely and stretched by what is missing, so that no limit is exceeded.
 *
 * It is the optimum where the limits do not change along a ramp, as the double-S law is; elsewhere it gives a little away.
 * A lower bound comes with it: the same law with the most that the limits allow anywhere near each ramp.
 */
import type { RunPath } from "../path/run-path.ts";
import type { Profile } from "../timing/index.ts";
import type { Allowance } from "./allowance.ts";
import { Pieces } from "./pieces.ts";
import { peakOf, phases, type Ramp, wayOf } from "./ramp.ts";

/** A stretch to be run at one path speed; `speed` is kept if `fixed`, else the most that the limits allow, at most this. */
export interface Level {
  readonly from: number;
  readonly to: number;
  readonly speed: number;
  readonly fixed: boolean;
}

export interface RampLaw {
  readonly law: Profile;
  /** Lower bound of the duration, see above; 0 where there are levels other than standstill. */
  readonly bound: number;
}

const ROUNDS = 5;
const SPEED_POINTS = 9;
/** Points per phase in the rounds. */
const COARSE = [0.02, 0.5, 0.98];
const CRUISE = [0, 0.0625, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 0.9375, 1];
/** Kept over what the last look finds, for what lies between its points. */
const MARGIN = 2e-6;
/** What is taken for rounding at a speed that must be kept, and how often its ramps are softened at most. */
const FIXED_EXCESS = 1e-6;
const SOFTENINGS = 12;
/** A ramp that the limits leave less than this share of what they allow at standstill is given up. */
const LEAST = 0.02;

/** @returns undefined where this form of law does not fit, or a fixed speed cannot be kept */
export function rampLaw(path: RunPath, allowance: Allowance, levels: readonly Level[]): RampLaw | undefined {
  const { length } = path;
  const at: Level[] = [
    { from: 0, to: 0, speed: 0, fixed: true },
    ...levels,
    { from: length, to: length, speed: 0, fixed: true },
  ];
  const speeds = at.map((level) => levelSpeed(allowance, level));
  if (speeds.some(Number.isNaN)) return undefined;
  const spans = at.length - 1;
  const rises: Ramp[] = [];
  const falls: Ramp[] = [];
  const caps: Float64Array[] = [];
  const tops = new Float64Array(spans);
  for (let k = 0; k < spans; k++) {
    const from = at[k].to;
    const way = at[k + 1].from - from;
    if (!(way > 0)) return undefined;
    const cap = new Float64Array(SPEED_POINTS);
    for (let p = 0; p < SPEED_POINTS; p++) {
      allowance.load(from + (way * (p + 0.5)) / SPEED_POINTS);
      cap[p] = allowance.steadySpeed();
    }
    caps.push(cap);
    tops[k] = Math.max(cap[SPEED_POINTS >> 1], speeds[k], speeds[k + 1]);
    if (!(tops[k] < Number.POSITIVE_INFINITY)) tops[k] = 1e3 * length;
    rises.push(rampAt(allowance, from, speeds[k], 1));
    falls.push(rampAt(allowance, at[k + 1].from, speeds[k + 1], -1));
    for (const ramp of [rises[k], falls[k]])
      if (!(ramp.acceleration > 0 && ramp.firstJerk > 0 && ramp.firstJerk < Number.POSITIVE_INFINITY)) return undefined;
  }

  const peaks = new Float64Array(spans);
  for (let round = 0; ; round++) {
    // Levels that the ramps cannot reach from their neighbours are lowered, from both sides.
    if (!fitLevels(at, speeds, rises, falls)) return undefined;
    for (let k = 0; k < spans; k++) {
      const way = at[k + 1].from - at[k].to;
      peaks[k] = peakOf(rises[k], falls[k], speeds[k], speeds[k + 1], tops[k], way);
    }
    if (round === ROUNDS) break;
    for (let k = 0; k < spans; k++) {
      const from = at[k].to;
      const to = at[k + 1].from;
      const rising = wayOf(rises[k], speeds[k], peaks[k]);
      const falling = wayOf(falls[k], peaks[k], speeds[k + 1]);
      let top = tops[k];
      // Cruising speed: the least that can be kept over the cruise, or beside it where there is none.
      let steady = Number.POSITIVE_INFINITY;
      for (let p = 0; p < SPEED_POINTS; p++) {
        const s = from + ((to - from) * (p + 0.5)) / SPEED_POINTS;
        if (s >= from + rising && s <= to - falling) steady = Math.min(steady, caps[k][p]);
      }
      for (const s of [from + rising, to - falling]) {
        allowance.load(s);
        steady = Math.min(steady, allowance.steadySpeed());
      }
      if (steady < Number.POSITIVE_INFINITY) top = steady;
      const up = tune(allowance, rises[k], from, speeds[k], peaks[k]);
      const down = tune(allowance, falls[k], to - falling, peaks[k], speeds[k + 1]);
      if (up === undefined || down === undefined) return undefined;
      tops[k] = Math.max(Math.min(top, up * peaks[k], down * peaks[k]), speeds[k], speeds[k + 1]);
    }
  }

  // Time cannot be stretched where a fixed speed must be kept: there the ramps are softened instead.
  const rigid = at.some((level) => level.fixed && level.speed > 0);
  for (let attempt = 0; ; attempt++) {
    const pieces = new Pieces();
    for (let k = 0; k < spans; k++) {
      pieces.ramp(rises[k], speeds[k], peaks[k]);
      const way = at[k + 1].from - at[k].to;
      const cruise = way - wayOf(rises[k], speeds[k], peaks[k]) - wayOf(falls[k], peaks[k], speeds[k + 1]);
      if (cruise > 0 && peaks[k] > 0) pieces.add(cruise / peaks[k], 0);
      pieces.ramp(falls[k], peaks[k], speeds[k + 1]);
      const level = at[k + 1];
      if (level.to > level.from) pieces.add((level.to - level.from) / speeds[k + 1], 0);
    }
    const need = pieces.look(allowance, length);
    if (!rigid)
      return {
        law: pieces.profile(length, Math.max(need, 1) * (1 + MARGIN)),
        bound: levels.length > 0 ? 0 : boundOf(allowance, length, rises[0], falls[0], peaks[0]),
      };
    if (need <= 1 + FIXED_EXCESS) return { law: pieces.profile(length, 1), bound: 0 };
    if (attempt === SOFTENINGS) return undefined;
    const softer = 1 / (need * (1 + MARGIN));
    for (let k = 0; k < spans; k++) {
      for (const ramp of [rises[k], falls[k]]) {
        ramp.acceleration *= softer ** 2;
        ramp.firstJerk *= softer ** 3;
        ramp.lastJerk *= softer ** 3;
      }
      tops[k] = Math.max(tops[k] * softer, speeds[k], speeds[k + 1]);
    }
    for (const [i, level] of at.entries()) if (!level.fixed) speeds[i] *= softer;
    if (!fitLevels(at, speeds, rises, falls)) return undefined;
    for (let k = 0; k < spans; k++)
      peaks[k] = peakOf(rises[k], falls[k], speeds[k], speeds[k + 1], tops[k], at[k + 1].from - at[k].to);
  }
}

/** Path speed of a level; NaN where a fixed one cannot be kept. */
function levelSpeed(allowance: Allowance, level: Level): number {
  if (level.from === level.to) return level.speed;
  let most = level.speed;
  for (const share of CRUISE) {
    allowance.load(level.from + share * (level.to - level.from));
    most = Math.min(most, allowance.steadySpeed());
  }
  if (!level.fixed) return most;
  return most >= level.speed * (1 - 1e-9) ? level.speed : Number.NaN;
}

/** A ramp with what the limits allow at one place. */
function rampAt(allowance: Allowance, s: number, v: number, sign: number): Ramp {
  allowance.load(s);
  const acceleration = allowance.acceleration(v, sign);
  const jerk = allowance.jerk(v, 0, sign);
  return { acceleration, firstJerk: jerk, lastJerk: jerk };
}

/** Lowers free levels until every ramp between neighbouring levels has room. @returns false where fixed ones have not */
function fitLevels(at: readonly Level[], speeds: number[], rises: readonly Ramp[], falls: readonly Ramp[]): boolean {
  for (let pass = 0; pass < 2; pass++) {
    for (let i = 0; i + 1 < at.length; i++) {
      const k = pass === 0 ? i : at.length - 2 - i;
      const way = at[k + 1].from - at[k].to;
      const rises1 = speeds[k + 1] > speeds[k];
      const ramp = rises1 ? rises[k] : falls[k];
      if (wayOf(ramp, speeds[k], speeds[k + 1]) <= way) continue;
      const high = rises1 ? k + 1 : k;
      const other = rises1 ? speeds[k] : speeds[k + 1];
      if (at[high].fixed) return false;
      let low = other;
      let top = speeds[high];
      for (let step = 0; step < 40; step++) {
        const middle = (low + top) / 2;
        if (wayOf(ramp, rises1 ? other : middle, rises1 ? middle : other) <= way) low = middle;
        else top = middle;
      }
      speeds[high] = low;
    }
  }
  return true;
}

const times = new Float64Array(3);

/**
 * Sets a ramp that runs from s between two speeds to what the limits allow on its way.
 * @returns by how much the peak speed may be multiplied for the speed limits; undefined where nothing is left to move with
 */
function tune(allowance: Allowance, ramp: Ramp, from: number, v0: number, v1: number): number | undefined {
  const change = Math.abs(v1 - v0);
  if (!(change > 1e-9 * Math.max(v0, v1))) return 1;
  const sign = v1 > v0 ? 1 : -1;
  phases(ramp, change, times);
  const peak = times[0] * ramp.firstJerk;
  const held = times[1] > 0;
  let acceleration = Number.POSITIVE_INFINITY;
  let firstJerk = Number.POSITIVE_INFINITY;
  let lastJerk = Number.POSITIVE_INFINITY;
  let faster = Number.POSITIVE_INFINITY;
  const high = Math.max(v0, v1);
  let s = from;
  let v = v0;
  for (let phase = 0; phase < 3; phase++) {
    const duration = times[phase];
    if (!(duration > 0)) continue;
    const j = sign * (phase === 0 ? ramp.firstJerk : phase === 1 ? 0 : -ramp.lastJerk);
    const a0 = phase === 0 ? 0 : sign * peak;
    for (let p = 0; p < COARSE.length; p++) {
      const t = COARSE[p] * duration;
      const a = a0 + j * t;
      const speed = v + t * (a0 + (t * j) / 2);
      allowance.load(s + t * (v + t * (a0 / 2 + (t * j) / 6)));
      if (speed > 0.5 * high) faster = Math.min(faster, allowance.speed() / speed);
      const share = Math.abs(a) / peak;
      if (share > 0.3) acceleration = Math.min(acceleration, allowance.acceleration(speed, sign) / share);
      if (phase !== 1) {
        const most = allowance.jerk(speed, a, Math.sign(j));
        if (phase === 0) firstJerk = Math.min(firstJerk, most);
        else lastJerk = Math.min(lastJerk, most);
      }
    }
    s += duration * (v + duration * (a0 / 2 + (duration * j) / 6));
    v += duration * (a0 + (duration * j) / 2);
  }
  // Where the acceleration is never held, the jerks alone are exceeded or not; the acceleration only caps.
  if (!(acceleration > LEAST * ramp.acceleration) && held) return undefined;
  if (!(firstJerk > LEAST * ramp.firstJerk && lastJerk > LEAST * ramp.lastJerk)) return undefined;
  if (!(acceleration > 0)) return undefined;
  ramp.acceleration = acceleration;
  ramp.firstJerk = firstJerk;
  ramp.lastJerk = lastJerk;
  return faster;
}

/** Time of the law with the most that is allowed anywhere near each ramp, and the top speed allowed anywhere. */
function boundOf(allowance: Allowance, length: number, rise: Ramp, fall: Ramp, peak: number): number {
  const reach = 1.25;
  const best = (from: number, to: number, sign: number): Ramp => {
    let acceleration = 0;
    let jerk = 0;
    for (let p = 0; p <= 8; p++) {
      allowance.load(from + ((to - from) * p) / 8);
      const a = Math.max(allowance.acceleration(0, sign), allowance.acceleration(peak, sign));
      acceleration = Math.max(acceleration, a);
      for (const v of [0, peak])
        for (const share of [0, 1])
          for (const direction of [1, -1]) jerk = Math.max(jerk, allowance.jerk(v, sign * share * a, direction));
    }
    return { acceleration, firstJerk: jerk, lastJerk: jerk };
  };
  const rising = best(0, Math.min(length, reach * wayOf(rise, 0, peak)), 1);
  const falling = best(length, Math.max(0, length - reach * wayOf(fall, peak, 0)), -1);
  let top = 0;
  for (let p = 0; p <= 16; p++) {
    allowance.load((length * p) / 16);
    top = Math.max(top, allowance.speed());
  }
  if (!(top < Number.POSITIVE_INFINITY)) top = 1e3 * length;
  const reached = peakOf(rising, falling, 0, 0, top, length);
  const cruise = Math.max(0, length - wayOf(rising, 0, reached) - wayOf(falling, reached, 0));
  return phases(rising, reached, times) + phases(falling, reached, times) + cruise / reached;
}
