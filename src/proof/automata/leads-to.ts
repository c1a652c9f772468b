/**
 * "P is always followed by Q": no run that has P without Q at some instant may go on without Q for ever, or get stuck without it.
 *
 * Runs count in which time goes on without bound, and runs that get stuck: from where nothing can ever move. Runs with infinitely many
 * moves in a limited time do not count; where a network has no others, "time can always pass" is violated.
 *
 * From every state with P and without Q the moves that avoid Q are followed, with one more clock that may be reset whenever it has
 * reached 1. A run in which time goes on without bound is one that can reset it again and again: a cycle, among these states, that
 * has such a reset. First a state counts as seen where one that has all of it was: without a cycle then there is no such run. Else it
 * is looked at again with states that are the same only. Sources: S. Tripakis, S. Yovine, A. Bouajjani, Checking timed Büchi automata emptiness efficiently, FMSD 26
 * (2005); S. Tripakis, Checking timed Büchi automata emptiness on simulation graphs, ACM TOCL 10 (2009).
 *
 * With a time limit, the clock measures the time since P instead, and no state without Q may have it above the limit.
 */
import { type ClockBounds, clockBounds, observedClocks } from "./clock-bounds.ts";
import { compileAtom, compileClause, isDiagonal, type RuntimeClause, rawOf } from "./compile.ts";
import { firstCycle } from "./cycles.ts";
import { admits, bound, reset, tighten } from "./dbm.ts";
import type { Session } from "./explore.ts";
import type { Query } from "./network.ts";
import { compileNode, type Evaluate, ModelFault } from "./node.ts";
import { Passed } from "./passed.ts";
import { type PathStep, stepTaken, walk } from "./path.ts";
import { collectEscapes, restricted, Search, type Stop } from "./search.ts";
import { Stepper } from "./stepper.ts";
import { Budget, MemoryLimit, Row } from "./store.ts";
import { deadlockEnds, type EndCondition, traceOf } from "./trace.ts";

type LeadsTo = Extract<Query, { kind: "always followed by" }>;

/** Ordinals of what is no move of the network. */
const TICK = -1;
const SEED = -2;

export function answerLeadsTo(session: Session, query: LeadsTo): void {
  const { network, runtime } = session;
  const clock = network.clocks.length;
  const limit = query.within ?? 1;
  const atoms = query.trigger.flatMap((clause) => clause.atoms);
  const observed = [...observedClocks(network, atoms), { clock, lower: limit, upper: limit }];
  const bounds = clockBounds(network, observed, 1, true);
  const diagonals = atoms.filter(isDiagonal).map(compileAtom);
  const first = new Stepper(runtime, bounds, { diagonals });
  const second = new Stepper(runtime, bounds, { diagonals });
  const trigger = query.trigger.map(compileClause);
  const budget = new Budget(session.memory);
  let seen: Passed | undefined;
  let stop: Stop | undefined;
  let avoiding: Avoiding | undefined;
  try {
    seen = new Passed(first, budget);
    avoiding = new Avoiding(session, second, budget, clock, query, false);
    const search = new Search(first, seen);
    const into = avoiding;
    stop = search.run([], session.control, undefined, (node) => into.seed(node, first, trigger));
    if (stop === undefined && seen.count === 0)
      stop = { kind: "fault", message: "the start breaks an invariant", node: -1 };
    session.count(seen, search.moves);
    let found = stop === undefined ? avoiding.run() : undefined;
    if (found !== undefined && "end" in found && found.end === "cycle") {
      // There may be no such cycle: states that have more than was reached stood for it. Again with states that are the same.
      avoiding = new Avoiding(session, second, new Budget(session.memory), clock, query, true);
      for (let node = 0; node < seen.count; node++) if (seen.load(node)) avoiding.seed(node, first, trigger);
      found = avoiding.run();
    }
    if (found !== undefined && "kind" in found) stop = found;
    else if (found !== undefined) {
      showViolation(session, query, first, seen, bounds, avoiding, found);
      return;
    }
  } catch (error) {
    if (!(error instanceof MemoryLimit)) throw error;
    stop = { kind: "memory" };
  }
  if (stop === undefined) session.answer(query, "holds");
  else session.undecided([query], stop, first, stop.kind === "fault" ? seen : undefined);
}

/** What shows a violation: a way from a seed, its end, and the moves of a cycle from there. */
interface Found {
  readonly node: number;
  readonly end: "stuck" | "late" | "cycle";
  /** Nodes and moves of the cycle. */
  readonly cycle: readonly { readonly from: number; readonly ordinal: number }[];
}

interface Seed {
  readonly origin: number;
  readonly conditions: EndCondition;
}

/** The states reached from P without Q. */
class Avoiding {
  readonly passed: Passed;
  readonly stepper: Stepper;
  readonly clock: number;
  readonly seeds = new Map<number, Seed>();
  moves = 0;
  readonly #session: Session;
  readonly #within: number | undefined;
  /** Only the same zone counts as there; else also one that has all of it: then a cycle need not mean a run. */
  readonly #equal: boolean;
  readonly #goal: Evaluate;
  /** Edges of the graph by node: first of each node, target, which move. */
  readonly #firstEdge: Row;
  readonly #to: Row;
  readonly #ordinal: Row;

  constructor(session: Session, stepper: Stepper, budget: Budget, clock: number, query: LeadsTo, equal: boolean) {
    this.#session = session;
    this.stepper = stepper;
    this.passed = new Passed(stepper, budget);
    // The way to a node is walked with the zones stored: none is given up.
    this.passed.level = Number.MAX_SAFE_INTEGER;
    this.clock = clock;
    this.#within = query.within;
    this.#equal = equal;
    this.#goal = compileNode(query.goal);
    this.#firstEdge = new Row(budget);
    this.#to = new Row(budget);
    this.#ordinal = new Row(budget);
  }

