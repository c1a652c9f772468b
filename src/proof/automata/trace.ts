/** A run as it is shown: concrete times, moves, and what has changed; confirmed by replaying it. */
import type { ClockBounds } from "./clock-bounds.ts";
import type { Runtime, RuntimeClause } from "./compile.ts";
import { rawOf } from "./compile.ts";
import { INFINITE, reset, tighten } from "./dbm.ts";
import type { Channel, Network } from "./network.ts";
import type { State } from "./node.ts";
import type { PathStep } from "./path.ts";
import { Run } from "./replay.ts";
import { collectEscapes } from "./search.ts";
import { Stepper } from "./stepper.ts";
import { type EndCondition, solveTimes } from "./times.ts";

export type { EndCondition };

export interface TraceMove {
  /** "gate", "train[2]". */
  readonly automaton: string;
  readonly from: string;
  readonly to: string;
  readonly label?: string;
  /** "approach", "go[2]". */
  readonly channel?: string;
  readonly role?: "send" | "receive";
}

export interface TraceStep {
  /** Since the start, in units; an exact decimal. */
  readonly at: number;
  /** None for the start, and for the end where time passes after the last move. */
  readonly moves: readonly TraceMove[];
  /** After the moves, by automaton. */
  readonly locations: Readonly<Record<string, string>>;
  readonly variables: Readonly<Record<string, number | readonly number[]>>;
  readonly clocks: Readonly<Record<string, number>>;
}

/**
 * The run along a path, at its earliest times, to an end that has one of the conditions. Steps of the path without edges, which only
 * mark a time, are not shown.
 * @returns `shownAs`: for each step of the path, the last step shown by then
 * @throws Error when there is no such run: a fault of the program, not of the network
 */
export function traceOf(
  runtime: Runtime,
  path: readonly PathStep[],
  ends: readonly EndCondition[],
  mayWait: (state: State) => boolean,
  extraClocks = 0,
): { readonly steps: readonly TraceStep[]; readonly run: Run; readonly shownAs: readonly number[] } {
  const { network } = runtime;
  const solved = solveTimes(runtime, path, ends, mayWait, network.clocks.length + extraClocks);
  if (solved === undefined) throw new Error("traceOf: a path without times");
  const { at, parts } = solved.times;
  const run = new Run(network, parts);
  const steps: TraceStep[] = [];
  let wrong = run.begin();
  let now = 0;
  const record = (moves: readonly TraceMove[]) => steps.push(snapshot(network, run, now, parts, moves));
  record([]);
  const shownAs = [0];
  for (let step = 1; step <= path.length && wrong === undefined; step++) {
    wrong = run.wait(at[step]! - now);
    const waited = at[step]! > now;
    now = at[step]!;
    if (wrong !== undefined) break;
    if (step === path.length) {
      if (waited) record([]);
      break;
    }
    const edges = path[step]!.parts.map(({ edge }) => edge);
    if (edges.length === 0) {
      shownAs.push(steps.length - 1);
      continue;
    }
    const moves = edges.map((edge): TraceMove => {
      const automaton = network.automata[edge.automaton]!;
      const channel = edge.channel && network.channels[edge.channel.channel]!;
      return {
        automaton: automaton.name,
        from: automaton.locations[edge.from]!.name,
        to: automaton.locations[edge.to]!.name,
        ...(edge.label === undefined ? {} : { label: edge.label }),
        ...(channel === undefined ? {} : { channel: channelName(channel, path[step]!.slot), role: edge.channel!.role }),
      };
    });
    wrong = run.move(edges);
    if (wrong === undefined) record(moves);
    shownAs.push(steps.length - 1);
  }
  if (wrong !== undefined) throw new Error(`traceOf: the run does not replay: ${wrong}`);
  return { steps, run, shownAs };
}

const channelName = ({ name, first, size }: Channel, slot: number): string =>
  size === undefined ? name : `${name}[${slot - first}]`;

function snapshot(network: Network, run: Run, now: number, parts: number, moves: readonly TraceMove[]): TraceStep {
  const locations = network.automata.map(({ name, locations: list }, a) => [name, list[run.state[a]!]!.name] as const);
  const variables = network.variables.map(
    ({ name, base, size }) =>
      [name, size === undefined ? run.state[base]! : [...run.state.subarray(base, base + size)]] as const,
  );
  const clocks = network.clocks.slice(1).map((name, k) => [name, run.clocks[k + 1]! / parts] as const);
  return {
    at: now / parts,
    moves,
    locations: Object.fromEntries(locations),
    variables: Object.fromEntries(variables),
    clocks: Object.fromEntries(clocks),
  };
}

/** Ends of a run that is to have one of some alternatives at its last state. */
export function endsOf(clauses: readonly RuntimeClause[], state: State): EndCondition[] {
  return clauses
    .filter(({ test }) => test === undefined || test(state) !== 0)
    .map(({ atoms }) => atoms.map((atom) => [atom.i, atom.j, rawOf(atom, state)] as const));
}

/** Ends of a run in a state from which no move is ever possible: the path is walked with exact zones. */
export function deadlockEnds(runtime: Runtime, bounds: ClockBounds, path: readonly PathStep[]): EndCondition[] {
  const stepper = new Stepper(runtime, bounds, { widen: false });
  walkExactly(stepper, path);
  const left = collectEscapes(stepper);
  stepper.onMove = () => {};
  stepper.expand();
  return left().map((zone) => conditionsOf(zone, stepper));
}

/** The zone's bounds as conditions on clocks. */
function conditionsOf(zone: Int32Array, stepper: Stepper): EndCondition {
  const n = stepper.timed ? stepper.sourceCount + 1 : 1;
  const out: [number, number, number][] = [];
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const raw = zone[i * n + j]!;
      if (i === j || raw === INFINITE) continue;
      out.push([i === 0 ? 0 : stepper.sourceClocks[i]!, j === 0 ? 0 : stepper.sourceClocks[j]!, raw]);
    }
  return out;
}

/** Walks the edges of a path with a stepper of exact zones; its source is the last state afterwards. */
export function walkExactly(stepper: Stepper, path: readonly PathStep[]): void {
  let zone: Int32Array | undefined;
  let state: State = path[0]!.state;
  let wanted = path[0]!;
  stepper.onMove = () => {
    const same =
      zone === undefined &&
      stepper.partCount === wanted.parts.length &&
      wanted.parts.every((part, k) => stepper.parts[k] === part) &&
      sameRefusals(wanted.refusals, stepper.refusals);
    if (!same) return;
    zone = stepper.targetZone.slice(0, (stepper.targetCount + 1) ** 2);
    state = stepper.target.slice();
  };
  for (const [k, step] of path.entries()) {
    zone = undefined;
    wanted = step;
    if (k > 0 && step.parts.length === 0) {
      const n = stepper.sourceCount + 1;
      const marked = stepper.sourceZone.slice(0, n * n);
      for (const [i, j, raw] of step.holds ?? []) tighten(marked, n, stepper.sourceRow(i), stepper.sourceRow(j), raw);
      if (step.starts !== undefined) reset(marked, n, stepper.sourceRow(step.starts), 0);
      stepper.again(marked);
    } else if (k === 0) stepper.begin();
    else stepper.expand();
    if (zone === undefined) throw new Error("walkExactly: a move was not found again");
    stepper.load(state, zone);
  }
}

function sameRefusals(a: PathStep["refusals"], b: PathStep["refusals"]): boolean {
  const sorted = (list: PathStep["refusals"]) => list.map(String).sort().join(" ");
  return a.length === b.length && (a.length === 0 || sorted(a) === sorted(b));
}
