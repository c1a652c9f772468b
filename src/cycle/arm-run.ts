/** The arm running its routine: one step after the other, waiting where it must. */

import type {
  AwaitStep,
  ByVariant,
  FreeStep,
  GoStep,
  HoldStep,
  PressStep,
  SignalCondition,
  Target,
} from "../cell/steps.ts";
import { reportLimit, reportNever, reportStale } from "./await-problems.ts";
import { signalsIn } from "./board.ts";
import { gatherChain } from "./chain.ts";
import type { DeviceRun } from "./devices.ts";
import type { Handover } from "./handover.ts";
import { jawRecord, workJaws } from "./jaws.ts";
import { type Cause, endOf, startOf } from "./log.ts";
import { layOut } from "./motion-layout.ts";
import type { Operators } from "./operators.ts";
import { inSeconds } from "./problems.ts";
import type { ProcessRun } from "./processes.ts";
import { type QueuedEvent, RANK } from "./queue.ts";
import type { JawRecord, MoveRecord, RunOutcome } from "./run.ts";
import type { SettleWatch } from "./settle.ts";
import type { Spot } from "./stock.ts";
import type { ActivityKind, MoveContext, MoveOutcome, Mover } from "./types.ts";
import type { PlainStep, RoutineWalk } from "./walk.ts";
import { REFUSALS, type Situation, WhereaboutsFollower } from "./whereabouts/index.ts";
import { report, type World } from "./world.ts";

export interface ArmParts<F> {
  readonly world: World;
  readonly mover: Mover<F>;
  readonly walk: RoutineWalk;
  readonly devices: ReadonlyMap<string, DeviceRun>;
  readonly processes: readonly ProcessRun[];
  readonly handover: Handover;
  readonly settle: SettleWatch;
  readonly operators: Operators;
  readonly maxSteps: number;
  readonly cancelled: () => boolean;
}

interface Waiting {
  readonly activity: number;
  readonly step: PlainStep;
  readonly condition: SignalCondition;
  readonly ready: () => boolean;
  readonly limit: QueuedEvent | undefined;
}

export class ArmRun<F> {
  outcome: RunOutcome | undefined;
  /** Time of the end of the arm's last activity. */
  end = 0;
  steps = 0;
  busy = 0;
  readonly moves: MoveRecord<F>[] = [];
  readonly jaws: JawRecord[] = [];
  readonly paths = new Map<string, readonly (string | number)[]>();
  /** The step being run. */
  step: PlainStep | undefined;
  /** The arm's last activity. */
  last: number | undefined;
  readonly #with: ArmParts<F>;
  readonly #follower: WhereaboutsFollower;
  /** Steps performed that the follower has not been told. */
  readonly #performed: { readonly step: PlainStep; readonly activity: number }[] = [];
  #q: Float64Array;
  #gripper: string;
  #held: PlainStep | undefined;
  #waiting: Waiting | undefined;

  constructor(parts: ArmParts<F>) {
    this.#with = parts;
    const { cell, problems } = parts.world;
    this.#follower = new WhereaboutsFollower(cell, { has: (stepId) => problems.has(REFUSALS, stepId) });
    this.#q = Float64Array.from(cell.home);
    this.#gripper = cell.tool.grippers.keys().next().value ?? "";
    parts.world.board.onSeen = () => this.#look();
  }

  /** Called by the queue when the arm is free for its next step. */
  advance(): void {
    const { world, walk, settle, maxSteps, cancelled } = this.#with;
    if (this.outcome !== undefined) return;
    if (cancelled()) {
      this.#finish("cancelled");
      return;
    }
    const step = this.#held ?? walk.next();
    this.#held = undefined;
    if (step === undefined && !walk.runaway) {
      this.#finish("complete");
      return;
    }
    if (step === undefined || this.steps >= maxSteps) {
      report(world, {
        code: "too-many-steps",
        severity: "error",
        stepId: step?.id,
        message: `The routine is not over after ${maxSteps} steps, at ${inSeconds(world.queue.now)}; the simulation stops here.`,
        mend: "Shorten the routine or raise the number of steps allowed.",
      });
      this.#finish("too many steps");
      return;
    }
    this.steps++;
    this.step = step;
    this.paths.set(step.id, step.path);
    settle.step(step);
    const next = this.#run(step);
    if (next !== undefined) world.queue.schedule(next, RANK.arm, () => this.advance());
  }

