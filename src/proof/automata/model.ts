/**
 * A network of timed automata as it is described, by a program or by a file (docs/reference/automata-file.md).
 *
 * Automata stand side by side and move by their edges; all clocks run at the same speed. Time is counted in whole units (ticks) of
 * the reader's choice: constants are whole numbers, the time between two moves may be any real number. Conditions are text in the
 * small language of docs/reference/automata-file.md, or the tree that it is read to.
 */
import type { Expression } from "./expression.ts";

/** A condition or a value: text, or the tree of it. */
export type Formula = string | Expression;

export interface NetworkDescription {
  readonly name?: string;
  /** Whole numbers by name, usable in every formula. */
  readonly constants?: Readonly<Record<string, number>>;
  readonly variables?: Readonly<Record<string, VariableDescription>>;
  /** Clocks shared by all automata. */
  readonly clocks?: readonly string[];
  readonly channels?: Readonly<Record<string, ChannelDescription>>;
  readonly automata: Readonly<Record<string, AutomatonDescription>>;
}

export interface VariableDescription {
  /** Smallest and largest value, both possible. A constant's name may stand for a number. */
  readonly range: readonly [Formula | number, Formula | number];
  /** Value at the start, of every element; default the value of the range nearest to 0. */
  readonly start?: Formula | number;
  /** Number of elements of an array, counted from 0. Not stated: a single value. */
  readonly size?: Formula | number;
  /** Automaton whose copy numbers the values are, 0 for none; needed where that automaton is symmetric. */
  readonly numbers?: string;
}

export interface ChannelDescription {
  /** `pair`: one sender and one receiver move together. `broadcast`: the sender and all that can receive. */
  readonly kind: "pair" | "broadcast";
  /** No time passes while the two could move. Edges on it may have no clock condition. */
  readonly urgent?: boolean;
  /** Number of channels in an array, counted from 0. */
  readonly size?: Formula | number;
}

export interface AutomatonDescription {
  /** Number of copies, numbered from 1; in formulas `self` is the number. Not stated: one automaton, without number. */
  readonly copies?: Formula | number;
  /** The copies differ in their number only, and what they do does not depend on its size: states that differ only in which copy is which count once. */
  readonly symmetric?: boolean;
  /** Clocks of each copy. */
  readonly clocks?: readonly string[];
  /** Variables of each copy. */
  readonly variables?: Readonly<Record<string, VariableDescription>>;
  /** Location at the start; default the first. */
  readonly start?: string;
  readonly locations: Readonly<Record<string, LocationDescription>>;
  readonly edges?: readonly EdgeDescription[];
}

export interface LocationDescription {
  /** Has to hold while the automaton is here. Clock conditions joined by `and`, each perhaps behind `… implies`. */
  readonly invariant?: Formula;
  /**
   * `urgent`: no time passes while an automaton is here. `committed`: besides, the next move has to be one of an automaton in a
   * committed location.
   */
  readonly kind?: "ordinary" | "urgent" | "committed";
}

export interface EdgeDescription {
  readonly from: string;
  readonly to: string;
  readonly guard?: Formula;
  /** Channel, with an index where it is an array: "go", "go[self]". */
  readonly send?: Formula;
  readonly receive?: Formula;
  /** Clocks set to whole numbers. */
  readonly reset?: Readonly<Record<string, number | Formula>>;
  /** Assignments, done in order: "n := n + 1", "queue[last] := self". The sender's come before the receivers'. */
  readonly update?: readonly string[];
  /** What the move is, for people. */
  readonly label?: string;
}

/** A question about all runs of a network. */
export type QueryDescription = { readonly name: string } & (
  | { readonly kind: "never"; readonly that: Formula }
  | { readonly kind: "can reach"; readonly that: Formula }
  | {
      readonly kind: "always followed by";
      readonly when: Formula;
      /** May have no clock condition. */
      readonly goal: Formula;
      /** Whole number of time units, included. */
      readonly within?: number | Formula;
    }
  | { readonly kind: "no deadlock" }
  | { readonly kind: "time can always pass" }
);

/** Something wrong with a description. */
export interface NetworkProblem {
  readonly code: string;
  /** From the top of the description, such as ["automata", "gate", "edges", 2, "guard"]. */
  readonly path: readonly (string | number)[];
  /** Where in the text that stands there, characters from its beginning. */
  readonly offset: number;
  readonly found: string;
  readonly expected: string;
  readonly mend: string;
}
