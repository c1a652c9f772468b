/**
 * Denavit-Hartenberg joint tables turned into joint placements.
 *
 * Standard: frame i sits at the far end of link i, (i-1)-from-i = Rz(θ)·Tz(d)·Tx(a)·Rx(α) (Denavit & Hartenberg 1955; Paul 1981).
 * Modified: frame i sits on the axis of joint i, (i-1)-from-i = Rx(α)·Tx(a)·Rz(θ)·Tz(d), with α and a of the link before
 * the joint in the joint's own row (Craig, Introduction to Robotics, ch. 3).
 * The joint value is added to θ (revolute) or to d (prismatic); in both the motion is about or along z.
 */
import { ContractError } from "../math/contract-error.ts";
import { identityPose, type Pose } from "../math/pose.ts";
import type { Metres, Radians } from "../math/units.ts";
import type { JointDescription } from "./arm-description.ts";

export type DhConvention = "standard" | "modified";

export interface DhRow {
  readonly kind: "revolute" | "prismatic";
  readonly a: Metres;
  readonly alpha: Radians;
  /** For a slide: d at joint value 0. */
  readonly d: Metres;
  /** For a revolute joint: θ at joint value 0. */
  readonly theta: Radians;
}

export interface DhPlacement {
  /** One per row. */
  readonly joints: readonly Pick<JointDescription, "kind" | "parentFromJoint" | "axis">[];
  /** From the last joint's frame to the last DH frame. */
  readonly lastFromFlange: Pose;
  /** For link i (0 = base … n): DH frame i in the frame that `ArmDescription` wants link data in. */
  readonly ownerFromDh: readonly Pose[];
}

/**
 * Joint placements of a DH table of any length.
 * Angles within rounding of a multiple of 90° are taken as exactly that, so that parallel and perpendicular axes are exact.
 * @throws ContractError if a number of a row is not finite
 */
export function jointsFromDh(rows: readonly DhRow[], convention: DhConvention): DhPlacement {
  rows.forEach((row, i) => {
    for (const key of ["a", "alpha", "d", "theta"] as const) {
      if (!Number.isFinite(row[key]))
        throw new ContractError(`jointsFromDh: rows[${i}].${key} must be finite, got ${row[key]}`);
    }
  });
  const axis = [0, 0, 1] as const;
  if (convention === "modified") {
    return {
      joints: rows.map((row) => ({ kind: row.kind, parentFromJoint: modifiedStep(row), axis })),
      lastFromFlange: identityPose(),
      ownerFromDh: [identityPose(), ...rows.map(() => identityPose())],
    };
  }
  const steps = rows.map(standardStep);
  return {
    joints: rows.map((row, i) => ({ kind: row.kind, parentFromJoint: i === 0 ? identityPose() : steps[i - 1]!, axis })),
    lastFromFlange: steps.at(-1) ?? identityPose(),
    ownerFromDh: [identityPose(), ...steps],
  };
}

/** Rz(θ)·Tz(d)·Tx(a)·Rx(α). */
export function standardStep({ a, alpha, d, theta }: Omit<DhRow, "kind">): Pose {
  const ct = snap(Math.cos(theta)),
    st = snap(Math.sin(theta)),
    ca = snap(Math.cos(alpha)),
    sa = snap(Math.sin(alpha));
  return Float64Array.of(ct, -st * ca, st * sa, a * ct, st, ct * ca, -ct * sa, a * st, 0, sa, ca, d, 0, 0, 0, 1);
}

/** Rx(α)·Tx(a)·Rz(θ)·Tz(d). */
export function modifiedStep({ a, alpha, d, theta }: Omit<DhRow, "kind">): Pose {
  const ct = snap(Math.cos(theta)),
    st = snap(Math.sin(theta)),
    ca = snap(Math.cos(alpha)),
    sa = snap(Math.sin(alpha));
  return Float64Array.of(ct, -st, 0, a, st * ca, ct * ca, -sa, -d * sa, st * sa, ct * sa, ca, d * ca, 0, 0, 0, 1);
}

/** Sine or cosine with the rounding of the angle (π/2 has no exact double) taken off at 0 and ±1. */
function snap(value: number): number {
  if (Math.abs(value) < 1e-15) return 0;
  return value;
}
