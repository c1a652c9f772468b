/** Trees of formulas to nodes and conditions: names looked up, kinds of values checked, clock conditions brought to x - y < n. */
import { clausesOf, dataOf, MOST_CLAUSES } from "./conditions.ts";
import type { Arithmetic, Comparison, Expression } from "./expression.ts";
import { type Named, Names, shown, type Tell } from "./names.ts";
import type { Clause, Condition, InvariantPart, Node, Scope, Variable } from "./network.ts";
import { constant, negation, negative, operation } from "./node.ts";

/** Sum of clocks and a node. */
interface Linear {
  readonly clocks: ReadonlyMap<number, number>;
  readonly data: Node;
}

export class Resolver {
  readonly scope: Scope;
  readonly #tell: Tell;
  readonly #names: Names;

  constructor(scope: Scope, tell: Tell) {
    this.scope = scope;
    this.#tell = tell;
    this.#names = new Names(scope, tell, (expression) => this.fixed(expression));
  }

  /** A whole number. */
  number(expression: Expression): Node | undefined {
    const value = this.#linear(expression);
    if (value === undefined) return undefined;
    if (value.clocks.size > 0)
      return this.#tell(
        "clock-as-number",
        expression.at,
        "the value of a clock",
        "a whole number",
        "Clocks can be compared with whole numbers, not computed with.",
      );
    return value.data;
  }

  /** A whole number that is the same in every state. */
  fixed(expression: Expression): number | undefined {
    const node = this.number(expression);
    if (node === undefined || node.kind === "constant") return node?.value;
    return this.#tell(
      "not-constant",
      expression.at,
      "a value that depends on the state",
      "a number or a constant",
      "Write a number, or the name of a constant.",
    );
  }

  /** A condition about data only. */
  truth(expression: Expression, without: string): Node | undefined {
    const condition = this.condition(expression, false);
    if (condition === undefined) return undefined;
    const node = dataOf(condition);
    if (node !== undefined) return node;
    return this.#tell(
      "clock-condition",
      expression.at,
      "a clock condition",
      `a condition without clocks ${without}`,
      "Use a location or a variable that marks it.",
    );
  }

  clauses(expression: Expression, negated = false): readonly Clause[] | undefined {
    const condition = this.condition(expression, negated);
    if (condition === undefined) return undefined;
    const clauses = clausesOf(condition);
    if (clauses !== undefined) return clauses;
    return this.#tell(
      "too-many-cases",
      expression.at,
      `more than ${MOST_CLAUSES} cases when the alternatives of clock conditions are written out`,
      `at most ${MOST_CLAUSES}`,
      "Split it over several edges or queries.",
    );
  }

  /** An invariant: conjuncts that are data, a clock condition, or one clock condition with alternatives that are data. */
  invariant(expression: Expression): { data: Node[]; clocks: InvariantPart[] } | undefined {
    const condition = this.condition(expression, false);
    if (condition === undefined) return undefined;
    const data: Node[] = [];
    const clocks: InvariantPart[] = [];
    const add = (part: Condition, when: Node | undefined): boolean => {
      if (part.kind === "and") return part.parts.every((inner) => add(inner, when));
      const node = dataOf(part);
      if (node !== undefined) {
        data.push(when === undefined ? node : operation("or", negation(when), node));
        return true;
      }
      if (part.kind === "clock") {
        clocks.push({ when, atom: part.atom });
        return true;
      }
      const rest = part.kind === "or" ? part.parts.filter((inner) => dataOf(inner) === undefined) : [];
      if (rest.length !== 1 || part.kind !== "or") return false;
      const others = part.parts.flatMap((inner) => dataOf(inner) ?? []);
      const unless = others.reduce((left, right) => operation("or", left, right));
      const now = negation(unless);
      return add(rest[0]!, when === undefined ? now : operation("and", when, now));
    };
    if (add(condition, undefined)) return { data, clocks };
    return this.#tell(
      "bad-invariant",
      expression.at,
      "alternatives of clock conditions",
      "clock conditions joined by and, each perhaps behind a condition about data and implies",
      "Use a location of its own for each alternative.",
    );
  }

  /** The condition, or its opposite, with negations driven inward. */
  condition(expression: Expression, negated: boolean): Condition | undefined {
    switch (expression.kind) {
      case "truth":
        return { kind: "data", node: constant(expression.value !== negated ? 1 : 0) };
      case "not":
        return this.condition(expression.of, !negated);
      case "join": {
        const left = this.condition(expression.left, expression.op === "implies" ? !negated : negated);
        const right = this.condition(expression.right, negated);
        if (left === undefined || right === undefined) return undefined;
        const kind = (expression.op === "and") !== negated ? "and" : "or";
        return { kind, parts: [left, right] };
      }
      case "compare":
        return this.#comparison(expression.op, expression.left, expression.right, expression.at, negated);
      case "choice": {
        const test = this.condition(expression.test, false);
        const not = this.condition(expression.test, true);
        const yes = this.condition(expression.yes, negated);
        const otherwise = this.condition(expression.otherwise, negated);
        if (!test || !not || !yes || !otherwise) return undefined;
        return {
          kind: "or",
          parts: [
            { kind: "and", parts: [test, yes] },
            { kind: "and", parts: [not, otherwise] },
          ],
        };
      }
      case "name": {
        const meaning = this.#names.meaning(expression);
        if (meaning === undefined) return undefined;
        if (meaning.kind === "at") {
          const node: Node = { kind: "count", fields: meaning.fields, value: meaning.location };
          return { kind: "data", node: negated ? negation(node) : node };
        }
        return this.#tell(
          "not-a-condition",
          expression.at,
          `${shown(expression)}, a ${meaning.kind}`,
          "a condition",
          `Compare it: ${shown(expression)} = 1.`,
        );
      }
      default:
        return this.#tell(
          "not-a-condition",
          expression.at,
          "a number",
          "a condition",
          "Compare it with another number.",
        );
    }
  }

  #comparison(
    op: Comparison,
    leftExpression: Expression,
    rightExpression: Expression,
    at: number,
    negated: boolean,
  ): Condition | undefined {
    const left = this.#linear(leftExpression);
    const right = this.#linear(rightExpression);
    if (left === undefined || right === undefined) return undefined;
    const used = negated ? opposite[op] : op;
    const clocks = new Map(left.clocks);
    for (const [clock, times] of right.clocks) clocks.set(clock, (clocks.get(clock) ?? 0) - times);
    const plus = [...clocks].filter(([, times]) => times > 0);
    const minus = [...clocks].filter(([, times]) => times < 0);
    if (plus.length === 0 && minus.length === 0) return { kind: "data", node: operation(used, left.data, right.data) };
    if (plus.length > 1 || minus.length > 1 || plus.some(([, n]) => n !== 1) || minus.some(([, n]) => n !== -1))
      return this.#tell(
        "bad-clock-condition",
        at,
        "a sum of clocks",
        "a clock, or the difference of two clocks, compared with a whole number",
        "Write x <= n or x - y <= n.",
      );
    const i = plus[0]?.[0] ?? 0;
    const j = minus[0]?.[0] ?? 0;
    const most = operation("-", right.data, left.data);
    const upper = (strict: boolean): Condition => ({ kind: "clock", atom: { i, j, strict, bound: most } });
    const lower = (strict: boolean): Condition => ({
      kind: "clock",
      atom: { i: j, j: i, strict, bound: negative(most) },
    });
    switch (used) {
      case "<":
        return upper(true);
      case "<=":
        return upper(false);
      case ">":
        return lower(true);
      case ">=":
        return lower(false);
      case "=":
        return { kind: "and", parts: [upper(false), lower(false)] };
      case "!=":
        return { kind: "or", parts: [upper(true), lower(true)] };
    }
  }

  #linear(expression: Expression): Linear | undefined {
    switch (expression.kind) {
      case "number":
        return data(constant(expression.value));
      case "name": {
        const meaning = this.#names.meaning(expression);
        if (meaning === undefined) return undefined;
        if (meaning.kind === "clock") return { clocks: new Map([[meaning.clock, 1]]), data: constant(0) };
        if (meaning.kind === "constant") return data(constant(meaning.value));
        if (meaning.kind === "at")
          return this.#tell(
            "not-a-number",
            expression.at,
            `${shown(expression)}, a condition`,
            "a number",
            "Join conditions with and, or, not.",
          );
        return this.#read(meaning.variable, meaning.index, expression);
      }
      case "count": {
        const automaton = this.#names.automaton(expression.automaton, expression.at);
        if (automaton === undefined) return undefined;
        const location = automaton.locations.indexOf(expression.location);
        if (location < 0)
          return this.#names.missing(
            "location",
            expression.location,
            expression.at,
            automaton.locations,
            ` of ${expression.automaton}`,
          );
        return data({ kind: "count", fields: automaton.fields, value: location });
      }
      case "minus": {
        const of = this.#linear(expression.of);
        return of && { clocks: scaled(of.clocks, -1), data: negative(of.data) };
      }
      case "arithmetic":
        return this.#arithmetic(expression.op, expression.left, expression.right, expression.at);
      case "choice": {
        const test = this.truth(expression.test, "after if");
        const yes = this.number(expression.yes);
        const otherwise = this.number(expression.otherwise);
        if (!test || !yes || !otherwise) return undefined;
        return data(
          test.kind === "constant" ? (test.value !== 0 ? yes : otherwise) : { kind: "choice", test, yes, otherwise },
        );
      }
      default:
        return this.#tell(
          "not-a-number",
          expression.at,
          "a condition",
          "a number",
          "Write if … then 1 else 0 to count it.",
        );
    }
  }

  #arithmetic(op: Arithmetic, leftExpression: Expression, rightExpression: Expression, at: number): Linear | undefined {
    const left = this.#linear(leftExpression);
    const right = this.#linear(rightExpression);
    if (left === undefined || right === undefined) return undefined;
    if (op === "+" || op === "-") {
      const clocks = new Map(left.clocks);
      for (const [clock, times] of right.clocks)
        clocks.set(clock, (clocks.get(clock) ?? 0) + (op === "+" ? times : -times));
      return { clocks, data: operation(op, left.data, right.data) };
    }
    if (left.clocks.size > 0 || right.clocks.size > 0)
      return this.#tell(
        "clock-as-number",
        at,
        `a clock under ${op}`,
        "whole numbers",
        "Clocks can be compared with whole numbers, not computed with.",
      );
    if (op !== "*" && right.data.kind === "constant" && right.data.value === 0)
      return this.#tell("division-by-zero", at, `${op} by 0`, "another divisor", "Correct the divisor.");
    return data(operation(op, left.data, right.data));
  }

  #read(variable: Variable, index: Expression | undefined, expression: Named): Linear | undefined {
    const place = this.element(variable, index, expression);
    if (place === undefined) return undefined;
    return data(
      place.index === undefined
        ? { kind: "field", field: place.base }
        : { kind: "element", base: place.base, size: variable.size!, index: place.index, name: variable.name },
    );
  }

  /** The element of a variable that is meant; a constant index is worked into the base. */
  element(
    variable: Variable,
    index: Expression | undefined,
    expression: Named,
  ): { base: number; index: Node | undefined } | undefined {
    if (variable.size === undefined) {
      if (index !== undefined)
        return this.#tell(
          "not-an-array",
          index.at,
          `an index of ${variable.name}, a single value`,
          variable.name,
          "Leave out the index, or state size for the variable.",
        );
      return { base: variable.base, index: undefined };
    }
    if (index === undefined)
      return this.#tell(
        "missing-index",
        expression.at,
        `${variable.name} without index`,
        `an element, such as ${variable.name}[0]`,
        "Write the index in [ ].",
      );
    const node = this.number(index);
    if (node === undefined) return undefined;
    if (node.kind !== "constant") return { base: variable.base, index: node };
    if (node.value < 0 || node.value >= variable.size)
      return this.#tell(
        "out-of-range",
        index.at,
        `element ${node.value}`,
        `0 to ${variable.size - 1}`,
        `${variable.name} has ${variable.size} elements, counted from 0.`,
      );
    return { base: variable.base + node.value, index: undefined };
  }

  /** The variable that an assignment changes. */
  target(expression: Named): { variable: Variable; index: Expression | undefined } | undefined {
    const meaning = this.#names.meaning(expression);
    if (meaning === undefined) return undefined;
    if (meaning.kind === "variable") return meaning;
    const mend = meaning.kind === "clock" ? `Write reset: { ${expression.name}: 0 }.` : "Assign to a variable.";
    return this.#tell(
      "not-a-variable",
      expression.at,
      `${shown(expression)}, a ${meaning.kind === "at" ? "location" : meaning.kind}`,
      "a variable",
      mend,
    );
  }

  clock(name: string): number | undefined {
    return this.#names.clock(name);
  }
}

const opposite: Record<Comparison, Comparison> = { "=": "!=", "!=": "=", "<": ">=", ">=": "<", ">": "<=", "<=": ">" };
const data = (node: Node): Linear => ({ clocks: new Map(), data: node });
const scaled = (clocks: ReadonlyMap<number, number>, by: number) => new Map([...clocks].map(([c, n]) => [c, n * by]));
