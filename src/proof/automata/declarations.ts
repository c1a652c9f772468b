/** What a description declares: constants, variables, clocks, channels, copies; and the places of their values in the state. */

import type { AutomatonDescription, Formula, NetworkDescription, VariableDescription } from "./model.ts";
import type { Channel, Scope, ScopeAutomaton, Variable } from "./network.ts";
import { LARGEST, reservedWords } from "./parse.ts";
import type { Path, ProblemList } from "./problems.ts";

const NAME = /^[A-Za-z_]\w{0,63}$/;
const MOST_COPIES = 64;
const MOST_ELEMENTS = 4096;
/** Most fields of a state, and clocks. */
const MOST_FIELDS = 20_000;
const MOST_CLOCKS = 200;
const MOST_AUTOMATA = 1000;

export class Declarations {
  readonly constants = new Map<string, number>();
  readonly variables: Variable[] = [];
  readonly clocks: string[] = [""];
  readonly clockOwners: (number | undefined)[] = [undefined];
  readonly channels: Channel[] = [];
  readonly channelNumbers = new Map<string, number>();
  readonly fields: { min: number; max: number; start: number }[] = [];
  readonly automata = new Map<string, ScopeAutomaton>();
  readonly scope: Scope;

  readonly #problems: ProblemList;

  constructor(description: NetworkDescription, problems: ProblemList) {
    this.#problems = problems;
    const names = new Map<string, string>();
    const shared = new Map<string, Variable>();
    const sharedClocks = new Map<string, number>();
    this.scope = {
      constants: this.constants,
      variables: shared,
      clocks: sharedClocks,
      automata: this.automata,
      self: undefined,
    };
    for (const [name, value] of Object.entries(description.constants ?? {})) {
      const path = ["constants", name];
      this.#name(name, "constant", path, names);
      if (Number.isInteger(value) && Math.abs(value) <= LARGEST) this.constants.set(name, value);
      else
        problems.add(
          "bad-number",
          path,
          0,
          String(value),
          `a whole number of at most ${LARGEST}`,
          "Choose another unit of time.",
        );
    }
    const copies = new Map<string, number>();
    for (const [name, automaton] of Object.entries(description.automata)) {
      this.#name(name, "automaton", ["automata", name], names);
      copies.set(name, this.#copies(automaton, ["automata", name]));
    }
    if (copies.size === 0)
      problems.add("no-automata", ["automata"], 0, "no automata", "at least one automaton", "Add an automaton.");
    for (const [name, automaton] of Object.entries(description.automata)) {
      const start = automaton.start ?? Object.keys(automaton.locations)[0] ?? "";
      const locations = Object.keys(automaton.locations);
      for (let k = 0; k < copies.get(name)!; k++)
        this.fields.push({
          min: 0,
          max: Math.max(0, locations.length - 1),
          start: Math.max(0, locations.indexOf(start)),
        });
    }
    for (const [name, variable] of Object.entries(description.variables ?? {})) {
      this.#name(name, "variable", ["variables", name], names);
      const made = this.#variable(name, variable, ["variables", name], undefined, copies, description);
      if (made) shared.set(name, made);
    }
    for (const [i, name] of (description.clocks ?? []).entries()) {
      this.#name(name, "clock", ["clocks", i], names);
      sharedClocks.set(name, this.#clock(name, undefined));
    }
    for (const [name, channel] of Object.entries(description.channels ?? {})) {
      this.#name(name, "channel", ["channels", name], names);
      const path = ["channels", name, "size"];
      const size = channel.size === undefined ? undefined : this.#within(channel.size, path, 1, MOST_ELEMENTS);
      const last = this.channels.at(-1);
      this.channelNumbers.set(name, this.channels.length);
      this.channels.push({
        name,
        kind: channel.kind,
        urgent: channel.urgent === true,
        size,
        first: last === undefined ? 0 : last.first + (last.size ?? 1),
      });
    }
    let number = 0;
    for (const [name, automaton] of Object.entries(description.automata)) {
      this.#automaton(name, automaton, number, copies, names, description);
      number += copies.get(name)!;
    }
    if (this.fields.length > MOST_FIELDS)
      problems.add(
        "too-large",
        [],
        0,
        `a state of ${this.fields.length} values`,
        `at most ${MOST_FIELDS}`,
        "Use smaller arrays.",
      );
    if (number > MOST_AUTOMATA)
      problems.add(
        "too-large",
        [],
        0,
        `${number} automata`,
        `at most ${MOST_AUTOMATA}`,
        "Use fewer automata or copies.",
      );
    if (this.clocks.length - 1 > MOST_CLOCKS)
      problems.add(
        "too-large",
        [],
        0,
        `${this.clocks.length - 1} clocks`,
        `at most ${MOST_CLOCKS}`,
        "Use fewer clocks.",
      );
  }

  #automaton(
    name: string,
    automaton: AutomatonDescription,
    first: number,
    copies: ReadonlyMap<string, number>,
    names: ReadonlyMap<string, string>,
    description: NetworkDescription,
  ): void {
    const path = ["automata", name];
    const own = new Map(names);
    const locations = Object.keys(automaton.locations);
    if (locations.length === 0)
      this.#problems.add(
        "no-locations",
        [...path, "locations"],
        0,
        "no locations",
        "at least one location",
        "Add a location.",
      );
    const members = new Map<string, string>();
    for (const location of locations) this.#name(location, "location", [...path, "locations", location], members);
    const variables: Map<string, Variable>[] = [];
    const clocks: Map<string, number>[] = [];
    const count = copies.get(name)!;
    const numbered = automaton.copies !== undefined;
    for (let k = 0; k < count; k++) {
      const full = numbered ? `${name}[${k + 1}]` : name;
      const ownVariables = new Map<string, Variable>();
      const ownClocks = new Map<string, number>();
      for (const [variable, described] of Object.entries(automaton.variables ?? {})) {
        const at = [...path, "variables", variable];
        if (k === 0) {
          this.#name(variable, "variable", at, own);
          this.#name(variable, "variable", at, members);
        }
        const made = this.#variable(`${full}.${variable}`, described, at, first + k, copies, description);
        if (made) ownVariables.set(variable, made);
      }
      for (const [i, clock] of (automaton.clocks ?? []).entries()) {
        if (k === 0) {
          this.#name(clock, "clock", [...path, "clocks", i], own);
          this.#name(clock, "clock", [...path, "clocks", i], members);
        }
        ownClocks.set(clock, this.#clock(`${full}.${clock}`, first + k));
      }
      variables.push(ownVariables);
      clocks.push(ownClocks);
    }
    this.automata.set(name, {
      copies: numbered ? count : undefined,
      locations,
      fields: Array.from({ length: count }, (_, k) => first + k),
      variables,
      clocks,
      symmetric: automaton.symmetric === true && numbered,
    });
  }

  #copies(automaton: AutomatonDescription, path: Path): number {
    if (automaton.copies === undefined) return 1;
    return this.#within(automaton.copies, [...path, "copies"], 1, MOST_COPIES) ?? 1;
  }

