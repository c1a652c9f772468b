/**
 * Where the devices of a cell may stand at each motion of a run, whatever times within their stated ranges devices, processes and
 * people take.
 *
 * The routine is followed in the order in which the run performed it. From the step that commands it a device may stand anywhere
 * between where it may have been and where it is sent, until it is known to have arrived: its feedback has been awaited, or the arm
 * has since spent at least its longest time in motions, dwells and pulses (waiting counts as no time). A device that a process
 * of its machine moves may stand anywhere between the positions concerned from the start signal on until the completion
 * has been awaited. A device keeps to the stretches between its stated positions.
 *
 * Not considered: faults, and that other times may lead the routine another way at a branch on a signal.
 */
import type { Cell, Device } from "../../cell/model.ts";
import type { SignalCondition, Step } from "../../cell/steps.ts";
import { TIME_TOLERANCE } from "../pace.ts";
import type { CycleRun } from "../run.ts";
import type { Activity } from "../types.ts";
import { devicesOf } from "../world.ts";
import { DeviceTrack, type Stretch, type Whereabouts } from "./device-track.ts";
import { Outputs } from "./outputs.ts";
import { ProcessTrack } from "./process-track.ts";

/** By device. The same map while nothing changes. */
export type Situation = ReadonlyMap<string, Whereabouts>;

/** The arm stands still while devices move. */
export interface Standing {
  /** Index of the move before; -1: the arm has not moved yet. */
  readonly after: number;
  /** Only devices that pass through places where they are at neither of the moves before and after. */
  readonly situation: Situation;
}

export interface RunWhereabouts {
  /** For each move of the run, for each of its steps. */
  readonly moves: readonly (readonly Situation[])[];
  readonly standing: readonly Standing[];
}

/**
 * @param runs the run that is followed, and others of the same routine: a start signal that one of them shows to be refused counts
 * as doubtful
 * @param tracked the devices to follow; default: those whose shapes stand elsewhere in another position
 */
export function whereaboutsOf<F>(
  cell: Cell,
  [run, ...others]: readonly [CycleRun<F>, ...CycleRun<F>[]],
  tracked = movesShapes,
): RunWhereabouts {
  const { scan } = cell.controller;
  const devices = new Map(
    devicesOf(cell)
      .filter(tracked)
      .map((device) => [device.name, new DeviceTrack(device, scan)]),
  );
  const tracks = [...devices.values()];
  const processes = [...cell.machines.values()]
    .flatMap((machine) => machine.processes)
    .map((process) => new ProcessTrack(process, devices, scan))
    .filter((process) => process.movesSomething);
  const outputs = new Outputs(cell, tracks, processes, doubtfulStarts([run, ...others]));
  const steps = stepsById(cell);

  let known: Situation = new Map();
  const situation = (): Situation => {
    if (known.size !== tracks.length || tracks.some((t) => known.get(t.device.name) !== t.now))
      known = new Map(tracks.map((t) => [t.device.name, t.now]));
    return known;
  };
  const pass = (seconds: number) => {
    for (const track of tracks) track.pass(seconds);
    for (const process of processes) process.pass(seconds);
  };
  const see = (condition: SignalCondition) => {
    for (const { signal, is } of surely(condition)) {
      for (const process of processes) process.seen(signal, is);
      if (is)
        for (const track of tracks)
          for (const [position, feedback] of track.device.feedback) if (feedback === signal) track.seen(position);
    }
  };

  const moves: Situation[][] = [];
  const still = new StillWatch();
  still.look(situation());
  const first = new Map(run.moves.map((move, index) => [move.activity, index]));
  const perform = (activity: Activity, step: Step) => {
    const took = activity.end - activity.start;
    switch (step.kind) {
      case "go":
      case "press": {
        const index = first.get(activity.index);
        if (index !== undefined) {
          still.end(situation());
          moves[index] = [];
        }
        moves.at(-1)?.push(situation());
        pass(step.kind === "go" ? took : step.time);
        still.begin(moves.length - 1, situation());
        break;
      }
      case "dwell":
        pass(took);
        break;
      case "drive":
        outputs.set({ signal: step.signal, level: step.to, stepId: step.id, time: activity.start });
        break;
      case "pulse":
        outputs.set({ signal: step.signal, level: true, stepId: step.id, time: activity.start, lasts: step.width });
        still.look(situation());
        pass(step.width);
        outputs.set({ signal: step.signal, level: false, stepId: step.id, time: activity.end });
        break;
      case "await":
        if (step.limit === undefined || took < step.limit - TIME_TOLERANCE) see(step.condition);
        break;
    }
    still.look(situation());
  };
  for (const activity of run.activities) {
    const step = activity.lane === "arm" ? steps.get(activity.stepId ?? "") : undefined;
    if (step !== undefined) perform(activity, step);
  }
  still.end(undefined);
  return { moves, standing: still.found };
}

