/**
 * Power and force limiting: the speed at which a blow of the arm stays below what a part of the body bears.
 *
 * Body and arm are two masses with a spring between them: all the energy of the approach, E = µ v²/2, goes into the spring,
 * E = F²/(2k), so v = F / √(µ k) with 1/µ = 1/m_H + 1/m_R. A pressure limit p over the contact area A stands for F = p A.
 * Source: ISO/TS 15066:2016, A.3.3 and A.3.4 (formula also read in public texts).
 */
import { ContractError } from "../math/contract-error.ts";
import type { BodyRegion } from "./body-regions.ts";

/** m_R = M/2 + m_L: half the mass of the moving parts of the arm, and the load with tool and part, kg. */
export function simplifiedMass(movingParts: number, load: number): number {
  positive("simplifiedMass: movingParts", movingParts, true);
  positive("simplifiedMass: load", load, true);
  return movingParts / 2 + load;
}

/** Reduced mass of the two bodies, kg. */
export const reducedMass = (body: number, arm: number): number => 1 / (1 / body + 1 / arm);

export interface ContactLimit {
  /** Speed of approach, m/s; 0 where such a blow is not permitted at all. */
  readonly speed: number;
  /** By force and by pressure alone, m/s; the lower governs. Pressure undefined: no contact area is known. */
  readonly byForce: number;
  readonly byPressure: number | undefined;
  readonly governs: "force" | "pressure" | "not permitted";
  /** Force (N) and energy (J) at that speed. */
  readonly force: number;
  readonly energy: number;
}

/**
 * Largest speed of a blow against a free part of the body.
 * @param armMass m_R, kg   @param area of contact, m²; undefined: the pressure cannot be told
 */
export function blowLimit(region: BodyRegion, armMass: number, area: number | undefined): ContactLimit {
  positive("blowLimit: armMass", armMass);
  const factor = region.transientFactor;
  const mass = reducedMass(region.mass, armMass);
  return limitOf(region, mass, area, factor ?? 1, factor !== undefined);
}

/**
 * Largest speed towards a part of the body that has something rigid behind it: it cannot recoil (m_H without end), and the limits of
 * clamping hold without the factor of a blow. Derived from the same model; the standard gives no formula for clamping, so measure.
 */
export function clampLimit(region: BodyRegion, armMass: number, area: number | undefined): ContactLimit {
  positive("clampLimit: armMass", armMass);
  return limitOf(region, armMass, area, 1, true);
}

function limitOf(
  { force, pressure, stiffness }: BodyRegion,
  mass: number,
  area: number | undefined,
  factor: number,
  permitted: boolean,
): ContactLimit {
  if (area !== undefined) positive("contact area", area);
  const slope = Math.sqrt(mass * stiffness);
  const byForce = (factor * force) / slope;
  const byPressure = area === undefined ? undefined : (factor * pressure * area) / slope;
  if (!permitted) return { speed: 0, byForce, byPressure, governs: "not permitted", force: 0, energy: 0 };
  const governs = byPressure !== undefined && byPressure < byForce ? "pressure" : "force";
  const speed = governs === "pressure" ? byPressure! : byForce;
  return { speed, byForce, byPressure, governs, force: speed * slope, energy: (mass * speed * speed) / 2 };
}

/** Energy in a part of the body at a force, E = F²/(2k), J. */
export const contactEnergy = (force: number, stiffness: number): number => (force * force) / (2 * stiffness);

/** Force of a blow at a speed, F = v √(µ k), N. */
export const blowForce = (speed: number, armMass: number, region: BodyRegion): number =>
  speed * Math.sqrt(reducedMass(region.mass, armMass) * region.stiffness);

function positive(what: string, value: number, orZero = false): void {
  if (!(Number.isFinite(value) && (value > 0 || (orZero && value === 0))))
    throw new ContractError(`${what} must be finite and ${orZero ? "at least" : "above"} 0, got ${value}`);
}
