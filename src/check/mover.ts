/**
 * Plans the motions of a cell's routines: turns `go` and `press` steps into motion requests and remembers the answers,
 * since the same motion returns in every pass and at every pace.
 */
import { createInverse } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import type { GoStep, PressStep } from "../cell/steps.ts";
import type { CycleRun, MoveContext, MoveOutcome, MoveRecord, Mover } from "../cycle/index.ts";
import { compose, invert, type Pose, turnVector } from "../math/pose.ts";
import type { Metres } from "../math/units.ts";
import {
  armKeyOf,
  createPlanner,
  type Motion,
  type MotionFailure,
  MotionMemory,
  type MotionRequest,
  rememberingPlanner,
  type Segment,
  type SegmentSpeed,
} from "../motion/index.ts";
import { type BranchChooser, createBranchChooser } from "./branch.ts";
import { activeTcp, carriedLoad } from "./load.ts";
import { pressTorqueFailure, pushedTo } from "./press.ts";
import { type FlangeTarget, resolveTarget, tcpOf } from "./targets.ts";

/** A planned chain, as carried in the cycle's record. */
export interface PlannedMove {
  readonly motion: Motion;
  readonly flangeFromTcp: Pose;
  /** One per step of the chain. */
  readonly targets: readonly string[];
}

/** A planned chain of a run, with what it was planned from. */
interface MadeMove {
  readonly steps: MoveRecord<MotionFailure>["steps"];
  readonly context: MoveContext;
  readonly move: PlannedMove;
}

/** The chains that could be planned, each once: the mover gives the same object for the same motion. */
export function* movesMade(runs: readonly CycleRun<MotionFailure>[]): Generator<MadeMove> {
  const seen = new Set<unknown>();
  for (const run of runs)
    for (const { outcome, steps, context } of run.moves) {
      if (!outcome.ok || !isPlanned(outcome.motion) || seen.has(outcome.motion)) continue;
      seen.add(outcome.motion);
      yield { steps, context, move: outcome.motion };
    }
}

/** Whether what the cycle carries for a move is a planned chain (a press has none). */
export const isPlanned = (motion: unknown): motion is PlannedMove => motion !== undefined;

type Outcome = MoveOutcome<MotionFailure>;

/**
 * A mover for one cell. Its answers depend on nothing but the arguments.
 * @param memory motions of earlier checks; what is planned now is added to it
 * @param inverse the arm's solver, when the caller has one
 */
export function createMover(
  cell: Cell,
  arm: Arm,
  memory = new MotionMemory(),
  inverse = createInverse(arm),
): Mover<MotionFailure> {
  const planner = rememberingPlanner(createPlanner(arm), armKeyOf(arm), memory);
  const chooser = createBranchChooser(cell, arm, inverse);
  const gravity = gravityInBase(cell);
  const remembered = new Map<string, Outcome>();

  const recall = (key: string, plan: () => Outcome): Outcome => {
    let outcome = remembered.get(key);
    if (outcome === undefined) {
      outcome = plan();
      remembered.set(key, outcome);
    }
    return outcome;
  };

  const requestFor = (segments: Segment[], flangeFromTcp: Pose, context: MoveContext): MotionRequest => ({
    arm,
    start: context.q,
    segments,
    flangeFromTcp,
    tool: {
      speed: cell.arm.toolSpeed,
      acceleration: cell.arm.toolAcceleration,
      jerk: cell.arm.toolJerk,
      turnSpeed: cell.arm.toolTurnSpeed,
      turnAcceleration: cell.arm.toolTurnAcceleration,
    },
    payload: carriedLoad(cell, context.held),
    gravity,
    lineStep: cell.motion.lineStep,
  });

  const planChain = (chain: readonly GoStep[], context: MoveContext): Outcome => {
    const flangeFromTcp = activeTcp(cell, context.gripper, context.held);
    const segments: Segment[] = [];
    const targets: string[] = [];
    let q = context.q;
    for (const [index, step] of chain.entries()) {
      const target = resolveTarget(cell, arm, step.to, step.gripper ?? context.gripper, context);
      targets.push(target.label);
      const made = segmentFor(cell, arm, chooser, step, target, q, flangeFromTcp, context);
      if (!made.ok)
        return { ok: false, failure: { ...made.failure, segment: index }, step: index, resume: made.resume };
      segments.push(made.segment);
      q = made.end;
    }
    const outcome = planner.plan(requestFor(segments, flangeFromTcp, context));
    if (!outcome.ok) {
      // Go on from where the failed segment was to end, on the branch nearest to its start, so that later steps are checked too.
      return { ok: false, failure: outcome.failure, step: outcome.failure.segment, resume: q };
    }
    const { motion } = outcome;
    const perStep = motion.segmentEnds.map((end, i) => end - (i === 0 ? 0 : motion.segmentEnds[i - 1]!));
    const move: PlannedMove = { motion, flangeFromTcp, targets };
    return { ok: true, duration: motion.duration, perStep, end: motion.end, motion: move };
  };

  const planPress = (step: PressStep, context: MoveContext): Outcome => {
    const push = {
      q: context.q,
      flangeFromGripper: tcpOf(cell, context.gripper),
      flangeFromPoint: activeTcp(cell, context.gripper, context.held),
    };
    const speed: SegmentSpeed = {
      fraction: 1,
      toolSpeed: step.speed,
      toolAcceleration: cell.motion.lineAcceleration,
      constant: false,
    };
    const lineOf = (travel: Metres) =>
      planner.plan(
        requestFor([{ kind: "line", to: pushedTo(arm, push, travel), blend: 0, speed }], push.flangeFromPoint, context),
      );
    // The arm must be able to follow the whole travel, wherever the contact comes; it stays where the contact is expected.
    let end = context.q;
    let approach: PlannedMove | undefined;
    for (const travel of new Set([step.travel, step.expect])) {
      if (travel <= 0) continue;
      const outcome = lineOf(travel);
      if (!outcome.ok) return { ok: false, failure: outcome.failure, step: 0, resume: context.q };
      if (travel !== step.expect) continue;
      end = outcome.motion.end;
      approach = { motion: outcome.motion, flangeFromTcp: push.flangeFromPoint, targets: ["the contact"] };
    }
    const failure = pressTorqueFailure(arm, { ...push, q: end }, step.force, gravity, carriedLoad(cell, context.held));
    if (failure !== undefined) return { ok: false, failure, step: 0, resume: end };
    const duration = step.expect / step.speed + step.time;
    return { ok: true, duration, perStep: [duration], end, motion: undefined, approach };
  };

  return {
    go: (chain, context) => recall(keyOf(chain, context), () => planChain(chain, context)),
    press: (step, context) => recall(keyOf([step], context), () => planPress(step, context)),
  };
}

