/** Reach of every named pose and every place of every holder, whether or not a routine goes there. */

import { createSingularityMeter, type InverseKinematics, type InverseResult, withinLimits } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell, Holder } from "../cell/model.ts";
import { stepsOf } from "../cell/step-walk.ts";
import type { Target } from "../cell/steps.ts";
import type { CycleRun, MoveContext } from "../cycle/index.ts";
import { angleBetween, copyPose, identityPose } from "../math/pose.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { ReachReport } from "./result.ts";
import { NO_GRIPPER, nameFor, resolveTarget } from "./targets.ts";

/** Below this a named singularity measure (dimensionless, see arm/singularity) is worth a word. */
export const NEAR_SINGULAR = 0.05;

/**
 * How a target is gone to: by which gripper, what is brought there, for a part by which grip (undefined: its first), and how it is
 * turned there. A displacement without a turn leads to the target itself sooner or later and is left out.
 */
interface Way {
  readonly gripper: string;
  readonly bring: Target["bring"];
  readonly part: string;
  readonly grip: string | undefined;
  readonly turn: Target["offset"] | undefined;
}

/** The turn of an offset, without its displacement; undefined when it has none. */
function turnOf(offset: Target["offset"]): Way["turn"] {
  if (offset === undefined || angleBetween(offset.pose, identityPose()) < 1e-9) return undefined;
  const pose = copyPose(offset.pose);
  pose[3] = pose[7] = pose[11] = 0;
  return { in: offset.in, pose };
}

class Ways {
  readonly #byName = new Map<string, Map<string, Way>>();

  add(target: Target | undefined, variant: string, way: Omit<Way, "bring" | "turn">): void {
    if (target === undefined) return;
    const name = nameFor(target.at, variant);
    const known = this.#byName.get(name) ?? new Map<string, Way>();
    this.#byName.set(name, known);
    const turn = turnOf(target.offset);
    const key = [way.gripper, target.bring, way.part, way.grip, turn?.in, turn?.pose.join()].join("|");
    known.set(key, { ...way, bring: target.bring, turn });
  }

