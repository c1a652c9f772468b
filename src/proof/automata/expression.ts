/** The tree of a formula. `at` is where a part stands in its text, characters from the beginning; 0 for trees made by programs. */

export type Comparison = "=" | "!=" | "<" | "<=" | ">" | ">=";
export type Arithmetic = "+" | "-" | "*" | "div" | "mod";
export type Connective = "and" | "or" | "implies";

export type Expression =
  | { readonly kind: "number"; readonly value: number; readonly at: number }
  | { readonly kind: "truth"; readonly value: boolean; readonly at: number }
  /** `x`, `queue[i]`, `train.inside`, `train[2].x`. */
  | {
      readonly kind: "name";
      readonly name: string;
      readonly index?: Expression;
      readonly member?: string;
      readonly memberIndex?: Expression;
      readonly at: number;
    }
  /** How many copies of an automaton are in a location: `count(train.inside)`. */
  | { readonly kind: "count"; readonly automaton: string; readonly location: string; readonly at: number }
  | { readonly kind: "minus"; readonly of: Expression; readonly at: number }
  | { readonly kind: "not"; readonly of: Expression; readonly at: number }
  | {
      readonly kind: "arithmetic";
      readonly op: Arithmetic;
      readonly left: Expression;
      readonly right: Expression;
      readonly at: number;
    }
  | {
      readonly kind: "compare";
      readonly op: Comparison;
      readonly left: Expression;
      readonly right: Expression;
      readonly at: number;
    }
  | {
      readonly kind: "join";
      readonly op: Connective;
      readonly left: Expression;
      readonly right: Expression;
      readonly at: number;
    }
  | {
      readonly kind: "choice";
      readonly test: Expression;
      readonly yes: Expression;
      readonly otherwise: Expression;
      readonly at: number;
    };

export interface Assignment {
  readonly target: Extract<Expression, { kind: "name" }>;
  readonly value: Expression;
}

type Operand = Expression | number | string;
const operand = (value: Operand): Expression =>
  typeof value === "number"
    ? { kind: "number", value, at: 0 }
    : typeof value === "string"
      ? { kind: "name", name: value, at: 0 }
      : value;

/** A tree without text, for programs: compare("x", "<=", 5). Names are those of variables, clocks and constants. */
export const compare = (left: Operand, op: Comparison, right: Operand): Expression => ({
  kind: "compare",
  op,
  left: operand(left),
  right: operand(right),
  at: 0,
});

/** Whether an automaton, or a copy of it, is in a location. */
export const isAt = (automaton: string, location: string, copy?: number): Expression => ({
  kind: "name",
  name: automaton,
  member: location,
  ...(copy === undefined ? {} : { index: operand(copy) }),
  at: 0,
});

/** All of the conditions; true for none. */
export const allOf = (...parts: readonly Expression[]): Expression => joined("and", parts, true);
/** At least one of the conditions; false for none. */
export const anyOf = (...parts: readonly Expression[]): Expression => joined("or", parts, false);
export const not = (of: Expression): Expression => ({ kind: "not", of, at: 0 });

function joined(op: "and" | "or", parts: readonly Expression[], empty: boolean): Expression {
  if (parts.length === 0) return { kind: "truth", value: empty, at: 0 };
  if (parts.length === 1) return parts[0]!;
  // Halved, so that long lists do not nest deeply.
  const middle = parts.length >> 1;
  const left = joined(op, parts.slice(0, middle), empty);
  return { kind: "join", op, left, right: joined(op, parts.slice(middle), empty), at: 0 };
}
