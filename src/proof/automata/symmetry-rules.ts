/**
 * Whether copies that are said to be symmetric are: nothing may depend on which copy has which number. Copy numbers may be assigned,
 * and compared for being equal, and nothing else (C. N. Ip, D. L. Dill, Better verification through symmetry, FMSD 9, 1996).
 */

import type { Expression } from "./expression.ts";
import type { Formula, NetworkDescription, QueryDescription, VariableDescription } from "./model.ts";
import type { Network } from "./network.ts";
import { parseAssignment } from "./parse.ts";
import type { Path, ProblemList } from "./problems.ts";

/** Problems are added where a symmetric automaton is not. The description is known to be sound otherwise. */
export function checkSymmetry(
  description: NetworkDescription,
  queries: readonly QueryDescription[],
  network: Network,
  problems: ProblemList,
): void {
  if (network.groups.length === 0) return;
  const symmetric = new Set(network.groups.map(({ described }) => described));
  const shared = numbered(description.variables ?? {}, symmetric);
  checkVariables(description.variables ?? {}, ["variables"], network, symmetric, problems);
  for (const [name, automaton] of Object.entries(description.automata)) {
    const path = ["automata", name];
    checkVariables(automaton.variables ?? {}, [...path, "variables"], network, symmetric, problems);
    const own = new Map([...shared, ...numbered(automaton.variables ?? {}, symmetric)]);
    const rules = new Rules(own, symmetric, symmetric.has(name) ? name : undefined, problems);
    for (const [location, { invariant }] of Object.entries(automaton.locations))
      rules.formula(invariant, [...path, "locations", location, "invariant"]);
    for (const [i, edge] of (automaton.edges ?? []).entries()) {
      const at = [...path, "edges", i];
      rules.formula(edge.guard, [...at, "guard"]);
      rules.formula(edge.send, [...at, "send"]);
      rules.formula(edge.receive, [...at, "receive"]);
      for (const [clock, value] of Object.entries(edge.reset ?? {}))
        if (typeof value !== "number") rules.formula(value, [...at, "reset", clock]);
      for (const [k, text] of (edge.update ?? []).entries()) rules.assignment(text, [...at, "update", k]);
      const channel = edge.receive === undefined ? undefined : description.channels?.[nameOf(edge.receive)];
      const changes = (edge.update ?? []).findIndex((text) => !(targetOf(text) in (automaton.variables ?? {})));
      if (symmetric.has(name) && channel?.kind === "broadcast" && changes >= 0)
        problems.add(
          "not-symmetric",
          [...at, "update", changes],
          0,
          "a change of a shared variable by every copy that receives",
          "copies whose order does not matter",
          "Change variables of the copy only, or leave out symmetric.",
        );
    }
  }
  const rules = new Rules(shared, symmetric, undefined, problems);
  for (const [i, query] of queries.entries()) {
    const path = ["queries", i];
    if ("that" in query) rules.formula(query.that, [...path, query.kind]);
    if (query.kind === "always followed by") {
      rules.formula(query.when, [...path, "when"]);
      rules.formula(query.goal, [...path, query.kind]);
    }
  }
}

function numbered(
  variables: Readonly<Record<string, VariableDescription>>,
  symmetric: ReadonlySet<string>,
): Map<string, string> {
  return new Map(
    Object.entries(variables).flatMap(([name, { numbers }]) =>
      numbers !== undefined && symmetric.has(numbers) ? [[name, numbers] as const] : [],
    ),
  );
}

function checkVariables(
  variables: Readonly<Record<string, VariableDescription>>,
  path: Path,
  network: Network,
  symmetric: ReadonlySet<string>,
  problems: ProblemList,
): void {
  for (const [name, { numbers }] of Object.entries(variables)) {
    if (numbers === undefined || !symmetric.has(numbers)) continue;
    const built = network.variables.find((variable) => variable.name === name || variable.name.endsWith(`.${name}`))!;
    const count = network.groups.find(({ described }) => described === numbers)!.automata.length;
    if (built.min === 0 && built.max === count && built.start === 0) continue;
    problems.add(
      "not-symmetric",
      [...path, name],
      0,
      `values ${built.min} to ${built.max}, at the start ${built.start}`,
      `numbers of copies of ${numbers}, 0 to ${count}, at the start 0`,
      "Correct the range and the start, or leave out symmetric.",
    );
  }
}

