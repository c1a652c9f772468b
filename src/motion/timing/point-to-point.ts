/** Point-to-point motions of one and of several axes under speed, acceleration and jerk limits. */
import { ContractError } from "../../math/contract-error.ts";
import { type AxisMove, type AxisRefusal, moveOfTime, nextReachableTime, prepareAxis } from "./axis-move.ts";
import { rampTime, restToRest } from "./double-s.ts";
import type { AxisEnds } from "./extremal-family.ts";
import { type AxisLimits, requireFinite, requirePositive } from "./limits.ts";
import { jerkProfile, type Profile } from "./profile.ts";
import { trapezoid } from "./trapezoid.ts";

/** State of one axis: position, speed, acceleration. */
export interface AxisState {
  readonly p: number;
  readonly v: number;
  readonly a: number;
}

export type AxisMotion =
  | { readonly ok: true; readonly profile: Profile }
  | { readonly ok: false; readonly refusal: AxisRefusal };

/**
 * Least-time motion of one axis between any two states inside the limits.
 *
 * A start or end state that breaks a limit, after which the speed limit cannot be kept (v + a|a|/(2J) beyond it), or an end
 * that cannot be reached within it (v - a|a|/(2J) beyond it), is
 * refused with a tagged result: nothing outside the limits is ever commanded.
 * @param limits jerk finite; speed and acceleration may be Infinity
 * @returns profile whose duration is the least possible; end state met to about 1e-12 of the distances involved
 * @throws ContractError for values that are not finite or limits not above 0
 * @source derived in docs/explanation/motion-timing.md
 */
export function axisMotion(start: AxisState, end: AxisState, limits: AxisLimits): AxisMotion {
  const prepared = prepareAxis(toEnds(start, end), limits);
  if (!prepared.ok) return prepared;
  return { ok: true, profile: moveOfTime(prepared.move, nextReachableTime(prepared.move, 0)) };
}

export type SynchronisedMotion =
  | { readonly ok: true; readonly duration: number; readonly profiles: readonly Profile[] }
  | { readonly ok: false; readonly axis: number; readonly refusal: AxisRefusal };

/**
 * All axes from their start to their end state in one common time, the least that every axis can take. Each axis is
 * stretched to it; where a time cannot be reached by some axis (it falls into a gap) the common time is the next that all
 * can take.
 * @param starts one per axis, as `ends` and `limits`   @throws ContractError if their lengths differ
 */
export function synchronisedMotion(
  starts: readonly AxisState[],
  ends: readonly AxisState[],
  limits: readonly AxisLimits[],
): SynchronisedMotion {
  if (starts.length !== ends.length || starts.length !== limits.length) {
    throw new ContractError(
      `synchronisedMotion: ${starts.length} starts, ${ends.length} ends and ${limits.length} limits must be as many`,
    );
  }
  if (starts.every(atRest) && ends.every(atRest)) return restToRestTogether(starts, ends, limits);
  const moves: AxisMove[] = [];
  for (let i = 0; i < starts.length; i++) {
    const prepared = prepareAxis(toEnds(starts[i]!, ends[i]!), limits[i]!);
    if (!prepared.ok) return { ok: false, axis: i, refusal: prepared.refusal };
    moves.push(prepared.move);
  }
  let time = 0;
  let agreed = 0;
  // Times only grow, and each axis has at most two gaps, so this ends after a few rounds.
  for (let i = 0; agreed < moves.length; i = (i + 1) % moves.length) {
    const next = nextReachableTime(moves[i]!, time).time;
    agreed = next > time * (1 + 1e-13) ? 1 : agreed + 1;
    time = Math.max(time, next);
  }
  const profiles = moves.map((move) => {
    const own = nextReachableTime(move, time);
    return moveOfTime(move, own.family ? own : { time });
  });
  return { ok: true, duration: time, profiles };
}

const atRest = ({ v, a }: AxisState): boolean => v === 0 && a === 0;

/** The same from rest to rest, where there are no gaps: the slowest axis takes its least time, the others are stretched. */
function restToRestTogether(
  starts: readonly AxisState[],
  ends: readonly AxisState[],
  limits: readonly AxisLimits[],
): SynchronisedMotion {
  let duration = 0;
  for (let i = 0; i < starts.length; i++) {
    const { velocity, acceleration, jerk } = limits[i]!;
    requireFinite("synchronisedMotion", "start", starts[i]!.p);
    requireFinite("synchronisedMotion", "end", ends[i]!.p);
    requirePositive("synchronisedMotion", "velocity", velocity);
    requirePositive("synchronisedMotion", "acceleration", acceleration);
    requirePositive("synchronisedMotion", "jerk", jerk, true);
    const { rise, cruise, fall } = restToRest(Math.abs(ends[i]!.p - starts[i]!.p), velocity, acceleration, jerk);
    duration = Math.max(duration, rise + cruise + fall);
  }
  const profiles = starts.map(({ p }, i) => stretchedRest(p, ends[i]!.p, duration, limits[i]!));
  return { ok: true, duration, profiles };
}

