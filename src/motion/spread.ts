/**
 * A planned motion as swept clearance wants it: joint values at a time, and bounds of them between two times.
 *
 * The bounds come from what the motion is made of, not from limits or samples. Along a run the path parameter s(t) never
 * falls, so between two times the arm is on the stretch between s at one and s at the other; over that stretch each
 * joint is a few polynomials, whose values are enclosed by their expansion about the middle (path/septic). Widened by
 * what evaluating s and the polynomials may round.
 */
import type { SweptMotion } from "../clearance/index.ts";
import type { RunPath } from "./path/run-path.ts";
import type { TimedRun } from "./timed-run.ts";
import type { Motion } from "./types.ts";

/** A run and the time at which it begins. */
export interface MovingRun {
  readonly path: RunPath;
  readonly timed: TimedRun;
  readonly from: number;
}

/** Rounding of s, as a share of the path, and of joint values, rad or m. */
const PATH_ROUNDING = 1e-10;
const JOINT_ROUNDING = 1e-12;

/** The motion's joint values over time with exact bounds, for `createSweptScene`. */
export const sweptMotionOf = (motion: Motion): SweptMotion => motion.swept;

/** @param end joint values of a motion without runs   @param duration s */
export function sweptRuns(runs: readonly MovingRun[], end: Float64Array, duration: number): SweptMotion {
  const n = end.length;
  const along = new Float64Array(4);
  const middle = new Float64Array(n);
  const low = new Float64Array(n);
  const high = new Float64Array(n);

  const parameterAt = ({ path, timed, from }: MovingRun, time: number): number => {
    timed.at(Math.min(Math.max(time - from, 0), timed.duration), along);
    return Math.min(Math.max(along[0], 0), path.length);
  };

  const position = (time: number, q: Float64Array): void => {
    if (runs.length === 0) {
      q.set(end);
      return;
    }
    let k = 0;
    while (k + 1 < runs.length && time >= runs[k + 1].from) k++;
    runs[k].path.value(parameterAt(runs[k], time), q);
  };

  return {
    duration,
    position,
    spread(from, to, out) {
      position((from + to) / 2, middle);
      low.set(middle);
      high.set(middle);
      for (let k = 0; k < runs.length; k++) {
        const run = runs[k];
        if (run.from + run.timed.duration < from || run.from > to) continue;
        const wider = PATH_ROUNDING * run.path.length;
        const a = Math.max(0, parameterAt(run, from) - wider);
        const b = Math.min(run.path.length, parameterAt(run, to) + wider);
        run.path.enclose(a, b, low, high);
      }
      for (let i = 0; i < n; i++) out[i] = Math.max(high[i] - middle[i], middle[i] - low[i]) + JOINT_ROUNDING;
    },
  };
}
