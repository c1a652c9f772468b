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
import { stepsById } from "../../cell/step-walk.ts";
import type { CycleRun } from "../run.ts";
import type { Stretch, Whereabouts } from "./device-track.ts";
import { REFUSALS, type Situation, WhereaboutsFollower } from "./follower.ts";

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
  tracked?: (device: Device) => boolean,
): RunWhereabouts {
  const follower = new WhereaboutsFollower(cell, doubtfulStarts([run, ...others]), tracked);
  const steps = stepsById(cell);
  const moves: Situation[][] = [];
  const still = new StillWatch();
  still.look(follower.now);
  const first = new Map(run.moves.map((move, index) => [move.activity, index]));
  for (const activity of run.activities) {
    const step = activity.lane === "arm" ? steps.get(activity.stepId ?? "") : undefined;
    if (step === undefined) continue;
    const moving = step.kind === "go" || step.kind === "press";
    if (moving) {
      const index = first.get(activity.index);
      if (index !== undefined) {
        still.end(follower.now);
        moves[index] = [];
      }
      moves.at(-1)?.push(follower.now);
    }
    follower.perform(step, activity.start, activity.end, () => still.look(follower.now));
    if (moving) still.begin(moves.length - 1, follower.now);
    still.look(follower.now);
  }
  still.end(undefined);
  return { moves, standing: still.found };
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

/** Steps whose start signal a process refused in the run. */
function doubtfulStarts<F>(runs: readonly CycleRun<F>[]): Set<string> {
  return new Set(
    runs.flatMap(({ problems }) => problems.filter(({ code }) => REFUSALS.has(code)).map((p) => p.stepId)),
  );
}
