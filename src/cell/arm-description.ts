/**
 * A serial arm as data: what a joint table or a URDF file says, in SI units and in one form whatever its origin.
 *
 * Joint i moves link i + 1; link 0 is the fixed base. The "joint frame" of joint i is fixed to the link that the joint
 * moves and has its origin on the joint axis: parentFromJoint(i) places it, at joint value 0, in the joint frame of
 * joint i - 1 (in the base frame for the first). A revolute joint then turns about `axis` through that origin, a prismatic
 * joint slides along it. Link data (mass, centre, shapes) are given in the joint frame of the joint that moves the link;
 * those of link 0 in the base frame.
 */
import type { Pose } from "../math/pose.ts";
import type { Kilograms, Metres, MetresPerSecond, MetresPerSecond2, MetresPerSecond3 } from "../math/units.ts";
import type { PlacedShape } from "./shapes.ts";

export interface JointDescription {
  readonly name: string;
  readonly kind: "revolute" | "prismatic";
  readonly parentFromJoint: Pose;
  /** Unit vector in the joint frame. */
  readonly axis: readonly [number, number, number];
  /** Lowest and highest joint value, rad or m; may span more than one turn; ±Infinity for a joint without stops. */
  readonly min: number;
  readonly max: number;
  /** rad/s or m/s; Infinity where not stated. All limits are > 0. */
  readonly velocity: number;
  /** rad/s² or m/s²; Infinity where not stated. */
  readonly acceleration: number;
  /** rad/s³ or m/s³; Infinity where not stated. */
  readonly jerk: number;
  /** N m or N; Infinity where not stated. */
  readonly torque: number;
  /** Inertia of the drive seen at the joint, kg m² (kg for a slide); 0 where not stated. */
  readonly motorInertia: number;
}

export interface LinkDescription {
  readonly name: string;
  /** Undefined when the file does not state masses; then torques are unknowable, not zero. */
  readonly inertia?: InertiaDescription;
  readonly shapes: readonly PlacedShape[];
}

/** Mass properties in a stated frame. */
export interface InertiaDescription {
  readonly mass: Kilograms;
  /** Centre of mass, m. */
  readonly centre: readonly [number, number, number];
  /** Inertia about the centre of mass: xx, yy, zz, xy, xz, yz, kg m² (products with their sign in the matrix). */
  readonly tensor: readonly [number, number, number, number, number, number];
}

/** What the arm's maker allows at the flange. */
export interface RatedLoad {
  readonly mass: Kilograms;
  /** Largest distance of the load's centre of mass from the flange centre at full mass, m; undefined when not stated. */
  readonly distance?: Metres;
  /** Per joint, base to wrist: largest static moment of the load about that joint's axis, N m; undefined entries unknown. */
  readonly moments?: readonly (number | undefined)[];
  /** Per joint: largest inertia of the load about that joint's axis, kg m². */
  readonly inertias?: readonly (number | undefined)[];
}

export interface ArmDescription {
  readonly name: string;
  readonly joints: readonly JointDescription[];
  /** Base, then one per joint: joints.length + 1 entries. */
  readonly links: readonly LinkDescription[];
  /** Flange (mechanical interface) frame in the joint frame of the last joint. */
  readonly lastFromFlange: Pose;
  readonly ratedLoad?: RatedLoad;
  /** Limits of the tool centre point whatever the joints allow; Infinity where not stated. */
  readonly toolSpeed: MetresPerSecond;
  readonly toolAcceleration: MetresPerSecond2;
  readonly toolJerk: MetresPerSecond3;
  /** Turning of the tool: rad/s, rad/s²; Infinity where not stated. */
  readonly toolTurnSpeed: number;
  readonly toolTurnAcceleration: number;
  /** Pose repeatability RP_l after ISO 9283, m; undefined when not stated. */
  readonly repeatability?: Metres;
}
