/**
 * Brute force over times on a grid of fractions of a unit, for conditions of any kind, clocks compared with one another included. Readings
 * between the grid's are not seen: for two clocks and small whole constants a grid of quarters has met every answer so far.
 */
import type { Network } from "../../src/proof/automata/network.ts";
import { aged } from "./integer-time.ts";
import { type ClockTest, type Discrete, invariantsHold, mayWait, movesFrom, start } from "./semantics.ts";

export interface GridAnswers {
  readonly states: number;
  readonly deadlock: boolean;
  /** From every state some run lets a unit pass. */
  readonly timePasses: boolean;
}

/** @param steps parts of a unit   @param cap whole units above which a clock counts as above */
export function onGrid(network: Network, steps: number, cap: number): GridAnswers {
  const states: { s: Discrete; clocks: readonly number[] }[] = [];
  const numbers = new Map<string, number>();
  const test =
    (clocks: readonly number[]): ClockTest =>
    (i, j, strict, bound) => {
      const difference = clocks[i]! - clocks[j]!;
      return strict ? difference < bound * steps : difference <= bound * steps;
    };
  const add = (s: Discrete, clocks: readonly number[]): number => {
    const key = `${s} ${clocks}`;
    const known = numbers.get(key);
    if (known !== undefined) return known;
    if (!invariantsHold(network, s, test(clocks))) return -1;
    numbers.set(key, states.length);
    states.push({ s, clocks });
    return states.length - 1;
  };
  const zeros = network.clocks.map(() => 0);
  add(start(network), zeros);
  const time: number[] = [];
  const moves: number[][] = [];
  for (let k = 0; k < states.length; k++) {
    const { s, clocks } = states[k]!;
    time.push(mayWait(network, s) ? add(s, aged(clocks, cap * steps)) : -1);
    const next = movesFrom(network, s, test(clocks)).map(({ next: target, resets }) =>
      add(
        target,
        clocks.map((x, c) => (resets.has(c) ? resets.get(c)! * steps : x)),
      ),
    );
    moves.push(next.filter((n) => n >= 0));
  }
  const deadlock = states.some((_, k) => {
    for (let at = k; ; at = time[at]!) {
      if (moves[at]!.length > 0) return false;
      if (time[at]! < 0 || time[at] === at) return true;
    }
  });
  // States from which so many steps of time can pass, for one more each time.
  let able = states.map(() => true);
  for (let step = 0; step < steps; step++) {
    const next = states.map((_, k) => time[k]! >= 0 && able[time[k]!]!);
    for (let changed = true; changed; ) {
      changed = false;
      for (let k = states.length - 1; k >= 0; k--)
        if (!next[k] && moves[k]!.some((n) => next[n])) changed = next[k] = true;
    }
    able = next;
  }
  return { states: states.length, deadlock, timePasses: !able.includes(false) };
}
