/** A way through the symbolic states, walked again: the edges taken and the discrete states between them. */
import type { RuntimeEdge } from "./compile.ts";
import type { State } from "./node.ts";
import { REDUCED } from "./search.ts";
import type { Stepper } from "./stepper.ts";
import type { Symmetry } from "./symmetry.ts";

export interface PathStep {
  /** Edges taken; none for the start. */
  readonly parts: readonly RuntimeEdge[];
  /** Clock conditions (clock, clock, bound) that hold because a broadcast is not received. */
  readonly refusals: readonly (readonly [number, number, number])[];
  /** Channel used, its number among all elements; -1 for none. */
  readonly slot: number;
  /** State after the move. */
  readonly state: State;
  /** Clock conditions (clock, clock, bound) that the run is chosen to meet here, and a clock of a query that starts here. */
  readonly holds?: readonly (readonly [number, number, number])[];
  readonly starts?: number;
}

/** Walks the moves whose numbers are given, as a search numbered them. The stepper's source is the last state afterwards. */
export function walk(stepper: Stepper, way: readonly number[], symmetry?: Symmetry): PathStep[] {
  const steps: PathStep[] = [];
  let ordinal = 0;
  let wanted = 0;
  let found: PathStep | undefined;
  let zone = new Int32Array(0);
  let state: State = new Int32Array(0);
  /** Which automaton each one really is. */
  let actual = Int32Array.from(stepper.runtime.network.automata, (_, a) => a);
  let cameFrom = actual;
  stepper.onEnabled = undefined;
  stepper.onMove = () => {
    if (ordinal++ !== wanted) return;
    found = stepOf(stepper);
    if (symmetry !== undefined) {
      symmetry.apply(stepper);
      cameFrom = symmetry.cameFrom.slice();
    }
    state = stepper.target.slice();
    zone = stepper.targetZone.slice(0, (stepper.targetCount + 1) ** 2);
  };
  for (const [k, number] of way.entries()) {
    found = undefined;
    const only = Math.floor(number / REDUCED) - 1;
    ordinal = 0;
    wanted = number % REDUCED;
    if (k === 0) stepper.begin();
    else {
      stepper.only = only;
      stepper.expand();
      stepper.only = -1;
    }
    if (found === undefined) throw new Error("walk: a move was not found again");
    steps.push(symmetry === undefined ? found : symmetry.unordered(found, actual, stepper.runtime));
    const before = actual;
    if (symmetry !== undefined) actual = cameFrom.map((a) => before[a]!);
    stepper.load(state, zone);
  }
  return steps;
}

/** The step of one move of the stepper's source. */
export function stepTaken(stepper: Stepper, ordinal: number): PathStep {
  let count = 0;
  let found: PathStep | undefined;
  stepper.onEnabled = undefined;
  stepper.onMove = () => {
    if (count++ === ordinal) found = stepOf(stepper);
  };
  stepper.expand();
  if (found === undefined) throw new Error("stepTaken: a move was not found again");
  return found;
}

const stepOf = (stepper: Stepper): PathStep => ({
  parts: stepper.parts.slice(0, stepper.partCount),
  refusals: stepper.refusals.map((refusal) => [...refusal] as [number, number, number]),
  slot: slotOf(stepper),
  state: stepper.target.slice(),
});

function slotOf(stepper: Stepper): number {
  const first = stepper.partCount === 0 ? undefined : stepper.parts[0]!;
  if (first === undefined || first.channel < 0) return -1;
  return first.slotOf === undefined ? first.slot : first.slotOf(stepper.source);
}
