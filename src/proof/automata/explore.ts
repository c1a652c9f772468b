/** Queries about a network answered by exploring all that it can do. */
import { clockBounds, type ObservedClock, observedClocks } from "./clock-bounds.ts";
import { compile, compileAtom, compileClause, isDiagonal, type Runtime } from "./compile.ts";
import { fastestPath } from "./fastest.ts";
import { answerLeadsTo } from "./leads-to.ts";
import type { Atom, Network, Query } from "./network.ts";
import { fieldsOf } from "./node.ts";
import { Passed } from "./passed.ts";
import { walk } from "./path.ts";
import { reduction } from "./reduction.ts";
import { type Control, type Goal, Search, type Stop } from "./search.ts";
import { Stepper } from "./stepper.ts";
import { Budget, MemoryLimit } from "./store.ts";
import { Symmetry } from "./symmetry.ts";
import { answerTimePasses } from "./time-passes.ts";
import { deadlockEnds, endsOf, type TraceStep, traceOf } from "./trace.ts";

export interface ExploreOptions {
  /** Most memory for states, bytes; default 1 GiB. Where it does not suffice, queries stay undecided. */
  readonly memory?: number;
  /** Which of the runs that show something is shown: that with the fewest moves (the default), or one that takes the least time. */
  readonly trace?: "shortest" | "fastest";
  /** Leave out states that cannot change an answer (default true): those that differ in the order
   * of independent moves, or in which of symmetric copies is which. */
  readonly reduce?: boolean;
  /** Told now and then: states found so far in the search that is running, and how many of them wait. */
  readonly onProgress?: (states: number, frontier: number) => void;
  /** Asked now and then; true ends the exploration, what is open stays undecided. */
  readonly cancelled?: () => boolean;
}

export interface QueryResult {
  readonly name: string;
  readonly kind: Query["kind"];
  /** `undecided` is never a pass: `reason` tells why. */
  readonly verdict: "holds" | "violated" | "undecided";
  readonly reason?: string;
  /** The run that shows it: for `can reach` that holds, for all others that are violated; also the run to a fault of the model. */
  readonly trace?: readonly TraceStep[];
  /** Index into `trace` from where the run can go on in the same way for ever. */
  readonly loopFrom?: number;
}

export interface Exploration {
  readonly queries: readonly QueryResult[];
  /** Symbolic states stored, all searches together. */
  readonly states: number;
  /** Discrete states (locations and variables) of the largest search. */
  readonly discreteStates: number;
  /** Moves followed. */
  readonly moves: number;
}

/** What all searches of an exploration share. */
export class Session {
  readonly network: Network;
  readonly runtime: Runtime;
  readonly control: Control;
  readonly memory: number;
  readonly fastest: boolean;
  readonly reduce: boolean;
  readonly results = new Map<Query, QueryResult>();
  states = 0;
  discreteStates = 0;
  moves = 0;

  constructor(network: Network, options: ExploreOptions) {
    this.network = network;
    this.runtime = compile(network);
    this.control = { onProgress: options.onProgress, cancelled: options.cancelled };
    this.memory = options.memory ?? 2 ** 30;
    this.reduce = options.reduce ?? true;
    this.fastest = options.trace === "fastest";
  }

  answer(query: Query, verdict: QueryResult["verdict"], more: Partial<QueryResult> = {}): void {
    this.results.set(query, { name: query.name, kind: query.kind, verdict, ...more });
  }

  count(passed: Passed, moves: number): void {
    this.states += passed.count;
    this.discreteStates = Math.max(this.discreteStates, passed.states.count);
    this.moves += moves;
  }

  /** What a search that ended early leaves open. */
  undecided(
    queries: readonly Query[],
    stop: Stop,
    stepper: Stepper,
    passed: Passed | undefined,
    symmetry?: Symmetry,
  ): void {
    const trace =
      stop.kind === "fault" && passed !== undefined ? this.faultTrace(stepper, passed, stop.node, symmetry) : undefined;
    for (const query of queries)
      this.answer(query, "undecided", {
        reason: reasonOf(stop, this.memory),
        ...(trace === undefined ? {} : { trace }),
      });
  }

  faultTrace(stepper: Stepper, passed: Passed, node: number, symmetry?: Symmetry): readonly TraceStep[] | undefined {
    if (node < 0) return undefined;
    const path = walk(stepper, passed.wayTo(node), symmetry);
    return traceOf(this.runtime, path, [[]], (s) => stepper.timeMayPass(s)).steps;
  }
}

function reasonOf(stop: Stop, memory: number): string {
  if (stop.kind === "memory")
    return `more states than fit into ${Math.round(memory / 2 ** 20)} MiB: allow more memory, or make the network smaller`;
  if (stop.kind === "cancelled") return "stopped before all states were seen";
  return `a move of the network has no meaning: ${stop.message}`;
}

