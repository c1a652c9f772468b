/** The pose that a solver is asked for, made a proper one. */
import { ContractError } from "../../math/contract-error.ts";
import type { Pose } from "../../math/pose.ts";

/** Departure of RᵀR from the identity that rounding leaves. */
const ROUNDING = 1e-13;
/** Departure up to which a rotation is taken as a printed or drifted one and put right. */
const DRIFT = 1e-3;

/**
 * The pose itself when its rotation is orthonormal to rounding; else `scratch`, with the nearest rotation (the polar factor, by
 * Newton's iteration R ← R·(3I - RᵀR)/2) in place of one printed to a few digits.
 * @throws ContractError if a number is not finite, or the rotation is off by more than 1e-3 or left-handed
 */
export function properGoal(pose: Pose, scratch: Pose): Pose {
  const off = departure(pose);
  if (off <= ROUNDING) {
    if (pose[3]! * 0 + pose[7]! * 0 + pose[11]! * 0 === 0) return pose;
    throw notFinite(pose);
  }
  if (Number.isNaN(off)) throw notFinite(pose);
  if (!(off <= DRIFT)) throw new ContractError(`solve: the pose's rotation is not orthonormal, off by ${off}`);
  scratch.set(pose);
  for (let i = 0; i < 6 && departure(scratch) > 1e-15; i++) {
    const [xx, yy, zz, xy, xz, yz] = products(scratch);
    for (let r = 0; r < 12; r += 4) {
      const x = scratch[r]!,
        y = scratch[r + 1]!,
        z = scratch[r + 2]!;
      scratch[r] = 0.5 * (x * (3 - xx) - y * xy - z * xz);
      scratch[r + 1] = 0.5 * (y * (3 - yy) - x * xy - z * yz);
      scratch[r + 2] = 0.5 * (z * (3 - zz) - x * xz - y * yz);
    }
  }
  return properGoal(scratch, scratch);
}

/** How far the first two columns are from orthonormal and the third from their cross product. */
function departure(p: Pose): number {
  const a = p[0]!,
    b = p[1]!,
    c = p[2]!,
    d = p[4]!,
    e = p[5]!,
    f = p[6]!,
    g = p[8]!,
    h = p[9]!,
    i = p[10]!;
  return Math.max(
    Math.abs(a * a + d * d + g * g - 1),
    Math.abs(b * b + e * e + h * h - 1),
    Math.abs(c - (d * h - g * e)),
    Math.abs(f - (g * b - a * h)),
    Math.abs(i - (a * e - d * b)),
    Math.abs(a * b + d * e + g * h),
  );
}

function products(p: Pose): [number, number, number, number, number, number] {
  const dot = (i: number, j: number) => p[i]! * p[j]! + p[i + 4]! * p[j + 4]! + p[i + 8]! * p[j + 8]!;
  return [dot(0, 0), dot(1, 1), dot(2, 2), dot(0, 1), dot(0, 2), dot(1, 2)];
}

function notFinite(pose: Pose): ContractError {
  return new ContractError(`solve: the pose must be finite, got ${Array.from(pose.subarray(0, 12)).join(", ")}`);
}
