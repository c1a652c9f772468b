/**
 * One axis between any two states (position, speed, acceleration) under speed, acceleration and jerk limits: the least
 * time, every reachable time, and a motion for each of them.
 *
 * The end positions that can be reached in exactly T form an interval [lowest(T), highest(T)], whose borders are the two
 * {@link extremalFamily} motions. So the reachable times are those with the target inside, and a motion for a reachable
 * time is the convex combination of the two border motions: all limits are convex, so it keeps them and hits the target
 * exactly. The least time is the first T at which the target enters the interval. There may be a gap of times after it
 * (an axis that arrives too fast to wait has to turn around).
 */
import { bracketedRoot } from "./bracketed-root.ts";
import {
  type AxisEnds,
  type ExtremalFamily,
  evaluateFamily,
  extremalFamily,
  familyJerks,
  totalTime,
} from "./extremal-family.ts";
import { type AxisLimits, requireFinite, requirePositive } from "./limits.ts";
import { jerkProfile, type Profile } from "./profile.ts";

/** Why an axis problem has no solution at all. */
export type AxisRefusal = {
  /** Which end cannot be used: it breaks a limit, or the speed limit cannot be kept just after it (or just before the end). */
  readonly end: "start" | "end";
  readonly what: "velocity" | "acceleration" | "unavoidable velocity";
  readonly value: number;
  readonly limit: number;
};

/** One axis made ready for questions about times. */
export interface AxisMove {
  readonly ends: AxisEnds;
  readonly up: ExtremalFamily;
  readonly down: ExtremalFamily;
}

/** A time, and the border motion that takes it when the target is on the border. */
export interface ReachableTime {
  readonly time: number;
  readonly family?: ExtremalFamily;
  readonly u?: number;
}

const work = new Float64Array(7);

/** Relative excess over a limit at an end that is taken for rounding. */
const ROUNDING = 1e-9;

/**
 * States outside the limits are refused, not repaired: within the limits nothing may be exceeded even for an instant.
 * @throws ContractError for values that are not finite, limits not above 0, or an infinite jerk limit
 */
export function prepareAxis(
  ends: AxisEnds,
  limits: AxisLimits,
): { readonly ok: true; readonly move: AxisMove } | { readonly ok: false; readonly refusal: AxisRefusal } {
  for (const key of ["p0", "v0", "a0", "p1", "v1", "a1"] as const) requireFinite("axis move", key, ends[key]);
  requirePositive("axis move", "velocity", limits.velocity);
  requirePositive("axis move", "acceleration", limits.acceleration);
  requirePositive("axis move", "jerk", limits.jerk, true);
  const { v0, a0, v1, a1 } = ends;
  const J = limits.jerk;
  const after = v0 + (a0 * Math.abs(a0)) / (2 * J);
  const before = v1 - (a1 * Math.abs(a1)) / (2 * J);
  const beyond = v1 + (a1 * Math.abs(a1)) / (2 * J);
  const refusal =
    excess("start", "velocity", v0, limits.velocity) ??
    excess("start", "acceleration", a0, limits.acceleration) ??
    excess("start", "unavoidable velocity", after, limits.velocity) ??
    excess("end", "velocity", v1, limits.velocity) ??
    excess("end", "acceleration", a1, limits.acceleration) ??
    excess("end", "unavoidable velocity", before, limits.velocity) ??
    excess("end", "unavoidable velocity", beyond, limits.velocity);
  if (refusal) return { ok: false, refusal };
  // Infinite limits are replaced by values that cannot be reached; rounding excess at the ends is let in.
  const distance = Math.abs(ends.p1 - ends.p0);
  const speeds = Math.abs(v0) + Math.abs(v1) + (a0 * a0 + a1 * a1) / (2 * J);
  let velocity = limits.velocity;
  if (velocity === Number.POSITIVE_INFINITY) {
    const stop = 2 * Math.sqrt(speeds / J) + speeds / limits.acceleration;
    const travel = distance + 8 * speeds * (stop + (Math.abs(a0) + Math.abs(a1)) / J);
    velocity = 4 * (speeds + Math.min(Math.sqrt(limits.acceleration * travel), Math.cbrt(J * travel * travel)));
    if (velocity === 0) velocity = 1;
  }
  velocity = Math.max(velocity, Math.abs(v0), Math.abs(v1), Math.abs(after), Math.abs(before));
  let acceleration = limits.acceleration;
  if (acceleration === Number.POSITIVE_INFINITY) acceleration = Math.sqrt(8 * J * velocity + a0 * a0 + a1 * a1);
  acceleration = Math.max(acceleration, Math.abs(a0), Math.abs(a1));
  return {
    ok: true,
    move: {
      ends,
      up: extremalFamily(ends, velocity, acceleration, J, 1),
      down: extremalFamily(ends, velocity, acceleration, J, -1),
    },
  };
}