/**
 * Answers queries about a network. Deterministic; pure but for the callbacks.
 * @throws ContractError never: a network comes from `createNetwork`, which checks it
 */
export function explore(network: Network, queries: readonly Query[], options: ExploreOptions = {}): Exploration {
  const session = new Session(network, options);
  const reach = queries.filter(({ kind }) => kind === "never" || kind === "can reach");
  const deadlock = queries.filter(({ kind }) => kind === "no deadlock");
  const untimed = network.clocks.length === 1;
  if (untimed) searchFor(session, [...reach, ...deadlock], false);
  else {
    if (reach.length > 0) searchFor(session, reach, false);
    if (deadlock.length > 0) searchFor(session, deadlock, true);
  }
  for (const query of queries) {
    if (query.kind === "always followed by") answerLeadsTo(session, query);
    if (query.kind === "time can always pass") answerTimePasses(session, query);
  }
  return {
    queries: queries.map((query) => session.results.get(query)!),
    states: session.states,
    discreteStates: session.discreteStates,
    moves: session.moves,
  };
}

/** Fields that conditions of queries look at. */
function seenFields(queries: readonly Query[]): Set<number> {
  const fields = new Set<number>();
  for (const query of queries)
    if ("that" in query)
      for (const { data, atoms } of query.that)
        for (const node of [...data, ...atoms.map((atom) => atom.bound)]) fieldsOf(node, fields);
  return fields;
}

const seenClocks = (atoms: readonly Atom[]): Set<number> => new Set(atoms.flatMap(({ i, j }) => [i, j]));

/** States looked at for the shortest run: as many times those of the reduced search, and some more. */
const FACTOR = 4;
const SOME = 10_000;

/**
 * One search for what queries of the first three kinds look for.
 * @param mostStates a second search, for a shorter run, that gives up above so many states
 */
function searchFor(session: Session, queries: readonly Query[], exact: boolean, mostStates?: number): void {
  if (queries.length === 0) return;
  const { runtime, network } = session;
  const atoms = queries.flatMap((query) => ("that" in query ? query.that.flatMap((clause) => clause.atoms) : []));
  const observed: ObservedClock[] = observedClocks(network, atoms);
  const bounds = clockBounds(network, observed, 0, exact);
  const diagonals = atoms.filter(isDiagonal).map(compileAtom);
  const stepper = new Stepper(runtime, bounds, { diagonals });
  const symmetry = session.reduce && network.groups.length > 0 ? new Symmetry(network, bounds.clocks) : undefined;
  let passed: Passed | undefined;
  const goals = queries.map(
    (query): Goal => ({
      wanted: query.kind === "no deadlock" ? "deadlock" : "clauses",
      clauses: "that" in query ? query.that.map(compileClause) : [],
      node: undefined,
    }),
  );
  let stop: Stop | undefined;
  let reduce: (() => number) | undefined;
  try {
    passed = new Passed(stepper, new Budget(session.memory));
    const search = new Search(stepper, passed, symmetry);
    reduce =
      session.reduce && mostStates === undefined
        ? reduction(runtime, stepper, seenFields(queries), seenClocks(atoms))
        : undefined;
    stop = search.run(goals, { ...session.control, ...(mostStates === undefined ? {} : { mostStates }) }, reduce);
    session.count(passed, search.moves);
  } catch (error) {
    if (!(error instanceof MemoryLimit)) throw error;
    stop = { kind: "memory" };
  }
  if (stop === undefined && passed!.count === 0)
    stop = { kind: "fault", message: "the start breaks an invariant", node: -1 };
  for (const [k, query] of queries.entries()) {
    const { node, clauses, wanted } = goals[k]!;
    const found = node !== undefined;
    if (!found) {
      if (mostStates !== undefined) continue;
      if (stop !== undefined) session.undecided([query], stop, stepper, passed, symmetry);
      else session.answer(query, query.kind === "can reach" ? "violated" : "holds");
      continue;
    }
    const fast =
      session.fastest && wanted === "clauses" && stepper.timed
        ? fastestPath(session, clauses, observed, diagonals)
        : undefined;
    const path = fast ?? walk(stepper, passed!.wayTo(node), symmetry);
    const ends = wanted === "deadlock" ? deadlockEnds(runtime, bounds, path) : endsOf(clauses, path.at(-1)!.state);
    const { steps } = traceOf(runtime, path, ends, (s) => stepper.timeMayPass(s));
    session.answer(query, query.kind === "can reach" ? "holds" : "violated", { trace: steps });
  }
  // The moves that were followed first may lengthen a run: the shortest one is looked for among all, while that costs little more.
  if (reduce === undefined || session.fastest) return;
  const found = queries.filter((_, k) => goals[k]!.node !== undefined);
  searchFor(session, found, exact, FACTOR * passed!.count + SOME);
}
