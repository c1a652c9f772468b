/** Numeric inverse kinematics for any arm of 3 to 7 joints: damped least squares from several starts. */
import { ContractError } from "../../math/contract-error.ts";
import { identityPose, type Pose } from "../../math/pose.ts";
import { SeededRandom } from "../../math/seeded-random.ts";
import type { Metres, Radians } from "../../math/units.ts";
import type { Arm } from "../model.ts";
import { Descent } from "./descent.ts";
import { properGoal } from "./goal.ts";
import { nearestPose } from "./nearest-pose.ts";
import { EXACT, type InverseKinematics, type InverseResult, newResult, outOfReach } from "./result.ts";
import { dropRepeats, sameRow } from "./rows.ts";

export interface NumericInverseOptions {
  /** Starts tried besides the seed, at most; default 40. */
  readonly restarts?: number;
  /** Keep the joints inside the arm's limits; default true. */
  readonly limits?: boolean;
  /** Seed of the random starts; default 1. */
  readonly randomSeed?: number;
  /** Descent steps per start; default 60. */
  readonly iterations?: number;
}

export interface NumericInverseResult {
  /** The pose is met to 1e-9 m and 1e-9 rad. */
  readonly reached: boolean;
  /** The best joint values found, rad or m. */
  readonly q: Float64Array;
  readonly positionError: Metres;
  readonly rotationError: Radians;
  /** Starts used, the seed included. */
  readonly starts: number;
}

/** Widest start interval of a slide without stops, m. */
const SLIDE_SPAN = 1;

/**
 * Joint values that bring the flange to the pose, nearest first to be found from `seed`, else from random starts.
 * Not complete: a pose reported as not reached may have a solution that no start led to.
 * @param seed n joint values to start from
 * @returns the first solution met, or the joint values of least |Δp|² + (L·Δθ)², L half the sum of the link lengths
 * @throws ContractError if the seed has the wrong length or the arm fewer than 3 or more than 7 joints
 */
export function numericInverse(
  arm: Arm,
  baseFromFlange: Pose,
  seed: ArrayLike<number>,
  options: NumericInverseOptions = {},
): NumericInverseResult {
  const { n } = arm;
  if (!(n >= 3 && n <= 7)) throw new ContractError(`numericInverse: joints must be 3 to 7, got ${n}`);
  if (seed.length !== n) throw new ContractError(`numericInverse: seed must have ${n} values, got ${seed.length}`);
  const goal = properGoal(baseFromFlange, identityPose());
  const { restarts = 40, limits = true, randomSeed = 1, iterations = 60 } = options;
  const descent = new Descent(arm);
  const random = new SeededRandom(randomSeed);
  const q = Float64Array.from(seed);
  const best = Float64Array.from(seed);
  let error = Number.POSITIVE_INFINITY;
  let positionError = 0;
  let rotationError = 0;
  let starts = 0;
  while (starts <= restarts) {
    if (starts > 0) randomRow(arm, random, limits, q);
    starts++;
    const now = descent.minimise(goal, q, iterations, limits);
    if (now < error) {
      error = now;
      best.set(q);
      ({ positionError, rotationError } = descent);
    }
    if (positionError <= EXACT && rotationError <= EXACT) break;
  }
  return {
    reached: positionError <= EXACT && rotationError <= EXACT,
    q: best,
    positionError,
    rotationError,
    starts,
  };
}

/** Random joint values inside the limits (a full turn, or 1 m either way, where there are none). */
function randomRow(arm: Arm, random: SeededRandom, limits: boolean, out: Float64Array): void {
  for (let k = 0; k < arm.n; k++) {
    const span = arm.prismatic[k] ? SLIDE_SPAN : Math.PI;
    // A slide searches its range even where limits are not enforced: there is no other measure of its size.
    const held = limits || arm.prismatic[k] === 1;
    const min = held && Number.isFinite(arm.min[k]!) ? arm.min[k]! : -span;
    const max = held && Number.isFinite(arm.max[k]!) ? arm.max[k]! : span;
    out[k] = min + (max - min) * random.next();
  }
}

const NUMERIC_ROWS = 32;
const NUMERIC_STARTS = 120;

/** Inverse kinematics of arms without a closed form or complete method: the distinct solutions that seeded restarts find. */
export class NumericInverse implements InverseKinematics {
  readonly method: string;
  readonly complete = false;
  readonly maxSolutions = NUMERIC_ROWS;
  private readonly descent: Descent;
  private readonly proper = identityPose();
  private readonly random = new SeededRandom(1);
  private readonly row: Float64Array;

  constructor(
    private readonly arm: Arm,
    why: string,
    /** Solutions come in continua (a joint too many): a spread of them is answered, not every one met. */
    private readonly continuous: boolean,
  ) {
    this.method = `numeric, completeness not guaranteed (${why})`;
    this.descent = new Descent(arm);
    this.row = new Float64Array(arm.n);
  }

  result(): InverseResult {
    return newResult(NUMERIC_ROWS, this.arm.n);
  }

  solve(pose: Pose, out: InverseResult, nearest = true): InverseResult {
    const baseFromFlange = properGoal(pose, this.proper);
    const { arm, descent, random, row } = this;
    const { n } = arm;
    random.restart(1);
    let count = 0;
    for (let s = 0; s < NUMERIC_STARTS && count < NUMERIC_ROWS; s++) {
      if (s === 0) row.fill(0);
      else randomRow(arm, random, false, row);
      descent.minimise(baseFromFlange, row, 100, false);
      if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) continue;
      out.q.set(row, n * count);
      const kept = dropRepeats(arm, out.q, count + 1);
      if (this.continuous && kept > count && tooNear(arm, out.q, kept)) continue;
      count = kept;
    }
    out.count = count;
    out.exact = true;
    out.positionError = 0;
    out.rotationError = 0;
    if (count === 0 && !nearest) outOfReach(out);
    else if (count === 0) nearestPose(arm, descent, baseFromFlange, out);
    return out;
  }
}

/** Solutions of a continuum closer than this (rad) in every joint are not worth two rows. */
const SPREAD = 0.3;

function tooNear(arm: Arm, q: Float64Array, rows: number): boolean {
  for (let i = 0; i < rows - 1; i++) {
    if (sameRow(arm, q, arm.n * i, q, arm.n * (rows - 1), SPREAD)) return true;
  }
  return false;
}
