/** Breadth-first search of all symbolic states for goals. */
import { type RuntimeClause, rawOf } from "./compile.ts";
import { AT_MOST_ZERO, admits, down, tighten } from "./dbm.ts";
import { type Federation, subtract } from "./federation.ts";
import { ModelFault } from "./node.ts";
import type { Passed } from "./passed.ts";
import type { Stepper } from "./stepper.ts";
import { MemoryLimit } from "./store.ts";
import type { Symmetry } from "./symmetry.ts";

/** What an exploration asks and tells its caller while it runs. */
export interface Control {
  readonly onProgress: ((states: number, frontier: number) => void) | undefined;
  readonly cancelled: (() => boolean) | undefined;
  /** Most states that are looked for; the search then ends as one that has no memory left. */
  readonly mostStates?: number;
}

/** How a search ended before it had seen everything. */
export type Stop =
  | { readonly kind: "memory" }
  | { readonly kind: "cancelled" }
  /** A move that has no meaning: a value outside its range. */
  | { readonly kind: "fault"; readonly message: string; readonly node: number };

export interface Goal {
  readonly wanted: "clauses" | "deadlock";
  readonly clauses: readonly RuntimeClause[];
  /** First node that has it. */
  node: number | undefined;
}

const EVERY = 2048;

export class Search {
  readonly stepper: Stepper;
  readonly passed: Passed;
  readonly #symmetry: Symmetry | undefined;
  /** Moves found. */
  moves = 0;
  #ordinal = 0;
  #from = -1;

  constructor(stepper: Stepper, passed: Passed, symmetry?: Symmetry) {
    this.stepper = stepper;
    this.passed = passed;
    this.#symmetry = symmetry;
  }

  /**
   * Looks at every reachable state until all goals are found. Goals' nodes are set.
   * @param visit called for each state, which is then the stepper's source; all states are looked at then
   * @param onMove called for each move with the node it is from and the discrete state it leads to; all states are looked at then
   * @param reduce tells an automaton whose moves alone need to be followed from the stepper's source, or -1
   */
  run(
    goals: readonly Goal[],
    control: Control,
    reduce: (() => number) | undefined,
    visit?: (node: number) => void,
    onMove?: (from: number, state: number) => void,
  ): Stop | undefined {
    const { stepper, passed } = this;
    const open = [...goals];
    const deadlock = goals.some(({ wanted }) => wanted === "deadlock");
    stepper.onMove = () => {
      this.moves++;
      this.#symmetry?.apply(stepper);
      const node = passed.add(this.#from, this.#ordinal++);
      if (node >= 0) this.#fresh++;
      if (onMove !== undefined && this.#from >= 0) onMove(this.#from, passed.lastState);
    };
    const everything = visit !== undefined || onMove !== undefined;
    let node = 0;
    try {
      stepper.begin();
      for (; node < passed.count && (open.length > 0 || everything); node++) {
        if (node >= passed.level) passed.level = passed.count;
        if (node % EVERY === 0) {
          if (control.cancelled?.()) return { kind: "cancelled" };
          if (passed.count > (control.mostStates ?? Number.POSITIVE_INFINITY)) return { kind: "memory" };
          control.onProgress?.(passed.count, passed.count - node);
        }
        if (!passed.load(node)) continue;
        for (let g = open.length - 1; g >= 0; g--) {
          const goal = open[g]!;
          if (goal.wanted === "clauses" && holds(goal.clauses, stepper) >= 0) {
            goal.node = node;
            open.splice(g, 1);
          }
        }
        if (open.length === 0 && !everything) break;
        this.#from = node;
        visit?.(node);
        const looksForDeadlock = deadlock && open.some(({ wanted }) => wanted === "deadlock");
        const left = looksForDeadlock ? collectEscapes(stepper) : undefined;
        this.#expand(reduce);
        if (left !== undefined && left().length > 0) {
          const at = open.findIndex(({ wanted }) => wanted === "deadlock");
          open[at]!.node = node;
          open.splice(at, 1);
        }
      }
    } catch (error) {
      if (error instanceof MemoryLimit) return { kind: "memory" };
      if (error instanceof ModelFault) return { kind: "fault", message: error.message, node: this.#from };
      throw error;
    } finally {
      stepper.onEnabled = undefined;
      stepper.only = -1;
      control.onProgress?.(passed.count, Math.max(0, passed.count - node));
    }
    return undefined;
  }

  #fresh = 0;

  #expand(reduce: (() => number) | undefined): void {
    const { stepper } = this;
    this.#ordinal = 0;
    const only = reduce === undefined ? -1 : reduce();
    if (only >= 0) {
      stepper.only = only;
      this.#ordinal = (only + 1) * REDUCED;
      const before = this.#ordinal;
      this.#fresh = 0;
      stepper.expand();
      stepper.only = -1;
      // All of them new: nothing is put off for ever. Else everything is followed.
      if (this.#fresh > 0 && this.#fresh === this.#ordinal - before) return;
      this.#ordinal = 0;
    }
    stepper.expand();
  }
}

/** Numbers of moves found while only one automaton was followed begin at (automaton + 1) times this. */
export const REDUCED = 1 << 20;

/** Number of the first alternative that holds somewhere in the stepper's source, -1 for none. */
function holds(clauses: readonly RuntimeClause[], stepper: Stepper): number {
  for (let k = 0; k < clauses.length; k++) {
    const { test, atoms } = clauses[k]!;
    if (test !== undefined && test(stepper.source) === 0) continue;
    if (atoms.length === 0) return k;
    const n = stepper.sourceCount + 1;
    if (atoms.length === 1) {
      const atom = atoms[0]!;
      if (
        admits(stepper.sourceZone, n, stepper.sourceRow(atom.i), stepper.sourceRow(atom.j), rawOf(atom, stepper.source))
      )
        return k;
      continue;
    }
    if (restricted(clauses[k]!, stepper) !== undefined) return k;
  }
  return -1;
}

/** The part of the stepper's source in which an alternative holds, in a matrix of its own. */
export function restricted({ test, atoms }: RuntimeClause, stepper: Stepper): Int32Array | undefined {
  if (test !== undefined && test(stepper.source) === 0) return undefined;
  const n = stepper.sourceCount + 1;
  const zone = stepper.sourceZone.slice(0, n * n);
  for (const atom of atoms)
    if (!tighten(zone, n, stepper.sourceRow(atom.i), stepper.sourceRow(atom.j), rawOf(atom, stepper.source)))
      return undefined;
  return zone;
}

/**
 * Makes the stepper note from where its source can move, now or after waiting. To be called before `expand`.
 * @returns tells, after `expand`, the part of the source from which no move is ever possible
 */
export function collectEscapes(stepper: Stepper): () => Federation {
  const n = stepper.timed ? stepper.sourceCount + 1 : 1;
  const mayWait = stepper.timed && stepper.timeMayPass(stepper.source);
  let left: Federation = [stepper.timed ? stepper.sourceZone.slice(0, n * n) : Int32Array.of(AT_MOST_ZERO)];
  stepper.onEnabled = (zone) => {
    if (left.length === 0) return;
    if (!stepper.timed) {
      left = [];
      return;
    }
    const origin = zone.slice(0, n * n);
    if (mayWait) down(origin, n);
    left = subtract(left, origin, n);
  };
  return () => {
    stepper.onEnabled = undefined;
    return left;
  };
}
