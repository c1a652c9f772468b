/** Motions: what is asked for, what comes out, and why something cannot be done. */
import type { Arm, Payload } from "../arm/model.ts";
import type { SweptMotion } from "../clearance/index.ts";
import type { Pose } from "../math/pose.ts";
import type { Metres, MetresPerSecond, MetresPerSecond2, Seconds } from "../math/units.ts";

/** Limits in force along one segment, on top of the arm's own. */
export interface SegmentSpeed {
  /** Share of the joint velocity limits, (0, 1]. */
  readonly fraction: number;
  readonly toolSpeed: MetresPerSecond;
  readonly toolAcceleration: MetresPerSecond2;
  /** The tool speed is held constant along the segment (process motion). */
  readonly constant: boolean;
}

export type Segment = {
  readonly speed: SegmentSpeed;
  /** Radius around the end point within which the corner may be rounded; 0 stops there. Ignored on the last segment. */
  readonly blend: Metres;
} & (
  | { readonly kind: "joint"; readonly to: Float64Array }
  /** baseFromTcp of the end. Straight line of the tool centre point, orientation turned about one fixed axis. */
  | { readonly kind: "line"; readonly to: Pose }
  /** Circle through the start, `via` and the end; orientation turned about one fixed axis from start to end. */
  | { readonly kind: "arc"; readonly via: Pose; readonly to: Pose }
);

export interface ToolLimits {
  /** All of them Infinity where nothing limits. m/s, m/s², m/s³. */
  readonly speed: number;
  readonly acceleration: number;
  readonly jerk: number;
  /** rad/s, rad/s². */
  readonly turnSpeed: number;
  readonly turnAcceleration: number;
}

/** One motion from rest to rest through any number of blended segments. */
export interface MotionRequest {
  readonly arm: Arm;
  readonly start: Float64Array;
  /** At least one. */
  readonly segments: readonly Segment[];
  readonly flangeFromTcp: Pose;
  readonly tool: ToolLimits;
  /** Undefined: torques are not checked. */
  readonly payload: Payload | undefined;
  /** Gravity in base axes, m/s². */
  readonly gravity: readonly [number, number, number];
  /** Sampling distance of checks along lines and arcs, m. */
  readonly lineStep: Metres;
}

export type LimitKind =
  | "velocity"
  | "acceleration"
  | "jerk"
  | "torque"
  | "tool speed"
  | "tool acceleration"
  | "tool jerk"
  | "tool turn speed"
  | "tool turn acceleration";

/** A stretch of time in which one limit is what keeps the motion from being faster. */
export interface LimitSpan {
  readonly from: Seconds;
  readonly to: Seconds;
  readonly kind: LimitKind;
  /** Joint counted from 0, for the joint limits. */
  readonly joint?: number;
}

export interface MotionState {
  readonly q: Float64Array;
  readonly qd: Float64Array;
  readonly qdd: Float64Array;
}

export interface MotionNote {
  readonly kind: "blend reduced" | "blend left out" | "arc is straight";
  /** Index of the segment in the request; for blends, the one that ends at the corner. */
  readonly segment: number;
  /** With numbers and units. */
  readonly message: string;
}

export interface Motion {
  readonly duration: Seconds;
  /** Time at which each segment ends (for a blended corner: where the path is nearest to the corner). Last = duration. */
  readonly segmentEnds: readonly Seconds[];
  /** Joint values at the end. */
  readonly end: Float64Array;
  /** Joint values, speeds and accelerations at a time in [0, duration] (clamped), written into `out`. */
  sample(time: Seconds, out: MotionState): void;
  /** The same joint values with bounds of them between any two times, see motion/spread. */
  readonly swept: SweptMotion;
  readonly limits: readonly LimitSpan[];
  /** Radius (m) used at the end of each segment, at most the one asked for; 0 where the arm stops. Last = 0. */
  readonly blends?: readonly Metres[];
  /** What was done otherwise than asked for: blends reduced or left out, arcs run as lines. */
  readonly notes?: readonly MotionNote[];
  /** Largest |torque| / limit per joint along the motion; undefined when masses or torque limits are not known. */
  readonly torqueShare: readonly number[] | undefined;
  /** Largest speed (m/s) and acceleration (m/s²) of the TCP along the motion. */
  readonly peakToolSpeed: MetresPerSecond;
  readonly peakToolAcceleration: MetresPerSecond2;
  /** Nearest approach to each kind of singularity along the motion, see arm/singularity. */
  readonly nearestSingularity:
    | { readonly kind: "wrist" | "elbow" | "shoulder" | "unnamed"; readonly measure: number; readonly time: Seconds }
    | undefined;
}

export type MotionFailureKind =
  | "out of reach"
  | "joint limit"
  | "branch change"
  | "singularity"
  | "torque"
  | "no solution"
  | "bad arc"
  | "speed not constant"
  /** A route was to be found, and none was: proved or within the budget, as the message says. */
  | "no route";

export interface MotionFailure {
  readonly kind: MotionFailureKind;
  /** Index of the segment in the request. */
  readonly segment: number;
  /** Where along the segment, 0 at its start, 1 at its end. */
  readonly fraction: number;
  readonly joint?: number;
  /** Where the tool was to be (base frame), for messages and pictures. */
  readonly baseFromTcp?: Pose;
  /** With numbers and units. */
  readonly message: string;
  readonly mend: string;
}

export type MotionOutcome =
  | { readonly ok: true; readonly motion: Motion }
  | { readonly ok: false; readonly failure: MotionFailure };
