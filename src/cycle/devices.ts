/** Devices in motion: two- and multi-position actuators commanded by outputs or moved by a process of their machine. */
import type { Device } from "../cell/model.ts";
import { type Cause, endOf, startOf } from "./log.ts";
import { TIME_TOLERANCE, timeAt } from "./pace.ts";
import { inSeconds } from "./problems.ts";
import { watchPulses } from "./pulse-watch.ts";
import { type QueuedEvent, RANK } from "./queue.ts";
import type { DeviceState } from "./run.ts";
import { report, type World } from "./world.ts";

export interface DeviceMove {
  readonly device: DeviceRun;
  /** Position left; undefined when it was between positions. */
  readonly from: string | undefined;
  readonly to: string;
  readonly activity: number;
  readonly stepId: string | undefined;
  /** Moved by a process of its machine, not by the controller. */
  readonly byMachine: boolean;
}

export class DeviceRun {
  readonly device: Device;
  /** Position where it stands; undefined while it moves. */
  at: string | undefined;
  /** Position where it stands or to which it moves. */
  target: string;
  /** Activity of the present or last movement. */
  lastMove: number | undefined;
  readonly states: DeviceState[];
  readonly #world: World;
  #arrival: QueuedEvent | undefined;
  /** Told when a movement begins and when it has ended, in this order of adding. */
  readonly onLeave: ((move: DeviceMove) => void)[] = [];
  readonly onArrive: ((move: DeviceMove) => void)[] = [];

  constructor(world: World, device: Device) {
    this.#world = world;
    this.device = device;
    this.at = device.start;
    this.target = device.start;
    this.states = [{ time: 0, at: device.start, towards: device.start }];
    const feedback = device.feedback.get(device.start);
    for (const signal of device.feedback.values()) world.board.preset(signal, signal === feedback);
  }

  /** Longest time of a movement to the position, s. */
  worst(position: string): number {
    return this.device.time.get(position)?.max ?? 0;
  }

  moveTo(position: string, causes: readonly (Cause | undefined)[], byMachine = false): void {
    if (position === this.target) return;
    const { log, queue, board, pace } = this.#world;
    const now = queue.now;
    const stepId = causes.map((c) => log.stepOf(c)).find((id) => id !== undefined);
    const from = this.at;
    if (this.#arrival !== undefined) this.#interrupt(position, stepId);
    const activity = log.open(
      { lane: this.device.name, kind: "device", label: `to ${position}`, stepId, pass: this.#world.pass(), start: now },
      causes,
    );
    this.at = undefined;
    this.target = position;
    this.lastMove = activity;
    this.states.push({ time: now, at: undefined, towards: position });
    const left = from === undefined ? undefined : this.device.feedback.get(from);
    if (left !== undefined) board.set(left, false, startOf(activity));
    const move: DeviceMove = { device: this, from, to: position, activity, stepId, byMachine };
    for (const told of [...this.onLeave]) told(move);
    const range = this.device.time.get(position);
    this.#arrival = queue.schedule(now + (range === undefined ? 0 : timeAt(range, pace)), RANK.device, () => {
      this.#arrival = undefined;
      this.at = position;
      log.close(activity, queue.now);
      this.states.push({ time: queue.now, at: position, towards: position });
      const reached = this.device.feedback.get(position);
      if (reached !== undefined) board.set(reached, true, endOf(activity));
      for (const told of [...this.onArrive]) told(move);
    });
  }

  #interrupt(position: string, stepId: string | undefined): void {
    const { log, queue } = this.#world;
    this.#arrival!.act = undefined;
    this.#arrival = undefined;
    const draft = log.drafts[this.lastMove!]!;
    log.close(draft.index, queue.now);
    draft.label += " (interrupted)";
    report(this.#world, {
      code: "device-turned-back",
      severity: "warning",
      stepId,
      subject: this.device.name,
      message: `${this.device.name} is sent to ${position} ${inSeconds(queue.now - draft.start)} after it began to move to ${this.target}, before it got there.`,
      mend: `Wait for ${this.target} (its feedback, or a dwell as long as its slowest time) before commanding ${this.device.name} again.`,
    });
  }
}

/** Connects a device to the outputs that command it. */
export function connectDevice(world: World, run: DeviceRun): void {
  const { device } = run;
  const { command } = device;
  const { board } = world;
  switch (command.style) {
    case "level":
      board.listen(command.signal, (level, cause) => run.moveTo(level ? command.on : command.off, [cause]));
      matchStart(world, run, board.level(command.signal) ? command.on : command.off, command.signal);
      break;
    case "pair":
      connectPair(world, run, command.signals);
      break;
    case "pulse":
      for (const [position, signal] of command.signals)
        watchPulses(world, {
          signal,
          width: command.width,
          subject: device.name,
          accept: (cause) => run.moveTo(position, [cause]),
        });
      break;
    case "toggling pulse":
      watchPulses(world, {
        signal: command.signal,
        width: command.width,
        subject: device.name,
        accept: (cause) => {
          const next = (device.positions.indexOf(run.target) + 1) % device.positions.length;
          run.moveTo(device.positions[next]!, [cause]);
        },
      });
      break;
    case "none":
      break;
  }
}

/** One output per position: the one that is on commands; with none on the device stays, with two on it stays and that is a problem. */
function connectPair(world: World, run: DeviceRun, signals: ReadonlyMap<string, string>): void {
  const { board, queue } = world;
  const positionsOn = () => [...signals].filter(([, signal]) => board.level(signal)).map(([position]) => position);
  let conflict: { since: number; stepId: string | undefined; on: readonly string[] } | undefined;
  for (const signal of signals.values()) {
    board.listen(signal, (_level, cause) => {
      const on = positionsOn();
      if (on.length > 1) {
        conflict ??= { since: queue.now, stepId: world.log.stepOf(cause), on };
        // Outputs of one instant are written together: a conflict counts once it outlasts the instant.
        const opened = conflict;
        queue.schedule(queue.now + TIME_TOLERANCE, RANK.device, () => {
          if (conflict === opened) reportConflict(world, run, signals, opened);
        });
        return;
      }
      conflict = undefined;
      if (on.length === 1) run.moveTo(on[0]!, [cause]);
    });
  }
  const on = positionsOn();
  if (on.length === 1) matchStart(world, run, on[0]!, signals.get(on[0]!)!);
  if (on.length > 1) reportConflict(world, run, signals, { stepId: undefined, on });
}

function reportConflict(
  world: World,
  run: DeviceRun,
  signals: ReadonlyMap<string, string>,
  conflict: { stepId: string | undefined; on: readonly string[] },
): void {
  const named = conflict.on.map((position) => `${signals.get(position)} (${position})`).join(" and ");
  report(world, {
    code: "pair-conflict",
    severity: "error",
    stepId: conflict.stepId,
    subject: run.device.name,
    message: `${named} are on together; ${run.device.name} can obey only one of them and is taken to stay as it is.`,
    mend: "Switch the output of the other position off first.",
  });
}

/** A held output that asks for another position than the stated start position moves the device at power-up. */
function matchStart(world: World, run: DeviceRun, wanted: string, signal: string): void {
  const { start, name } = run.device;
  if (wanted === start) return;
  report(world, {
    code: "start-contradicts-output",
    severity: "caution",
    stepId: undefined,
    subject: name,
    message: `${name} is stated to start ${start}, but ${signal} is ${world.board.level(signal) ? "on" : "off"} after power-up, which moves it to ${wanted}.`,
    mend: `State start: ${wanted} for ${name}, or the other initial level for ${signal}.`,
  });
  run.moveTo(wanted, []);
}