/**
 * Rest-to-rest motion of a duration that is at least the least: the motion that gets furthest in this time, scaled down.
 */
function stretchedRest(p0: number, p1: number, duration: number, limits: AxisLimits): Profile {
  const { velocity, acceleration, jerk } = limits;
  const toTop = rampTime(velocity, acceleration, jerk);
  const ramp = Math.min(toTop, duration / 2);
  const bend = Math.min(ramp / 2, acceleration / jerk);
  const furthest = jerk * bend * (ramp - bend) * (duration - ramp);
  const j = furthest > 0 ? (jerk * (p1 - p0)) / furthest : 0;
  const hold = ramp - 2 * bend;
  const cruise = duration - 2 * ramp;
  return jerkProfile(p0, 0, 0, [bend, hold, bend, cruise, bend, hold, bend], [j, 0, -j, 0, -j, 0, j]);
}

/** A straight line in joint space: one scalar law from 0 to 1 shared by all joints. */
export interface StraightJointMotion {
  readonly duration: number;
  /** Law of the share of the way done, from 0 to 1. */
  readonly law: Profile;
}

/**
 * Rest-to-rest motion along the straight line in joint space in the least time: q(t) = q0 + λ(t)(q1 - q0) with λ the
 * double-S law under min_i(limit_i / |Δq_i|). Jerk limits may be Infinity: then λ is trapezoidal.
 * @param velocity one limit per joint, > 0, as `acceleration` and `jerk`; at least one moving joint has a finite acceleration or jerk
 * limit   @throws ContractError for lengths that differ, values not finite, limits not above 0
 */
export function straightJointMotion(
  q0: ArrayLike<number>,
  q1: ArrayLike<number>,
  velocity: ArrayLike<number>,
  acceleration: ArrayLike<number>,
  jerk: ArrayLike<number>,
): StraightJointMotion {
  const n = q0.length;
  if (q1.length !== n || velocity.length !== n || acceleration.length !== n || jerk.length !== n) {
    throw new ContractError(`straightJointMotion: ${n} joints, but arrays of other lengths`);
  }
  let v = Number.POSITIVE_INFINITY;
  let a = Number.POSITIVE_INFINITY;
  let j = Number.POSITIVE_INFINITY;
  for (let i = 0; i < n; i++) {
    const d = Math.abs(q1[i]! - q0[i]!);
    requireFinite("straightJointMotion", "q1 - q0", d);
    requirePositive("straightJointMotion", "velocity", velocity[i]!);
    requirePositive("straightJointMotion", "acceleration", acceleration[i]!);
    requirePositive("straightJointMotion", "jerk", jerk[i]!);
    if (d === 0) continue;
    v = Math.min(v, velocity[i]! / d);
    a = Math.min(a, acceleration[i]! / d);
    j = Math.min(j, jerk[i]! / d);
  }
  return unitLaw(v, a, j);
}

/** Law from 0 to 1; no motion when nothing limits because nothing moves. */
function unitLaw(v: number, a: number, j: number): StraightJointMotion {
  if (j < Number.POSITIVE_INFINITY) {
    const law = restLaw(1, v, a, j);
    return { duration: law.duration, law };
  }
  if (a < Number.POSITIVE_INFINITY) {
    const law = trapezoid(0, 1, 0, 0, v, a);
    return { duration: law.duration, law };
  }
  if (v < Number.POSITIVE_INFINITY) {
    throw new ContractError("straightJointMotion: a moving joint needs an acceleration or jerk limit");
  }
  return { duration: 0, law: jerkProfile(1, 0, 0, [], []) };
}

/** Double-S law from rest at 0 to rest at `distance` > 0. Speed and acceleration limits may be Infinity. */
export function restLaw(distance: number, velocity: number, acceleration: number, jerk: number): Profile {
  const { rise, cruise } = restToRest(distance, velocity, acceleration, jerk);
  const bend = Math.min(rise / 2, acceleration / jerk);
  const hold = rise - 2 * bend;
  return jerkProfile(0, 0, 0, [bend, hold, bend, cruise, bend, hold, bend], [jerk, 0, -jerk, 0, -jerk, 0, jerk]);
}

function toEnds(start: AxisState, end: AxisState): AxisEnds {
  return { p0: start.p, v0: start.v, a0: start.a, p1: end.p, v1: end.v, a1: end.a };
}
