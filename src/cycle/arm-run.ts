/** The arm running its routine: one step after the other, waiting where it must. */

import type { AwaitStep, ByVariant, GoStep, PressStep, SignalCondition, Target } from "../cell/steps.ts";
import { ContractError } from "../math/contract-error.ts";
import { signalsIn } from "./board.ts";
import { whyNever } from "./deadlock.ts";
import type { DeviceRun } from "./devices.ts";
import { commandGripper } from "./gripper-command.ts";
import type { Handover } from "./handover.ts";
import { type Cause, endOf, startOf } from "./log.ts";
import type { Operators } from "./operators.ts";
import { inSeconds } from "./problems.ts";
import type { ProcessRun } from "./processes.ts";
import { type QueuedEvent, RANK } from "./queue.ts";
import type { MoveRecord, RunOutcome } from "./run.ts";
import type { SettleWatch } from "./settle.ts";
import type { Spot } from "./stock.ts";
import type { ActivityKind, MoveContext, MoveOutcome, Mover } from "./types.ts";
import type { PlainStep, RoutineWalk } from "./walk.ts";
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
  readonly paths = new Map<string, readonly (string | number)[]>();
  /** The step being run. */
  step: PlainStep | undefined;
  /** The arm's last activity. */
  last: number | undefined;
  readonly #with: ArmParts<F>;
  #q: Float64Array;
  #gripper: string;
  #held: PlainStep | undefined;
  #waiting: Waiting | undefined;

  constructor(parts: ArmParts<F>) {
    this.#with = parts;
    const { cell } = parts.world;
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
    report(world, {
      code: "await-never",
      severity: "error",
      stepId: waiting.step.id,
      message: `The arm waits from ${inSeconds(world.log.drafts[waiting.activity]!.start)} on for ever: ${whyNever(world, waiting.condition, devices, processes)}.`,
      mend: "Give the command that leads to the awaited signal before the wait, or await it where it can still come.",
    });
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
    const chain = [first];
    for (let tail = first; tail.blend > 0; ) {
      const next = walk.next(true);
      if (next?.kind === "go" && (next.gripper ?? gripper) === gripper) {
        this.paths.set(next.id, next.path);
        chain.push(next);
        this.steps++;
        tail = next;
        continue;
      }
      this.#held = next;
      const reason =
        next === undefined
          ? "nothing is sure to follow at once (the end of the routine or of a pass, or a branch on a signal or holder)"
          : next.kind === "go"
            ? `${next.id} moves another gripper`
            : `${next.id} is not a motion`;
      report(world, {
        code: "blend-without-effect",
        severity: "caution",
        stepId: tail.id,
        message: `The blend of ${Number((tail.blend * 1000).toFixed(3))} mm has no effect: ${reason}, so the arm stops at the point.`,
        mend: "Leave the blend out, or let another motion follow at once.",
      });
      break;
    }
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
    const context: MoveContext = {
      q: this.#q,
      variant: world.variant,
      places: walk.places,
      held: world.stock.held(),
      gripper: this.#gripper,
    };
    const outcome = ask(context);
    let end = start;
    if (outcome.ok) {
      if (
        outcome.perStep.length !== steps.length ||
        !(outcome.duration >= 0 && outcome.duration < Number.POSITIVE_INFINITY)
      )
        throw new ContractError(
          `simulate: the mover must give ${steps.length} times and a finite duration >= 0 s for ${steps[0]!.id}, got ${outcome.perStep.length} and ${outcome.duration}`,
        );
      end = start + outcome.duration;
      this.busy += outcome.duration;
      this.#q = outcome.end;
    } else {
      this.#q = outcome.resume;
      report(world, {
        code: "motion-failed",
        severity: "error",
        stepId: steps[Math.min(outcome.step, steps.length - 1)]!.id,
        message: failureText(outcome.failure),
        mend: failureMend(outcome.failure),
      });
    }
    let at = start;
    activities.forEach((activity, i) => {
      const draft = world.log.drafts[activity]!;
      draft.start = at;
      if (outcome.ok) at = i === activities.length - 1 ? end : Math.min(end, at + outcome.perStep[i]!);
      world.log.close(activity, at);
      if (outcome.ok) draft.motion = outcome.motion;
    });
    this.moves.push({ kind, steps, activity: activities[0]!, start, end, pass: walk.pass, context, outcome });
    return end;
  }

  #jaws(step: PlainStep & { kind: "hold" | "free" }): number | undefined {
    const { world, devices, handover, settle } = this.#with;
    const { cell, queue, log, board, stock } = world;
    this.#gripper = step.gripper;
    const gripper = cell.tool.grippers.get(step.gripper);
    if (gripper === undefined) throw new ContractError(`simulate: the tool has no gripper "${step.gripper}"`);
    const run = devices.get(gripper.device.name)!;
    const position = step.kind === "hold" ? "closed" : "open";
    const activity = this.#open(step, step.kind);
    const spot = this.#spot(step.kind === "hold" ? step.from : step.into);
    const start = queue.now;
    if (spot === undefined) {
      reportUnresolved(world, step.id);
      log.close(activity, start);
      return start;
    }
    if (run.target === position) {
      report(world, {
        code: step.kind === "hold" ? "hold-already-closed" : "free-already-open",
        severity: step.kind === "hold" ? "error" : "warning",
        stepId: step.id,
        subject: step.gripper,
        message: `${step.gripper} is already ${position}${stock.inGripper(step.gripper) === undefined ? "" : " on a part"} when it is told to become ${position}: nothing happens.`,
        mend:
          step.kind === "hold"
            ? "Open the gripper before going to the part."
            : "Leave the step out, or hold a part before.",
      });
      log.close(activity, start);
      return start;
    }
    if (step.kind === "hold") handover.expectHold(step.gripper, spot, step.grip ?? this.#firstGrip(spot), step.id);
    else handover.expectFree(step.gripper, spot, step.id);
    const feedback = run.device.feedback.get(position);
    if (feedback === undefined) {
      settle.jaws(
        run.device.name,
        position,
        step.id,
        run.worst(position),
        step.kind === "hold" ? gripper.partPresent : undefined,
      );
    }
    commandGripper(world, run, position, activity);
    if (feedback === undefined) {
      log.close(activity, start);
      return start;
    }
    this.#wait({
      activity,
      step,
      condition: { kind: "signal", signal: feedback, is: true },
      ready: () => run.at === position && board.seen(feedback),
      limit: undefined,
    });
    return undefined;
  }

  #firstGrip(spot: Spot): string {
    const { stock, cell, variant } = this.#with.world;
    const part = cell.parts.get(stock.at(spot)?.part ?? variant);
    return part?.grips.keys().next().value ?? "";
  }

  #await(step: AwaitStep): number | undefined {
    const { world, operators } = this.#with;
    const { board, queue, log, cell } = world;
    const activity = this.#open(step, "wait");
    const start = queue.now;
    const { condition } = step;
    if (board.holds(condition)) {
      if (!board.holdsNow(condition))
        report(world, {
          code: "stale-input",
          severity: "error",
          stepId: step.id,
          message: `The wait passes at once on an input that has already changed but is still seen as before (scan time ${inSeconds(world.scan)}): ${staleSignals(world, condition)}.`,
          mend: "Await the change first (for instance the signal off), or dwell longer than the scan time before this step.",
        });
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
    const then =
      otherwise.kind === "stop"
        ? `the routine stops${otherwise.message === undefined ? "" : ` ("${otherwise.message}")`}`
        : `${otherwise.routine} runs in place of the rest of the routine`;
    report(world, {
      code: "await-limit-passed",
      severity: "error",
      stepId: step.id,
      message: `The limit of ${inSeconds(step.limit!)} passes: ${whyNever(world, step.condition, devices, processes)}; ${then}.`,
      mend: "Raise the limit above the slowest time of what is awaited, or give its command earlier.",
    });
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

export function reportUnresolved(world: World, stepId: string): void {
  report(world, {
    code: "no-name-for-variant",
    severity: "error",
    stepId,
    message: `The step names nothing for the part ${world.variant} and has no default; it is left out.`,
    mend: `Add a name for ${world.variant}, or a default.`,
  });
}

function staleSignals(world: World, condition: SignalCondition): string {
  return signalsIn(condition)
    .filter(({ signal }) => world.board.seen(signal) !== world.board.level(signal))
    .map(({ signal }) => {
      const level = world.board.level(signal);
      const at = world.board.lastEdge(signal, level) ?? 0;
      return `${signal} went ${level ? "on" : "off"} ${inSeconds(world.queue.now - at)} before`;
    })
    .join(", ");
}

function failureText(failure: unknown): string {
  const message = (failure as { message?: unknown } | undefined)?.message;
  return typeof message === "string" ? message : "The motion cannot be done.";
}

function failureMend(failure: unknown): string {
  const mend = (failure as { mend?: unknown } | undefined)?.mend;
  return typeof mend === "string" ? mend : "Change the target, the way of moving or the place of what is served.";
}
