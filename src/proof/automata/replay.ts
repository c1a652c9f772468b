/**
 * One concrete run step by step, straight from the network's definition: no zones. It confirms every run that is shown, and gives
 * clock values on the way. Times are whole numbers of parts of a unit.
 */
import type { Atom, Clause, Edge, Location, Network } from "./network.ts";
import { compileNode, type State } from "./node.ts";

const evaluate = (node: Parameters<typeof compileNode>[0], state: State) => compileNode(node)(state);

export class Run {
  readonly #network: Network;
  readonly #parts: number;
  readonly state: State;
  /** In parts of a unit; [0] is the zero. */
  readonly clocks: Float64Array;

  constructor(network: Network, parts: number) {
    this.#network = network;
    this.#parts = parts;
    this.state = Int32Array.from(network.fields, ({ start }) => start);
    this.clocks = new Float64Array(network.clocks.length);
  }

  /** Undefined when all is well, else what is not. */
  begin(): string | undefined {
    return this.#brokenInvariant();
  }

  wait(time: number): string | undefined {
    if (time === 0) return undefined;
    if (time < 0) return "time runs backward";
    if (!this.#mayWait()) return "time passes where it may not";
    for (let c = 1; c < this.clocks.length; c++) this.clocks[c]! += time;
    return this.#brokenInvariant();
  }

  move(edges: readonly Edge[]): string | undefined {
    const { state } = this;
    const wrong = this.#wrongParts(edges);
    if (wrong !== undefined) return wrong;
    const next = state.slice();
    for (const { updates } of edges)
      for (const { base, index, value, min, max } of updates) {
        const result = evaluate(value, next);
        const at = base + (index === undefined ? 0 : evaluate(index, next));
        if (result < min || result > max) return "a value leaves its range";
        next[at] = result;
      }
    for (const { automaton, to } of edges) next[automaton] = to;
    state.set(next);
    for (const { resets } of edges) for (const { clock, value } of resets) this.clocks[clock] = value * this.#parts;
    return this.#brokenInvariant();
  }

  holds(clauses: readonly Clause[]): boolean {
    return clauses.some((clause) => this.#clause(clause));
  }

  #clause({ data, atoms }: Clause): boolean {
    return data.every((node) => evaluate(node, this.state) !== 0) && atoms.every((atom) => this.#atom(atom));
  }

  #atom({ i, j, strict, bound }: Atom): boolean {
    const difference = this.clocks[i]! - this.clocks[j]!;
    const limit = evaluate(bound, this.state) * this.#parts;
    return strict ? difference < limit : difference <= limit;
  }

  #locations(): Location[] {
    return this.#network.automata.map(({ locations }, a) => locations[this.state[a]!]!);
  }

  #brokenInvariant(): string | undefined {
    for (const { name, data, clocks } of this.#locations()) {
      const broken =
        data.some((node) => evaluate(node, this.state) === 0) ||
        clocks.some(({ when, atom }) => (when === undefined || evaluate(when, this.state) !== 0) && !this.#atom(atom));
      if (broken) return `the invariant of ${name} is broken`;
    }
    return undefined;
  }

  #enabled(edge: Edge): boolean {
    return this.state[edge.automaton] === edge.from && edge.guard.some((clause) => this.#clause(clause));
  }

  /** Number of the channel among all elements. */
  #slot({ channel }: Edge): number {
    const { first } = this.#network.channels[channel!.channel]!;
    return first + (channel!.index === undefined ? 0 : evaluate(channel!.index, this.state));
  }

  #mayWait(): boolean {
    if (this.#locations().some(({ kind }) => kind !== "ordinary")) return false;
    const edges = this.#network.automata
      .flatMap((automaton) => automaton.edges)
      .filter((edge) => {
        return (
          edge.channel !== undefined && this.#network.channels[edge.channel.channel]!.urgent && this.#enabled(edge)
        );
      });
    return !edges.some(
      (send) =>
        send.channel!.role === "send" &&
        (this.#network.channels[send.channel!.channel]!.kind === "broadcast" ||
          edges.some(
            (r) =>
              r.channel!.role === "receive" && r.automaton !== send.automaton && this.#slot(r) === this.#slot(send),
          )),
    );
  }

  #wrongParts(edges: readonly Edge[]): string | undefined {
    const { automata, channels } = this.#network;
    if (edges.some((edge) => !this.#enabled(edge))) return "an edge is taken whose guard does not hold";
    if (
      this.#locations().some(({ kind }) => kind === "committed") &&
      !edges.some((edge) => automata[edge.automaton]!.locations[edge.from]!.kind === "committed")
    )
      return "an automaton in a committed location has to move first";
    const [first, ...others] = edges;
    if (first!.channel === undefined) return others.length === 0 ? undefined : "edges without a common channel";
    const slot = this.#slot(first!);
    const match = others.every((edge) => edge.channel?.role === "receive" && this.#slot(edge) === slot);
    const movers = new Set(edges.map(({ automaton }) => automaton));
    if (first!.channel.role !== "send" || !match || movers.size !== edges.length) return "edges that do not fit";
    if (channels[first!.channel.channel]!.kind === "pair")
      return others.length === 1 ? undefined : "a sender without its receiver";
    const missing = automata.some(
      ({ edges: own }, a) =>
        !movers.has(a) &&
        own.some((edge) => edge.channel?.role === "receive" && this.#enabled(edge) && this.#slot(edge) === slot),
    );
    return missing ? "an automaton that could receive does not" : undefined;
  }
}