function excess(
  end: "start" | "end",
  what: AxisRefusal["what"],
  value: number,
  limit: number,
): AxisRefusal | undefined {
  return Math.abs(value) > limit * (1 + ROUNDING) ? { end, what, value, limit } : undefined;
}

const timeOf = (family: ExtremalFamily, u: number): number => {
  evaluateFamily(family, u, work);
  return totalTime(work);
};

/** Parameter in [from, to] at which the family takes `time`, which must lie between the times of the two. */
function parameterAt(family: ExtremalFamily, time: number, from: number, to: number): number {
  let end = to;
  if (to === Number.POSITIVE_INFINITY) {
    const atTop = timeOf(family, family.top);
    if (time >= atTop) return family.top + (time - atTop);
    end = family.top;
  }
  const low = timeOf(family, from) - time;
  const high = timeOf(family, end) - time;
  if (low >= 0) return from;
  if (high <= 0) return end;
  return bracketedRoot((u) => timeOf(family, u) - time, from, end, low, high);
}

/**
 * Smallest reachable time that is not below `atLeast` (s). Always exists.
 */
export function nextReachableTime(move: AxisMove, atLeast: number): ReachableTime {
  const lens = lensOf(move);
  return (
    (lens && nextInPart(move, atLeast, lens[0], lens[1])) ?? nextInPart(move, atLeast, main(move.up), main(move.down))!
  );
}

/** A stretch of a family's parameter. */
interface Part {
  readonly family: ExtremalFamily;
  readonly from: number;
  readonly to: number;
}

const main = (family: ExtremalFamily): Part => ({ family, from: family.from, to: Number.POSITIVE_INFINITY });

/** The first part of both families; by rounding only one may have it, and then it is a single motion. */
function lensOf({ up, down }: AxisMove): readonly [Part, Part] | undefined {
  const first = up.lens ? { family: up, ...up.lens } : undefined;
  const second = down.lens ? { family: down, ...down.lens } : undefined;
  if (first && second) return [first, second];
  const one = first ?? second;
  return one && [one, one];
}

