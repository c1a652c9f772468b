/** A description to a network: everything checked, all problems reported, copies written out. */
import { ContractError } from "../../math/contract-error.ts";
import { buildAutomaton } from "./build-automaton.ts";
import { Declarations } from "./declarations.ts";
import type { NetworkDescription, NetworkProblem, QueryDescription } from "./model.ts";
import type { Automaton, Network, Query, SymmetricGroup } from "./network.ts";
import { operation } from "./node.ts";
import { LARGEST } from "./parse.ts";
import { type Path, ProblemList } from "./problems.ts";
import { checkSymmetry } from "./symmetry-rules.ts";

export type Built =
  | { readonly ok: true; readonly network: Network; readonly queries: readonly Query[] }
  | { readonly ok: false; readonly problems: readonly NetworkProblem[] };

/** Builds a network and its queries. Paths of problems begin with "queries" and the query's number for those. */
export function buildNetwork(description: NetworkDescription, queries: readonly QueryDescription[] = []): Built {
  const problems = new ProblemList();
  const declared = new Declarations(description, problems);
  if (problems.list.length > 0) return { ok: false, problems: problems.list };
  const automata: Automaton[] = [];
  const groups: SymmetricGroup[] = [];
  for (const [name, automaton] of Object.entries(description.automata)) {
    const scope = declared.automata.get(name)!;
    const first = automata.length;
    for (let copy = 0; copy < scope.fields.length; copy++)
      automata.push(buildAutomaton(name, automaton, copy, automata.length, declared, problems));
    if (scope.symmetric && scope.fields.length > 1)
      groups.push({ described: name, automata: scope.fields.map((_, k) => first + k) });
  }
  const network: Network = {
    name: description.name ?? "",
    automata,
    channels: declared.channels,
    variables: declared.variables,
    clocks: declared.clocks,
    clockOwners: declared.clockOwners,
    fields: declared.fields,
    groups,
    scope: declared.scope,
  };
  const built = queries.map((query, i) => buildQuery(network, query, ["queries", i], problems));
  if (problems.list.length === 0) checkSymmetry(description, queries, network, problems);
  if (problems.list.length > 0) return { ok: false, problems: problems.list };
  return { ok: true, network, queries: built as Query[] };
}

/**
 * A network from a description made by a program.
 * @throws ContractError naming every problem of the description
 */
export function createNetwork(
  description: NetworkDescription,
  queries: readonly QueryDescription[] = [],
): { readonly network: Network; readonly queries: readonly Query[] } {
  const built = buildNetwork(description, queries);
  if (built.ok) return built;
  const lines = built.problems.map(
    ({ path, found, expected, mend }) => `${path.join(".")}: found ${found}; expected ${expected}. ${mend}`,
  );
  throw new ContractError(`createNetwork: ${lines.join("\n")}`);
}

function buildQuery(network: Network, query: QueryDescription, path: Path, problems: ProblemList): Query | undefined {
  const { name } = query;
  const at = (key: string) => problems.resolver(network.scope, [...path, key]);
  switch (query.kind) {
    case "never":
    case "can reach": {
      const tree = problems.parse(query.that, [...path, query.kind]);
      const that = tree && at(query.kind).clauses(tree);
      return that && { name, kind: query.kind, that };
    }
    case "always followed by": {
      const when = problems.parse(query.when, [...path, "when"]);
      const tree = problems.parse(query.goal, [...path, query.kind]);
      const limit = query.within === undefined ? undefined : problems.parse(query.within, [...path, "within"]);
      const trigger = when && at("when").clauses(when);
      const goal = tree && at(query.kind).truth(tree, "after always followed by");
      const within = limit && at("within").fixed(limit);
      if (within !== undefined && (within < 0 || within > LARGEST))
        return problems.add(
          "out-of-range",
          [...path, "within"],
          0,
          String(within),
          `a time from 0 to ${LARGEST}`,
          "Correct the time.",
        );
      if (trigger === undefined || goal === undefined || (limit !== undefined && within === undefined))
        return undefined;
      const open = trigger.map(({ data, atoms }) => ({
        data: [...data, operation("=", goal, { kind: "constant", value: 0 })],
        atoms,
      }));
      return { name, kind: query.kind, trigger: open, goal, within };
    }
    default:
      return { name, kind: query.kind };
  }
}
