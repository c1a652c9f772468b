/** Reach of every named pose and every place of every holder, whether or not a routine goes there. */
import { createInverse, createSingularityMeter, type InverseResult, withinLimits } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell, Holder } from "../cell/model.ts";
import type { Target } from "../cell/steps.ts";
import type { MoveContext } from "../cycle/index.ts";
import type { ReachReport } from "./result.ts";
import { stepsWithin } from "./step-words.ts";
import { nameFor, resolveTarget } from "./targets.ts";

/** Below this a named singularity measure (dimensionless, see arm/singularity) is worth a word. */
export const NEAR_SINGULAR = 0.05;

/** Which gripper goes where: for every pose and holder named in a motion, the gripper in use; else the first one. */
function grippersByTarget(cell: Cell, variants: readonly string[]): Map<string, Set<string>> {
  const users = new Map<string, Set<string>>();
  const first = [...cell.tool.grippers.keys()][0];
  for (const routine of cell.routines.values()) {
    for (const step of stepsWithin(routine.steps)) {
      if (step.kind !== "go") continue;
      const gripper = step.gripper ?? (cell.tool.grippers.size === 1 ? first : undefined);
      if (gripper === undefined) continue;
      for (const target of [step.to, step.via]) {
        if (target === undefined) continue;
        for (const variant of variants) {
          const name = nameFor(target.at, variant);
          users.set(name, (users.get(name) ?? new Set()).add(gripper));
        }
      }
    }
  }
  return users;
}

const noContext = (variant: string, gripper: string): MoveContext => ({
  q: new Float64Array(0),
  variant,
  places: new Map(),
  held: new Map(),
  gripper,
});

/** Reach of all targets for the parts given; a holder's entry is that of its worst place. */
export function reachReports(cell: Cell, arm: Arm, variants: readonly string[]): ReachReport[] {
  const inverse = createInverse(arm);
  const meter = createSingularityMeter(arm);
  const result = inverse.result();
  const users = grippersByTarget(cell, variants);
  const first = [...cell.tool.grippers.keys()][0];

  const look = (target: Target, gripper: string, variant: string): ReachReport => {
    const { baseFromFlange, joints, label } = resolveTarget(cell, arm, target, gripper, noContext(variant, gripper));
    const name = cell.tool.grippers.size > 1 ? `${label} by ${gripper}` : label;
    inverse.solve(baseFromFlange, result);
    const inside = joints !== undefined ? [joints] : withinLimits(arm, result, { allTurns: false });
    // The branch with the most room to the joint limits speaks for the target.
    let margin = Number.NEGATIVE_INFINITY;
    let best: Float64Array | undefined;
    for (const q of inside) {
      const room = roomToLimits(arm, q);
      if (room > margin) {
        margin = room;
        best = q;
      }
    }
    const near = best === undefined ? undefined : meter.nearest(best);
    return {
      target: name,
      reachable: best !== undefined && margin >= 0,
      branches: inside.length,
      miss_m: missOf(result),
      jointMargin_rad: best === undefined ? 0 : margin,
      singularity: near !== undefined && Math.abs(near.measure) < NEAR_SINGULAR ? near.kind : null,
    };
  };

  const reports: ReachReport[] = [];
  const grippersOf = (name: string): string[] => [...(users.get(name) ?? (first === undefined ? [] : [first]))];
  for (const pose of cell.poses.values()) {
    const target: Target = { at: named(pose.name), kind: "pose", bring: "gripper" };
    for (const gripper of grippersOf(pose.name)) {
      reports.push(look(target, gripper, variants[0]!));
      if (pose.target.kind === "joints") break;
    }
  }
  for (const holder of cell.holders.values()) {
    for (const gripper of grippersOf(holder.name)) {
      const seen = partsFor(cell, holder, variants).flatMap((variant) =>
        holder.places.map((place) =>
          look({ at: named(holder.name), kind: "holder", bring: "part", place: place.index }, gripper, variant),
        ),
      );
      if (seen.length > 0) reports.push(seen.reduce((worst, next) => (worse(next, worst) ? next : worst)));
    }
  }
  return reports;
}

const named = (name: string): Target["at"] => ({ default: name, variants: new Map() });

const partsFor = (cell: Cell, holder: Holder, variants: readonly string[]): string[] =>
  variants.filter((v) => cell.parts.has(v) && (holder.accepts.length === 0 || holder.accepts.includes(v)));

/** How far the worst joint is inside its limits (negative: outside), rad or m. */
function roomToLimits(arm: Arm, q: ArrayLike<number>): number {
  let room = Number.POSITIVE_INFINITY;
  for (let i = 0; i < arm.n; i++) room = Math.min(room, q[i]! - arm.min[i]!, arm.max[i]! - q[i]!);
  return room;
}

const missOf = (result: InverseResult): number => (result.exact ? 0 : result.positionError);

function worse(a: ReachReport, b: ReachReport): boolean {
  if (a.reachable !== b.reachable) return !a.reachable;
  if (!a.reachable) return a.miss_m > b.miss_m;
  return a.jointMargin_rad < b.jointMargin_rad;
}
