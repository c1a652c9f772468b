/** Conditions as alternatives of conjunctions. */
import type { Clause, Condition, Node } from "./network.ts";
import { operation } from "./node.ts";

/** Most conjunctions that a condition may be split into. */
export const MOST_CLAUSES = 64;

/** A condition without clocks as one node. */
export function dataOf(condition: Condition): Node | undefined {
  if (condition.kind === "data") return condition.node;
  if (condition.kind === "clock") return undefined;
  const parts = condition.parts.map(dataOf);
  if (parts.includes(undefined)) return undefined;
  return (parts as Node[]).reduce((left, right) => operation(condition.kind, left, right));
}

/** A condition as alternatives of conjunctions; undefined when there are too many. Impossible ones are left out. */
export function clausesOf(condition: Condition): readonly Clause[] | undefined {
  const node = dataOf(condition);
  if (node !== undefined) {
    if (node.kind === "constant") return node.value === 0 ? [] : [{ data: [], atoms: [] }];
    return [{ data: [node], atoms: [] }];
  }
  if (condition.kind === "clock") return [{ data: [], atoms: [condition.atom] }];
  if (condition.kind === "data") return [];
  let out: Clause[] = condition.kind === "or" ? [] : [{ data: [], atoms: [] }];
  for (const part of condition.parts) {
    const clauses = clausesOf(part);
    if (clauses === undefined) return undefined;
    out =
      condition.kind === "or"
        ? [...out, ...clauses]
        : out.flatMap((a) => clauses.map((b) => ({ data: [...a.data, ...b.data], atoms: [...a.atoms, ...b.atoms] })));
    if (out.length > MOST_CLAUSES) return undefined;
  }
  return out;
}