/** Whether the device's shapes stand elsewhere in another position. */
function movesShapes({ shapes, worldFromShapes }: Device): boolean {
  const [one, ...others] = worldFromShapes.values();
  return shapes.length > 0 && others.some((other) => other.some((value, i) => Math.abs(value - one![i]!) > 1e-12));
}

/** Gathers where devices are while the arm stands. */
class StillWatch {
  readonly found: Standing[] = [];
  #after = -1;
  #before: Situation | undefined;
  readonly #seen = new Map<string, Map<string, Whereabouts>>();

  begin(after: number, now: Situation): void {
    this.#after = after;
    this.#before = now;
    this.#seen.clear();
  }

  look(now: Situation): void {
    for (const [name, at] of now) {
      let own = this.#seen.get(name);
      if (own === undefined) {
        own = new Map();
        this.#seen.set(name, own);
      }
      const key = at.stretches.map(stretchKey).join();
      if (!own.has(key)) own.set(key, at);
    }
  }

  end(then: Situation | undefined): void {
    const passed = new Map<string, Whereabouts>();
    for (const [name, own] of this.#seen) {
      const covered = new Set([this.#before, then].flatMap((s) => s?.get(name)?.stretches.flatMap(coveredBy) ?? []));
      for (const at of own.values()) {
        const stretches = at.stretches.filter((s) => !covered.has(stretchKey(s)));
        if (stretches.length === 0) continue;
        const known = passed.get(name);
        const all = [...(known?.stretches ?? []), ...stretches];
        passed.set(name, {
          stretches: all.filter((s, i) => all.findIndex((o) => stretchKey(o) === stretchKey(s)) === i),
          target: known?.target ?? at.target,
          sentBy: known?.sentBy ?? at.sentBy,
        });
      }
    }
    if (passed.size > 0) this.found.push({ after: this.#after, situation: passed });
  }
}

export const stretchKey = ({ from, to }: Stretch): string => `${from}|${to}`;
/** A stretch covers its ends. */
const coveredBy = (stretch: Stretch): string[] => [
  stretchKey(stretch),
  `${stretch.from}|${stretch.from}`,
  `${stretch.to}|${stretch.to}`,
];

/** Levels that hold for certain when a condition does. */
function surely(condition: SignalCondition): readonly { readonly signal: string; readonly is: boolean }[] {
  if (condition.kind === "signal") return [condition];
  if (condition.kind === "all" || condition.of.length === 1) return condition.of.flatMap(surely);
  return [];
}

/** Steps whose start signal a process refused in the run. */
function doubtfulStarts<F>(runs: readonly CycleRun<F>[]): Set<string> {
  const codes = new Set(["process-needs-not-met", "process-already-running", "pulse-too-short", "pulses-too-close"]);
  return new Set(runs.flatMap(({ problems }) => problems.filter(({ code }) => codes.has(code)).map((p) => p.stepId)));
}

function stepsById(cell: Cell): Map<string, Step> {
  const all = new Map<string, Step>();
  const visit = (steps: readonly Step[]): void => {
    for (const step of steps) {
      all.set(step.id, step);
      if (step.kind === "each") visit(step.steps);
      if (step.kind === "when") {
        visit(step.then);
        visit(step.otherwise);
      }
    }
  };
  for (const routine of cell.routines.values()) visit(routine.steps);
  return all;
}
