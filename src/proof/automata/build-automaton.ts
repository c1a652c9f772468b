/** One copy of an automaton: locations, edges, guards, resets and updates resolved. */

import type { Declarations } from "./declarations.ts";
import type { AutomatonDescription, EdgeDescription, Formula, LocationDescription } from "./model.ts";
import type { Atom, Automaton, Clause, Edge, Location, Scope, Update } from "./network.ts";
import { rangeOf } from "./node.ts";
import { LARGEST, parseAssignment } from "./parse.ts";
import { meant, type Path, type ProblemList } from "./problems.ts";

export function buildAutomaton(
  name: string,
  described: AutomatonDescription,
  copy: number,
  number: number,
  declared: Declarations,
  problems: ProblemList,
): Automaton {
  const shared = declared.automata.get(name)!;
  const scope: Scope = {
    ...declared.scope,
    variables: new Map([...declared.scope.variables, ...shared.variables[copy]!]),
    clocks: new Map([...declared.scope.clocks, ...shared.clocks[copy]!]),
    self: shared.copies === undefined ? undefined : copy + 1,
  };
  const builder = new Builder(scope, number, declared, problems);
  const path = ["automata", name];
  const names = Object.keys(described.locations);
  const locations = Object.entries(described.locations).map(([location, entry]) =>
    builder.location(location, entry, [...path, "locations", location]),
  );
  const edges = (described.edges ?? []).flatMap((edge, i) => builder.edge(edge, i, names, [...path, "edges", i]) ?? []);
  const { start = names[0] ?? "" } = described;
  if (!names.includes(start))
    problems.add(
      "missing-location",
      [...path, "start"],
      0,
      start,
      `a location of ${name}`,
      meant(start, names, "Correct the name."),
    );
  return {
    name: shared.copies === undefined ? name : `${name}[${copy + 1}]`,
    described: name,
    copy: shared.copies === undefined ? undefined : copy + 1,
    locations,
    start: Math.max(0, names.indexOf(start)),
    edges,
  };
}

class Builder {
  readonly #scope: Scope;
  readonly #number: number;
  readonly #declared: Declarations;
  readonly #problems: ProblemList;

  constructor(scope: Scope, number: number, declared: Declarations, problems: ProblemList) {
    this.#scope = scope;
    this.#number = number;
    this.#declared = declared;
    this.#problems = problems;
  }

  location(name: string, entry: LocationDescription, path: Path): Location {
    const at = [...path, "invariant"];
    const tree = entry.invariant === undefined ? undefined : this.#problems.parse(entry.invariant, at);
    const read = tree && this.#problems.resolver(this.#scope, at).invariant(tree);
    for (const { atom } of read?.clocks ?? []) this.#checkBound(atom, at);
    return { name, kind: entry.kind ?? "ordinary", data: read?.data ?? [], clocks: read?.clocks ?? [] };
  }

