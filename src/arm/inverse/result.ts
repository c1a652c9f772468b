/** What inverse kinematics answers with, and the solver's contract. */
import type { Pose } from "../../math/pose.ts";
import type { Metres, Radians } from "../../math/units.ts";

export interface InverseResult {
  /** Number of solutions; at least 1, because out of reach the nearest pose is given (0 when it was not to be sought). */
  count: number;
  /** maxSolutions x n, one row per solution; each turning joint in (-π, π]. */
  readonly q: Float64Array;
  /** False: the pose is out of reach, and row 0 is the least-squares solution. */
  exact: boolean;
  /** Distance by which row 0 misses the position, m; 0 when exact (rounding apart). */
  positionError: Metres;
  /** Angle by which row 0 misses the orientation, rad; 0 when exact. */
  rotationError: Radians;
}

export interface InverseKinematics {
  /** The decomposition found in the arm's geometry, readable: "spherical wrist (axes 4 5 6), axes 2 3 parallel". */
  readonly method: string;
  /** True when `solve` finds every isolated solution; false for the numeric method, which finds those its restarts reach. */
  readonly complete: boolean;
  /** Rows that a result has room for. */
  readonly maxSolutions: number;
  /** A new result buffer. */
  result(): InverseResult;
  /**
   * All branches that bring the flange to the pose; joint limits are not regarded. Nothing is allocated.
   * A rotation printed to a few digits (off by up to 1e-3) is taken as the nearest proper one, which is then the one met.
   * @throws ContractError if a number of the pose is not finite or its rotation is no rotation
   * Where an angle is free (aligned wrist, wrist point on axis 1), one representative with that angle 0 stands for its branch.
   * @param nearest false: out of reach the nearest pose, which takes far longer than the solutions, is not sought; then
   * `count` is 0, `exact` false and both errors are Infinity
   */
  solve(baseFromFlange: Pose, out: InverseResult, nearest?: boolean): InverseResult;
}

/** A pose counts as reached when it is met to this many metres and radians. */
export const EXACT = 1e-9;
/** Two solutions whose joint values all differ by less than this (rad, m) are one. */
export const DISTINCT = 1e-6;

/** States that a pose is out of reach and that the nearest one was not sought. */
export function outOfReach(out: InverseResult): void {
  out.count = 0;
  out.exact = false;
  out.positionError = Number.POSITIVE_INFINITY as Metres;
  out.rotationError = Number.POSITIVE_INFINITY as Radians;
}

/** An empty result for `rows` solutions of n joints. */
export function newResult(rows: number, n: number): InverseResult {
  return { count: 0, q: new Float64Array(rows * n), exact: false, positionError: 0, rotationError: 0 };
}
