/** A network as tables and functions, for the explorers. */
import { bound } from "./dbm.ts";
import type { Atom, Clause, Edge, Network, Node, Update } from "./network.ts";
import { compileAll, compileNode, type Evaluate, ModelFault, type State } from "./node.ts";

export interface RuntimeAtom {
  readonly i: number;
  readonly j: number;
  readonly strict: boolean;
  /** The bound as an integer of dbm.ts, where it is the same in every state. */
  readonly raw: number;
  readonly dynamic: Evaluate | undefined;
}

export const rawOf = (atom: RuntimeAtom, state: State): number =>
  atom.dynamic === undefined ? atom.raw : bound(atom.dynamic(state), atom.strict);

/** One alternative of an edge's guard. */
export interface RuntimeEdge {
  readonly edge: Edge;
  readonly automaton: number;
  readonly to: number;
  readonly test: Evaluate | undefined;
  readonly atoms: readonly RuntimeAtom[];
  readonly update: ((state: State) => void) | undefined;
  /** Number of the channel declared, -1 for none. */
  readonly channel: number;
  /** Number of the channel among all elements, or -1 when `slotOf` tells. */
  readonly slot: number;
  readonly slotOf: Evaluate | undefined;
  readonly broadcast: boolean;
  readonly urgent: boolean;
}

export interface RuntimeClause {
  readonly test: Evaluate | undefined;
  readonly atoms: readonly RuntimeAtom[];
}

export interface RuntimeInvariant {
  readonly when: Evaluate | undefined;
  readonly atom: RuntimeAtom;
}

export interface RuntimeLocation {
  readonly committed: boolean;
  /** Urgent or committed. */
  readonly still: boolean;
  readonly data: Evaluate | undefined;
  readonly invariants: readonly RuntimeInvariant[];
  readonly internal: readonly RuntimeEdge[];
  readonly sends: readonly RuntimeEdge[];
  readonly receives: readonly RuntimeEdge[];
}

export interface Runtime {
  readonly network: Network;
  /** Of every automaton, one after the other; `firstLocation` tells where an automaton's begin. */
  readonly locations: readonly RuntimeLocation[];
  readonly firstLocation: Int32Array;
  /** Automata that receive on a channel somewhere. */
  readonly receivers: readonly (readonly number[])[];
  readonly withData: readonly number[];
  readonly withInvariants: readonly number[];
  readonly hasCommitted: boolean;
  readonly hasStill: boolean;
  readonly hasUrgentChannels: boolean;
  /** Some clocks are compared with one another, in a guard or an invariant. */
  readonly hasDiagonals: boolean;
}

export function compileAtom({ i, j, strict, bound: node }: Atom): RuntimeAtom {
  const fixed = node.kind === "constant";
  return { i, j, strict, raw: fixed ? bound(node.value, strict) : 0, dynamic: fixed ? undefined : compileNode(node) };
}

export const compileClause = ({ data, atoms }: Clause): RuntimeClause => ({
  test: compileAll(data),
  atoms: atoms.map(compileAtom),
});

