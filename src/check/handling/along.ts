/** Walks the motions of runs moment by moment: joint values, speeds and accelerations, and where in which step that is. */
import type { CycleRun, MoveContext } from "../../cycle/index.ts";
import type { Motion, MotionFailure } from "../../motion/index.ts";
import { movesMade } from "../mover.ts";
import type { MomentReport } from "./report.ts";

/** Sampling along a motion, s; within these numbers of samples, however long it lasts. */
const STEP = 0.02;
const LEAST_SAMPLES = 32;
const MOST_SAMPLES = 4096;

/** Number of pieces of equal time that a motion is looked at in. */
export const piecesOf = (motion: Pick<Motion, "duration">): number =>
  Math.min(MOST_SAMPLES, Math.max(LEAST_SAMPLES, Math.ceil(motion.duration / STEP)));

export interface MotionState {
  readonly q: Float64Array;
  readonly qd: Float64Array;
  readonly qdd: Float64Array;
}

export interface WalkedMotion {
  readonly context: MoveContext;
  /** Calls back for each sampled moment with the state, which is reused. */
  walk(look: (state: MotionState, time: number) => void): void;
  /** Step and time into it of a time in the motion. */
  momentAt(time: number): MomentReport;
}

/** Every motion that was planned, each once. */
export function* walkedMotions(n: number, runs: readonly CycleRun<MotionFailure>[]): Generator<WalkedMotion> {
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  for (const { steps, context, move } of movesMade(runs)) {
    const { motion } = move;
    yield {
      context,
      walk(look) {
        const pieces = piecesOf(motion);
        for (let k = 0; k <= pieces; k++) {
          const time = (motion.duration * k) / pieces;
          motion.sample(time, state);
          look(state, time);
        }
      },
      momentAt(time) {
        const ends = motion.segmentEnds;
        let i = 0;
        while (i < ends.length - 1 && time > ends[i]!) i++;
        return { step: steps[i]!.id, time_s: time - (i === 0 ? 0 : ends[i - 1]!), variant: context.variant };
      },
    };
  }
}
