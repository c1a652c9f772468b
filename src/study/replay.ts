/**
 * The routine of a cell as a list of motions to be repeated in other layouts: taken from its nominal runs, with everything
 * that a layout does not change worked out once. The order of the motions is that of the run; what a layout changes is where
 * they go, on which branch, how long they take and what they come near to.
 */
import type { Arm, Payload } from "../arm/model.ts";
import type { BranchChoice, Cell } from "../cell/model.ts";
import type { GoStep, PressStep, Target } from "../cell/steps.ts";
import { carriedLoad, createMover, nameFor, type RouteOptions, variantsOf } from "../check/index.ts";
import {
  type CycleRun,
  createRetiming,
  type MoveContext,
  type MoveRecord,
  type Retiming,
  simulate,
} from "../cycle/index.ts";
import type { MotionFailure, MotionMemory } from "../motion/index.ts";
import { type Situation, situationsOf } from "./situation.ts";

/** A place that the arm goes to: one per distinct pose that the routine asks for, whoever asks. */
export interface ReplayTarget {
  readonly target: Target;
  readonly gripper: string;
  /** As it was first asked for. */
  readonly context: MoveContext;
  /** Step that first asked for it. */
  readonly stepId: string;
}

export const BY_JOINT = 0;
export const BY_LINE = 1;
export const BY_ARC = 2;

/** Everything about a leg but where it goes; legs of one kind between the same joint positions are the same motion. */
export interface LegKind {
  readonly by: typeof BY_JOINT | typeof BY_LINE | typeof BY_ARC;
  /** Target passed on the way of an arc; -1 for none. */
  readonly via: number;
  readonly fraction: number;
  /** Infinity where the step does not limit it. */
  readonly toolSpeed: number;
  readonly toolAcceleration: number;
  /** Gripper in use and what it holds: the point that the motion is about. */
  readonly gripper: string;
  readonly held: MoveContext["held"];
  /** What is carried; undefined where masses are not stated. */
  readonly load: Payload | undefined;
  readonly situation: number;
}

export interface Leg {
  readonly target: number;
  readonly kind: number;
  readonly stepId: string;
  /** Joint values of the pose that its branch is to be near; undefined: nearest to where the arm is. */
  readonly near: ArrayLike<number> | undefined;
  readonly sides: Exclude<BranchChoice, { readonly near: string }> | undefined;
  /** Whether the corner at its end is rounded. */
  readonly blended: boolean;
  /** Index of the activity of the run. */
  readonly activity: number;
  /** Looked at closely along its way; a found route is not: another layout has another. */
  readonly dense: boolean;
}

/** A chain of legs from standstill to standstill. */
export interface Chain {
  readonly legs: readonly Leg[];
  /** Duration in the run; NaN where it could not be planned there. */
  readonly duration: number;
}

export interface VariantReplay {
  readonly variant: string;
  /** Share of this variant in what is produced; all shares add up to 1. */
  readonly share: number;
  readonly chains: readonly Chain[];
  /** Activities of presses that failed in the run, and the time that they take. */
  readonly presses: readonly { readonly activity: number; readonly time: number }[];
  readonly activities: number;
  /** Undefined where the run tells no period: it was stopped, or finished no part. */
  readonly retiming: Retiming | undefined;
}

export interface Replay {
  readonly cell: Cell;
  readonly arm: Arm;
  readonly targets: readonly ReplayTarget[];
  readonly kinds: readonly LegKind[];
  readonly situations: readonly Situation[];
  readonly variants: readonly VariantReplay[];
}

/**
 * @param cell with the choices of a layout made, standing where it stands now
 * @param variants part variants; default those that a check runs
 */
export function createReplay(
  cell: Cell,
  arm: Arm,
  variants: readonly string[] = variantsOf(cell),
  memory?: MotionMemory,
  routes: RouteOptions = {},
): Replay {
  const mover = createMover(cell, arm, memory, undefined, routes);
  const runs = variants.map((variant) => simulate(cell, mover, { variant, pace: "nominal" }));
  const targets = new Numbered<ReplayTarget>();
  const kinds = new Numbered<LegKind>();
  const situations = situationsOf(cell);
  const shares = sharesOf(cell, variants);
  const replays = runs.map((run, i) => variantReplay(cell, run, shares[i]!, { targets, kinds, situations }));
  return {
    cell,
    arm,
    targets: targets.list,
    kinds: kinds.list,
    situations: situations.list,
    variants: replays,
  };
}

/** By quantity in the production batches; equal shares without. */
function sharesOf(cell: Cell, variants: readonly string[]): number[] {
  const quantities = variants.map((variant) =>
    (cell.production?.batches ?? []).reduce((sum, batch) => sum + (batch.part === variant ? batch.quantity : 0), 0),
  );
  const total = quantities.reduce((a, b) => a + b, 0);
  return quantities.map((quantity) => (total > 0 ? quantity / total : 1 / variants.length));
}

/** Things numbered in the order met, equal ones (by text) under one number. */
class Numbered<T> {
  readonly list: T[] = [];
  readonly #known = new Map<string, number>();

  of(key: string, make: () => T): number {
    let number = this.#known.get(key);
    if (number === undefined) {
      number = this.list.push(make()) - 1;
      this.#known.set(key, number);
    }
    return number;
  }
}

interface Tables {
  readonly targets: Numbered<ReplayTarget>;
  readonly kinds: Numbered<LegKind>;
  readonly situations: ReturnType<typeof situationsOf>;
}