  edge(edge: EdgeDescription, described: number, names: readonly string[], path: Path): Edge | undefined {
    const end = (key: "from" | "to"): number => {
      const found = names.indexOf(edge[key]);
      if (found < 0)
        this.#problems.add(
          "missing-location",
          [...path, key],
          0,
          edge[key],
          `a location of the automaton (${names.slice(0, 12).join(", ")}${names.length > 12 ? ", …" : ""})`,
          meant(edge[key], names, "Correct the name, or add the location."),
        );
      return found;
    };
    const from = end("from");
    const to = end("to");
    const channel = this.#channel(edge, path);
    const guard = this.#guard(edge, path);
    const urgent = channel && this.#declared.channels[channel.channel]!.urgent;
    if (urgent && guard?.some(({ atoms }) => atoms.length > 0))
      this.#problems.add(
        "urgent-clock",
        [...path, "guard"],
        0,
        "a clock condition of an edge on an urgent channel",
        "a guard without clocks",
        "Move the clock condition to an edge before it, or use an urgent location.",
      );
    const resets = Object.entries(edge.reset ?? {}).flatMap(
      ([clock, value]) => this.#reset(clock, value, [...path, "reset", clock]) ?? [],
    );
    const updates = (edge.update ?? []).flatMap((text, i) => this.#update(text, [...path, "update", i]) ?? []);
    if (from < 0 || to < 0 || guard === undefined) return undefined;
    return {
      automaton: this.#number,
      from,
      to,
      guard,
      channel: channel ?? undefined,
      resets,
      updates,
      label: edge.label,
      described,
    };
  }

  #guard(edge: EdgeDescription, path: Path): readonly Clause[] | undefined {
    if (edge.guard === undefined) return [{ data: [], atoms: [] }];
    const at = [...path, "guard"];
    const tree = this.#problems.parse(edge.guard, at);
    const clauses = tree && this.#problems.resolver(this.#scope, at).clauses(tree);
    for (const { atoms } of clauses ?? []) for (const atom of atoms) this.#checkBound(atom, at);
    return clauses;
  }

  #checkBound(atom: Atom, path: Path): void {
    if (atom.i !== 0 && atom.j !== 0 && atom.bound.kind !== "constant")
      this.#problems.add(
        "difference-bound",
        path,
        0,
        "a difference of clocks compared with a value that depends on the state",
        "a constant",
        "Compare with a constant, on an edge for each value.",
      );
    const { min, max } = rangeOf(atom.bound, this.#declared.fields);
    if (min < -LARGEST || max > LARGEST)
      this.#problems.add(
        "out-of-range",
        path,
        0,
        `a bound from ${min} to ${max}`,
        `bounds of at most ${LARGEST}`,
        "Limit the range of the variables in it.",
      );
  }

  #channel(edge: EdgeDescription, path: Path): Edge["channel"] {
    if (edge.send !== undefined && edge.receive !== undefined)
      return this.#problems.add(
        "conflicting-keys",
        [...path, "receive"],
        0,
        "send and receive together",
        "one of them",
        "Use two edges with a committed location between them.",
      );
    const role = edge.send !== undefined ? "send" : "receive";
    const formula: Formula | undefined = edge.send ?? edge.receive;
    if (formula === undefined) return undefined;
    const at = [...path, role];
    const tree = this.#problems.parse(formula, at);
    if (tree === undefined) return undefined;
    if (tree.kind !== "name" || tree.member !== undefined)
      return this.#problems.add(
        "not-a-channel",
        at,
        tree.at,
        "a formula",
        "the name of a channel",
        "Write the name of a channel, with an index where it is an array.",
      );
    const number = this.#declared.channelNumbers.get(tree.name);
    const known = [...this.#declared.channelNumbers.keys()];
    if (number === undefined)
      return this.#problems.add(
        "missing-channel",
        at,
        tree.at,
        tree.name,
        `the name of a channel${known.length > 0 && known.length <= 12 ? ` (there ${known.length === 1 ? "is" : "are"} ${known.join(", ")})` : ""}`,
        meant(tree.name, known, "Declare it under channels, or correct the name."),
      );
    const channel = this.#declared.channels[number]!;
    if (channel.size === undefined) {
      if (tree.index === undefined) return { channel: number, role, index: undefined };
      return this.#problems.add(
        "not-an-array",
        at,
        tree.index.at,
        `an index of ${channel.name}`,
        channel.name,
        "Leave out the index, or state size for the channel.",
      );
    }
    if (tree.index === undefined)
      return this.#problems.add(
        "missing-index",
        at,
        tree.at,
        `${channel.name} without index`,
        `an element, such as ${channel.name}[0]`,
        "Write the index in [ ].",
      );
    const index = this.#problems.resolver(this.#scope, at).number(tree.index);
    if (index === undefined) return undefined;
    if (index.kind === "constant" && (index.value < 0 || index.value >= channel.size))
      return this.#problems.add(
        "out-of-range",
        at,
        tree.index.at,
        `element ${index.value}`,
        `0 to ${channel.size - 1}`,
        `${channel.name} has ${channel.size} elements, counted from 0.`,
      );
    return { channel: number, role, index };
  }

  #reset(clock: string, value: Formula | number, path: Path): { clock: number; value: number } | undefined {
    const number = this.#problems.resolver(this.#scope, path).clock(clock);
    const tree = this.#problems.parse(value, path);
    const to = tree && this.#problems.resolver(this.#scope, path).fixed(tree);
    if (number === undefined || to === undefined) return undefined;
    if (to < 0 || to > LARGEST)
      return this.#problems.add(
        "out-of-range",
        path,
        0,
        String(to),
        `a value from 0 to ${LARGEST}`,
        "Clocks are never negative.",
      );
    return { clock: number, value: to };
  }

  #update(text: string, path: Path): Update | undefined {
    const parsed = parseAssignment(text);
    if (!parsed.ok) {
      const { offset, found, expected, mend } = parsed.problem;
      return this.#problems.add("syntax", path, offset, found, expected, mend);
    }
    const resolver = this.#problems.resolver(this.#scope, path);
    const { target, value } = parsed.value;
    const place = resolver.target(target);
    const node = resolver.number(value);
    if (place === undefined || node === undefined) return undefined;
    const { variable } = place;
    const element = resolver.element(variable, place.index, target);
    if (element === undefined) return undefined;
    const { min, max } = rangeOf(node, this.#declared.fields);
    if (max < variable.min || min > variable.max)
      return this.#problems.add(
        "out-of-range",
        path,
        value.at,
        node.kind === "constant" ? String(node.value) : `a value from ${min} to ${max}`,
        `a value of ${variable.name}, ${variable.min} to ${variable.max}`,
        "Correct the value, or the range of the variable.",
      );
    return {
      base: element.base,
      size: element.index === undefined ? 1 : variable.size!,
      index: element.index,
      value: node,
      min: variable.min,
      max: variable.max,
      name: variable.name,
      text,
    };
  }
}
