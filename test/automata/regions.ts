/**
 * Brute force over regions (R. Alur, D. L. Dill, A theory of timed automata, TCS 126, 1994): exact in dense time for conditions that
 * compare single clocks with constants, strict or not. A region keeps each clock's whole part up to a cap and the order of the
 * fractions.
 */
import type { Clause, Network, Node } from "../../src/proof/automata/network.ts";
import {
  type ClockTest,
  clauseHolds,
  type Discrete,
  invariantsHold,
  mayWait,
  movesFrom,
  start,
  value,
} from "./semantics.ts";

/** Whole part of each clock (cap + 1: above the cap) and rank of its fraction, 0 for none; ranks count up without gaps. */
interface Region {
  readonly whole: readonly number[];
  readonly rank: readonly number[];
}

interface RegionState {
  readonly s: Discrete;
  readonly region: Region;
}

const keyOf = ({ s, region }: RegionState) => `${s}|${region.whole}|${region.rank}`;

/** Clocks above the cap have no fraction that matters; ranks without gaps. */
function tidy(whole: readonly number[], rank: readonly number[], cap: number): Region {
  const used = [...new Set(rank.filter((r, c) => whole[c]! <= cap && r > 0))].sort((a, b) => a - b);
  return {
    whole: whole.map((w) => Math.min(w, cap + 1)),
    rank: rank.map((r, c) => (whole[c]! > cap || r === 0 ? 0 : used.indexOf(r) + 1)),
  };
}

function testOf({ whole, rank }: Region, cap: number): ClockTest {
  return (i, j, strict, bound) => {
    if (i !== 0 && j !== 0) throw new Error("regions compare single clocks only");
    if (j === 0) {
      if (i === 0) return strict ? 0 < bound : 0 <= bound;
      if (whole[i]! > cap) return false;
      return strict ? whole[i]! < bound : whole[i]! < bound || (whole[i] === bound && rank[i] === 0);
    }
    // -x < bound, or <=: x > -bound.
    if (whole[j]! > cap) return true;
    return strict ? whole[j]! > -bound || (whole[j] === -bound && rank[j]! > 0) : whole[j]! >= -bound;
  };
}

/** The next region in time; the same when nothing changes any more. */
function later({ whole, rank }: Region, cap: number): Region {
  const low = whole.map((w, c) => c > 0 && w <= cap);
  if (!low.includes(true)) return { whole, rank };
  if (low.some((is, c) => is && rank[c] === 0)) {
    // Those on a whole number leave it: the smallest fractions. At the cap that is above it.
    return tidy(
      whole.map((w, c) => (low[c] && rank[c] === 0 && w === cap ? w + 1 : w)),
      rank.map((r, c) => (low[c] ? r + 1 : 0)),
      cap,
    );
  }
  const most = Math.max(...rank.filter((_, c) => low[c]));
  return tidy(
    whole.map((w, c) => (low[c] && rank[c] === most ? w + 1 : w)),
    rank.map((r, c) => (low[c] && r !== most ? r : 0)),
    cap,
  );
}

export interface RegionGraph {
  readonly states: readonly RegionState[];
  /** By state: where moves lead, and where time leads (-1: nowhere new or not at all). */
  readonly moves: readonly (readonly number[])[];
  readonly time: readonly number[];
  /** Where the extra clock is set back, having reached 1; -1 where it cannot. */
  readonly tick: readonly number[];
  readonly holds: (state: number, clause: Clause) => boolean;
  readonly is: (state: number, node: Node) => boolean;
}

/**
 * All regions from some states. With a stopwatch one more clock runs along, from 0. With `tick` it is clock number `network.clocks.length` runs along, which may be set back to 0 when it has
 * reached 1; time then has no end only where that can be done again and again.
 */
