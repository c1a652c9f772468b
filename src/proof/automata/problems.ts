/** Problems of a description, collected while it is read. */
import { nearest } from "../../cell/text/did-you-mean.ts";
import type { Expression } from "./expression.ts";
import type { Formula, NetworkProblem } from "./model.ts";
import type { Scope } from "./network.ts";
import { LARGEST, parseFormula } from "./parse.ts";
import { Resolver } from "./resolve.ts";

export type Path = readonly (string | number)[];

/** Collects problems of a description. */
export class ProblemList {
  readonly list: NetworkProblem[] = [];

  add(code: string, path: Path, offset: number, found: string, expected: string, mend: string): undefined {
    // One problem a place: a formula is read once for each copy of an automaton.
    if (!this.list.some((p) => p.code === code && p.offset === offset && p.path.join("\0") === path.join("\0")))
      this.list.push({ code, path, offset, found, expected, mend });
    return undefined;
  }

  /** The tree of a formula; undefined after a problem. */
  parse(formula: Formula | number, path: Path): Expression | undefined {
    if (typeof formula === "number") {
      if (Number.isInteger(formula) && Math.abs(formula) <= LARGEST)
        return formula < 0
          ? { kind: "minus", of: { kind: "number", value: -formula, at: 0 }, at: 0 }
          : { kind: "number", value: formula, at: 0 };
      return this.add(
        "bad-number",
        path,
        0,
        String(formula),
        `a whole number of at most ${LARGEST}`,
        "Choose another unit of time.",
      );
    }
    if (typeof formula !== "string") return formula;
    const parsed = parseFormula(formula);
    if (parsed.ok) return parsed.value;
    const { offset, found, expected, mend } = parsed.problem;
    return this.add("syntax", path, offset, found, expected, mend);
  }

  resolver(scope: Scope, path: Path): Resolver {
    return new Resolver(scope, (code, offset, found, expected, mend) =>
      this.add(code, path, offset, found, expected, mend),
    );
  }
}

/** "Did you mean …?" or another mend. */
export function meant(name: string, known: Iterable<string>, otherwise: string): string {
  const near = nearest(name, known);
  return near === undefined ? otherwise : `Did you mean ${near}?`;
}