  to(name: string): Way[] {
    return [...(this.#byName.get(name)?.values() ?? [])];
  }
}

/** The ways in which the runs went to their targets. */
function waysRun(runs: readonly CycleRun<MotionFailure>[]): Ways {
  const ways = new Ways();
  for (const { moves } of runs)
    for (const { steps, context } of moves)
      for (const step of steps) {
        if (step.kind !== "go") continue;
        const gripper = step.gripper ?? context.gripper;
        const held = context.held.get(gripper);
        const part = held?.part ?? context.variant;
        for (const target of [step.to, step.via])
          ways.add(target, context.variant, { gripper, part, grip: held?.grip ?? target?.grip });
      }
  return ways;
}

/** The ways that the steps of all routines name, whether or not they were run. */
function waysStated(cell: Cell, variants: readonly string[]): Ways {
  const ways = new Ways();
  const [only, ...others] = cell.tool.grippers.keys();
  for (const step of stepsOf(cell)) {
    if (step.kind !== "go") continue;
    if (step.gripper === undefined && others.length > 0) continue;
    const gripper = step.gripper ?? only ?? NO_GRIPPER;
    for (const target of [step.to, step.via])
      for (const part of variants) ways.add(target, part, { gripper, part, grip: target?.grip });
  }
  return ways;
}

const noContext = (variant: string, gripper: string): MoveContext => ({
  q: new Float64Array(0),
  variant,
  places: new Map(),
  held: new Map(),
  gripper,
});

/**
 * Reach of all targets for the parts given; a holder's entry is that of its worst place. Where a gripper goes to a target in
 * more than one way (by several grips), the way with the most room speaks for it: the runs have tried each.
 */
export function reachReports(
  cell: Cell,
  arm: Arm,
  variants: readonly string[],
  runs: readonly CycleRun<MotionFailure>[],
  inverse: InverseKinematics,
): ReachReport[] {
  const meter = createSingularityMeter(arm);
  const result = inverse.result();
  const grippers = cell.tool.grippers.size > 0 ? [...cell.tool.grippers.keys()] : [NO_GRIPPER];
  const run = waysRun(runs);
  const stated = waysStated(cell, variants);

  const look = (target: Target, gripper: string, variant: string): ReachReport => {
    const context = noContext(variant, gripper);
    const { baseFromFlange, joints } = resolveTarget(cell, arm, target, gripper, context);
    const { offset: _turn, ...plain } = target;
    const { label } = resolveTarget(cell, arm, plain, gripper, context);
    const name = cell.tool.grippers.size > 1 ? `${label} by ${gripper}` : label;
    inverse.solve(baseFromFlange, result);
    const inside = joints !== undefined ? [joints] : withinLimits(arm, result, { allTurns: false });
    // The branch with the most room to the joint limits speaks for the target.
    let margin = Number.NEGATIVE_INFINITY;
    let best: Float64Array | undefined;
    let tightest = 0;
    for (const q of inside) {
      const { room, joint } = roomToLimits(arm, q);
      if (room > margin) {
        margin = room;
        tightest = joint;
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
      nearestJoint: best === undefined ? null : arm.jointNames[tightest]!,
      singularity: near !== undefined && Math.abs(near.measure) < NEAR_SINGULAR ? near.kind : null,
    };
  };

  /** Ways to a target, one group per gripper that goes there; where none does, one group of all grippers. */
  const groupsTo = (name: string, bring: Way["bring"]): Way[][] => {
    const known = run.to(name).length > 0 ? run.to(name) : stated.to(name);
    if (known.length > 0) return grippers.map((g) => known.filter((w) => w.gripper === g)).filter((g) => g.length > 0);
    return [
      variants.flatMap((part) =>
        grippers.map((gripper) => ({ gripper, bring, part, grip: undefined, turn: undefined })),
      ),
    ];
  };
  const best = (target: Omit<Target, "bring">, ways: readonly Way[]): ReachReport =>
    ways
      .map(({ gripper, bring, part, grip, turn }) =>
        look(
          {
            ...target,
            bring,
            ...(grip === undefined ? {} : { grip }),
            ...(turn === undefined ? {} : { offset: turn }),
          },
          gripper,
          part,
        ),
      )
      .reduce((found, next) => (worse(found, next) ? next : found));

  const reports: ReachReport[] = [];
  for (const pose of cell.poses.values()) {
    const groups = groupsTo(pose.name, "gripper");
    // Joint values are the same for every gripper.
    for (const ways of pose.target.kind === "joints" ? groups.slice(0, 1) : groups)
      reports.push(best({ at: named(pose.name), kind: "pose" }, ways));
  }
  for (const holder of cell.holders.values()) {
    for (const group of groupsTo(holder.name, "part")) {
      const seen = partsFor(cell, holder, variants).flatMap((part) => {
        const ways = group.filter((way) => way.part === part);
        if (ways.length === 0) return [];
        return holder.places.map((place) => best({ at: named(holder.name), kind: "holder", place: place.index }, ways));
      });
      if (seen.length > 0) reports.push(seen.reduce((worst, next) => (worse(next, worst) ? next : worst)));
    }
  }
  return reports;
}

const named = (name: string): Target["at"] => ({ default: name, variants: new Map() });

const partsFor = (cell: Cell, holder: Holder, variants: readonly string[]): string[] =>
  variants.filter((v) => cell.parts.has(v) && (holder.accepts.length === 0 || holder.accepts.includes(v)));

/** How far the worst joint is inside its limits (negative: outside), rad or m, and which one that is. */
function roomToLimits(arm: Arm, q: ArrayLike<number>): { readonly room: number; readonly joint: number } {
  let room = Number.POSITIVE_INFINITY;
  let joint = 0;
  for (let i = 0; i < arm.n; i++) {
    const own = Math.min(q[i]! - arm.min[i]!, arm.max[i]! - q[i]!);
    if (own >= room) continue;
    room = own;
    joint = i;
  }
  return { room, joint };
}

const missOf = (result: InverseResult): number => (result.exact ? 0 : result.positionError);

function worse(a: ReachReport, b: ReachReport): boolean {
  if (a.reachable !== b.reachable) return !a.reachable;
  if (!a.reachable) return a.miss_m > b.miss_m;
  return a.jointMargin_rad < b.jointMargin_rad;
}
