/** The motion of a move in a run, as the clearance floor wants it. */
import type { SweptMotion } from "../../clearance/index.ts";
import type { MoveRecord } from "../../cycle/index.ts";
import { type MotionFailure, sweptMotionOf } from "../../motion/index.ts";
import { isPlanned } from "../mover.ts";

export interface SweptMove {
  /** Stands for the motion. */
  readonly object: object;
  readonly swept: SweptMotion;
  /** End of each step, s. */
  readonly ends: readonly number[];
  readonly targets: readonly string[];
}

/** The planned motion of a move; undefined where there is none. */
export function sweptOf({ outcome }: MoveRecord<MotionFailure>): SweptMove | undefined {
  if (!outcome.ok) return undefined;
  const { motion, approach } = outcome;
  if (isPlanned(motion))
    return {
      object: motion.motion,
      swept: sweptMotionOf(motion.motion),
      ends: motion.motion.segmentEnds,
      targets: motion.targets,
    };
  if (!isPlanned(approach)) return undefined;
  return {
    object: approach.motion,
    swept: sweptMotionOf(approach.motion),
    ends: [approach.motion.duration],
    targets: approach.targets,
  };
}
