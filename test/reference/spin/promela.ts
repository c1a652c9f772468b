/** Untimed networks as Promela, the language of SPIN, so that SPIN can be asked the same. */
import type { Clause, Edge, Network, Node, Update } from "../../../src/proof/automata/network.ts";

/** Variables are called v0, v1, … by field; locations l0, l1, … or program counters. */
function expression(node: Node, location: (field: number, value: number) => string): string {
  const inner = (n: Node) => expression(n, location);
  switch (node.kind) {
    case "constant":
      return `(${node.value})`;
    case "field":
      return `v[${node.field}]`;
    case "element":
      return `v[${node.base} + ${inner(node.index)}]`;
    case "minus":
      return `(-${inner(node.of)})`;
    case "not":
      return `(!${inner(node.of)})`;
    case "count":
      return `(${node.fields.map((f) => `(${location(f, node.value)})`).join(" + ")})`;
    case "choice":
      return `(${inner(node.test)} -> ${inner(node.yes)} : ${inner(node.otherwise)})`;
    case "operation": {
      const words: Record<string, string> = { div: "/", mod: "%", "=": "==", and: "&&", or: "||" };
      return `(${inner(node.left)} ${words[node.op] ?? node.op} ${inner(node.right)})`;
    }
  }
}

const conditionOf = (clauses: readonly Clause[], location: (f: number, v: number) => string): string =>
  clauses.length === 0
    ? "false"
    : clauses
        .map(({ data }) => (data.length === 0 ? "true" : data.map((n) => expression(n, location)).join(" && ")))
        .map((text) => `(${text})`)
        .join(" || ");

function assignments(updates: readonly Update[], location: (f: number, v: number) => string): string[] {
  return updates.map(({ base, index, value }) => {
    const place = index === undefined ? String(base) : `${base} + ${expression(index, location)}`;
    return `v[${place}] = ${expression(value, location)}`;
  });
}

function variables(network: Network): string[] {
  const { fields, automata } = network;
  const wide = fields.some(({ min, max }) => min < 0 || max > 255);
  return [
    `${wide ? "int" : "byte"} v[${fields.length}];`,
    `init { d_step { ${fields.map(({ start }, f) => (f < automata.length ? `v[${f}] = ${start}` : `v[${f}] = ${start}`)).join("; ")} }; run net() }`,
  ];
}

/**
 * The network as one process that does one move at a time: works for every untimed network without urgency, and has exactly its
 * states (and those of the start of SPIN's processes).
 * @param never condition that must not be reached
 */
export function asOneProcess(network: Network, never: readonly Clause[]): string {
  const at = (field: number, value: number) => `v[${field}] == ${value}`;
  const committedAt = (a: number) =>
    network.automata[a]!.locations.flatMap(({ kind }, l) => (kind === "committed" ? [at(a, l)] : []));
  const anyCommitted = network.automata.flatMap((_, a) => committedAt(a)).join(" || ");
  const options: string[] = [];
  const option = (edges: readonly Edge[], extra: string[] = []) => {
    const guards = edges.map((edge) => `(${at(edge.automaton, edge.from)}) && (${conditionOf(edge.guard, at)})`);
    const movers = edges.flatMap(({ automaton }) => committedAt(automaton)).join(" || ") || "false";
    const committed = anyCommitted === "" ? [] : [`(!(${anyCommitted}) || ${movers})`];
    const slots = edges.map((edge) => slotOf(network, edge, at));
    const same = slots.slice(1).map((slot) => `(${slot} == ${slots[0]})`);
    const moves = edges.map(({ automaton, to }) => `v[${automaton}] = ${to}`);
    const body = [...edges.flatMap(({ updates }) => assignments(updates, at)), ...moves].join("; ");
    options.push(`:: d_step { ${[...guards, ...same, ...committed, ...extra].join(" && ")} -> ${body} }`);
  };
  const all = network.automata.flatMap(({ edges }) => edges);
  for (const edge of all) {
    if (edge.channel === undefined) option([edge]);
    if (edge.channel?.role !== "send") continue;
    const others = all.filter(
      (o) =>
        o.channel?.role === "receive" && o.channel.channel === edge.channel!.channel && o.automaton !== edge.automaton,
    );
    if (network.channels[edge.channel.channel]!.kind === "pair") {
      for (const other of others) option([edge, other]);
      continue;
    }
    // Broadcast: every choice of one able edge for each automaton that can receive, none for the others.
    const byAutomaton = new Map<number, Edge[]>();
    for (const other of others) byAutomaton.set(other.automaton, [...(byAutomaton.get(other.automaton) ?? []), other]);
    let sets: { edges: Edge[]; none: string[] }[] = [{ edges: [edge], none: [] }];
    for (const own of byAutomaton.values()) {
      const able = (o: Edge) =>
        `((${at(o.automaton, o.from)}) && (${conditionOf(o.guard, at)}) && (${slotOf(network, o, at)} == ${slotOf(network, edge, at)}))`;
      sets = sets.flatMap(({ edges, none }) => [
        ...own.map((o) => ({ edges: [...edges, o], none })),
        { edges, none: [...none, `!(${own.map(able).join(" || ")})`] },
      ]);
    }
    for (const { edges, none } of sets) option(edges, none);
  }
  return [
    ...variables(network),
    "proctype net() {",
    "end: do",
    `  :: d_step { (${conditionOf(never, at)}) -> assert(false) }`,
    ...options.map((text) => `  ${text}`),
    "  od",
    "}",
    "",
  ].join("\n");
}

function slotOf(network: Network, { channel }: Edge, at: (f: number, v: number) => string): string {
  if (channel === undefined) return "0";
  const { first } = network.channels[channel.channel]!;
  return channel.index === undefined ? String(first) : `(${first} + ${expression(channel.index, at)})`;
}

/** The network with one process for each automaton, as one would write it by hand. Only for networks without channels. */
export function asProcesses(network: Network): string {
  const at = (): string => {
    throw new Error("asProcesses: locations are not looked at from outside");
  };
  const { fields, automata } = network;
  const processes = automata.map(({ locations, edges, start }, a) => {
    const blocks = locations.map((_, l) => {
      const own = edges.filter((edge) => edge.from === l);
      const options = own.map((edge) => {
        const body = assignments(edge.updates, at);
        const steps = [conditionOf(edge.guard, at), ...body].join("; ");
        return `    :: d_step { ${steps} } -> goto L${a}_${edge.to}`;
      });
      return [
        `end${a}_${l}: L${a}_${l}:`,
        "    if",
        ...(options.length > 0 ? options : ["    :: false"]),
        "    fi;",
      ].join("\n");
    });
    return [`active proctype p${a}() {`, `  goto L${a}_${start};`, ...blocks, "}"].join("\n");
  });
  const starts = fields.slice(automata.length).map(({ start }, k) => ({ start, field: k + automata.length }));
  const names = (text: string) => text.replaceAll(/v\[(\d+)\]/g, "v$1");
  return names([...starts.map(({ start, field }) => `byte v${field} = ${start};`), ...processes, ""].join("\n"));
}
