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
  requestKey,
  type Segment,
  type SegmentSpeed,
  type ToolLimits,
} from "../motion/index.ts";
import { type BranchChooser, createBranchChooser } from "./branch.ts";
import { activeTcp, carriedLoad } from "./load.ts";
import { pressTorqueFailure, pushedTo } from "./press.ts";
import { planAlong, type RoutedStep, staysClear, WIDEST } from "./route/along.ts";
import { RouteFinder, type RouteOptions } from "./route/finder.ts";
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

/** A chain along found routes, and where in it these are. */
interface RoutedMove {
  readonly outcome: Outcome;
  readonly motion: Motion;
  /** Times of each routed step in the motion, s. */
  readonly ends: readonly (readonly [from: number, to: number])[];
  readonly steps: readonly RoutedStep[];
}

/**
 * A mover for one cell. Its answers depend on nothing but the arguments, except that a found route is kept as long as it is
 * clear: where what stands around has changed since the same motion was asked for before, the route of then is tried first.
 * @param memory motions of earlier checks; what is planned now is added to it
 * @param inverse the arm's solver, when the caller has one
 * @param routes what is known and wanted of found routes
 */
export function createMover(
  cell: Cell,
  arm: Arm,
  memory = new MotionMemory(),
  inverse = createInverse(arm),
  routes: RouteOptions = {},
): Mover<MotionFailure> {
  const armKey = armKeyOf(arm);
  const planner = rememberingPlanner(createPlanner(arm), armKey, memory);
  const chooser = createBranchChooser(cell, arm, inverse);
  const gravity = gravityInBase(cell);
  const remembered = new Map<string, Outcome>();
  const finder = new RouteFinder(cell, arm, chooser, routes);
  const routedBefore = new Map<string, RoutedMove[]>();

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
    tool: toolLimitsOf(cell),
    payload: carriedLoad(cell, context.held),
    gravity,
    lineStep: cell.motion.lineStep,
  });

  const planChain = (chain: readonly GoStep[], context: MoveContext): Outcome => {
    const flangeFromTcp = activeTcp(cell, context.gripper, context.held);
    const segments: Segment[] = [];
    const stepOf: number[] = [];
    const routed: RoutedStep[] = [];
    const targets: string[] = [];
    const before = routedBefore.get(keyOf(chain, context)) ?? [];
    const moments = chain.map((step, index) =>
      step.route === undefined ? undefined : finder.moment(step, index, chain.length, context),
    );
    const kept = before.find(({ motion, ends, steps }) =>
      staysClear(
        motion,
        ends,
        steps.map((step) => ({ ...step, moment: moments[step.step]! })),
      ),
    );
    if (kept !== undefined) return kept.outcome;
    let q = context.q;
    for (const [index, step] of chain.entries()) {
      const target = resolveTarget(cell, arm, step.to, step.gripper ?? context.gripper, context);
      targets.push(target.label);
      const moment = moments[index];
      if (moment !== undefined) {
        const found = finder.find(step, target, q, moment, context);
        if (!found.ok)
          return { ok: false, failure: { ...found.failure, segment: index }, step: index, resume: found.resume };
        const { path, margin } = found;
        const speed = jointSpeedOf(cell, step);
        const first = segments.length;
        for (const [corner, to] of path.entries()) {
          if (corner === 0) continue;
          const blend = corner === path.length - 1 ? step.blend : WIDEST;
          segments.push({ kind: "joint", to, blend, speed });
          stepOf.push(index);
        }
        const last = segments.length - 1;
        routed.push({ step: index, first, last, moment, margin, label: target.label });
        q = path.at(-1)!;
        continue;
      }
      const made = segmentFor(cell, arm, chooser, step, target, q, flangeFromTcp, context);
      if (!made.ok)
        return { ok: false, failure: { ...made.failure, segment: index }, step: index, resume: made.resume };
      segments.push(made.segment);
      stepOf.push(index);
      q = made.end;
    }
    const request = requestFor(segments, flangeFromTcp, context);
    const outcome =
      routed.length === 0
        ? planner.plan(request)
        : finder.memory.routes.motion(
            [armKey, requestKey(request), stepOf, ...routed.map((r) => `${r.moment.key} ${r.margin} ${r.step}`)].join(
              "|",
            ),
            () => planAlong((some) => planner.plan({ ...request, segments: some }), segments, stepOf, routed),
          );
    if (!outcome.ok) {
      // Go on from where the failed segment was to end, on the branch nearest to its start, so that later steps are checked too.
      return { ok: false, failure: outcome.failure, step: outcome.failure.segment, resume: q };
    }
    const { motion } = outcome;
    const { segmentEnds } = motion;
    const perStep = segmentEnds.map((end, i) => end - (i === 0 ? 0 : segmentEnds[i - 1]!));
    const move: PlannedMove = { motion, flangeFromTcp, targets };
    const made: Outcome = { ok: true, duration: motion.duration, perStep, end: motion.end, motion: move };
    if (routed.length > 0) {
      const ends = routed.map(({ step }) => [step === 0 ? 0 : segmentEnds[step - 1]!, segmentEnds[step]!] as const);
      routedBefore.set(keyOf(chain, context), [...before, { outcome: made, motion, ends, steps: routed }]);
    }
    return made;
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
    go(chain, context) {
      const around = chain.flatMap((step, index) =>
        step.route === undefined ? [] : finder.moment(step, index, chain.length, context).key,
      );
      return recall([keyOf(chain, context), ...around].join("|"), () => planChain(chain, context));
    },
    press: (step, context) => recall(keyOf([step], context), () => planPress(step, context)),
  };
}

/** Limits of the tool as the arm states them. */
export const toolLimitsOf = ({ arm }: Cell): ToolLimits => ({
  speed: arm.toolSpeed,
  acceleration: arm.toolAcceleration,
  jerk: arm.toolJerk,
  turnSpeed: arm.toolTurnSpeed,
  turnAcceleration: arm.toolTurnAcceleration,
});

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

/** Speed of a joint-interpolated motion. */
const jointSpeedOf = (cell: Cell, { speed }: GoStep): SegmentSpeed => ({
  fraction: speed.fraction ?? cell.motion.jointSpeed,
  toolSpeed: speed.tool ?? Number.POSITIVE_INFINITY,
  toolAcceleration: speed.toolAcceleration ?? Number.POSITIVE_INFINITY,
  constant: speed.constant,
});

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
  const speed: SegmentSpeed =
    step.by === "joint"
      ? jointSpeedOf(cell, step)
      : {
          fraction: step.speed.fraction ?? 1,
          toolSpeed: step.speed.tool ?? cell.motion.lineSpeed,
          toolAcceleration: step.speed.toolAcceleration ?? cell.motion.lineAcceleration,
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
