/** Least-time law under a speed and an acceleration limit: the trapezoidal speed profile. */
import { ContractError } from "../../math/contract-error.ts";
import { requireFinite, requirePositive } from "./limits.ts";
import { accelerationProfile, type Profile } from "./profile.ts";

/**
 * Least-time motion from (p0, v0) to (p1, v1) with |v| <= velocity, |a| <= acceleration: accelerate, keep the top
 * speed if it is reached, decelerate. The acceleration jumps; the jerk is not limited.
 *
 * With D = p1 - p0 and the displacement of the direct speed change D0 = (v0 + v1)|v1 - v0| / (2A), the motion goes first
 * towards the sign of D - D0; peak speed² = A|D| + (v0² + v1²)/2 or V². Rest to rest this is T = D/V + V/A or 2√(D/A).
 *
 * @param p0 start, @param p1 end, @param v0 start speed, @param v1 end speed, both within ±velocity (up to rounding)
 * @param velocity > 0, Infinity allowed   @param acceleration finite, > 0
 * @throws ContractError for limits not above 0, or end speeds beyond the velocity limit
 * @source L. Biagiotti, C. Melchiorri, Trajectory Planning for Automatic Machines and Robots, 2008, ch. 3 (recalled),
 * derived in docs/explanation/motion-timing.md
 */
export function trapezoid(
  p0: number,
  p1: number,
  v0: number,
  v1: number,
  velocity: number,
  acceleration: number,
): Profile {
  requireFinite("trapezoid", "p0", p0);
  requireFinite("trapezoid", "p1", p1);
  requirePositive("trapezoid", "velocity", velocity);
  requirePositive("trapezoid", "acceleration", acceleration, true);
  requireWithin("trapezoid", "v0", v0, velocity);
  requireWithin("trapezoid", "v1", v1, velocity);
  const distance = p1 - p0;
  const direct = ((v0 + v1) * Math.abs(v1 - v0)) / (2 * acceleration);
  const sign = distance >= direct ? 1 : -1;
  const d = sign * distance;
  const u0 = sign * v0;
  const u1 = sign * v1;
  const top = Math.max(velocity, u0, u1);
  const free = Math.sqrt(Math.max(0, acceleration * d + (u0 * u0 + u1 * u1) / 2));
  const peak = Math.max(u0, u1, Math.min(free, top));
  const up = (peak - u0) / acceleration;
  const down = (peak - u1) / acceleration;
  let cruise = 0;
  if (free > top) cruise = Math.max(0, (d - ((u0 + peak) / 2) * up - ((u1 + peak) / 2) * down) / peak);
  return accelerationProfile(p0, v0, [up, cruise, down], [sign * acceleration, 0, -sign * acceleration]);
}

/** @throws ContractError if |value| is above the limit by more than 1e-9 of it. */
export function requireWithin(where: string, name: string, value: number, limit: number): void {
  requireFinite(where, name, value);
  if (Math.abs(value) > limit * (1 + 1e-9)) {
    throw new ContractError(`${where}: ${name} must be within ±${limit}, got ${value}`);
  }
}
