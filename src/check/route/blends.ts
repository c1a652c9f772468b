/** Blends as large as stays clear: corners are rounded wide first, and the one that comes too near is drawn in. */
import type { Metres, Seconds } from "../../math/units.ts";
import type { Motion, MotionFailure, MotionOutcome } from "../../motion/index.ts";

/** By how much a blend is drawn in at a time. */
const SHRINK = 0.6;
/** Blends below this are left out, m. */
const LEAST_BLEND = 0.001;

export type BlendOutcome =
  | { readonly ok: true; readonly motion: Motion /** As planned with. */; readonly blends: readonly Metres[] }
  /** It comes too near at a time even with the corners in question not rounded. */
  | { readonly ok: false; readonly nearAt: Seconds }
  | { readonly ok: false; readonly failure: MotionFailure };

/**
 * @param plan the motion with these blends at the ends of its segments
 * @param wanted largest blends, m
 * @param near time at which the motion comes too near to something; undefined: it is certified clear
 * @returns the motion with the first blends that are certified; a corner is halted at only where every smaller blend failed
 */
export function fitBlends(
  plan: (blends: readonly Metres[]) => MotionOutcome,
  wanted: readonly Metres[],
  near: (motion: Motion) => Seconds | undefined,
): BlendOutcome {
  const blends = [...wanted];
  for (;;) {
    const outcome = plan(blends);
    if (!outcome.ok) return { ok: false, failure: outcome.failure };
    const { motion } = outcome;
    const time = near(motion);
    if (time === undefined) return { ok: true, motion, blends };
    const corner = nearestCorner(motion, blends, time);
    if (corner < 0) return { ok: false, nearAt: time };
    const smaller = SHRINK * Math.min(blends[corner]!, motion.blends?.[corner] ?? blends[corner]!);
    blends[corner] = smaller < LEAST_BLEND ? 0 : smaller;
  }
}

/** The rounded corner that is passed nearest to a time; -1 when none is rounded. */
function nearestCorner({ segmentEnds, blends: used }: Motion, blends: readonly Metres[], time: Seconds): number {
  let best = -1;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i + 1 < segmentEnds.length; i++) {
    if (!(blends[i]! > 0) || used?.[i] === 0) continue;
    const away = Math.abs(segmentEnds[i]! - time);
    if (away < least) {
      least = away;
      best = i;
    }
  }
  return best;
}