  /** Nothing more can happen: a wait that is still open never ends. */
  stuck(): void {
    const waiting = this.#waiting;
    if (this.outcome !== undefined || waiting === undefined) return;
    const { world, processes, devices } = this.#with;
    reportNever(world, devices, processes, waiting.step.id, waiting.condition, waiting.activity);
    this.#release(waiting, []);
    this.#finish("deadlock");
  }

  /** Runs one step; the time at which the next may begin, or undefined when the arm waits or the run is over. */
  #run(step: PlainStep): number | undefined {
    const { world, handover } = this.#with;
    const { now } = world.queue;
    switch (step.kind) {
      case "go":
        return this.#go(step);
      case "press": {
        const activity = this.#open(step, "press");
        if (world.stock.inGripper(this.#gripper) === undefined)
          report(world, {
            code: "press-without-part",
            severity: "warning",
            stepId: step.id,
            message: `The arm presses while ${this.#gripper || "the tool"} holds no part.`,
            mend: "Press after the part has been brought, or leave the step out in this pass with a `when`.",
          });
        const { armAt } = handover;
        if (armAt !== undefined) handover.armAt = { ...armAt, exact: true };
        return this.#moved("press", [step], [activity], (context) => this.#with.mover.press(step, context));
      }
      case "dwell":
        return this.#timed(step, "dwell", step.time);
      case "drive": {
        const activity = this.#open(step, "drive");
        world.log.close(activity, now);
        world.board.set(step.signal, step.to, endOf(activity));
        return now;
      }
      case "pulse": {
        const activity = this.#open(step, "pulse");
        const { board } = world;
        if (board.level(step.signal))
          report(world, {
            code: "pulse-on-high-signal",
            severity: "error",
            stepId: step.id,
            subject: step.signal,
            message: `${step.signal} is already on when its pulse of ${inSeconds(step.width)} begins: no rising edge is seen.`,
            mend: `Switch ${step.signal} off before the pulse.`,
          });
        board.set(step.signal, true, startOf(activity), step.width);
        world.queue.schedule(now + step.width, RANK.arm, () => {
          world.log.close(activity, world.queue.now);
          this.busy += step.width;
          board.set(step.signal, false, endOf(activity));
          this.advance();
        });
        return undefined;
      }
      case "hold":
      case "free":
        return this.#jaws(step);
      case "await":
        return this.#await(step);
    }
  }

  #open(step: PlainStep, kind: ActivityKind, start = this.#with.world.queue.now): number {
    const { world, walk } = this.#with;
    const causes = this.last === undefined ? [] : [endOf(this.last)];
    this.last = world.log.open({ lane: "arm", kind, label: step.id, stepId: step.id, pass: walk.pass, start }, causes);
    this.#performed.push({ step, activity: this.last });
    return this.last;
  }

  #timed(step: PlainStep, kind: ActivityKind, time: number): number {
    const { log, queue } = this.#with.world;
    const end = queue.now + time;
    log.close(this.#open(step, kind), end);
    this.busy += time;
    return end;
  }

  #go(first: GoStep): number {
    const { world, walk, handover, mover } = this.#with;
    handover.leave(first.id);
    const gripper = first.gripper ?? this.#gripper;
    this.#gripper = gripper;
    const { steps: chain, next } = gatherChain(world, walk, first, gripper);
    this.#held = next;
    this.steps += chain.length - 1;
    for (const step of chain) this.paths.set(step.id, step.path);
    const activities = chain.map((step) => this.#open(step, "motion"));
    const end = this.#moved("go", chain, activities, (context) => mover.go(chain, context));
    handover.armAt = this.#placeOf(chain.at(-1)!.to, gripper);
    return end;
  }

