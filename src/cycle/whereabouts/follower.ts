/** Follows a routine step by step and tells where devices may stand: in a run that is over, or in one that is being made. */
import { devicesOf, processesOf } from "../../cell/equipment.ts";
import type { Cell, Device } from "../../cell/model.ts";
import type { SignalCondition, Step } from "../../cell/steps.ts";
import { TIME_TOLERANCE } from "../pace.ts";
import { DeviceTrack, type Whereabouts } from "./device-track.ts";
import { Outputs } from "./outputs.ts";
import { ProcessTrack } from "./process-track.ts";

/** By device. The same map while nothing changes. */
export type Situation = ReadonlyMap<string, Whereabouts>;

/** Problems that show that a start signal may be refused. */
export const REFUSALS: ReadonlySet<string> = new Set([
  "process-needs-not-met",
  "process-already-running",
  "pulse-too-short",
  "pulses-too-close",
]);

export class WhereaboutsFollower {
  readonly #tracks: readonly DeviceTrack[];
  readonly #processes: readonly ProcessTrack[];
  readonly #outputs: Outputs;
  #known: Situation = new Map();

  /**
   * @param doubtful steps whose start signal may be refused; asked when the step is performed
   * @param tracked the devices to follow; default: those whose shapes stand elsewhere in another position
   */
  constructor(cell: Cell, doubtful: Pick<ReadonlySet<string>, "has">, tracked = movesShapes) {
    const { scan } = cell.controller;
    const devices = new Map(
      devicesOf(cell)
        .filter(tracked)
        .map((device) => [device.name, new DeviceTrack(device, scan)]),
    );
    this.#tracks = [...devices.values()];
    this.#processes = processesOf(cell)
      .map((process) => new ProcessTrack(process, devices, scan))
      .filter((process) => process.movesSomething);
    this.#outputs = new Outputs(cell, this.#tracks, this.#processes, doubtful);
  }

  /** Where devices may stand now. */
  get now(): Situation {
    const tracks = this.#tracks;
    if (this.#known.size !== tracks.length || tracks.some((t) => this.#known.get(t.device.name) !== t.now))
      this.#known = new Map(tracks.map((t) => [t.device.name, t.now]));
    return this.#known;
  }

  /**
   * The arm has performed a step from one time of the run to another.
   * @param within called while a pulse is on
   */
  perform(step: Step, start: number, end: number, within?: () => void): void {
    const took = end - start;
    switch (step.kind) {
      case "go":
        this.#pass(took);
        break;
      case "press":
        this.#pass(step.time);
        break;
      case "dwell":
        this.#pass(took);
        break;
      case "drive":
        this.#outputs.set({ signal: step.signal, level: step.to, stepId: step.id, time: start });
        break;
      case "pulse":
        this.#outputs.set({ signal: step.signal, level: true, stepId: step.id, time: start, lasts: step.width });
        within?.();
        this.#pass(step.width);
        this.#outputs.set({ signal: step.signal, level: false, stepId: step.id, time: end });
        break;
      case "await":
        if (step.limit === undefined || took < step.limit - TIME_TOLERANCE) this.#see(step.condition);
        break;
    }
  }

  #pass(seconds: number): void {
    for (const track of this.#tracks) track.pass(seconds);
    for (const process of this.#processes) process.pass(seconds);
  }

  #see(condition: SignalCondition): void {
    for (const { signal, is } of surely(condition)) {
      for (const process of this.#processes) process.seen(signal, is);
      if (is)
        for (const track of this.#tracks)
          for (const [position, feedback] of track.device.feedback) if (feedback === signal) track.seen(position);
    }
  }
}

/** Whether the device's shapes stand elsewhere in another position. */
function movesShapes({ shapes, worldFromShapes }: Device): boolean {
  const [one, ...others] = worldFromShapes.values();
  return shapes.length > 0 && others.some((other) => other.some((value, i) => Math.abs(value - one![i]!) > 1e-12));
}

/** Levels that hold for certain when a condition does. */
function surely(condition: SignalCondition): readonly { readonly signal: string; readonly is: boolean }[] {
  if (condition.kind === "signal") return [condition];
  if (condition.kind === "all" || condition.of.length === 1) return condition.of.flatMap(surely);
  return [];
}