  /** Adds the part of a state where the trigger holds. */
  seed(origin: number, from: Stepper, trigger: readonly RuntimeClause[]): void {
    for (const clause of trigger) {
      const zone = restricted(clause, from);
      if (zone === undefined) continue;
      const n = from.sourceCount + 1;
      const { stepper } = this;
      stepper.load(from.source, zone);
      reset(zone, n, stepper.sourceRow(this.clock), 0);
      const conditions = clause.atoms.map((atom) => [atom.i, atom.j, rawOf(atom, from.source)] as const);
      stepper.onMove = () => {
        const node = this.passed.add(-1, SEED, this.#equal);
        if (node >= 0) this.seeds.set(node, { origin, conditions });
      };
      stepper.again(zone);
    }
  }

  run(): Found | Stop | undefined {
    const { stepper, passed, clock } = this;
    const bounded = this.#within !== undefined;
    let from = 0;
    let ordinal = 0;
    const add = (number: number) => {
      const found = passed.add(from, number, this.#equal);
      if (bounded) return;
      this.#to.push(found >= 0 ? found : -1 - found);
      this.#ordinal.push(number);
    };
    stepper.onMove = () => {
      const number = ordinal++;
      this.moves++;
      if (this.#goal(stepper.target) === 0) add(number);
    };
    const onMove = stepper.onMove;
    try {
      for (; from < passed.count; from++) {
        if (from % 1024 === 0) {
          if (this.#session.control.cancelled?.()) return { kind: "cancelled" };
          this.#session.control.onProgress?.(passed.count, passed.count - from);
        }
        if (!bounded) this.#firstEdge.push(this.#to.length);
        if (!passed.load(from)) continue;
        const n = stepper.sourceCount + 1;
        const row = stepper.sourceRow(clock);
        if (bounded && admits(stepper.sourceZone, n, 0, row, bound(-this.#within!, true)))
          return { node: from, end: "late", cycle: [] };
        const left = collectEscapes(stepper);
        ordinal = 0;
        stepper.onMove = onMove;
        stepper.expand();
        if (left().length > 0) return { node: from, end: "stuck", cycle: [] };
        if (bounded) continue;
        const zone = stepper.sourceZone.slice(0, n * n);
        if (!tighten(zone, n, 0, row, bound(-1, false))) continue;
        reset(zone, n, row, 0);
        stepper.onMove = () => add(TICK);
        stepper.again(zone);
      }
    } catch (error) {
      if (error instanceof MemoryLimit) return { kind: "memory" };
      if (error instanceof ModelFault) return { kind: "fault", message: error.message, node: -1 };
      throw error;
    } finally {
      stepper.onEnabled = undefined;
      this.#session.states += passed.count;
      this.#session.moves += this.moves;
    }
    if (bounded) return undefined;
    this.#firstEdge.push(this.#to.length);
    const graph = { nodes: passed.count, first: this.#firstEdge.data, to: this.#to.data };
    const cycle = firstCycle(graph, (edge) => this.#ordinal.data[edge] === TICK);
    if (cycle === undefined) return undefined;
    return {
      node: cycle[0]!.from,
      end: "cycle",
      cycle: cycle.map(({ from: node, edge }) => ({ from: node, ordinal: this.#ordinal.data[edge]! })),
    };
  }

  /** The step of a move from a node. */
  step(from: number, ordinal: number): PathStep {
    const { stepper, passed } = this;
    passed.load(from);
    if (ordinal === TICK)
      return {
        parts: [],
        refusals: [],
        slot: -1,
        state: stepper.source.slice(),
        holds: [[0, this.clock, bound(-1, false)]],
        starts: this.clock,
      };
    return stepTaken(stepper, ordinal);
  }
}

function showViolation(
  session: Session,
  query: LeadsTo,
  first: Stepper,
  seen: Passed,
  bounds: ClockBounds,
  avoiding: Avoiding,
  found: Found,
): void {
  const { runtime } = session;
  const { passed, clock } = avoiding;
  const nodes: number[] = [];
  for (let node = found.node; node >= 0; node = passed.parentOf(node)) nodes.push(node);
  nodes.reverse();
  const { origin, conditions } = avoiding.seeds.get(nodes[0]!)!;
  const path = walk(first, seen.wayTo(origin));
  path.push({
    parts: [],
    refusals: [],
    slot: -1,
    state: path.at(-1)!.state,
    holds: conditions,
    starts: clock,
  });
  for (let k = 1; k < nodes.length; k++) path.push(avoiding.step(nodes[k - 1]!, passed.ordinalOf(nodes[k]!)));
  const loop = path.length - 1;
  for (const { from, ordinal } of found.cycle) path.push(avoiding.step(from, ordinal));
  const ends: EndCondition[] =
    found.end === "stuck"
      ? deadlockEnds(runtime, bounds, path)
      : found.end === "late"
        ? [[[0, clock, bound(-query.within!, true)]]]
        : [[]];
  const mayWait = (state: Int32Array) => first.timeMayPass(state);
  const { steps, shownAs } = traceOf(runtime, path, ends, mayWait, 1);
  const reason = {
    stuck: "the run gets stuck: nothing can ever move again",
    late: `more than ${query.within} pass`,
    cycle: "the run can go on for ever without it",
  }[found.end];
  session.answer(query, "violated", {
    reason,
    trace: steps,
    ...(found.end === "cycle" ? { loopFrom: shownAs[loop]! } : {}),
  });
}
