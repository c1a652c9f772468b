/**
 * What each clock is compared with, location by location: the bounds of the extrapolation, and which clocks matter at all.
 *
 * A bound of a location is the largest constant that a clock is compared with, from below (x > c) or from above (x < c), before
 * it is next reset on the automaton's own edges. A clock without bounds at a location of every automaton is not active there: its value
 * does not matter until it is reset. Sources: G. Behrmann, P. Bouyer, E. Fleury, K. G. Larsen, Static guard analysis in timed automata
 * verification, TACAS 2003; C. Daws, S. Yovine, Reducing the number of clock variables of timed automata, RTSS 1996.
 */
import type { Atom, Network } from "./network.ts";
import { rangeOf } from "./node.ts";

/** Largest constants of comparisons of one clock, -1 for none. */
export interface ObservedClock {
  readonly clock: number;
  readonly lower: number;
  readonly upper: number;
}

export interface ClockBounds {
  /** Number of clocks, the zero included. */
  readonly clocks: number;
  /** By location (of all automata, one after the other) and clock; -1 for none. */
  readonly lower: Int32Array;
  readonly upper: Int32Array;
  /** Bits of active clocks by location: `words` integers each. */
  readonly active: Int32Array;
  readonly words: number;
  /** Automata that have a bound on a clock anywhere. */
  readonly users: readonly (readonly number[])[];
  /** Bounds that hold everywhere, of clocks that are always active; -1 else. */
  readonly always: { readonly lower: Int32Array; readonly upper: Int32Array; readonly active: Int32Array };
}

/**
 * @param observed clocks that queries look at, in every location
 * @param extra number of clocks added to those of the network
 * @param exact one bound for both kinds of comparison: what cannot happen is kept apart as well as what can
 */
export function clockBounds(
  network: Network,
  observed: readonly ObservedClock[],
  extra: number,
  exact: boolean,
): ClockBounds {
  const clocks = network.clocks.length + extra;
  const words = Math.max(1, (clocks + 31) >> 5);
  const count = network.automata.reduce((sum, { locations }) => sum + locations.length, 0);
  const lower = new Int32Array(count * clocks).fill(-1);
  const upper = new Int32Array(count * clocks).fill(-1);
  const active = new Int32Array(count * words);
  const always = {
    lower: new Int32Array(clocks).fill(-1),
    upper: new Int32Array(clocks).fill(-1),
    active: new Int32Array(words),
  };
  const constants = new Constants(network, clocks, exact);
  let first = 0;
  for (const automaton of network.automata) {
    for (const [l, location] of automaton.locations.entries())
      for (const { atom } of location.clocks) constants.note(atom, lower, upper, (first + l) * clocks);
    for (const edge of automaton.edges)
      for (const clause of edge.guard)
        for (const atom of clause.atoms) constants.note(atom, lower, upper, (first + edge.from) * clocks);
    for (let changed = true; changed; ) {
      changed = false;
      for (const edge of automaton.edges) {
        const from = (first + edge.from) * clocks;
        const to = (first + edge.to) * clocks;
        for (let c = 1; c < clocks; c++) {
          if (edge.resets.some(({ clock }) => clock === c)) continue;
          if (lower[to + c]! > lower[from + c]!) {
            lower[from + c] = lower[to + c]!;
            changed = true;
          }
          if (upper[to + c]! > upper[from + c]!) {
            upper[from + c] = upper[to + c]!;
            changed = true;
          }
        }
      }
    }
    first += automaton.locations.length;
  }
  for (const { clock, lower: low, upper: high } of observed) {
    const most = Math.max(low, high);
    always.lower[clock] = Math.max(always.lower[clock]!, exact ? most : low);
    always.upper[clock] = Math.max(always.upper[clock]!, exact ? most : high);
    always.active[clock >> 5]! |= 1 << (clock & 31);
  }
  const users: number[][] = Array.from({ length: clocks }, () => []);
  first = 0;
  for (const [a, { locations }] of network.automata.entries()) {
    for (let l = 0; l < locations.length; l++)
      for (let c = 1; c < clocks; c++) {
        const at = (first + l) * clocks + c;
        if (lower[at]! < 0 && upper[at]! < 0) continue;
        active[(first + l) * words + (c >> 5)]! |= 1 << (c & 31);
        if (!users[c]!.includes(a)) users[c]!.push(a);
      }
    first += locations.length;
  }
  return { clocks, lower, upper, active, words, users, always };
}

class Constants {
  readonly #network: Network;
  readonly #exact: boolean;
  /** Largest value that a clock is reset to: a difference of clocks turns into a comparison with the constant plus this. */
  readonly #resets: Int32Array;

  constructor(network: Network, clocks: number, exact: boolean) {
    this.#network = network;
    this.#exact = exact;
    this.#resets = new Int32Array(clocks);
    for (const { edges } of network.automata)
      for (const { resets } of edges)
        for (const { clock, value } of resets) this.#resets[clock] = Math.max(this.#resets[clock]!, value);
  }

  note({ i, j, bound }: Atom, lower: Int32Array, upper: Int32Array, at: number): void {
    const { min, max } = rangeOf(bound, this.#network.fields);
    const raise = (list: Int32Array, clock: number, value: number) => {
      list[at + clock] = Math.max(list[at + clock]!, value, 0);
    };
    const both = (clock: number, value: number) => {
      raise(lower, clock, value);
      raise(upper, clock, value);
    };
    if (i !== 0 && j !== 0) {
      const most = Math.max(Math.abs(min), Math.abs(max));
      both(i, most + this.#resets[j]!);
      both(j, most + this.#resets[i]!);
    } else if (i !== 0) (this.#exact ? both : raise.bind(undefined, upper))(i, max);
    else if (j !== 0) (this.#exact ? both : raise.bind(undefined, lower))(j, -min);
  }
}

/** Clocks that conditions of a query look at. */
export function observedClocks(network: Network, atoms: readonly Atom[]): ObservedClock[] {
  return atoms.flatMap(({ i, j, bound }) => {
    const { min, max } = rangeOf(bound, network.fields);
    const most = Math.max(Math.abs(min), Math.abs(max));
    if (i !== 0 && j !== 0)
      return [
        { clock: i, lower: most, upper: most },
        { clock: j, lower: most, upper: most },
      ];
    return i !== 0
      ? [{ clock: i, lower: -1, upper: Math.max(0, max) }]
      : [{ clock: j, lower: Math.max(0, -min), upper: -1 }];
  });
}
