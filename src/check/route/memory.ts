/** Found routes remembered by everything that they depend on: they are dear to search for. */
import type { MotionOutcome } from "../../motion/index.ts";
import type { RetreatOutcome, RouteOutcome } from "../../route/index.ts";

/** Routes, and motions along them, kept; those not asked for longest go first. */
const MOST = 5_000;

export class RouteMemory {
  readonly #routes = new Map<string, RouteOutcome>();
  readonly #motions = new Map<string, MotionOutcome>();
  readonly #retreats = new Map<string, RetreatOutcome>();
  /** Routes that had to be searched for. */
  searches = 0;

  route(key: string, search: () => RouteOutcome): RouteOutcome {
    return recall(
      this.#routes,
      key,
      () => {
        this.searches++;
        return search();
      },
      (outcome) => outcome.ok || outcome.reason !== "cancelled",
    );
  }

  motion(key: string, make: () => MotionOutcome): MotionOutcome {
    return recall(this.#motions, key, make, () => true);
  }

  retreats(key: string, suggest: () => RetreatOutcome): RetreatOutcome {
    return recall(this.#retreats, key, suggest, () => true);
  }

  clear(): void {
    this.#retreats.clear();
    this.#routes.clear();
    this.#motions.clear();
  }
}

function recall<T>(known: Map<string, T>, key: string, make: () => T, keep: (made: T) => boolean): T {
  const value = known.get(key) ?? make();
  known.delete(key);
  if (keep(value)) known.set(key, value);
  if (known.size > MOST) known.delete(known.keys().next().value!);
  return value;
}