  #clock(name: string, owner: number | undefined): number {
    this.clocks.push(name);
    this.clockOwners.push(owner);
    return this.clocks.length - 1;
  }

  #variable(
    name: string,
    described: VariableDescription,
    path: Path,
    owner: number | undefined,
    copies: ReadonlyMap<string, number>,
    description: NetworkDescription,
  ): Variable | undefined {
    const min = this.fixed(described.range[0], [...path, "range", 0]);
    const max = this.fixed(described.range[1], [...path, "range", 1]);
    const size =
      described.size === undefined ? undefined : this.#within(described.size, [...path, "size"], 1, MOST_ELEMENTS);
    const given = described.start === undefined ? undefined : this.fixed(described.start, [...path, "start"]);
    if (min === undefined || max === undefined) return undefined;
    if (min > max)
      return this.#problems.add(
        "range-order",
        [...path, "range"],
        0,
        `${min} to ${max}`,
        "the smallest value first",
        "Swap the two values, or correct them.",
      );
    const start = given ?? Math.min(max, Math.max(min, 0));
    if (start < min || start > max)
      return this.#problems.add(
        "out-of-range",
        [...path, "start"],
        0,
        String(start),
        `a value from ${min} to ${max}`,
        "Correct the value, or the range.",
      );
    const { numbers } = described;
    if (numbers !== undefined) {
      const count = copies.get(numbers);
      if (count === undefined)
        return this.#problems.add(
          "missing-automaton",
          [...path, "numbers"],
          0,
          numbers,
          `an automaton (there ${copies.size === 1 ? "is" : "are"} ${[...copies.keys()].join(", ")})`,
          "Correct the name.",
        );
      if (min < 0 || max > count)
        return this.#problems.add(
          "out-of-range",
          [...path, "range"],
          0,
          `${min} to ${max}`,
          `copy numbers, 0 to ${count}`,
          "Correct the range, or leave out numbers.",
        );
    }
    const symmetric = numbers !== undefined && description.automata[numbers]?.symmetric === true;
    const variable: Variable = {
      name,
      base: this.fields.length,
      size,
      min,
      max,
      start,
      numbers: symmetric ? numbers : undefined,
      owner,
    };
    for (let k = 0; k < (size ?? 1); k++) this.fields.push({ min, max, start });
    this.variables.push(variable);
    return variable;
  }

  /** A number that may be written as a formula of constants. */
  fixed(formula: Formula | number, path: Path): number | undefined {
    const tree = this.#problems.parse(formula, path);
    if (tree === undefined) return undefined;
    const scope = { ...this.scope, variables: new Map(), clocks: new Map(), automata: new Map() };
    const value = this.#problems.resolver(scope, path).fixed(tree);
    if (value === undefined || Math.abs(value) <= LARGEST) return value;
    return this.#problems.add(
      "out-of-range",
      path,
      0,
      String(value),
      `a number of at most ${LARGEST}`,
      "Correct the number.",
    );
  }

  #within(formula: Formula | number, path: Path, min: number, max: number): number | undefined {
    const value = this.fixed(formula, path);
    if (value === undefined || (value >= min && value <= max)) return value;
    return this.#problems.add(
      "out-of-range",
      path,
      0,
      String(value),
      `a number from ${min} to ${max}`,
      "Correct the number.",
    );
  }

  #name(name: string, thing: string, path: Path, names: Map<string, string>): void {
    if (!NAME.test(name))
      this.#problems.add(
        "bad-name",
        path,
        0,
        name === "" ? "nothing" : name,
        "a name of letters, digits and _, at most 64, not beginning with a digit",
        "Choose a name without spaces and other signs.",
      );
    else if (reservedWords.has(name))
      this.#problems.add("bad-name", path, 0, name, "another name", `${name} is a word of the language.`);
    const other = names.get(name);
    if (other !== undefined)
      this.#problems.add(
        "duplicate-name",
        path,
        0,
        `${name}, already the name of a${/^[aeiou]/.test(other) ? "n" : ""} ${other}`,
        "a name of its own",
        "Rename one of the two.",
      );
    names.set(name, thing);
  }
}
