/** Least-time law under speed, acceleration and jerk limits with no acceleration at either end: the double-S profile. */
import { bracketedRoot } from "./bracketed-root.ts";
import { requireFinite, requirePositive } from "./limits.ts";
import { jerkProfile, type Profile } from "./profile.ts";
import { requireWithin } from "./trapezoid.ts";

/** Durations of the three phases of a double-S law; each ramp has two jerk pieces and, maybe, one of constant acceleration. */
export interface DoubleSPhases {
  /** First ramp, from the start speed to the peak speed, s. */
  readonly rise: number;
  /** Constant peak speed, s. */
  readonly cruise: number;
  /** Second ramp, from the peak speed to the end speed, s. */
  readonly fall: number;
  /** Signed peak speed. */
  readonly peak: number;
}

/** Time of the quickest speed change of size `change` >= 0 from and to no acceleration, s. */
export function rampTime(change: number, acceleration: number, jerk: number): number {
  return change * jerk >= acceleration * acceleration
    ? change / acceleration + acceleration / jerk
    : 2 * Math.sqrt(change / jerk);
}

/**
 * Rest-to-rest phases in closed form. With Tj = A/J: top speed reached: ramps V/A + A/J (or 2√(V/J)) and cruise; else,
 * acceleration limit reached: ramp = Tj/2 + √(Tj²/4 + D/A); else ramp = 2 ∛(D/(2J)).
 * @param distance >= 0   @param velocity > 0, Infinity allowed   @param acceleration > 0, Infinity allowed
 * @param jerk finite, > 0
 */
export function restToRest(distance: number, velocity: number, acceleration: number, jerk: number): DoubleSPhases {
  const toTop = rampTime(velocity, acceleration, jerk);
  if (distance >= velocity * toTop) {
    return { rise: toTop, cruise: distance / velocity - toTop, fall: toTop, peak: velocity };
  }
  const tj = acceleration / jerk;
  let ramp = 2 * Math.cbrt(distance / (2 * jerk));
  if (ramp > 2 * tj) ramp = tj / 2 + Math.sqrt((tj * tj) / 4 + distance / acceleration);
  return { rise: ramp, cruise: 0, fall: ramp, peak: ramp > 0 ? distance / ramp : 0 };
}

/**
 * Phases with end speeds. The two ramps are independent: each uses the full acceleration limit if it can. With the peak
 * speed w the displacement is D(w) = (v0 + w)/2 · r(|w - v0|) + (v1 + w)/2 · r(|w - v1|), r = {@link rampTime}; w is the
 * root of D(w) = distance beyond both end speeds, found to the last bit by a bracketed iteration, or the top speed.
 */
function withEndSpeeds(
  distance: number,
  v0: number,
  v1: number,
  velocity: number,
  acceleration: number,
  jerk: number,
): DoubleSPhases {
  const travel = (w: number): number =>
    ((v0 + w) / 2) * rampTime(Math.abs(w - v0), acceleration, jerk) +
    ((v1 + w) / 2) * rampTime(Math.abs(w - v1), acceleration, jerk);
  const direct = ((v0 + v1) / 2) * rampTime(Math.abs(v1 - v0), acceleration, jerk);
  const sign = distance >= direct ? 1 : -1;
  let near = sign > 0 ? Math.max(v0, v1) : Math.min(v0, v1);
  let far = sign * Math.max(velocity, sign * near);
  if (!Number.isFinite(far)) {
    far = sign * (1 + Math.abs(v0) + Math.abs(v1));
    while (sign * (travel(far) - distance) < 0) far *= 2;
  }
  const short = (w: number): number => sign * (travel(w) - distance);
  const atTop = short(far);
  let cruise = 0;
  if (atTop <= 0) {
    cruise = (distance - travel(far)) / far;
    near = far;
  } else {
    const atNear = short(near);
    if (atNear < 0) near = bracketedRoot(short, near, far, atNear, atTop);
  }
  return {
    rise: rampTime(Math.abs(near - v0), acceleration, jerk),
    cruise,
    fall: rampTime(Math.abs(near - v1), acceleration, jerk),
    peak: near,
  };
}

/**
 * Phases of the least-time law from (p0, v0, 0) to (p1, v1, 0) with |v| <= velocity, |a| <= acceleration, |j| <= jerk.
 *
 * Meets the least times of two independent ramps; procedures that shrink one common acceleration until both ramps fit are
 * slower (1.7804 s against 1.933 s for 0 → 10 from speed 7 to rest under 10, 10, 30).
 * @param velocity > 0, Infinity allowed   @param acceleration > 0, Infinity allowed   @param jerk finite, > 0
 * @throws ContractError for limits not above 0 or end speeds beyond the velocity limit
 * @example doubleSPhases(0, 1, 0, 0, 1, 1, 1) // rise 1.5874, fall 1.5874
 */
export function doubleSPhases(
  p0: number,
  p1: number,
  v0: number,
  v1: number,
  velocity: number,
  acceleration: number,
  jerk: number,
): DoubleSPhases {
  requireFinite("doubleS", "p0", p0);
  requireFinite("doubleS", "p1", p1);
  requirePositive("doubleS", "velocity", velocity);
  requirePositive("doubleS", "acceleration", acceleration);
  requirePositive("doubleS", "jerk", jerk, true);
  requireWithin("doubleS", "v0", v0, velocity);
  requireWithin("doubleS", "v1", v1, velocity);
  if (v0 !== 0 || v1 !== 0) return withEndSpeeds(p1 - p0, v0, v1, velocity, acceleration, jerk);
  const phases = restToRest(Math.abs(p1 - p0), velocity, acceleration, jerk);
  return p1 >= p0 ? phases : { ...phases, peak: -phases.peak };
}

/** The law of {@link doubleSPhases} as a profile. Same parameters and errors. */
export function doubleS(
  p0: number,
  p1: number,
  v0: number,
  v1: number,
  velocity: number,
  acceleration: number,
  jerk: number,
): Profile {
  const phases = doubleSPhases(p0, p1, v0, v1, velocity, acceleration, jerk);
  const first = Math.sign(phases.peak - v0) * jerk;
  const second = Math.sign(v1 - phases.peak) * jerk;
  const riseJerk = Math.min(phases.rise / 2, acceleration / jerk);
  const fallJerk = Math.min(phases.fall / 2, acceleration / jerk);
  return jerkProfile(
    p0,
    v0,
    0,
    [riseJerk, phases.rise - 2 * riseJerk, riseJerk, phases.cruise, fallJerk, phases.fall - 2 * fallJerk, fallJerk],
    [first, 0, -first, 0, second, 0, -second],
  );
}
