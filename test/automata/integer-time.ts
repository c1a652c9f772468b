/**
 * Brute force over whole-number times: exact for which discrete states can be reached where all clock conditions are closed (<=, >=)
 * and broadcasts do not depend on clocks (T. A. Henzinger, Z. Manna, A. Pnueli, What good are digital clocks?, ICALP 1992).
 */
import type { Network } from "../../src/proof/automata/network.ts";
import { type ClockTest, type Discrete, invariantsHold, mayWait, movesFrom, start } from "./semantics.ts";

/**
 * Discrete states that can be reached, as text, each with the earliest whole time, which is the earliest time of all.
 * @param cap a clock above it counts as above
 */
export function reachableAtWholeTimes(network: Network, cap: number): Map<string, number> {
  const seen = new Set<string>();
  const discrete = new Map<string, number>();
  let now: { s: Discrete; clocks: readonly number[] }[] = [];
  let next: typeof now = [];
  const test =
    (clocks: readonly number[]): ClockTest =>
    (i, j, strict, bound) =>
      strict ? clocks[i]! - clocks[j]! < bound : clocks[i]! - clocks[j]! <= bound;
  const add = (to: typeof now, time: number, s: Discrete, clocks: readonly number[]) => {
    const key = `${s} ${clocks}`;
    if (seen.has(key) || !invariantsHold(network, s, test(clocks))) return;
    seen.add(key);
    if (to === now && !discrete.has(String(s))) discrete.set(String(s), time);
    to.push({ s, clocks });
  };
  const zeros = network.clocks.map(() => 0);
  add(now, 0, start(network), zeros);
  for (let time = 0; now.length > 0; time++) {
    for (let k = 0; k < now.length; k++) {
      const { s, clocks } = now[k]!;
      for (const { next: target, resets } of movesFrom(network, s, test(clocks)))
        add(
          now,
          time,
          target,
          clocks.map((x, c) => resets.get(c) ?? x),
        );
    }
    for (const { s, clocks } of now) if (mayWait(network, s)) add(next, time + 1, s, aged(clocks, cap));
    now = next;
    next = [];
  }
  return discrete;
}

/** One unit later. Differences between clocks are kept up to the cap, as far as they can matter. */
export function aged(clocks: readonly number[], cap: number): number[] {
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
