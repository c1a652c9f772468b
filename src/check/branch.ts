/** Chooses among the inverse-kinematic branches of a target: the one asked for, else the one that is soonest reached. */
import {
  branchOf,
  createInverse,
  createSingularityMeter,
  type InverseKinematics,
  type InverseResult,
  nearestSolution,
} from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { BranchChoice, Cell } from "../cell/model.ts";
import { compose } from "../math/pose.ts";
import { toDegrees, toMm } from "../math/units.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { FlangeTarget } from "./targets.ts";

export interface BranchChooser {
  /** Joint values for a target, or why there are none. */
  choose(target: FlangeTarget, from: Float64Array, branch: BranchChoice | undefined): Float64Array | { readonly failure: MotionFailure };
}
