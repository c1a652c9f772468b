/** What timing along a path needs to know of the path and of its limits, and what comes out. */

/**
 * A path as numbers: channels over one parameter s in [0, length], twice continuously differentiable, the third
 * derivative jumping at the breaks only.
 */
export interface TimedPath {
  /** Joint values first, then (if any) tool position x y z in m, then tool rotation-vector rates, whose value is not used. */
  readonly channels: number;
  readonly length: number;
  /** Ascending, inside (0, length): where the third derivative jumps (segment and blend borders). */
  readonly breaks: readonly number[];
  /** Values and first three derivatives with respect to s, one entry per channel, into the four arrays. */
  evaluate(s: number, c: Float64Array, c1: Float64Array, c2: Float64Array, c3: Float64Array): void;
}

/** Limit on the norm of neighbouring channels (tool translation, tool turning). All > 0, Infinity where nothing limits. */
export interface GroupLimits {
  readonly speed: number;
  readonly acceleration: number;
  readonly jerk: number;
}

export interface PathGroup extends GroupLimits {
  /** First channel of the group. */
  readonly first: number;
  /** Number of channels, at most 3. */
  readonly size: number;
  readonly label: string;
}

/** Other limits on a stretch of the path. Stretches do not overlap. */
export interface PathRange {
  readonly from: number;
  readonly to: number;
  /** Share of the channel velocity limits in force, (0, 1]. */
  readonly velocityScale?: number;
  /** Limits of each group on this stretch, in the order of the groups. */
  readonly groups?: readonly GroupLimits[];
  /** Speed that group 0 must keep exactly on the whole stretch (process motion), m/s. */
  readonly constantSpeed?: number;
}

/** Torque constraints |a·s̈ + b·ṡ² + c| <= limit, one row each. */
export interface PathTorque {
  readonly rows: number;
  readonly limit: Float64Array;
  coefficients(s: number, a: Float64Array, b: Float64Array, c: Float64Array): void;
}

export interface PathLimits {
  /** Per channel, > 0, Infinity where nothing limits. Units of the channel per s, s², s³. */
  readonly velocity: Float64Array;
  readonly acceleration: Float64Array;
  readonly jerk: Float64Array;
  readonly groups: readonly PathGroup[];
  readonly ranges?: readonly PathRange[];
  readonly torque?: PathTorque;
}

/** Path parameter and its first three time derivatives. */
export interface PathState {
  s: number;
  sd: number;
  sdd: number;
  sddd: number;
}

export type PathLimitKind = "velocity" | "acceleration" | "jerk" | "torque" | "constant speed";

/** Which limit: of a channel, of a group, or a torque row; exactly one of the three is given. */
export interface PathLimitName {
  readonly kind: PathLimitKind;
  readonly channel?: number;
  readonly group?: number;
  readonly row?: number;
}

/** A stretch of time in which one limit is what keeps the motion from being faster. */
export interface PathLimitSpan extends PathLimitName {
  readonly from: number;
  readonly to: number;
}

export interface PathTiming {
  readonly ok: true;
  /** s. */
  readonly duration: number;
  /** "closed form": exact least time; "re-timed": numerical, jerk-limited; "reachability": least time without jerk limits. */
  readonly method: "closed form" | "re-timed" | "reachability";
  /** State at a time in s, clamped into [0, duration]. Allocates nothing. */
  sample(time: number, out: PathState): void;
  /** Time at which the path parameter s (clamped into [0, length]) is passed, s. */
  timeAt(s: number): number;
  readonly limits: readonly PathLimitSpan[];
}

export interface PathTimingFailure {
  readonly ok: false;
  readonly reason: /** The torque needed to stand still at s exceeds its limit, or leaves nothing to move with. */
    | "torque at rest"
    /** The stated constant speed cannot be kept at s, or cannot be reached or left in the room given. */
    | "constant speed"
    /** At s no channel or group that moves has an acceleration or jerk limit. */
    | "no acceleration limit";
  readonly s: number;
  /** The limit in the way, where one can be named. */
  readonly limit?: PathLimitName;
  /** Demand divided by limit, where known. */
  readonly use?: number;
}

export type PathTimingOutcome = PathTiming | PathTimingFailure;
