/**
 * The arm as the kernels see it: typed arrays, every joint axis turned onto z, limits and inertias side by side.
 * Joint i's motion is Rz(q) or Tz(q) in its own joint frame; baseFromFlange = F0·M0(q0)·F1·M1(q1)·…·F(n-1)·M(n-1)·Fn.
 */
import type { Pose } from "../math/pose.ts";

export interface Arm {
  readonly name: string;
  /** Number of joints, 3 to 7. */
  readonly n: number;
  /** Names of the joints, base to wrist: as described, J1, J2, … where a joint has none. */
  readonly jointNames: readonly string[];
  /** 1 where the joint slides, 0 where it turns. */
  readonly prismatic: Uint8Array;
  /** n + 1 fixed transforms, 12 numbers each: row-major 3 x 4 (rotation | translation, m). The last leads to the flange. */
  readonly fixed: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
  readonly velocity: Float64Array;
  readonly acceleration: Float64Array;
  readonly jerk: Float64Array;
  readonly torque: Float64Array;
  readonly motorInertia: Float64Array;
  /** False when any moving link has no stated mass; dynamics functions then throw. */
  readonly hasMasses: boolean;
  /** Moving links 1..n in the frame of the joint that moves them: mass (n), centre (3n), tensor about the centre (6n: xx, yy, zz, xy, xz, yz). */
  readonly mass: Float64Array;
  readonly centre: Float64Array;
  readonly inertia: Float64Array;
  /** Joint frame of the description from joint frame of the kernel (the turn that puts the axis on z), 9 numbers each, row-major. */
  readonly describedFromKernel: Float64Array;
  /**
   * The chain with every fixed turn between joints reduced to one turn α about x, see arm/chain: per joint
   * cos α, sin α, px, py, pz (m), joint offset (rad); then 1 when the flange is not turned against the last frame, else 0.
   */
  readonly chain: Float64Array;
}

/** A load at the flange: tool, grippers and held parts together. */
export interface Payload {
  readonly mass: number;
  /** Centre of mass in the flange frame, m. */
  readonly centre: ArrayLike<number>;
  /** About the centre of mass, flange axes: xx, yy, zz, xy, xz, yz, kg m². */
  readonly inertia: ArrayLike<number>;
}

/** Position of the tool and joint values that reach it. */
export interface ArmState {
  readonly q: Float64Array;
  readonly baseFromTool: Pose;
}
