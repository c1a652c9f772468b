/**
 * Mass properties of several bodies as one load at the flange.
 * Parallel-axis theorem: I_c = Σ (R I Rᵀ + m (|r|² E − r rᵀ)), r from the common centre to the body's centre.
 */
import type { InertiaDescription } from "../cell/arm-description.ts";
import { ContractError } from "../math/contract-error.ts";
import type { Pose } from "../math/pose.ts";
import type { Payload } from "./model.ts";

export interface PlacedBody {
  /** In the body's own frame; kg, m, kg m². */
  readonly inertia: InertiaDescription;
  readonly flangeFromBody: Pose;
}

/**
 * One load from many bodies, in flange axes.
 * @param bodies any number; none gives a load of no mass
 * @throws ContractError if a mass is negative or not finite
 * @source parallel-axis (Steiner) theorem, any textbook of mechanics
 */
export function combineBodies(bodies: readonly PlacedBody[]): Payload {
  let mass = 0;
  const centre = [0, 0, 0];
  const centres = bodies.map(({ inertia, flangeFromBody: t }) => {
    if (!(inertia.mass >= 0) || !Number.isFinite(inertia.mass))
      throw new ContractError(`combineBodies: mass must be finite and >= 0 kg, got ${inertia.mass}`);
    const [x, y, z] = inertia.centre;
    const c = [0, 1, 2].map((r) => t[4 * r]! * x + t[4 * r + 1]! * y + t[4 * r + 2]! * z + t[4 * r + 3]!);
    mass += inertia.mass;
    for (let k = 0; k < 3; k++) centre[k]! += inertia.mass * c[k]!;
    return c;
  });
  if (mass > 0) for (let k = 0; k < 3; k++) centre[k]! /= mass;
  const sum = [0, 0, 0, 0, 0, 0];
  bodies.forEach(({ inertia, flangeFromBody: t }, i) => {
    const turned = turnTensor(inertia.tensor, t);
    const [x, y, z] = centres[i]!.map((v, k) => v - centre[k]!) as [number, number, number];
    const m = inertia.mass;
    const steiner = [y * y + z * z, x * x + z * z, x * x + y * y, -x * y, -x * z, -y * z];
    for (let k = 0; k < 6; k++) sum[k]! += turned[k]! + m * steiner[k]!;
  });
  return { mass, centre, inertia: sum };
}

/** R·I·Rᵀ of a tensor (xx, yy, zz, xy, xz, yz) with the rotation part of a pose. */
function turnTensor(tensor: InertiaDescription["tensor"], t: Pose): number[] {
  const [xx, yy, zz, xy, xz, yz] = tensor;
  const full = [xx, xy, xz, xy, yy, yz, xz, yz, zz];
  const entry = (r: number, c: number): number => {
    let sum = 0;
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) sum += t[4 * r + i]! * full[3 * i + j]! * t[4 * c + j]!;
    return sum;
  };
  return [entry(0, 0), entry(1, 1), entry(2, 2), entry(0, 1), entry(0, 2), entry(1, 2)];
}
