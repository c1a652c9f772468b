/**
 * Putting a round part into a round hole, or between the open jaws of a chuck: when it enters, wedges or jams.
 *
 * Symbols: D diameter of the hole, d of the part, c = (D - d)/D clearance ratio, µ friction, l insertion depth, θ tilt between
 * the axes (rad), r = d/2. Quasi-static, rigid bodies, one plane.
 *
 * @source Whitney, Quasi-static assembly of compliantly supported rigid parts, J. Dyn. Sys. Meas. Control 104, 1982 (formulas
 *   recalled from memory; the jamming boundary rederived from the balance of force and moment, see docs/explanation/handling.md)
 */
import { ContractError } from "../math/contract-error.ts";
import type { Metres, Radians } from "../math/units.ts";

/** c = (D - d) / D; negative when the part is thicker than the hole. */
export const clearanceRatio = (hole: Metres, part: Metres): number => (hole - part) / hole;

/** Tilt above which two-point contact can wedge while the depth is below `wedgingDepth`: c / µ, rad. */
export const wedgingTilt = (hole: Metres, part: Metres, friction: number): Radians =>
  clearanceRatio(hole, part) / friction;

/** Depth up to which two-point contact can wedge: µ d, m. */
export const wedgingDepth = (part: Metres, friction: number): Metres => friction * part;

/** Largest tilt at which the end of the part still goes into the hole: √(2 c), rad; 0 without clearance. */
export const enteringTilt = (hole: Metres, part: Metres): Radians =>
  Math.sqrt(2 * Math.max(0, clearanceRatio(hole, part)));

/** Lateral error (m) that is still caught: half the clearance and the widths of both chamfers. */
export const caughtError = (hole: Metres, part: Metres, holeChamfer: Metres, partChamfer: Metres): Metres =>
  (hole - part) / 2 + holeChamfer + partChamfer;

/**
 * Tilt at which the part touches the hole on both sides at depth l, from D = d cos θ + l sin θ exactly: rad.
 * @returns undefined when it never does (the hole is wider than the part's diagonal), or when there is no clearance
 */
export function twoPointTilt(hole: Metres, part: Metres, depth: Metres): Radians | undefined {
  if (!(part > 0 && depth >= 0))
    throw new ContractError(`twoPointTilt: part > 0 and depth >= 0, got ${part}, ${depth}`);
  const diagonal = Math.hypot(part, depth);
  if (hole < part || hole > diagonal) return undefined;
  // d cos θ + l sin θ = R cos(θ - φ), tan φ = l/d; the first crossing from θ = 0.
  const tilt = Math.atan2(depth, part) - Math.acos(hole / diagonal);
  return Math.max(0, tilt);
}

/** λ = l / (2 r µ). */
export const jammingParameter = (part: Metres, depth: Metres, friction: number): number => depth / (part * friction);

export interface Push {
  /** Across and along the hole, in the same unit of force; along > 0 drives the part in. */
  readonly across: number;
  readonly along: number;
  /** Moment about the tip of the part, in unit of force times m. */
  readonly moment: number;
}

export interface Jamming {
  /** Share of the allowed band that is used: below 1 the part slides, above it jams. */
  readonly use: number;
  readonly by: "side force" | "moment";
}

/**
 * How near a push is to jamming: |Fx/Fz| <= 1/µ in one-point contact, and |M/(r Fz) + µ (1 + λ) Fx/Fz| <= λ in two-point contact.
 * @throws ContractError unless `along` > 0
 */
export function jamming(part: Metres, depth: Metres, friction: number, push: Push): Jamming {
  if (!(push.along > 0)) throw new ContractError(`jamming: along must be > 0, got ${push.along}`);
  const ratio = push.across / push.along;
  const lambda = jammingParameter(part, depth, friction);
  const side = Math.abs(ratio) * friction;
  const turning = Math.abs(push.moment / ((part / 2) * push.along) + friction * (1 + lambda) * ratio);
  const moment = lambda > 0 ? turning / lambda : turning > 0 ? Number.POSITIVE_INFINITY : 0;
  return moment >= side ? { use: moment, by: "moment" } : { use: side, by: "side force" };
}

/** M/(r Fz) at which two-point contact begins to jam, for a ratio Fx/Fz on the same side: λ - µ (1 + λ) Fx/Fz. */
export function jammingMoment(part: Metres, depth: Metres, friction: number, ratio: number): number {
  const lambda = jammingParameter(part, depth, friction);
  return lambda - friction * (1 + lambda) * ratio;
}