export function regionGraph(
  network: Network,
  cap: number,
  tick: boolean | "stopwatch",
  from?: readonly RegionState[],
  avoid?: Node,
): RegionGraph {
  const clocks = network.clocks.length + (tick ? 1 : 0);
  const states: RegionState[] = [];
  const numbers = new Map<string, number>();
  const moves: number[][] = [];
  const time: number[] = [];
  const ticks: number[] = [];
  const add = (state: RegionState): number => {
    const key = keyOf(state);
    const known = numbers.get(key);
    if (known !== undefined) return known;
    if (!invariantsHold(network, state.s, testOf(state.region, cap))) return -1;
    numbers.set(key, states.length);
    states.push(state);
    return states.length - 1;
  };
  const nothing = Array.from({ length: clocks }, () => 0);
  for (const state of from ?? [{ s: start(network), region: { whole: nothing, rank: nothing } }])
    add({ s: state.s, region: padded(state.region, clocks) });
  for (let k = 0; k < states.length; k++) {
    const { s, region } = states[k]!;
    const set = (resets: ReadonlyMap<number, number>): Region =>
      tidy(
        region.whole.map((w, c) => resets.get(c) ?? w),
        region.rank.map((r, c) => (resets.has(c) ? 0 : r)),
        cap,
      );
    const next = movesFrom(network, s, testOf(region, cap))
      .map((move) => ({ s: move.next, region: set(move.resets) }))
      .filter((state) => invariantsHold(network, state.s, testOf(state.region, cap)));
    moves.push(next.map((state) => (avoid !== undefined && value(avoid, state.s) !== 0 ? -2 : add(state))));
    time.push(mayWait(network, s) ? add({ s, region: later(region, cap) }) : -1);
    ticks.push(
      tick === true && region.whole[clocks - 1]! >= 1 ? add({ s, region: set(new Map([[clocks - 1, 0]])) }) : -1,
    );
  }
  return {
    states,
    moves,
    time,
    tick: ticks,
    holds: (state, clause) => clauseHolds(clause, states[state]!.s, testOf(states[state]!.region, cap)),
    is: (state, node) => value(node, states[state]!.s) !== 0,
  };
}

const padded = ({ whole, rank }: Region, clocks: number): Region => ({
  whole: Array.from({ length: clocks }, (_, c) => whole[c] ?? 0),
  rank: Array.from({ length: clocks }, (_, c) => rank[c] ?? 0),
});

/** States from which no move is ever possible, now or later. */
export function deadlocked({ states, moves, time }: RegionGraph): boolean[] {
  return states.map((_, k) => {
    for (let at = k; ; at = time[at]!) {
      if (moves[at]!.length > 0) return false;
      if (time[at]! < 0 || time[at] === at) return true;
    }
  });
}

/** Whether P is always followed by Q. */
/** Whether P is always followed by Q, at most `within` later. */
export function followedWithin(
  network: Network,
  cap: number,
  trigger: readonly Clause[],
  goal: Node,
  within: number,
): boolean {
  const all = regionGraph(network, cap, false);
  const seeds = all.states.filter((_, k) => trigger.some((clause) => all.holds(k, clause)));
  const graph = regionGraph(network, cap, "stopwatch", seeds, goal);
  if (deadlocked(graph).includes(true)) return false;
  return graph.states.every(
    ({ region: { whole, rank } }) => whole.at(-1)! < within || (whole.at(-1) === within && rank.at(-1) === 0),
  );
}

export function alwaysFollowed(network: Network, cap: number, trigger: readonly Clause[], goal: Node): boolean {
  const all = regionGraph(network, cap, false);
  const seeds = all.states.filter((_, k) => trigger.some((clause) => all.holds(k, clause)));
  const graph = regionGraph(network, cap, true, seeds, goal);
  if (deadlocked(graph).includes(true)) return false;
  // A tick from which one comes back to where it was: search from each.
  return !graph.states.some((_, k) => graph.tick[k]! >= 0 && reaches(graph, graph.tick[k]!, k));
}

function nextOf(graph: RegionGraph, k: number): number[] {
  return [...graph.moves[k]!, graph.time[k]!, graph.tick[k]!].filter((n) => n >= 0);
}

function reaches(graph: RegionGraph, from: number, goal: number): boolean {
  const seen = new Set([from]);
  const queue = [from];
  for (let k = 0; k < queue.length; k++) {
    if (queue[k] === goal) return true;
    for (const n of nextOf(graph, queue[k]!))
      if (!seen.has(n)) {
        seen.add(n);
        queue.push(n);
      }
  }
  return false;
}

/** Whether from every reachable state some run lets time go on without bound. */
export function timeCanPass(network: Network, cap: number): boolean {
  const all = regionGraph(network, cap, false);
  const graph = regionGraph(network, cap, true, all.states);
  // Backward from the states in which the extra clock has reached 1.
  const good = graph.states.map(({ region }) => region.whole.at(-1)! >= 1);
  for (let changed = true; changed; ) {
    changed = false;
    for (let k = graph.states.length - 1; k >= 0; k--) {
      if (good[k] || ![...graph.moves[k]!, graph.time[k]!].some((n) => n >= 0 && good[n])) continue;
      good[k] = true;
      changed = true;
    }
  }
  // The first states are those with the extra clock at 0.
  return all.states.every((_, k) => good[k]);
}