/** Gravity in the arm's base axes, m/s². */
export function gravityInBase(cell: Cell): [number, number, number] {
  return turnVector(invert(cell.worldFromBase), ...cell.gravity);
}

/** Everything that a motion depends on, as text; joint values to the last bit. */
function keyOf(steps: readonly (GoStep | PressStep)[], context: MoveContext): string {
  const places = [...context.places].map(([holder, index]) => {
    const used = steps.some((step) => step.kind === "go" && usesHolder(step, holder, context.variant));
    return used ? `${holder}#${index}` : "";
  });
  const held = [...context.held].map(([gripper, part]) => `${gripper}=${part.part}/${part.stage}/${part.grip}`).sort();
  return [steps.map((s) => s.id), context.q.join(), context.variant, places.join(), held.join(), context.gripper].join(
    "|",
  );
}

function usesHolder(step: GoStep, holder: string, variant: string): boolean {
  return [step.to, step.via].some((target) => {
    if (target === undefined || target.kind !== "holder") return false;
    return (target.at.variants.get(variant) ?? target.at.default) === holder;
  });
}

type MadeSegment =
  | { readonly ok: true; readonly segment: Segment; readonly end: Float64Array }
  | { readonly ok: false; readonly failure: MotionFailure; readonly resume: Float64Array };

/** One segment of a chain from its step; `end` is the expected joint values at its end, used to choose later branches. */
function segmentFor(
  cell: Cell,
  arm: Arm,
  chooser: BranchChooser,
  step: GoStep,
  target: FlangeTarget,
  from: Float64Array,
  flangeFromTcp: Pose,
  context: MoveContext,
): MadeSegment {
  const branch = step.to.branch ?? (step.by === "joint" ? target.pose?.branch : undefined);
  let chosen = target.joints ?? chooser.choose(target, from, branch);
  if ("failure" in chosen) {
    if (step.by === "joint") return { ok: false, failure: chosen.failure, resume: from };
    // Along a line or arc the planner follows the branch that the arm is on, and tells where along it the motion fails.
    chosen = from;
  }
  const speed: SegmentSpeed = {
    fraction: step.speed.fraction ?? (step.by === "joint" ? cell.motion.jointSpeed : 1),
    toolSpeed: step.speed.tool ?? (step.by === "joint" ? Number.POSITIVE_INFINITY : cell.motion.lineSpeed),
    toolAcceleration:
      step.speed.toolAcceleration ?? (step.by === "joint" ? Number.POSITIVE_INFINITY : cell.motion.lineAcceleration),
    constant: step.speed.constant,
  };
  const common = { blend: step.blend, speed };
  if (step.by === "joint") return { ok: true, segment: { ...common, kind: "joint", to: chosen }, end: chosen };
  const to = compose(target.baseFromFlange, flangeFromTcp);
  if (step.by === "line" || step.via === undefined)
    return { ok: true, segment: { ...common, kind: "line", to }, end: chosen };
  const viaTarget = resolveTarget(cell, arm, step.via, step.gripper ?? context.gripper, context);
  const via = compose(viaTarget.baseFromFlange, flangeFromTcp);
  return { ok: true, segment: { ...common, kind: "arc", via, to }, end: chosen };
}
