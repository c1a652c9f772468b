/**
 * "Time can always pass": from every reachable state, at every clock reading, some run lets time go on without bound.
 *
 * That is so when from every reachable state some run lets one more unit of time pass: the state reached then is itself reachable, so it
 * can be done again. The clock readings from which a unit can pass are computed backward, over all discrete states reached, as
 * unions of zones over all clocks and one more that measures the unit; the readings reached are compared with them.
 */
import { clockBounds } from "./clock-bounds.ts";
import { type Runtime, type RuntimeEdge, rawOf } from "./compile.ts";
import { bound, down, free, INFINITE, reset, setUniverse, tighten } from "./dbm.ts";
import type { Session } from "./explore.ts";
import { addZone, type Federation, subtract } from "./federation.ts";
import type { Query } from "./network.ts";
import type { State } from "./node.ts";
import { Passed } from "./passed.ts";
import { walk } from "./path.ts";
import { Search, type Stop } from "./search.ts";
import { Stepper } from "./stepper.ts";
import { Budget, MemoryLimit } from "./store.ts";
import { type EndCondition, traceOf, walkExactly } from "./trace.ts";

/** Memory of an object of the engine's own, roughly, bytes. */
const OBJECT = 250;

interface Transition {
  readonly from: number;
  readonly to: number;
  readonly parts: readonly RuntimeEdge[];
  readonly refusals: readonly (readonly [number, number, number])[];
}

export function answerTimePasses(session: Session, query: Query): void {
  const { network, runtime } = session;
  const bounds = clockBounds(network, [], 0, true);
  const stepper = new Stepper(runtime, bounds);
  const budget = new Budget(session.memory);
  let seen: Passed | undefined;
  let stop: Stop | undefined;
  try {
    seen = new Passed(stepper, budget);
    const search = new Search(stepper, seen);
    const transitions = new Map<string, Transition>();
    const passed = seen;
    stop = search.run([], session.control, undefined, undefined, (from, to) =>
      note(transitions, stepper, passed, from, to, budget),
    );
    if (stop === undefined && seen.count === 0)
      stop = { kind: "fault", message: "the start breaks an invariant", node: -1 };
    session.count(seen, search.moves);
    if (stop === undefined) {
      const good = new Backward(session, seen, [...transitions.values()], budget);
      stop = good.run();
      const bad = stop === undefined ? firstBad(stepper, seen, good) : undefined;
      if (bad !== undefined) {
        const path = walk(stepper, seen.wayTo(bad));
        const exact = new Stepper(runtime, bounds, { widen: false });
        walkExactly(exact, path);
        const ends = good.outside(exact, seen.stateOf(bad));
        const { steps } = traceOf(runtime, path, ends, (s) => stepper.timeMayPass(s));
        session.answer(query, "violated", { reason: "from here time cannot go on without bound", trace: steps });
        return;
      }
    }
  } catch (error) {
    if (!(error instanceof MemoryLimit)) throw error;
    stop = { kind: "memory" };
  }
  if (stop === undefined) session.answer(query, "holds");
  else session.undecided([query], stop, stepper, stop.kind === "fault" ? seen : undefined);
}

/** Each combination of edges between two discrete states once. */
function note(
  list: Map<string, Transition>,
  stepper: Stepper,
  passed: Passed,
  from: number,
  to: number,
  budget: Budget,
): void {
  const parts = stepper.parts.slice(0, stepper.partCount);
  const ids = parts.map((part) => partNumber(stepper.runtime, part));
  const source = passed.stateOf(from);
  const key = `${source} ${to} ${ids} ${stepper.refusals.join()}`;
  if (list.has(key)) return;
  budget.take(2 * OBJECT);
  const refusals = stepper.refusals.map((refusal) => [...refusal] as [number, number, number]);
  list.set(key, { from: source, to, parts, refusals });
}

const numbers = new WeakMap<Runtime, Map<RuntimeEdge, number>>();
function partNumber(runtime: Runtime, part: RuntimeEdge): number {
  let known = numbers.get(runtime);
  if (known === undefined) {
    known = new Map();
    for (const { internal, sends, receives } of runtime.locations)
      for (const edge of [...internal, ...sends, ...receives]) known.set(edge, known.size);
    numbers.set(runtime, known);
  }
  return known.get(part)!;
}

/** Number of the first state with readings from which time cannot go on. */
function firstBad(stepper: Stepper, seen: Passed, good: Backward): number | undefined {
  for (let node = 0; node < seen.count; node++)
    if (seen.load(node) && good.outside(stepper, seen.stateOf(node)).length > 0) return node;
  return undefined;
}

/** From which readings of all clocks a unit of time can pass, by discrete state. */
class Backward {
  readonly #session: Session;
  readonly #seen: Passed;
  readonly #into = new Map<number, Transition[]>();
  readonly #good: Federation[] = [];
  /** Rows: the network's clocks, and one that measures the unit. */
  readonly #n: number;
  readonly #stepper: Stepper;
  readonly #budget: Budget;
  readonly #states: State[] = [];

