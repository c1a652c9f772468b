/** Chooses among the inverse-kinematic branches of a target: the one asked for, else the one that is soonest reached. */
import {
  type Branch,
  branchOf,
  createSingularityMeter,
  type InverseKinematics,
  type InverseResult,
  nearestSolution,
  withinLimits,
} from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { BranchChoice, Cell } from "../cell/model.ts";
import { ContractError } from "../math/contract-error.ts";
import { toDegrees, toMm } from "../math/units.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { FlangeTarget } from "./targets.ts";

export interface BranchChooser {
  /** Joint values for a target, or why there are none; `segment` of the failure is 0. */
  choose(
    target: FlangeTarget,
    from: Float64Array,
    branch: BranchChoice | undefined,
  ): Float64Array | { readonly failure: MotionFailure };
  /**
   * Every branch inside the joint limits that is allowed: with the sides asked for, or the nearest to a named pose; with no
   * branch asked for all, with all their turns. Never empty; nearest to `from` in time first.
   */
  goals(
    target: FlangeTarget,
    from: Float64Array,
    branch: BranchChoice | undefined,
  ): readonly Float64Array[] | { readonly failure: MotionFailure };
}

export function createBranchChooser(cell: Cell, arm: Arm, inverse: InverseKinematics): BranchChooser {
  const result = inverse.result();
  const meter = createSingularityMeter(arm);
  // Nearness in time: joint i moves at velocity v, so its share of the way counts by 1/v.
  const weights = arm.velocity.map((v) => (Number.isFinite(v) ? 1 / (v * v) : 1));

  const pick = (candidates: readonly Float64Array[], reference: ArrayLike<number>): Float64Array | undefined => {
    let best: Float64Array | undefined;
    let least = Number.POSITIVE_INFINITY;
    for (const q of candidates) {
      let sum = 0;
      for (let i = 0; i < arm.n; i++) sum += weights[i]! * (q[i]! - reference[i]!) ** 2;
      if (sum < least) {
        least = sum;
        best = q;
      }
    }
    return best;
  };

  const choose: BranchChooser["choose"] = (target, from, branch) => {
    inverse.solve(target.baseFromFlange, result);
    if (!result.exact) return { failure: outOfReach(target, result) };
    const reference = branch !== undefined && "near" in branch ? jointsOf(cell, branch.near) : from;
    if (branch !== undefined && !("near" in branch)) {
      const inside = withinLimits(arm, result, { allTurns: true });
      const asked = inside.filter((q) => hasSides(branchOf(meter, q), branch));
      const chosen = pick(asked, from);
      if (chosen !== undefined) return chosen;
      if (inside.length > 0) return { failure: noSuchBranch(target, branch, inside.length) };
      return { failure: outsideJointLimits(arm, target, result) };
    }
    const chosen = new Float64Array(arm.n);
    if (nearestSolution(arm, result, reference, chosen, weights)) return chosen;
    return { failure: outsideJointLimits(arm, target, result) };
  };

  const timeTo = (q: Float64Array, from: Float64Array) =>
    q.reduce((sum, value, i) => sum + weights[i]! * (value - from[i]!) ** 2, 0);
  const goals: BranchChooser["goals"] = (target, from, branch) => {
    const nearest = choose(target, from, branch);
    if ("failure" in nearest || (branch !== undefined && "near" in branch))
      return "failure" in nearest ? nearest : [nearest];
    // `result` still holds the solutions of `choose`.
    const inside = withinLimits(arm, result, { allTurns: true });
    const allowed = branch === undefined ? inside : inside.filter((q) => hasSides(branchOf(meter, q), branch));
    return [...allowed].sort((a, b) => timeTo(a, from) - timeTo(b, from));
  };
  return { choose, goals };
}

function jointsOf(cell: Cell, name: string): ArrayLike<number> {
  const pose = cell.poses.get(name);
  if (pose?.target.kind !== "joints") throw new ContractError(`${name} is not a pose given by joint values`);
  return pose.target.q;
}

const at = (target: FlangeTarget) => ({ segment: 0, fraction: 1, baseFromTcp: target.baseFromFlange });

function outOfReach(target: FlangeTarget, result: InverseResult): MotionFailure {
  const parts = [];
  if (result.positionError > 1e-6) parts.push(`${toMm(result.positionError).toFixed(1)} mm`);
  if (result.rotationError > 1e-6) parts.push(`${toDegrees(result.rotationError).toFixed(1)}°`);
  const miss = parts.length === 0 ? "by less than a micrometre" : `by ${parts.join(" and ")}`;
  return {
    kind: "out of reach",
    ...at(target),
    message: `${target.label} is out of reach: the nearest pose of the arm misses it ${miss}`,
    mend: "Move the target or the arm's base nearer to each other by at least that much, or take a gripper of another length or angle.",
  };
}

/** Names the joint that is least outside its limits over all branches. */
function outsideJointLimits(arm: Arm, target: FlangeTarget, result: InverseResult): MotionFailure {
  let least = Number.POSITIVE_INFINITY;
  let joint = 0;
  for (let s = 0; s < result.count; s++) {
    let worst = 0;
    let which = 0;
    for (let i = 0; i < arm.n; i++) {
      const excess = outside(arm, i, result.q[s * arm.n + i]!);
      if (excess > worst) {
        worst = excess;
        which = i;
      }
    }
    if (worst > 0 && worst < least) {
      least = worst;
      joint = which;
    }
  }
  const name = arm.jointNames[joint]!;
  const inUnit = (value: number) => (arm.prismatic[joint] === 1 ? toMm(value) : toDegrees(value));
  const unit = arm.prismatic[joint] === 1 ? " mm" : "°";
  // Rounded up: with less than that the target stays outside.
  const excess = (Math.ceil(10 * inUnit(least)) / 10).toFixed(1) + unit;
  return {
    kind: "joint limit",
    ...at(target),
    joint,
    message: `${target.label} can be reached by ${result.count} branches, none of them inside the joint limits; the best exceeds the range of joint ${name} by ${excess}`,
    mend: `Turn the tool or move the target so that joint ${name} needs ${excess} less, or mount the arm turned about its base axis.`,
  };
}

/** By how much (rad, m) joint i's value is outside its range, at the best of its full turns. */
function outside(arm: Arm, i: number, value: number): number {
  const min = arm.min[i]!;
  const max = arm.max[i]!;
  const excess = (v: number) => Math.max(0, min - v, v - max);
  if (arm.prismatic[i] === 1) return excess(value);
  const turns = [-2, -1, 0, 1, 2].map((k) => excess(value + 2 * Math.PI * k));
  return Math.min(...turns);
}

function hasSides(sides: Branch, wanted: Exclude<BranchChoice, { near: string }>): boolean {
  return (["shoulder", "elbow", "wrist"] as const).every((side) => {
    const sign = wanted[side];
    return sign === undefined || sides[side] === sign;
  });
}

function noSuchBranch(target: FlangeTarget, wanted: BranchChoice, others: number): MotionFailure {
  const asked = Object.entries(wanted).map(([side, sign]) => `${side} ${sign === 1 ? "plus" : "minus"}`);
  return {
    kind: "no solution",
    ...at(target),
    message: `${target.label} has no branch with ${asked.join(", ")} inside the joint limits; ${others} others are inside`,
    mend: "Leave the branch out, so that the one soonest reached is taken, or ask for another side.",
  };
}
