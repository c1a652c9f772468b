/** Swept distances of pairs of elements, each answer remembered. */
import type { Arm } from "../../arm/index.ts";
import { createSweptScene, type SweptMotion } from "../../clearance/index.ts";
import type { Element } from "./elements.ts";
import type { ClearanceMemory, SweptAnswer } from "./memory.ts";
import { placed } from "./moving-scene.ts";

/** A body carried by the arm and another one. */
export type ElementPair = readonly [carried: Element, other: Element];

/** A stretch of a motion, with a text that stands for it and for the arm that makes it. */
export interface MotionStretch {
  readonly key: string;
  readonly motion: SweptMotion;
}

/** How closely a distance is told, m. */
const TOLERANCE = 0.0002;
/** States after which a question is left as far as it has come: bodies of kilometres are not followed to a fraction of a millimetre. */
const MOST_STATES = 5000;
/** An overlap deeper than this is deep enough, m: how deep exactly is not looked for. */
const DEEP = 0.05;

export interface SweptMeter {
  /** Least distance of the pairs, told up to the cutoff (m); `pair` is an index into `pairs`. */
  least(stretch: MotionStretch, pairs: readonly ElementPair[], cutoff: number, tolerance?: number): SweptAnswer;
  /** Answers that had to be computed, the states looked at for them, and the most for one. */
  readonly work: { readonly answers: number; readonly states: number; readonly most: number };
}

export function createSweptMeter(arm: Arm, memory: ClearanceMemory): SweptMeter {
  const work = { answers: 0, states: 0, most: 0 };
  return {
    work,
    least(stretch, pairs, cutoff, tolerance = TOLERANCE) {
      const key = `${stretch.key}|${tolerance}|${pairs.map(([a, b]) => `${a.id}-${b.id}`).join()}`;
      return memory.recall(key, cutoff, () => {
        const index = new Map<Element, number>();
        const elements: Element[] = [];
        const indexOf = (element: Element) => {
          let at = index.get(element);
          if (at === undefined) {
            at = elements.push(element) - 1;
            index.set(element, at);
          }
          return at;
        };
        const indices = pairs.map(([a, b]) => [indexOf(a), indexOf(b)] as const);
        const { bodies, slides } = placed(elements);
        const found = createSweptScene(arm, bodies, slides, indices).minimum(stretch.motion, {
          tolerance,
          cutoff,
          states: MOST_STATES,
          enough: -DEEP,
        });
        work.answers++;
        work.states += found.states;
        work.most = Math.max(work.most, found.states);
        const { upper, pair, time, share, witness } = found;
        // No overlap is deeper than both bodies together are wide.
        const deepest = Math.max(...pairs.map(([a, b]) => a.body.bound + b.body.bound));
        return { lower: Math.max(found.lower, -deepest), upper, pair, time, share, witness, cutoff };
      });
    },
  };
}

/** The part of a motion between two times. */
export function between(motion: SweptMotion, from: number, to: number): SweptMotion {
  return {
    duration: to - from,
    position: (time, q) => motion.position(from + time, q),
    spread: (a, b, out) => motion.spread(from + a, from + b, out),
  };
}
