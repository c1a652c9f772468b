/**
 * The period of a run if some of its activities lasted longer or shorter: the longest paths through what had to happen
 * before what, with other durations. Exact as long as the routine does the same things in the same order; a change that makes
 * a different signal come first, or a wait end in its limit, is not followed.
 */
import { ContractError } from "../math/contract-error.ts";
import type { CycleRun } from "./run.ts";

export interface Retiming {
  /**
   * Period, s, with other durations.
   * @param work own time of each activity of the run, s, at least 0; NaN where it stays. Length: number of activities
   */
  period(work: Float64Array): number;
}

/** Prepares a run for questions about other durations. */
export function createRetiming(run: CycleRun<unknown>): Retiming {
  const { network, steady, activities } = run;
  const { time, order, first, to } = network;
  const lag = network.lag.slice();
  const early = new Float64Array(time.length);
  // Events that no other leads to happen when they happened.
  const led = new Uint8Array(time.length);
  for (let k = 0; k < to.length; k++) led[to[k]!] = 1;
  const from = anchorOf(run, steady.start);
  const until = anchorOf(run, steady.end);
  const at = ({ event, after }: Anchor) => (event < 0 ? 0 : early[event]!) + after;
  return {
    period(work) {
      if (work.length !== activities.length)
        throw new ContractError(`period: work must have ${activities.length} values, got ${work.length}`);
      // The first arc out of a start is that of the activity's own work.
      for (let i = 0; i < work.length; i++) {
        const k = first[2 * i]!;
        lag[k] = Number.isNaN(work[i]!) ? network.lag[k]! : work[i]!;
      }
      for (let e = 0; e < early.length; e++) early[e] = led[e] === 1 ? Number.NEGATIVE_INFINITY : time[e]!;
      for (let i = 0; i < order.length; i++) {
        const event = order[i]!;
        const now = early[event]!;
        for (let k = first[event]!; k < first[event + 1]!; k++) {
          const then = now + lag[k]!;
          if (then > early[to[k]!]!) early[to[k]!] = then;
        }
      }
      return (at(until) - at(from)) / steady.parts;
    },
  };
}

interface Anchor {
  /** -1: the start of the run. */
  readonly event: number;
  readonly after: number;
}

/** The end of an activity of the arm that a time stands for: the last one by then. */
function anchorOf({ activities }: CycleRun<unknown>, time: number): Anchor {
  const last = activities.findLast(({ lane, end }) => lane === "arm" && end <= time + 1e-9);
  return last === undefined ? { event: -1, after: time } : { event: 2 * last.index + 1, after: time - last.end };
}
