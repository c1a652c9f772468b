/**
 * Answers about swept clearance remembered by what they depend on: the motion, the bodies and where they are. The same motion
 * at three paces is measured once, and so is everything that a change of the cell does not touch.
 */
import type { Distance } from "../../clearance/index.ts";
import { RouteMemory } from "../route/memory.ts";
import type { KnownReach } from "./reach.ts";

/** What was found for one stretch of a motion and one set of pairs. */
export interface SweptAnswer {
  /** The least distance lies in [lower, upper], m. Without a pair: above the cutoff, and `upper` is Infinity. */
  readonly lower: number;
  readonly upper: number;
  /** Index of the pair, -1 for none within the cutoff. */
  readonly pair: number;
  /** s from the start of the stretch. */
  readonly time: number;
  readonly share: number;
  /** Base axes. */
  readonly witness: Distance;
  /** Distances above were not asked for, m. */
  readonly cutoff: number;
}

/** Answers kept unless told otherwise; those not asked for longest go first. */
const MOST = 50_000;
/** Names of things kept; then all is forgotten, since answers go by them. */
const MOST_NAMES = 500_000;

export class ClearanceMemory {
  readonly #known = new Map<string, SweptAnswer>();
  readonly #most: number;
  readonly #names = new Map<string, number>();
  #objects = new WeakMap<object, number>();
  #next = 0;

  readonly #reaches = new Map<string, KnownReach>();
  /** Routes found among bodies named here. */
  readonly routes = new RouteMemory();

  /** @param most answers kept, at least 1 */
  constructor(most = MOST) {
    this.#most = most;
  }

  /** Number of answers kept. */
  get size(): number {
    return this.#known.size;
  }

  /** A number that stands for a text, the same as long as the memory lasts. */
  numberOf(text: string): number {
    let known = this.#names.get(text);
    if (known === undefined) {
      known = this.#next++;
      this.#names.set(text, known);
    }
    return known;
  }

  /** A number that stands for one object. */
  numberOfObject(object: object): number {
    let known = this.#objects.get(object);
    if (known === undefined) {
      known = this.#next++;
      this.#objects.set(object, known);
    }
    return known;
  }

  /** Called between two checks: keeps what names things from growing without end. */
  tidy(): void {
    if (this.#names.size <= MOST_NAMES) return;
    this.#names.clear();
    this.#known.clear();
    this.#reaches.clear();
    this.routes.clear();
    this.#objects = new WeakMap();
  }

  /** What is known of where bodies get to, under a key that names motion, bodies and margin. */
  reach(key: string): KnownReach {
    const known = this.#reaches.get(key) ?? { whole: undefined, near: new Map(), eachOther: new Map() };
    this.#reaches.delete(key);
    this.#reaches.set(key, known);
    if (this.#reaches.size > this.#most) this.#reaches.delete(this.#reaches.keys().next().value!);
    return known;
  }

  /** The answer under the key if it tells distances up to the cutoff, else what `measure` gives. */
  recall(key: string, cutoff: number, measure: () => SweptAnswer): SweptAnswer {
    const known = this.#known.get(key);
    // What was found is the least of all; that nothing was found holds up to the cutoff of then.
    const answer = known !== undefined && (known.pair >= 0 || known.cutoff >= cutoff) ? known : measure();
    this.#known.delete(key);
    this.#known.set(key, answer);
    if (this.#known.size > this.#most) this.#known.delete(this.#known.keys().next().value!);
    if (answer.pair >= 0 && answer.upper <= cutoff) return answer;
    // Told as if it had been asked for just now, so that answers do not depend on questions before.
    return { ...answer, lower: Math.min(answer.lower, cutoff), upper: Number.POSITIVE_INFINITY, pair: -1, cutoff };
  }
}
