/**
 * How the arm stops out of a motion when every joint brakes with its limits: time and way of the tool.
 *
 * All joints brake together in the time that the slowest needs, so that the ratio of their speeds stays (a controlled stop,
 * category 1 of IEC 60204-1); the joint values then go on by half of speed times braking time. What the limits are in an emergency,
 * under load and worn, only measurement on the built cell tells (ISO 10218-1, annex B).
 */
import { type Arm, geometricJacobian } from "../arm/index.ts";
import type { Pose } from "../math/pose.ts";

export interface Stop {
  /** Until standstill, s; Infinity when a moving joint states no limit. */
  readonly time: number;
  /** Way of the point of the tool, m. */
  readonly distance: number;
  /** Joint that needs longest; -1 at standstill. */
  readonly joint: number;
}

/** Time to brake from a speed, v/a + a/j, or 2 √(v/j) where the acceleration is not reached. */
export function brakingTime(speed: number, acceleration: number, jerk: number): number {
  const v = Math.abs(speed);
  if (v === 0) return 0;
  if (acceleration === Number.POSITIVE_INFINITY)
    return jerk === Number.POSITIVE_INFINITY ? Number.POSITIVE_INFINITY : 2 * Math.sqrt(v / jerk);
  if (jerk === Number.POSITIVE_INFINITY) return v / acceleration;
  return v >= (acceleration * acceleration) / jerk ? v / acceleration + acceleration / jerk : 2 * Math.sqrt(v / jerk);
}

/** Steps in which the way of the tool is added up. */
const STEPS = 16;

/** A meter of stops; not reentrant. */
export function createStopMeter(
  arm: Arm,
): (q: ArrayLike<number>, qd: ArrayLike<number>, flangeFromPoint: Pose | undefined) => Stop {
  const { n } = arm;
  const jacobian = new Float64Array(6 * n);
  const there = new Float64Array(n);
  return (q, qd, flangeFromPoint) => {
    let time = 0,
      joint = -1;
    for (let i = 0; i < n; i++) {
      const t = brakingTime(qd[i]!, arm.acceleration[i]!, arm.jerk[i]!);
      if (t > time) {
        time = t;
        joint = i;
      }
    }
    if (time === 0 || time === Number.POSITIVE_INFINITY)
      return { time, distance: time === 0 ? 0 : Number.POSITIVE_INFINITY, joint };
    // Way = ∫ |J(q + s·qd·T/2)·qd|·(T/2) ds, s from 0 to 1: the same path whatever the braking profile.
    let distance = 0;
    for (let k = 0; k < STEPS; k++) {
      const share = ((k + 0.5) / STEPS) * (time / 2);
      for (let i = 0; i < n; i++) there[i] = q[i]! + share * qd[i]!;
      geometricJacobian(arm, there, flangeFromPoint, jacobian);
      let square = 0;
      for (let r = 0; r < 3; r++) {
        let v = 0;
        for (let i = 0; i < n; i++) v += jacobian[r * n + i]! * qd[i]!;
        square += v * v;
      }
      distance += (Math.sqrt(square) * (time / 2)) / STEPS;
    }
    return { time, distance, joint };
  };
}
