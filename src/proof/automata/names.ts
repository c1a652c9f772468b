/** What the names in a formula mean where it stands. */
import { nearest } from "../../cell/text/did-you-mean.ts";
import type { Expression } from "./expression.ts";
import type { Scope, ScopeAutomaton, Variable } from "./network.ts";

/** Where problems of one formula go. Returns undefined, to be returned by readers. */
export type Tell = (code: string, offset: number, found: string, expected: string, mend: string) => undefined;

export type Named = Extract<Expression, { kind: "name" }>;

/** What a name means. */
export type Meaning =
  | { readonly kind: "variable"; readonly variable: Variable; readonly index: Expression | undefined }
  | { readonly kind: "clock"; readonly clock: number }
  | { readonly kind: "constant"; readonly value: number }
  | { readonly kind: "at"; readonly fields: readonly number[]; readonly location: number };

export class Names {
  readonly scope: Scope;
  readonly #tell: Tell;
  readonly #fixed: (expression: Expression) => number | undefined;

  /** @param fixed reads a number that is the same in every state */
  constructor(scope: Scope, tell: Tell, fixed: (expression: Expression) => number | undefined) {
    this.scope = scope;
    this.#tell = tell;
    this.#fixed = fixed;
  }

  clock(name: string): number | undefined {
    const clock = this.scope.clocks.get(name);
    return clock ?? this.missing("clock", name, 0, [...this.scope.clocks.keys()], "");
  }

  meaning(expression: Named): Meaning | undefined {
    const { name, index, member, at } = expression;
    const { scope } = this;
    if (member !== undefined) return this.#member(expression, member);
    if (name === "self") {
      if (scope.self !== undefined) return this.#plain(expression, { kind: "constant", value: scope.self });
      return this.#tell(
        "no-self",
        at,
        "self",
        "a number",
        "self is the number of a copy: it is known in automata with copies only.",
      );
    }
    const variable = scope.variables.get(name);
    if (variable) return { kind: "variable", variable, index };
    const clock = scope.clocks.get(name);
    if (clock !== undefined) return this.#plain(expression, { kind: "clock", clock });
    const value = scope.constants.get(name);
    if (value !== undefined) return this.#plain(expression, { kind: "constant", value });
    const automaton = scope.automata.get(name);
    if (automaton)
      return this.#tell(
        "missing-location",
        at,
        `${name}, an automaton`,
        "a location of it",
        `Write ${name}${automaton.copies === undefined ? "" : "[1]"}.${automaton.locations[0] ?? "location"}.`,
      );
    const all = [
      ...scope.variables.keys(),
      ...scope.clocks.keys(),
      ...scope.constants.keys(),
      ...scope.automata.keys(),
    ];
    return this.missing("name", name, at, all, "", "a variable, clock, constant or automaton");
  }

  #plain<T extends Meaning>(expression: Named, meaning: T): T | undefined {
    if (expression.index === undefined) return meaning;
    return this.#tell(
      "not-an-array",
      expression.index.at,
      `an index of ${expression.name}`,
      expression.name,
      "Leave out the index.",
    );
  }

  automaton(name: string, at: number): ScopeAutomaton | undefined {
    return this.scope.automata.get(name) ?? this.missing("automaton", name, at, [...this.scope.automata.keys()], "");
  }

  #member(expression: Named, member: string): Meaning | undefined {
    const { name, index, memberIndex, at } = expression;
    const automaton = this.automaton(name, at);
    if (automaton === undefined) return undefined;
    let copy = 0;
    if (automaton.copies === undefined) {
      if (index !== undefined)
        return this.#tell(
          "not-an-array",
          index.at,
          `a copy of ${name}`,
          name,
          `${name} has no copies: leave out the number.`,
        );
    } else {
      if (index === undefined)
        return this.#tell(
          "missing-index",
          at,
          `${name} without the number of a copy`,
          `${name}[1].${member}`,
          `Write ${name}[1] to ${name}[${automaton.copies}], or count(${name}.${member}).`,
        );
      const number = this.#fixed(index);
      if (number === undefined) return undefined;
      if (number < 1 || number > automaton.copies)
        return this.#tell(
          "out-of-range",
          index.at,
          `copy ${number}`,
          `1 to ${automaton.copies}`,
          "Correct the number.",
        );
      copy = number - 1;
    }
    const location = automaton.locations.indexOf(member);
    const field = automaton.fields[copy]!;
    if (location >= 0) return { kind: "at", fields: [field], location };
    const variable = automaton.variables[copy]?.get(member);
    if (variable) return { kind: "variable", variable, index: memberIndex };
    const clock = automaton.clocks[copy]?.get(member);
    if (clock !== undefined) return { kind: "clock", clock };
    const known = [
      ...automaton.locations,
      ...(automaton.variables[0]?.keys() ?? []),
      ...(automaton.clocks[0]?.keys() ?? []),
    ];
    return this.missing("location", member, at, known, ` of ${name}`);
  }

  missing(
    thing: string,
    name: string,
    at: number,
    known: readonly string[],
    of: string,
    expected = `a${/^[aeio]/.test(thing) ? "n" : ""} ${thing}${of}`,
  ): undefined {
    const near = nearest(name, known);
    const some =
      known.length > 0 && known.length <= 12 ? ` (there ${known.length === 1 ? "is" : "are"} ${known.join(", ")})` : "";
    return this.#tell(
      `missing-${thing}`,
      at,
      name,
      `${expected}${some}`,
      near ? `Did you mean ${near}?` : "Correct the name, or declare it.",
    );
  }
}

export const shown = ({ name, member }: Named): string => (member === undefined ? name : `${name}.${member}`);