  constructor(session: Session, seen: Passed, transitions: readonly Transition[], budget: Budget) {
    this.#session = session;
    this.#seen = seen;
    this.#n = session.network.clocks.length + 1;
    this.#budget = budget;
    this.#stepper = new Stepper(session.runtime, clockBounds(session.network, [], 0, true));
    for (const transition of transitions) {
      const list = this.#into.get(transition.to) ?? [];
      list.push(transition);
      this.#into.set(transition.to, list);
    }
  }

  run(): Stop | undefined {
    const n = this.#n;
    const queue: { state: number; zone: Int32Array }[] = [];
    const add = (state: number, zone: Int32Array) => {
      if (!addZone(this.#good[state]!, zone, n)) return;
      this.#budget.take(4 * n * n + OBJECT);
      queue.push({ state, zone });
    };
    for (let number = 0; number < this.#seen.states.count; number++) {
      const state = new Int32Array(this.#session.network.fields.length);
      this.#seen.states.read(number, state);
      this.#budget.take(4 * state.length + 2 * OBJECT);
      this.#states.push(state);
      this.#good.push([]);
      const zone = new Int32Array(n * n);
      setUniverse(zone, n);
      if (tighten(zone, n, 0, n - 1, bound(-1, false)) && this.#addInvariants(state, zone))
        add(number, this.#before(state, zone));
    }
    for (let k = 0; k < queue.length; k++) {
      if (k % 1024 === 0) {
        if (this.#session.control.cancelled?.()) return { kind: "cancelled" };
        this.#session.control.onProgress?.(k, queue.length - k);
      }
      const { state, zone } = queue[k]!;
      if (!this.#good[state]!.includes(zone)) continue;
      for (const transition of this.#into.get(state) ?? []) {
        const earlier = this.#back(transition, zone);
        if (earlier !== undefined) add(transition.from, earlier);
      }
    }
    return undefined;
  }

  /** All readings from which a zone of a state is reached by waiting. Changes the zone. */
  #before(state: State, zone: Int32Array): Int32Array {
    if (!this.#stepper.timeMayPass(state)) return zone;
    down(zone, this.#n);
    this.#addInvariants(state, zone);
    return zone;
  }

  /** Readings before a transition from which the zone is reached, now or after waiting. */
  #back({ from, parts, refusals }: Transition, zone: Int32Array): Int32Array | undefined {
    const n = this.#n;
    const out = zone.slice();
    const resets = new Map<number, number>();
    for (const { edge } of parts) for (const { clock, value } of edge.resets) resets.set(clock, value);
    for (const [clock, value] of resets)
      if (!tighten(out, n, clock, 0, bound(value, false)) || !tighten(out, n, 0, clock, bound(-value, false)))
        return undefined;
    for (const clock of resets.keys()) free(out, n, clock);
    const state = this.#states[from]!;
    for (const { atoms } of parts)
      for (const atom of atoms) if (!tighten(out, n, atom.i, atom.j, rawOf(atom, state))) return undefined;
    for (const [i, j, raw] of refusals) if (!tighten(out, n, i, j, raw)) return undefined;
    return this.#addInvariants(state, out) ? this.#before(state, out) : undefined;
  }

  #addInvariants(state: State, zone: Int32Array): boolean {
    const { withInvariants, locations, firstLocation } = this.#session.runtime;
    for (const a of withInvariants)
      for (const { when, atom } of locations[firstLocation[a]! + state[a]!]!.invariants)
        if ((when === undefined || when(state) !== 0) && !tighten(zone, this.#n, atom.i, atom.j, rawOf(atom, state)))
          return false;
    return true;
  }

  /** The part of the stepper's source from which no unit can pass, as conditions on the network's clocks. */
  outside(stepper: Stepper, state: number): EndCondition[] {
    const n = this.#n;
    const zone = new Int32Array(n * n);
    // Clocks that are not active may have any reading.
    setUniverse(zone, n);
    const m = stepper.timed ? stepper.sourceCount + 1 : 1;
    const clockAt = (row: number) => (row === 0 ? 0 : stepper.sourceClocks[row]!);
    for (let i = 0; i < m; i++)
      for (let j = 0; j < m; j++) {
        const raw = stepper.sourceZone[i * m + j]!;
        if (stepper.timed && i !== j && raw !== INFINITE) tighten(zone, n, clockAt(i), clockAt(j), raw);
      }
    reset(zone, n, n - 1, 0);
    let left: Federation = [zone];
    for (const part of this.#good[state]!) left = subtract(left, part, n);
    return left.map((part) => {
      const conditions: [number, number, number][] = [];
      for (let i = 0; i < n - 1; i++)
        for (let j = 0; j < n - 1; j++) {
          const raw = part[i * n + j]!;
          if (i !== j && raw !== INFINITE) conditions.push([i, j, raw]);
        }
      return conditions;
    });
  }
}