function variantReplay(cell: Cell, run: CycleRun<MotionFailure>, share: number, tables: Tables): VariantReplay {
  const chains: Chain[] = [];
  const presses: { activity: number; time: number }[] = [];
  const corners = cornerPlaces(cell);
  for (const record of run.moves) {
    const { outcome, activity, steps } = record;
    if (record.kind === "press") {
      const step = steps[0] as PressStep;
      if (!outcome.ok) presses.push({ activity, time: step.expect / step.speed + step.time });
      continue;
    }
    const dense = isDense(record, corners);
    const legs = steps.map((step, i) => legOf(cell, run, record, step as GoStep, activity + i, dense, tables));
    chains.push({ legs, duration: outcome.ok ? outcome.duration : Number.NaN });
  }
  const timed = run.outcome === "complete" && run.partsFinished > 0;
  return {
    variant: run.variant,
    share,
    chains,
    presses,
    activities: run.activities.length,
    retiming: timed ? createRetiming(run) : undefined,
  };
}

/** Numbers of the places in the corners of each holder: what lies between them is looked at less closely. */
function cornerPlaces(cell: Cell): ReadonlyMap<string, ReadonlySet<number>> {
  const corners = new Map<string, ReadonlySet<number>>();
  for (const [name, { places }] of cell.holders) {
    const chosen = new Set<number>();
    const xy = places.map(({ worldFromPlace: t }) => [t[3]!, t[7]!] as const);
    for (const [ax, ay] of [
      [1, 1],
      [1, -1],
      [-1, 1],
      [-1, -1],
    ] as const) {
      let best = 0;
      for (const [i, [x, y]] of xy.entries())
        if (ax * x + ay * y > ax * xy[best]![0] + ay * xy[best]![1] + 1e-9) best = i;
      chosen.add(best);
    }
    corners.set(name, chosen);
  }
  return corners;
}

/** Motions of a pass in which every tray is served at a corner, and those outside any pass. */
function isDense({ context }: MoveRecord<MotionFailure>, corners: ReadonlyMap<string, ReadonlySet<number>>): boolean {
  const trays = [...context.places].filter(([holder]) => (corners.get(holder)?.size ?? 0) > 1);
  return trays.length === 0 || trays.some(([holder, place]) => corners.get(holder)!.has(place));
}

function legOf(
  cell: Cell,
  run: CycleRun<MotionFailure>,
  { context, activity: first, start, end }: MoveRecord<MotionFailure>,
  step: GoStep,
  activity: number,
  dense: boolean,
  { targets, kinds, situations }: Tables,
): Leg {
  const gripper = step.gripper ?? context.gripper;
  const { speed } = step;
  const joint = step.by === "joint";
  const number = (target: Target) =>
    targets.of(targetKey(target, gripper, context), () => ({ target, gripper, context, stepId: step.id }));
  const target = number(step.to);
  const via = step.by === "arc" && step.via !== undefined ? number(step.via) : -1;
  const span = run.activities[activity];
  const situation = situations.of(run, context, step, span?.start ?? start, span?.end ?? end, first !== activity);
  const held = [...context.held].map(([name, part]) => `${name}=${part.part}/${part.stage}/${part.grip}`).sort();
  const kind: LegKind = {
    by: joint ? BY_JOINT : via >= 0 ? BY_ARC : BY_LINE,
    via,
    fraction: speed.fraction ?? (joint ? cell.motion.jointSpeed : 1),
    toolSpeed: speed.tool ?? (joint ? Number.POSITIVE_INFINITY : cell.motion.lineSpeed),
    toolAcceleration: speed.toolAcceleration ?? (joint ? Number.POSITIVE_INFINITY : cell.motion.lineAcceleration),
    gripper: context.gripper,
    held: context.held,
    load: carriedLoad(cell, context.held),
    situation,
  };
  const { by, fraction, toolSpeed, toolAcceleration } = kind;
  const key = [by, via, fraction, toolSpeed, toolAcceleration, context.gripper, held, situation].join("|");
  const pose = step.to.kind === "pose" ? cell.poses.get(nameFor(step.to.at, context.variant)) : undefined;
  const branch = step.to.branch ?? (joint ? pose?.branch : undefined);
  return {
    target,
    kind: kinds.of(key, () => kind),
    stepId: step.id,
    near: branch !== undefined && "near" in branch ? jointsOf(cell, branch.near) : undefined,
    sides: branch !== undefined && !("near" in branch) ? branch : undefined,
    blended: step.blend > 0,
    activity,
    dense: dense && step.route === undefined,
  };
}

function jointsOf(cell: Cell, name: string): ArrayLike<number> | undefined {
  const target = cell.poses.get(name)?.target;
  return target?.kind === "joints" ? target.q : undefined;
}

/** Everything that a target's flange pose depends on in one cell, as text. */
function targetKey(target: Target, gripper: string, context: MoveContext): string {
  const name = nameFor(target.at, context.variant);
  const place = target.kind === "holder" ? (target.place ?? context.places.get(name) ?? 0) : 0;
  const offset = target.offset === undefined ? "" : `${target.offset.in}:${target.offset.pose.join()}`;
  const held = context.held.get(gripper);
  const bring = target.bring === "part" ? `${held?.part ?? context.variant}/${held?.grip ?? target.grip ?? ""}` : "";
  return [target.kind, name, place, offset, gripper, bring].join("|");
}