function nextInPart(move: AxisMove, atLeast: number, upPart: Part, downPart: Part): ReachableTime | undefined {
  const { ends } = move;
  const up = upPart.family;
  const down = downPart.family;
  const distance = ends.p1 - ends.p0;
  if (Number.isFinite(upPart.to) && timeOf(up, upPart.to) < atLeast) return undefined;
  const time = Math.max(atLeast, timeOf(up, upPart.from));
  const upU = parameterAt(up, time, upPart.from, upPart.to);
  const downU = parameterAt(down, time, downPart.from, downPart.to);
  const highest = evaluateFamily(up, upU, work);
  const lowest = evaluateFamily(down, downU, work);
  const rounding =
    1e-12 * (Math.abs(distance) + Math.abs(highest) + Math.abs(lowest)) +
    1e-14 * (Math.abs(ends.p0) + Math.abs(ends.p1) + (Math.abs(ends.v0) + Math.abs(ends.v1)) * (1 + time));
  if (distance <= highest + rounding && distance >= lowest - rounding) return { time };
  const family = distance > highest ? up : down;
  const start = distance > highest ? upU : downU;
  const to = distance > highest ? upPart.to : downPart.to;
  const short = (u: number): number => family.sign * (evaluateFamily(family, u, work) - distance);
  const atStart = short(start);
  let u: number;
  if (Number.isFinite(to)) {
    // The lens ends: look for the first sign change over a few points of it.
    let a = start;
    let fa = atStart;
    let found = Number.NaN;
    for (let i = 1; i <= 8; i++) {
      const b = start + ((to - start) * i) / 8;
      const fb = short(b);
      if (fb >= 0) {
        found = bracketedRoot(short, a, b, fa, fb);
        break;
      }
      // Where the lens closes the target may be missed by rounding only.
      if (i === 8 && fb >= -rounding) found = b;
      a = b;
      fa = fb;
    }
    if (Number.isNaN(found)) return undefined;
    u = found;
  } else {
    const top = Math.max(start, family.top);
    const atTop = short(top);
    u = atTop <= 0 ? top - atTop / family.velocity : bracketedRoot(short, start, top, atStart, atTop);
  }
  return { time: timeOf(family, u), family, u };
}

/** A motion of exactly the given reachable time. Ends exactly in the target state up to rounding. */
export function moveOfTime(move: AxisMove, reach: ReachableTime): Profile {
  const { ends } = move;
  if (reach.family && reach.u !== undefined) {
    evaluateFamily(reach.family, reach.u, work);
    return jerkProfile(ends.p0, ends.v0, ends.a0, work, familyJerks(reach.family));
  }
  const lens = lensOf(move);
  const inLens = lens && reach.time <= timeOf(lens[0].family, lens[0].to) * (1 + 1e-12) + 1e-300;
  const [upPart, downPart] = inLens ? lens : [main(move.up), main(move.down)];
  const up = upPart.family;
  const down = downPart.family;
  const high = new Float64Array(7);
  const low = new Float64Array(7);
  const highest = evaluateFamily(up, parameterAt(up, reach.time, upPart.from, upPart.to), high);
  const lowest = evaluateFamily(down, parameterAt(down, reach.time, downPart.from, downPart.to), low);
  const distance = ends.p1 - ends.p0;
  const span = highest - lowest;
  const share = span > 0 ? Math.min(1, Math.max(0, (distance - lowest) / span)) : 0.5;
  return combine(ends, share, high, familyJerks(up), low, familyJerks(down));
}

/** share · high + (1 - share) · low, piece by piece. */
function combine(
  ends: AxisEnds,
  share: number,
  high: Float64Array,
  highJerks: Float64Array,
  low: Float64Array,
  lowJerks: Float64Array,
): Profile {
  const durations = new Float64Array(14);
  const jerks = new Float64Array(14);
  let i = 0;
  let k = 0;
  let leftHigh = high[0]!;
  let leftLow = low[0]!;
  let n = 0;
  while (i < 7 && k < 7) {
    const step = Math.min(leftHigh, leftLow);
    durations[n] = step;
    jerks[n] = share * highJerks[i]! + (1 - share) * lowJerks[k]!;
    n++;
    leftHigh -= step;
    leftLow -= step;
    if (leftHigh <= 0) leftHigh = high[++i] ?? 0;
    if (leftLow <= 0) leftLow = low[++k] ?? 0;
  }
  // One list may end a rounding error before the other; the rest belongs to the last jerk of the longer one.
  while (i < 7) {
    durations[n] = leftHigh;
    jerks[n++] = share * highJerks[i]! + (1 - share) * lowJerks[6]!;
    leftHigh = high[++i] ?? 0;
  }
  while (k < 7) {
    durations[n] = leftLow;
    jerks[n++] = share * highJerks[6]! + (1 - share) * lowJerks[k]!;
    leftLow = low[++k] ?? 0;
  }
  return jerkProfile(ends.p0, ends.v0, ends.a0, durations, jerks);
}
