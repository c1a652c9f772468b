/**
 * Force that the jaws need to hold a part by friction while it is moved.
 *
 * Total clamping force F = m (g + a) S / µ, shared by the jaws: F / n each. The acceleration is taken as acting along gravity,
 * the worst direction for flat jaws. A form-fit grip (part resting on a ledge) needs no friction term.
 * For a load of known direction see holding.ts. Ignored here: moments of the part about the jaws.
 */
import { ContractError } from "../math/contract-error.ts";
import type { Kilograms, MetresPerSecond2, Newtons, Radians } from "../math/units.ts";

export interface FrictionGrip {
  readonly mass: Kilograms;
  /** Largest acceleration of the part by the motion, m/s², without gravity. */
  readonly acceleration: MetresPerSecond2;
  /** Magnitude of gravity, m/s². */
  readonly gravity: MetresPerSecond2;
  /** Coefficient of friction between jaw and part, > 0. */
  readonly friction: number;
  /** At least 1; commonly 2, up to 4 with shocks (common practice). */
  readonly safetyFactor: number;
  /** At least 1. */
  readonly jaws: number;
}

/**
 * Force per jaw, N.
 * @throws ContractError if a value is out of its range
 * @source handbook formula of friction grips, m (g + a) S / µ; recalled from memory
 * @example forcePerJaw({ mass: 1, acceleration: 5, gravity: 9.81, friction: 0.15, safetyFactor: 2, jaws: 2 }) // 98.733
 */
export function forcePerJaw(grip: FrictionGrip): Newtons {
  const { mass, acceleration, gravity, friction, safetyFactor, jaws } = grip;
  for (const [name, value, least] of [
    ["mass", mass, 0],
    ["acceleration", acceleration, 0],
    ["gravity", gravity, 0],
    ["safetyFactor", safetyFactor, 1],
    ["jaws", jaws, 1],
  ] as const)
    if (!(value >= least) || !Number.isFinite(value))
      throw new ContractError(`forcePerJaw: ${name} must be finite and >= ${least}, got ${value}`);
  if (!(friction > 0)) throw new ContractError(`forcePerJaw: friction must be > 0, got ${friction}`);
  return (mass * (gravity + acceleration) * safetyFactor) / friction / jaws;
}

/**
 * Force per jaw, N, of V-jaws around a round part that would slide along its axis: each flank carries F / (2 sin(α/2)).
 * @param vAngle included angle α, (0, π] rad; π are flat jaws
 * @throws ContractError if a value is out of its range
 * @source handbook formula m (g + a) S sin(α/2) / (n µ); recalled from memory, balance of forces on the flanks rederived
 */
export function vJawForce(grip: FrictionGrip, vAngle: Radians): Newtons {
  if (!(vAngle > 0 && vAngle <= Math.PI))
    throw new ContractError(`vJawForce: vAngle must be above 0 and at most π rad, got ${vAngle}`);
  return forcePerJaw(grip) * Math.sin(vAngle / 2);
}
