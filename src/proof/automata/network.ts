/** A network with every name resolved and every copy written out: what the explorers work on. */

/** A whole number computed from the discrete state; truth is 0 or 1. Fields are places of the state vector. */
export type Node =
  | { readonly kind: "constant"; readonly value: number }
  | { readonly kind: "field"; readonly field: number }
  | {
      readonly kind: "element";
      readonly base: number;
      readonly size: number;
      readonly index: Node;
      readonly name: string;
    }
  | { readonly kind: "minus"; readonly of: Node }
  | { readonly kind: "not"; readonly of: Node }
  | { readonly kind: "operation"; readonly op: Operation; readonly left: Node; readonly right: Node }
  | { readonly kind: "choice"; readonly test: Node; readonly yes: Node; readonly otherwise: Node }
  /** How many of the fields have the value. */
  | { readonly kind: "count"; readonly fields: readonly number[]; readonly value: number };

export type Operation = "+" | "-" | "*" | "div" | "mod" | "=" | "!=" | "<" | "<=" | ">" | ">=" | "and" | "or";

/** x_i - x_j < bound, or <= bound where not strict. Clock 0 is the zero. */
export interface Atom {
  readonly i: number;
  readonly j: number;
  readonly strict: boolean;
  readonly bound: Node;
}

/** Without negations outside data. */
export type Condition =
  | { readonly kind: "data"; readonly node: Node }
  | { readonly kind: "clock"; readonly atom: Atom }
  | { readonly kind: "and" | "or"; readonly parts: readonly Condition[] };

/** A conjunction. */
export interface Clause {
  readonly data: readonly Node[];
  readonly atoms: readonly Atom[];
}

/** A clock condition that has to hold where the data condition holds. */
export interface InvariantPart {
  readonly when: Node | undefined;
  readonly atom: Atom;
}

export interface Location {
  readonly name: string;
  readonly kind: "ordinary" | "urgent" | "committed";
  /** All have to hold. */
  readonly data: readonly Node[];
  readonly clocks: readonly InvariantPart[];
}

export interface Update {
  readonly base: number;
  readonly size: number;
  /** Undefined for a single value. */
  readonly index: Node | undefined;
  readonly value: Node;
  readonly min: number;
  readonly max: number;
  readonly name: string;
  readonly text: string;
}

export interface Edge {
  readonly automaton: number;
  readonly from: number;
  readonly to: number;
  /** The edge can be taken where one of these holds. */
  readonly guard: readonly Clause[];
  readonly channel:
    | { readonly channel: number; readonly role: "send" | "receive"; readonly index: Node | undefined }
    | undefined;
  readonly resets: readonly { readonly clock: number; readonly value: number }[];
  readonly updates: readonly Update[];
  readonly label: string | undefined;
  /** Number of the edge in the description, the same for every copy. */
  readonly described: number;
}

export interface Automaton {
  /** "gate", "train[2]". */
  readonly name: string;
  readonly described: string;
  /** Number of the copy, from 1; undefined for a single automaton. */
  readonly copy: number | undefined;
  readonly locations: readonly Location[];
  readonly start: number;
  readonly edges: readonly Edge[];
}

export interface Channel {
  readonly name: string;
  readonly kind: "pair" | "broadcast";
  readonly urgent: boolean;
  /** Number of channels of the array; undefined for a single one. */
  readonly size: number | undefined;
  /** Number of the first among all. */
  readonly first: number;
}

export interface Variable {
  readonly name: string;
  /** First field. */
  readonly base: number;
  readonly size: number | undefined;
  readonly min: number;
  readonly max: number;
  readonly start: number;
  /** Symmetric automaton whose copy numbers the values are. */
  readonly numbers: string | undefined;
  /** Automaton that it belongs to; undefined when shared. */
  readonly owner: number | undefined;
}

/** Copies of one automaton that may be exchanged. */
export interface SymmetricGroup {
  readonly described: string;
  readonly automata: readonly number[];
}

export interface Network {
  readonly name: string;
  readonly automata: readonly Automaton[];
  readonly channels: readonly Channel[];
  readonly variables: readonly Variable[];
  /** Names of the clocks; number 0 is the zero, "". */
  readonly clocks: readonly string[];
  /** Owner of each clock; undefined when shared. */
  readonly clockOwners: readonly (number | undefined)[];
  /** Fields of the state vector: the location of each automaton, then the elements of the variables. */
  readonly fields: readonly { readonly min: number; readonly max: number; readonly start: number }[];
  readonly groups: readonly SymmetricGroup[];
  /** For formulas of queries. */
  readonly scope: Scope;
}

/** What names mean in a place. */
export interface Scope {
  readonly constants: ReadonlyMap<string, number>;
  readonly variables: ReadonlyMap<string, Variable>;
  readonly clocks: ReadonlyMap<string, number>;
  readonly automata: ReadonlyMap<string, ScopeAutomaton>;
  readonly self: number | undefined;
}

export interface ScopeAutomaton {
  readonly copies: number | undefined;
  readonly locations: readonly string[];
  /** Field of the location of each copy. */
  readonly fields: readonly number[];
  /** Variables and clocks of each copy. */
  readonly variables: readonly ReadonlyMap<string, Variable>[];
  readonly clocks: readonly ReadonlyMap<string, number>[];
  readonly symmetric: boolean;
}

export type Query = { readonly name: string } & (
  | { readonly kind: "never" | "can reach"; readonly that: readonly Clause[] }
  | {
      readonly kind: "always followed by";
      /** Where P holds and Q does not. */
      readonly trigger: readonly Clause[];
      readonly goal: Node;
      readonly within: number | undefined;
    }
  | { readonly kind: "no deadlock" }
  | { readonly kind: "time can always pass" }
);
