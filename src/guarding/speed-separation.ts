/**
 * Speed and separation monitoring: the least distance between a person and the arm at which the arm still stops before they meet,
 * S = v_h (T_r + T_s) + v_r T_r + S_s + C + Z_d + Z_r.
 *
 * Source: ISO/TS 15066:2016, 5.5.4.2.3 (recalled), speeds constant over the interval.
 */
import { ContractError } from "../math/contract-error.ts";

export const COLLABORATION_EDITION = "ISO/TS 15066:2016";

/** Walking speed where it is not monitored, m/s. */
export const UNMONITORED_SPEED = 1.6;

export interface SeparationTerms {
  /** v_h: speed of the person towards the arm, m/s. */
  readonly personSpeed: number;
  /** v_r: speed of the arm towards the person, m/s. */
  readonly armSpeed: number;
  /** T_r: from the detection to the beginning of the stop, s. */
  readonly reactionTime: number;
  /** T_s: from there to standstill, s. */
  readonly stoppingTime: number;
  /** S_s: way of the arm meanwhile, m. */
  readonly stoppingDistance: number;
  /** C: how far a part of the body gets into the field before it is seen, m. */
  readonly intrusion: number;
  /** Z_d and Z_r: uncertainty of the positions of the person and of the arm, m. */
  readonly sensorUncertainty: number;
  readonly armUncertainty: number;
}

/** Least distance, m. @throws ContractError when a term is negative or not finite */
export function monitoredSeparation(terms: SeparationTerms): number {
  for (const [name, value] of Object.entries(terms))
    if (!(value >= 0 && value < Number.POSITIVE_INFINITY))
      throw new ContractError(`monitoredSeparation: ${name} must be finite and at least 0, got ${value}`);
  const { personSpeed, armSpeed, reactionTime, stoppingTime, stoppingDistance } = terms;
  return (
    personSpeed * (reactionTime + stoppingTime) +
    armSpeed * reactionTime +
    stoppingDistance +
    terms.intrusion +
    terms.sensorUncertainty +
    terms.armUncertainty
  );
}

/** How an arm stops from a speed: standstill time (s) and way (m), both not falling with the speed (m/s). */
export type StoppingCurve = (speed: number) => { readonly time: number; readonly distance: number };

/**
 * Largest speed of the arm (m/s, up to `most`) for which the separation fits into `distance`; 0 when none does. Found by halving:
 * the distance needed grows with the speed.
 */
export function speedForSeparation(
  distance: number,
  terms: Omit<SeparationTerms, "armSpeed" | "stoppingTime" | "stoppingDistance">,
  stopping: StoppingCurve,
  most: number,
): number {
  const needed = (speed: number) => {
    const { time, distance: way } = stopping(speed);
    return monitoredSeparation({ ...terms, armSpeed: speed, stoppingTime: time, stoppingDistance: way });
  };
  if (needed(most) <= distance) return most;
  if (needed(0) > distance) return 0;
  let low = 0,
    high = most;
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    if (needed(middle) <= distance) low = middle;
    else high = middle;
  }
  return low;
}
