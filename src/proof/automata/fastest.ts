/**
 * The run to a goal that takes the least time: zones with one more clock, never reset, of which only the least value counts; the
 * zone with the least is followed first. Source: G. Behrmann, A. Fehnker, T. Hune, K. G. Larsen, P. Pettersson, J. Romijn, F. Vaandrager,
 * Minimum-cost reachability for priced timed automata, HSCC 2001.
 */
import { clockBounds, type ObservedClock } from "./clock-bounds.ts";
import type { RuntimeAtom, RuntimeClause } from "./compile.ts";
import type { Session } from "./explore.ts";
import { ModelFault } from "./node.ts";
import { Passed } from "./passed.ts";
import { type PathStep, walk } from "./path.ts";
import { restricted } from "./search.ts";
import { Stepper } from "./stepper.ts";
import { Budget, MemoryLimit } from "./store.ts";

/** Bound of the clock that is never widened. */
const NEVER = 2 ** 28;
/** Latest time that the zones can hold, in their integers. */
const LATEST = 2 ** 28;

/**
 * A path that reaches one of some alternatives in the least time. It is known to exist.
 * @returns undefined when memory, time or the range of numbers does not suffice
 */
export function fastestPath(
  session: Session,
  clauses: readonly RuntimeClause[],
  observed: readonly ObservedClock[],
  diagonals: readonly RuntimeAtom[],
): PathStep[] | undefined {
  const { network, runtime, control } = session;
  const now = network.clocks.length;
  const bounds = clockBounds(network, [...observed, { clock: now, lower: NEVER, upper: NEVER }], 1, false);
  const stepper = new Stepper(runtime, bounds, { diagonals, earliest: now });
  /** Least time of a zone of the stepper's source; larger is later. */
  const leastOf = (zone: Int32Array) => -zone[stepper.sourceRow(now)]!;
  try {
    const passed = new Passed(stepper, new Budget(session.memory));
    const queue = new Queue();
    let from = -1;
    let ordinal = 0;
    stepper.onMove = () => {
      const node = passed.add(from, ordinal++);
      if (node < 0) return;
      const n = stepper.targetCount + 1;
      // The added clock is the last of those active.
      queue.push(-stepper.targetZone[n - 1]!, node);
    };
    stepper.begin();
    let best = Number.POSITIVE_INFINITY;
    let bestNode = -1;
    for (let count = 0; ; count++) {
      const node = queue.pop(best);
      if (node === undefined) break;
      if (count % 1024 === 0) {
        if (control.cancelled?.()) return undefined;
        control.onProgress?.(passed.count, passed.count - count);
      }
      if (!passed.load(node)) continue;
      if (leastOf(stepper.sourceZone) > LATEST) return undefined;
      for (const clause of clauses) {
        const zone = restricted(clause, stepper);
        if (zone === undefined || leastOf(zone) >= best) continue;
        best = leastOf(zone);
        bestNode = node;
      }
      from = node;
      ordinal = 0;
      stepper.expand();
    }
    session.count(passed, 0);
    return bestNode < 0 ? undefined : walk(stepper, passed.wayTo(bestNode));
  } catch (error) {
    if (error instanceof MemoryLimit || error instanceof ModelFault) return undefined;
    throw error;
  }
}

/** Binary heap of numbers by key, then by number. */
class Queue {
  readonly #keys: number[] = [];
  readonly #values: number[] = [];

  push(key: number, value: number): void {
    const keys = this.#keys;
    const values = this.#values;
    let at = keys.length;
    keys.push(key);
    values.push(value);
    while (at > 0) {
      const above = (at - 1) >> 1;
      if (!this.#before(at, above)) break;
      this.#swap(at, above);
      at = above;
    }
  }

  /** The first, unless its key is not below the limit. */
  pop(limit: number): number | undefined {
    const keys = this.#keys;
    if (keys.length === 0 || keys[0]! >= limit) return undefined;
    const first = this.#values[0]!;
    this.#swap(0, keys.length - 1);
    keys.pop();
    this.#values.pop();
    for (let at = 0; ; ) {
      const left = 2 * at + 1;
      if (left >= keys.length) break;
      const child = left + 1 < keys.length && this.#before(left + 1, left) ? left + 1 : left;
      if (!this.#before(child, at)) break;
      this.#swap(child, at);
      at = child;
    }
    return first;
  }

  #before(a: number, b: number): boolean {
    const [ka, kb] = [this.#keys[a]!, this.#keys[b]!];
    return ka < kb || (ka === kb && this.#values[a]! < this.#values[b]!);
  }

  #swap(a: number, b: number): void {
    [this.#keys[a], this.#keys[b]] = [this.#keys[b]!, this.#keys[a]!];
    [this.#values[a], this.#values[b]] = [this.#values[b]!, this.#values[a]!];
  }
}
