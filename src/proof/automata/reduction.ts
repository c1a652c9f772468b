/**
 * Partial-order reduction for moves that take no time: where one automaton has only moves that touch nothing of the others and that the
 * query does not see, in whatever order the others move before it, the same is reached; so only its moves are followed. That holds
 * in networks without clocks, and in states in which that automaton lets no time pass. Where a move leads to a state known
 * already, all moves are followed, so that none is put off for ever.
 *
 * Source: D. Peled, All from one, one for all: on model checking using representatives, CAV 1993; the conditions on time are derived in
 * docs/explanation/timed-automata.md.
 */
import type { Runtime } from "./compile.ts";
import type { Atom, Edge, Network } from "./network.ts";
import { fieldsOf } from "./node.ts";
import type { Stepper } from "./stepper.ts";

/** What each automaton reads and writes, in any location. */
interface Use {
  readonly reads: Set<number>;
  readonly writes: Set<number>;
  readonly readsClocks: Set<number>;
  readonly writesClocks: Set<number>;
}

function useOf(edges: readonly Edge[]): Use {
  const use: Use = { reads: new Set(), writes: new Set(), readsClocks: new Set(), writesClocks: new Set() };
  for (const edge of edges) {
    for (const { data, atoms } of edge.guard) {
      for (const node of data) fieldsOf(node, use.reads);
      for (const atom of atoms) readAtom(atom, use);
    }
    if (edge.channel?.index) fieldsOf(edge.channel.index, use.reads);
    for (const { base, size, index, value } of edge.updates) {
      fieldsOf(value, use.reads);
      if (index) fieldsOf(index, use.reads);
      for (let k = 0; k < size; k++) use.writes.add(base + k);
    }
    for (const { clock } of edge.resets) use.writesClocks.add(clock);
    use.writes.add(edge.automaton);
  }
  return use;
}

function readAtom({ i, j, bound }: Atom, use: Use): void {
  fieldsOf(bound, use.reads);
  use.readsClocks.add(i).add(j);
}

/**
 * Chooses, for a stepper's source, an automaton whose moves alone need to be followed.
 * @param seenFields fields that the queries look at   @param seenClocks clocks that they look at
 * @returns undefined when no location of the network allows it
 */
export function reduction(
  runtime: Runtime,
  stepper: Stepper,
  seenFields: ReadonlySet<number>,
  seenClocks: ReadonlySet<number>,
): (() => number) | undefined {
  const { network, firstLocation } = runtime;
  const uses = network.automata.map((automaton) => {
    const use = useOf(automaton.edges);
    for (const { data, clocks } of automaton.locations) {
      for (const node of data) fieldsOf(node, use.reads);
      for (const { when, atom } of clocks) {
        if (when) fieldsOf(when, use.reads);
        readAtom(atom, use);
      }
    }
    return use;
  });
  const alone = new Uint8Array(runtime.locations.length);
  for (const [a, automaton] of network.automata.entries()) {
    const others = uses.filter((_, b) => b !== a);
    for (let l = 0; l < automaton.locations.length; l++)
      if (isAlone(network, a, l, stepper.timed, others, seenFields, seenClocks)) alone[firstLocation[a]! + l] = 1;
  }
  const able = network.automata.flatMap(({ locations }, a) =>
    locations.some((_, l) => alone[firstLocation[a]! + l] === 1) ? [a] : [],
  );
  if (able.length === 0) return undefined;
  const { source } = stepper;
  return () => {
    for (let k = 0; k < able.length; k++) {
      const a = able[k]!;
      const at = firstLocation[a]! + source[a]!;
      if (alone[at] === 0) continue;
      for (const { test } of runtime.locations[at]!.internal) if (test === undefined || test(source) !== 0) return a;
    }
    return -1;
  };
}

function isAlone(
  network: Network,
  a: number,
  location: number,
  timed: boolean,
  others: readonly Use[],
  seenFields: ReadonlySet<number>,
  seenClocks: ReadonlySet<number>,
): boolean {
  const automaton = network.automata[a]!;
  const { kind } = automaton.locations[location]!;
  if (timed && kind === "ordinary") return false;
  const edges = automaton.edges.filter(({ from }) => from === location);
  if (edges.length === 0) return false;
  const use = useOf(edges);
  for (const edge of edges) {
    const target = automaton.locations[edge.to]!;
    if (edge.channel !== undefined || edge.guard.some(({ atoms }) => atoms.length > 0)) return false;
    if (target.kind === "committed" && kind !== "committed") return false;
    for (const node of target.data) fieldsOf(node, use.reads);
    for (const { when, atom } of target.clocks) {
      // Only an invariant that the move itself makes true cannot keep it from being taken.
      const set = edge.resets.find(({ clock }) => clock === atom.i);
      const met = set !== undefined && atom.j === 0 && atom.bound.kind === "constant";
      if (!met || when !== undefined || set.value + (atom.strict ? 1 : 0) > (atom.bound as { value: number }).value)
        return false;
    }
  }
  for (const field of use.writes)
    if (seenFields.has(field) || others.some(({ reads, writes }) => reads.has(field) || writes.has(field)))
      return false;
  for (const field of use.reads) if (others.some(({ writes }) => writes.has(field))) return false;
  for (const clock of use.writesClocks)
    if (
      seenClocks.has(clock) ||
      others.some(({ readsClocks, writesClocks }) => readsClocks.has(clock) || writesClocks.has(clock))
    )
      return false;
  return true;
}
