/**
 * What a network can do, written anew from the definition for the tests: no zones, no tables. How clocks are represented is left to
 * the explorer that asks.
 */
import type { Atom, Automaton, Clause, Edge, Network, Node } from "../../src/proof/automata/network.ts";

export type Discrete = readonly number[];
/** Whether a clock condition holds: x_i - x_j < or <= bound. */
export type ClockTest = (i: number, j: number, strict: boolean, bound: number) => boolean;

export function value(node: Node, s: Discrete): number {
  switch (node.kind) {
    case "constant":
      return node.value;
    case "field":
      return s[node.field]!;
    case "element":
      return s[node.base + value(node.index, s)]!;
    case "minus":
      return -value(node.of, s);
    case "not":
      return value(node.of, s) === 0 ? 1 : 0;
    case "count":
      return node.fields.filter((f) => s[f] === node.value).length;
    case "choice":
      return value(value(node.test, s) !== 0 ? node.yes : node.otherwise, s);
    case "operation": {
      const a = value(node.left, s);
      if (node.op === "and") return a !== 0 && value(node.right, s) !== 0 ? 1 : 0;
      if (node.op === "or") return a !== 0 || value(node.right, s) !== 0 ? 1 : 0;
      const b = value(node.right, s);
      const table: Record<string, number> = {
        "+": a + b,
        "-": a - b,
        "*": a * b,
        div: Math.trunc(a / b),
        mod: a % b,
        "=": Number(a === b),
        "!=": Number(a !== b),
        "<": Number(a < b),
        "<=": Number(a <= b),
        ">": Number(a > b),
        ">=": Number(a >= b),
      };
      return table[node.op]!;
    }
  }
}

export interface Move {
  readonly edges: readonly Edge[];
  readonly next: Discrete;
  readonly resets: ReadonlyMap<number, number>;
}

const atomHolds = ({ i, j, strict, bound }: Atom, s: Discrete, test: ClockTest) => test(i, j, strict, value(bound, s));

export const clauseHolds = ({ data, atoms }: Clause, s: Discrete, test: ClockTest): boolean =>
  data.every((node) => value(node, s) !== 0) && atoms.every((atom) => atomHolds(atom, s, test));

const locationOf = (automaton: Automaton, s: Discrete, a: number) => automaton.locations[s[a]!]!;

export function invariantsHold(network: Network, s: Discrete, test: ClockTest): boolean {
  return network.automata.every((automaton, a) => {
    const { data, clocks } = locationOf(automaton, s, a);
    return (
      data.every((node) => value(node, s) !== 0) &&
      clocks.every(({ when, atom }) => (when !== undefined && value(when, s) === 0) || atomHolds(atom, s, test))
    );
  });
}

export const start = (network: Network): Discrete => network.fields.map(({ start: first }) => first);

/** All combinations of edges that move together, whatever the invariants after them say. */
export function movesFrom(network: Network, s: Discrete, test: ClockTest): Move[] {
  const enabled = network.automata.map(({ edges }, a) =>
    edges.filter((edge) => edge.from === s[a] && edge.guard.some((clause) => clauseHolds(clause, s, test))),
  );
  const slot = ({ channel }: Edge) =>
    network.channels[channel!.channel]!.first + (channel!.index === undefined ? 0 : value(channel!.index, s));
  const groups: Edge[][] = [];
  for (const own of enabled)
    for (const edge of own) {
      if (edge.channel === undefined) groups.push([edge]);
      if (edge.channel?.role !== "send") continue;
      const able = enabled
        .map((others, b) =>
          b === edge.automaton ? [] : others.filter((o) => o.channel?.role === "receive" && slot(o) === slot(edge)),
        )
        .filter((others) => others.length > 0);
      if (network.channels[edge.channel.channel]!.kind === "pair")
        for (const other of able.flat()) groups.push([edge, other]);
      else {
        let sets: Edge[][] = [[edge]];
        for (const others of able) sets = sets.flatMap((set) => others.map((other) => [...set, other]));
        groups.push(...sets);
      }
    }
  const committed = network.automata.map((automaton, a) => locationOf(automaton, s, a).kind === "committed");
  const allowed = committed.includes(true)
    ? groups.filter((g) => g.some(({ automaton }) => committed[automaton]))
    : groups;
  return allowed.map((edges) => {
    const next = [...s];
    const resets = new Map<number, number>();
    for (const { updates } of edges)
      for (const { base, index, value: node } of updates) {
        const result = value(node, next);
        next[base + (index === undefined ? 0 : value(index, next))] = result;
      }
    for (const { automaton, to } of edges) next[automaton] = to;
    for (const edge of edges) for (const { clock, value: to } of edge.resets) resets.set(clock, to);
    return { edges, next, resets };
  });
}

/** Whether time may pass at all: nothing urgent or committed, no urgent channel ready. */
export function mayWait(network: Network, s: Discrete): boolean {
  if (network.automata.some((automaton, a) => locationOf(automaton, s, a).kind !== "ordinary")) return false;
  const urgent = movesFrom(network, s, () => false).some(({ edges }) => {
    const { channel } = edges[0]!;
    return channel !== undefined && network.channels[channel.channel]!.urgent;
  });
  return !urgent;
}
