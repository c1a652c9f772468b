/** Timed processes of machines: accepted or refused at their start signal, running beside the arm, reporting completion. */
import type { Holder, Process, TimeRange } from "../cell/model.ts";
import type { DeviceMove, DeviceRun } from "./devices.ts";
import { type Cause, endOf, later } from "./log.ts";
import { timeAt } from "./pace.ts";
import { inSeconds } from "./problems.ts";
import { watchPulses } from "./pulse-watch.ts";
import { RANK } from "./queue.ts";
import { report, type World } from "./world.ts";

type State = "idle" | "before" | "running" | "after";

/** From the start signal accepted to completion reported. */
export interface Engagement {
  readonly machine: string;
  readonly start: number;
  end: number;
}

export class ProcessRun {
  readonly process: Process;
  state: State = "idle";
  /** Level that asked for a start which the needs do not yet allow. */
  waiting: { cause: Cause | undefined } | undefined;
  readonly engagements: Engagement[] = [];
  readonly #world: World;
  readonly #devices: ReadonlyMap<string, DeviceRun>;
  readonly #holder: Holder | undefined;
  #completions = 0;
  #stepId: string | undefined;

  constructor(world: World, process: Process, devices: ReadonlyMap<string, DeviceRun>) {
    this.#world = world;
    this.process = process;
    this.#devices = devices;
    this.#holder = process.holder === undefined ? undefined : world.cell.holders.get(process.holder);
    const { start } = process;
    if (start.style === "pulse")
      watchPulses(world, {
        signal: start.signal,
        width: start.width,
        subject: process.name,
        accept: (cause) => this.#asked([cause]),
      });
    else world.board.listen(start.signal, (level, cause) => this.#levelChanged(level, cause));
    for (const need of process.needs) {
      const device = devices.get(need.device);
      device?.onArrive.push(() => this.#tryLevel());
      device?.onLeave.push((move) => this.#needLost(move, need.position));
    }
  }

  /** Needs not met at this moment, as text. */
  unmet(): string[] {
    return this.process.needs.flatMap(({ device, position }) => {
      const run = this.#devices.get(device);
      if (run === undefined || run.at === position) return [];
      return [`${device} ${run.at === undefined ? `still moving to ${run.target}` : run.at} (needs ${position})`];
    });
  }

  #levelChanged(level: boolean, cause: Cause | undefined): void {
    if (level) {
      if (this.state !== "idle") this.#refuseBusy(cause);
      else {
        this.waiting = { cause };
        this.#tryLevel();
      }
    } else if (this.waiting !== undefined) {
      const asked = this.waiting.cause;
      this.waiting = undefined;
      this.#refuseUnmet(asked, `${this.process.start.signal} went off before they were`);
    }
  }

  #tryLevel(): void {
    if (this.waiting === undefined || this.unmet().length > 0) return;
    const { cause } = this.waiting;
    this.waiting = undefined;
    // A start held by its level waits for the needs: whichever came last starts it.
    const devices = this.process.needs.map(({ device }) => this.#devices.get(device)?.lastMove);
    this.#begin([cause, ...devices.map((move) => (move === undefined ? undefined : endOf(move)))]);
  }

  #asked(causes: readonly (Cause | undefined)[]): void {
    if (this.state !== "idle") {
      this.#refuseBusy(causes[0]);
      return;
    }
    if (this.unmet().length > 0) {
      this.#refuseUnmet(causes[0], "the start pulse is lost");
      return;
    }
    for (const { device } of this.process.needs) {
      const move = this.#devices.get(device)?.lastMove;
      if (move !== undefined) this.#world.log.reliedOn(2 * move + 1, this.#world.queue.now);
    }
    this.#begin(causes);
  }

  #refuseBusy(cause: Cause | undefined): void {
    report(this.#world, {
      code: "process-already-running",
      severity: "warning",
      stepId: this.#world.log.stepOf(cause),
      subject: this.process.name,
      message: `${this.process.name} is asked to start while it still runs; the start is lost.`,
      mend: `Await its completion${this.process.done === undefined ? "" : ` (${this.process.done.signal})`} before starting it again.`,
    });
  }

  #refuseUnmet(cause: Cause | undefined, because: string): void {
    report(this.#world, {
      code: "process-needs-not-met",
      severity: "error",
      stepId: this.#world.log.stepOf(cause),
      subject: this.process.name,
      message: `${this.process.name} does not start: ${this.unmet().join(", ") || "its needs were not met"}; ${because}.`,
      mend: "Await the needed positions before giving the start signal.",
    });
  }

  #begin(causes: readonly (Cause | undefined)[]): void {
    const { board, queue, log } = this.#world;
    const { done, running, before, machine } = this.process;
    const cause = latest(this.#world, causes);
    this.#stepId = log.stepOf(causes[0]);
    this.state = "before";
    this.engagements.push({ machine, start: queue.now, end: Number.NaN });
    if (done !== undefined && done.style === "until start") board.set(done.signal, false, cause);
    if (running !== undefined) board.set(running, true, cause);
    this.#move(before, 0, causes, (c) => this.#run(c));
  }

  /** Moves the machine's own devices one after the other, then goes on. */
  #move(
    list: Process["before"],
    index: number,
    causes: readonly (Cause | undefined)[],
    then: (causes: readonly (Cause | undefined)[]) => void,
  ): void {
    const wanted = list[index];
    if (wanted === undefined) {
      then(causes);
      return;
    }
    const run = this.#devices.get(wanted.device);
    const go = (c: readonly (Cause | undefined)[]) => this.#move(list, index + 1, c, then);
    if (run === undefined || run.at === wanted.position) {
      go(run?.lastMove === undefined ? causes : [...causes, endOf(run.lastMove)]);
      return;
    }
    const arrived = (move: DeviceMove) => {
      run.onArrive.splice(run.onArrive.indexOf(arrived), 1);
      go(own ? [endOf(move.activity)] : [...causes, endOf(move.activity)]);
    };
    const own = run.target !== wanted.position;
    run.moveTo(wanted.position, causes, true);
    run.onArrive.push(arrived);
  }

  #run(causes: readonly (Cause | undefined)[]): void {
    const { queue, log, pace } = this.#world;
    this.state = "running";
    this.#checkPart();
    const range = this.#time();
    const activity = log.open(
      {
        lane: this.process.name,
        kind: "process",
        label: this.process.name,
        stepId: this.#stepId,
        pass: this.#world.pass(),
        start: queue.now,
      },
      causes,
    );
    queue.schedule(queue.now + (range === undefined ? 0 : timeAt(range, pace)), RANK.device, () => {
      log.close(activity, queue.now);
      const { makes, after } = this.process;
      const token = this.#token();
      if (token !== undefined && makes !== undefined) this.#world.stock.restage(token, makes);
      this.state = "after";
      this.#move(after, 0, [endOf(activity)], (c) => this.#complete(c));
    });
  }

  #complete(causes: readonly (Cause | undefined)[]): void {
    const { board, queue } = this.#world;
    const { done, running } = this.process;
    const cause = latest(this.#world, causes);
    this.state = "idle";
    this.engagements.at(-1)!.end = queue.now;
    if (running !== undefined) board.set(running, false, cause);
    if (done === undefined) return;
    board.set(done.signal, true, cause);
    const turn = ++this.#completions;
    if (done.style === "pulse")
      queue.schedule(queue.now + done.width, RANK.device, () => {
        if (turn === this.#completions) board.set(done.signal, false, later(cause, done.width));
      });
  }

  #token() {
    return this.#holder && this.#world.stock.at({ holder: this.#holder.name, place: 0 });
  }

  #time(): TimeRange | undefined {
    const { cell, variant } = this.#world;
    const part = cell.parts.get(this.#token()?.part ?? variant);
    const range = part?.processTimes.get(this.process.name) ?? this.process.time;
    if (range === undefined)
      report(this.#world, {
        code: "process-without-time",
        severity: "error",
        stepId: this.#stepId,
        subject: this.process.name,
        message: `${this.process.name} has no time for the part ${part?.name ?? variant}; it is taken as 0 s.`,
        mend: `State a time for ${this.process.name}, or in the part's process times.`,
      });
    return range;
  }

  /** What a machine cannot know about the part that it starts to work on. */
  #checkPart(): void {
    const holder = this.#holder;
    if (holder === undefined) return;
    const token = this.#token();
    const problem = (code: string, severity: "error" | "warning", message: string, mend: string) =>
      report(this.#world, { code, severity, stepId: this.#stepId, subject: this.process.name, message, mend });
    if (token === undefined) {
      problem(
        "process-without-part",
        "warning",
        `${this.process.name} runs with no part in ${holder.name}.`,
        "Start it only after a part has been freed there, for instance inside a `when`.",
      );
      return;
    }
    const gripper = this.#world.stock.gripperOf(token);
    if (gripper !== undefined)
      problem(
        "process-while-held",
        "error",
        `${this.process.name} starts while ${gripper} still holds the part in ${holder.name}.`,
        "Free the part and move the arm clear before starting.",
      );
    const clamp = holder.device === undefined ? undefined : this.#devices.get(holder.device);
    if (clamp?.device.clamps !== undefined && clamp.at !== clamp.device.clamps)
      problem(
        "process-unclamped",
        "error",
        `${this.process.name} starts while ${clamp.device.name} ${clamp.at === undefined ? `still moves to ${clamp.target}` : `is ${clamp.at}`}: the part is not clamped.`,
        `Clamp first, and list ${clamp.device.name}: ${clamp.device.clamps} under needs.`,
      );
  }

  #needLost(move: DeviceMove, position: string): void {
    if (move.from !== position || this.state === "idle" || move.byMachine) return;
    const engaged = this.engagements.at(-1)!;
    report(this.#world, {
      code: "need-lost",
      severity: "error",
      stepId: move.stepId,
      subject: this.process.name,
      message: `${move.device.device.name} leaves ${position} ${inSeconds(this.#world.queue.now - engaged.start)} after ${this.process.name} was started and before it was complete.`,
      mend: `Await the completion of ${this.process.name} before moving ${move.device.device.name}.`,
    });
  }
}

/** The cause that was last. */
function latest(world: World, causes: readonly (Cause | undefined)[]): Cause | undefined {
  let best: Cause | undefined;
  let bestAt = Number.NEGATIVE_INFINITY;
  for (const cause of causes) {
    if (cause === undefined) continue;
    const draft = world.log.drafts[cause.event >> 1]!;
    const at = ((cause.event & 1) === 0 ? draft.start : draft.end) + cause.lag;
    if (at > bestAt) {
      best = cause;
      bestAt = at;
    }
  }
  return best;
}