  #placeOf(target: Target, gripper: string): Handover["armAt"] {
    if (target.kind !== "holder") return undefined;
    const spot = this.#spot(target.at, target.place);
    return spot && { ...spot, gripper, exact: target.offset === undefined };
  }

  /** The place of a holder meant by a name: stated, else the current one, else the first. */
  #spot(name: ByVariant, place?: number): Spot | undefined {
    const { walk } = this.#with;
    const holder = walk.resolve(name);
    return holder === undefined ? undefined : { holder, place: place ?? walk.places.get(holder) ?? 0 };
  }

  /** Asks the mover and lays the answer out in time. */
  #moved(
    kind: "go" | "press",
    steps: readonly (GoStep | PressStep)[],
    activities: readonly number[],
    ask: (context: MoveContext) => MoveOutcome<F>,
  ): number {
    const { world, walk } = this.#with;
    const start = world.queue.now;
    const resting = world.stock.restingNow();
    const context: MoveContext = {
      q: this.#q,
      variant: world.variant,
      places: walk.places,
      held: world.stock.held(),
      gripper: this.#gripper,
      resting,
      devices: this.#whereabouts(activities[0]!),
      worked: this.#workedSince(this.moves.length - 1),
    };
    const outcome = ask(context);
    const end = layOut(world, steps, activities, outcome);
    this.busy += end - start;
    this.#q = outcome.ok ? outcome.end : outcome.resume;
    this.moves.push({ kind, steps, activity: activities[0]!, start, end, pass: walk.pass, context, outcome, resting });
    return end;
  }

  /** Where devices may stand after everything that was done before an activity. */
  #whereabouts(activity: number): Situation {
    const { drafts } = this.#with.world.log;
    while (this.#performed.length > 0 && this.#performed[0]!.activity < activity) {
      const done = this.#performed.shift()!;
      const { start, end } = drafts[done.activity]!;
      this.#follower.perform(done.step, start, end);
    }
    return this.#follower.now;
  }

  #workedSince(move: number): readonly JawRecord[] {
    const first = this.jaws.findLastIndex(({ after }) => after !== move) + 1;
    return this.jaws.slice(first);
  }

  #jaws(step: HoldStep | FreeStep): number | undefined {
    const { world } = this.#with;
    this.#gripper = step.gripper;
    const activity = this.#open(step, step.kind);
    const spot = this.#spot(step.kind === "hold" ? step.from : step.into);
    const stood = this.moves.at(-1)?.outcome.ok !== false;
    const record =
      spot === undefined || !stood ? undefined : jawRecord(world, step, spot, this.#q, this.moves.length - 1);
    if (record !== undefined) this.jaws.push(record);
    const feedback = workJaws(this.#with, step, spot, activity);
    if (feedback === undefined) {
      world.log.close(activity, world.queue.now);
      return world.queue.now;
    }
    const { run, position, signal } = feedback;
    this.#wait({
      activity,
      step,
      condition: { kind: "signal", signal, is: true },
      ready: () => run.at === position && world.board.seen(signal),
      limit: undefined,
    });
    return undefined;
  }

  #await(step: AwaitStep): number | undefined {
    const { world, operators } = this.#with;
    const { board, queue, log, cell } = world;
    const activity = this.#open(step, "wait");
    const start = queue.now;
    const { condition } = step;
    if (board.holds(condition)) {
      if (!board.holdsNow(condition)) reportStale(world, step);
      log.release(activity, start, board.madeTrueBy(condition).causes);
      return start;
    }
    for (const { signal, is } of signalsIn(condition)) {
      const known = cell.signals.get(signal);
      if (known !== undefined) operators.awaited(known, is, activity);
    }
    const limit =
      step.limit === undefined
        ? undefined
        : queue.schedule(start + step.limit, RANK.limit, () => this.#limitPassed(step));
    this.#wait({ activity, step, condition, ready: () => board.holds(condition), limit });
    return undefined;
  }

  #wait(waiting: Waiting): void {
    this.#waiting = waiting;
    this.#look();
  }

  /** Something was seen: the wait may be over. */
  #look(): void {
    const waiting = this.#waiting;
    if (waiting === undefined || !waiting.ready()) return;
    const { world } = this.#with;
    this.#release(waiting, world.board.madeTrueBy(waiting.condition).causes);
    world.queue.schedule(world.queue.now, RANK.arm, () => this.advance());
  }

  #release(waiting: Waiting, causes: readonly Cause[]): void {
    const { world } = this.#with;
    this.#waiting = undefined;
    if (waiting.limit !== undefined) waiting.limit.act = undefined;
    world.log.release(waiting.activity, world.queue.now, causes);
    if (waiting.step.kind !== "await") this.busy += world.queue.now - world.log.drafts[waiting.activity]!.start;
  }

  #limitPassed(step: AwaitStep): void {
    const { world, walk, devices, processes } = this.#with;
    const waiting = this.#waiting;
    if (waiting === undefined || waiting.step !== step) return;
    const { otherwise } = step;
    reportLimit(world, devices, processes, step);
    // The time until the limit is the step's own.
    this.#waiting = undefined;
    world.log.close(waiting.activity, world.queue.now);
    if (otherwise.kind === "stop") {
      this.#finish("stopped");
      return;
    }
    walk.replaceRoutine(otherwise.routine);
    world.queue.schedule(world.queue.now, RANK.arm, () => this.advance());
  }

  #finish(outcome: RunOutcome): void {
    this.outcome = outcome;
    this.step = undefined;
    this.end = this.#with.world.queue.now;
    this.#with.walk.abandon();
  }
}