export function compile(network: Network): Runtime {
  const locations: RuntimeLocation[] = [];
  const firstLocation = new Int32Array(network.automata.length);
  const receivers: number[][] = network.channels.map(() => []);
  const withData: number[] = [];
  const withInvariants: number[] = [];
  let hasDiagonals = false;
  for (const [a, automaton] of network.automata.entries()) {
    firstLocation[a] = locations.length;
    for (const [l, location] of automaton.locations.entries()) {
      const edges = automaton.edges.filter((edge) => edge.from === l).flatMap((edge) => compileEdge(network, edge));
      locations.push({
        committed: location.kind === "committed",
        still: location.kind !== "ordinary",
        data: compileAll(location.data),
        invariants: location.clocks.map(({ when, atom }) => ({
          when: when && compileNode(when),
          atom: compileAtom(atom),
        })),
        internal: edges.filter(({ channel }) => channel < 0),
        sends: edges.filter(({ edge }) => edge.channel?.role === "send"),
        receives: edges.filter(({ edge }) => edge.channel?.role === "receive"),
      });
    }
    if (automaton.locations.some(({ data }) => data.length > 0)) withData.push(a);
    if (automaton.locations.some(({ clocks }) => clocks.length > 0)) withInvariants.push(a);
    for (const edge of automaton.edges) {
      if (edge.channel?.role === "receive" && !receivers[edge.channel.channel]!.includes(a))
        receivers[edge.channel.channel]!.push(a);
      if (edge.guard.some(({ atoms }) => atoms.some(isDiagonal))) hasDiagonals = true;
    }
    if (automaton.locations.some(({ clocks }) => clocks.some(({ atom }) => isDiagonal(atom)))) hasDiagonals = true;
  }
  return {
    network,
    locations,
    firstLocation,
    receivers,
    withData,
    withInvariants,
    hasCommitted: locations.some(({ committed }) => committed),
    hasStill: locations.some(({ still }) => still),
    hasUrgentChannels: network.channels.some(({ urgent }) => urgent),
    hasDiagonals,
  };
}

export const isDiagonal = ({ i, j }: { readonly i: number; readonly j: number }): boolean => i !== 0 && j !== 0;

function compileEdge(network: Network, edge: Edge): RuntimeEdge[] {
  const channel = edge.channel && network.channels[edge.channel.channel]!;
  const update = compileUpdates(edge.updates);
  return edge.guard.map((clause) => ({
    ...compileClause(clause),
    edge,
    automaton: edge.automaton,
    to: edge.to,
    update,
    channel: edge.channel?.channel ?? -1,
    ...slots(edge.channel?.index, channel?.first ?? 0, channel?.size, channel?.name ?? ""),
    broadcast: channel?.kind === "broadcast",
    urgent: channel?.urgent === true,
  }));
}

function slots(
  index: Node | undefined,
  first: number,
  size: number | undefined,
  name: string,
): { slot: number; slotOf: Evaluate | undefined } {
  if (index === undefined) return { slot: first, slotOf: undefined };
  if (index.kind === "constant") return { slot: first + index.value, slotOf: undefined };
  const evaluate = compileNode(index);
  return {
    slot: -1,
    slotOf: (s) => {
      const k = evaluate(s);
      if (k < 0 || k >= size!) throw new ModelFault(`${name}[${k}] is used; ${name} has elements 0 to ${size! - 1}`);
      return first + k;
    },
  };
}

/** Updates as one function that changes a state. @throws ModelFault (when run) for a value outside its range */
function compileUpdates(updates: readonly Update[]): ((state: State) => void) | undefined {
  const list = updates.map(compileUpdate);
  if (list.length === 0) return undefined;
  if (list.length === 1) return list[0];
  if (list.length === 2) {
    const [first, second] = list as [(state: State) => void, (state: State) => void];
    return (s) => {
      first(s);
      second(s);
    };
  }
  return (s) => {
    for (let k = 0; k < list.length; k++) list[k]!(s);
  };
}

function compileUpdate({ base, size, index, value, min, max, name, text }: Update): (state: State) => void {
  const fault = (result: number) =>
    new ModelFault(`"${text}" gives ${name} the value ${result}, outside its range ${min} to ${max}`);
  if (index === undefined && value.kind === "constant") {
    const fixed = value.value;
    if (fixed >= min && fixed <= max)
      return (s) => {
        s[base] = fixed;
      };
  }
  const compute = compileNode(value);
  if (index === undefined)
    return (s) => {
      const result = compute(s);
      if (!(result >= min && result <= max)) throw fault(result);
      s[base] = result;
    };
  const place = compileNode(index);
  return (s) => {
    const result = compute(s);
    const k = place(s);
    if (k < 0 || k >= size) throw new ModelFault(`"${text}" sets ${name}[${k}]; ${name} has elements 0 to ${size - 1}`);
    if (!(result >= min && result <= max)) throw fault(result);
    s[base + k] = result;
  };
}