const nameOf = (channel: Formula): string =>
  typeof channel === "string" ? channel.replace(/\[.*$/s, "").trim() : channel.kind === "name" ? channel.name : "";

function targetOf(text: string): string {
  const parsed = parseAssignment(text);
  return parsed.ok ? parsed.value.target.name : "";
}

class Rules {
  /** Variables that hold copy numbers, with the automaton. */
  readonly #numbers: ReadonlyMap<string, string>;
  readonly #symmetric: ReadonlySet<string>;
  /** Automaton whose formulas are looked at, where it is symmetric. */
  readonly #own: string | undefined;
  readonly #problems: ProblemList;

  constructor(
    numbers: ReadonlyMap<string, string>,
    symmetric: ReadonlySet<string>,
    own: string | undefined,
    problems: ProblemList,
  ) {
    this.#numbers = numbers;
    this.#symmetric = symmetric;
    this.#own = own;
    this.#problems = problems;
  }

  formula(formula: Formula | undefined, path: Path): void {
    const tree = formula === undefined ? undefined : this.#problems.parse(formula, path);
    if (tree !== undefined) this.#check(tree, path);
  }

  assignment(text: string, path: Path): void {
    const parsed = parseAssignment(text);
    if (!parsed.ok) return;
    const { target, value } = parsed.value;
    if (target.index) this.#check(target.index, path);
    const kind = this.#numbers.get(target.name);
    if (kind === undefined) {
      this.#check(value, path);
      return;
    }
    const other = this.#kindOf(value);
    if (other === kind || other === 0) return;
    this.#wrong(value.at, "something else than a copy number", path, `self, 0, or a variable of numbers of ${kind}`);
  }

  /** Automaton whose copy numbers an expression gives; 0 for the number 0, which is none; undefined for anything else. */
  #kindOf(tree: Expression): string | 0 | undefined {
    if (tree.kind === "number") return tree.value === 0 ? 0 : undefined;
    if (tree.kind !== "name" || tree.member !== undefined) return undefined;
    return tree.name === "self" ? this.#own : this.#numbers.get(tree.name);
  }

  #check(tree: Expression, path: Path): void {
    switch (tree.kind) {
      case "name":
        if (tree.index) this.#check(tree.index, path);
        if (tree.memberIndex) this.#check(tree.memberIndex, path);
        if (tree.member !== undefined && this.#symmetric.has(tree.name))
          this.#wrong(tree.at, `one copy of ${tree.name}`, path, `count(${tree.name}.${tree.member}), for all copies`);
        else if ((tree.name === "self" && this.#own !== undefined) || this.#numbers.has(tree.name))
          this.#wrong(tree.at, `the number ${tree.name}`, path, "copy numbers assigned, or compared by = and !=, only");
        return;
      case "compare": {
        const left = this.#kindOf(tree.left);
        const right = this.#kindOf(tree.right);
        const named = typeof left === "string" || typeof right === "string";
        const alike = left === right || left === 0 || right === 0;
        if (named && left !== undefined && right !== undefined && alike && (tree.op === "=" || tree.op === "!=")) {
          for (const side of [tree.left, tree.right])
            if (side.kind === "name" && side.index) this.#check(side.index, path);
          return;
        }
        this.#check(tree.left, path);
        this.#check(tree.right, path);
        return;
      }
      case "minus":
      case "not":
        this.#check(tree.of, path);
        return;
      case "arithmetic":
      case "join":
        this.#check(tree.left, path);
        this.#check(tree.right, path);
        return;
      case "choice":
        this.#check(tree.test, path);
        this.#check(tree.yes, path);
        this.#check(tree.otherwise, path);
    }
  }

  #wrong(offset: number, found: string, path: Path, expected: string): void {
    this.#problems.add("not-symmetric", path, offset, found, expected, "Correct it, or leave out symmetric.");
  }
}
