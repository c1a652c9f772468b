/**
 * Brute force over whole-number times: exact for which discrete states can be reached where all clock conditions are closed (<=, >=)
 * and broadcasts do not depend on clocks (T. A. Henzinger, Z. Manna, A. Pnueli, What good are digital clocks?, ICALP 1992).
 */
import type { Network } from "../../src/proof/automata/network.ts";
import { type ClockTest, type Discrete, invariantsHold, mayWait, movesFrom, start } from "./semantics.ts";

/** Distinct discrete states that can be reached, as text. `cap`: a clock above it counts as above. */
export function reachableAtWholeTimes(network: Network, cap: number): Set<string> {
  const seen = new Set<string>();
  const discrete = new Set<string>();
  const queue: { s: Discrete; clocks: readonly number[] }[] = [];
  const test =
    (clocks: readonly number[]): ClockTest =>
    (i, j, strict, bound) =>
      strict ? clocks[i]! - clocks[j]! < bound : clocks[i]! - clocks[j]! <= bound;
  const add = (s: Discrete, clocks: readonly number[]) => {
    const key = `${s} ${clocks}`;
    if (seen.has(key) || !invariantsHold(network, s, test(clocks))) return;
    seen.add(key);
    discrete.add(String(s));
    queue.push({ s, clocks });
  };
  add(
    start(network),
    network.clocks.map(() => 0),
  );
  for (let k = 0; k < queue.length; k++) {
    const { s, clocks } = queue[k]!;
    if (mayWait(network, s)) add(s, aged(clocks, cap));
    for (const { next, resets } of movesFrom(network, s, test(clocks)))
      add(
        next,
        clocks.map((x, c) => resets.get(c) ?? x),
      );
  }
  return discrete;
}

/** One unit later. Differences between clocks are kept up to the cap, as far as they can matter. */
function aged(clocks: readonly number[], cap: number): number[] {
  const later = clocks.map((x, c) => (c === 0 ? 0 : x + 1));
  // All above the cap by more than a unit: only differences matter, and those stay when all that are above come down together.
  const high = later.filter((x, c) => c > 0 && x > cap + 1);
  if (high.length === 0) return later;
  const sorted = [...new Set(later.filter((x, c) => c > 0 && x > cap))].sort((a, b) => a - b);
  const down = new Map<number, number>();
  let at = cap + 1;
  for (const [k, x] of sorted.entries()) {
    if (k > 0) at += Math.min(x - sorted[k - 1]!, 2 * cap + 2);
    down.set(x, at);
  }
  return later.map((x, c) => (c > 0 && x > cap ? down.get(x)! : x));
}
