/** Recovery procedures: what they are made of, what they need from outside, and what is said of them. */
import type { Metres, Seconds } from "../../math/units.ts";

/** What brought the cell to a stand: the controller was stopped and keeps its outputs, or power failed and came back. */
export type StopCause = "stopped" | "power lost";

/** One motion of a retreat, whatever point of the interrupted path the arm stands on. */
export interface RetreatMove {
  /** "back": along the interrupted path to where it began; "on": along it to its end; "joint": straight in joint space. */
  readonly way: "back" | "on" | "joint";
  /** Where it ends, in words: "home", "over raw-tray". */
  readonly to: string;
  /** Longest time, with the tool no faster than the reduced speed. */
  readonly longest: Seconds;
  /** Zones that arm, tool or held part are in at some time of it, and at its end. */
  readonly zones: readonly string[];
  readonly endZones: readonly string[];
  readonly clearance: RetreatClearance;
}

export interface RetreatClearance {
  /** Certified: no distance along it is below, m; undefined: nothing could be compared. */
  readonly least: Metres | undefined;
  /** What is wanted, m. */
  readonly required: Metres;
  /** Two bodies that come nearest, when they come within 100 mm. */
  readonly pair: readonly [string, string] | undefined;
}

/** Motions from where a step was interrupted to home, or to where the arm waits while hands reach in and doors move. */
export interface Retreat {
  /** Where the interrupted motion came from, in words, where that decides the way. */
  readonly from: string | undefined;
  /** Zones in which the arm stands there, where that tells this way from the others. */
  readonly standing?: readonly string[] | undefined;
  readonly moves: readonly RetreatMove[];
}

/** Every way that a step's retreat can take: one for each place that it may have come from. Empty: none was found. */
export interface StepRetreats {
  readonly retreats: readonly Retreat[];
  /** From where they end to home, once everything else is done; undefined: they end at home. */
  readonly last?: readonly RetreatMove[] | undefined;
  /** Why there is none. */
  readonly reason?: string;
}

/** Something about the cell that a person or a signal tells: yes or no. */
export type Question =
  | { readonly kind: "device"; readonly device: string; readonly position: string }
  | { readonly kind: "gripper"; readonly gripper: string }
  | { readonly kind: "holder"; readonly holder: string }
  | { readonly kind: "process"; readonly process: string };

/** An answer to a question asked or read before, by its number. */
export interface Answer {
  readonly question: number;
  readonly is: boolean;
}

/** One line of a procedure, done in order; only where all the answers of `only` were given. */
export type RecoveryLine = { readonly only?: readonly Answer[] } & (
  | { readonly kind: "wait"; readonly time: Seconds; readonly until: string }
  | {
      readonly kind: "await";
      readonly signal: string;
      readonly is: boolean;
      readonly limit: Seconds;
      readonly until: string;
    }
  /** Numbered from 1, the same in asking and in `only`. */
  | { readonly kind: "ask"; readonly number: number; readonly question: Question }
  /** The answer is yes where the signal has the level. */
  | {
      readonly kind: "read";
      readonly number: number;
      readonly question: Question;
      readonly signal: string;
      readonly level: boolean;
    }
  /** Outputs that stay as they are. */
  | { readonly kind: "keep"; readonly signals: readonly string[] }
  | { readonly kind: "set"; readonly signal: string; readonly to: boolean }
  | { readonly kind: "pulse"; readonly signal: string; readonly width: Seconds }
  /** What the next lines move: the jaws of a gripper, a clamp, a door. `into`: the holder that keeps the part. */
  | { readonly kind: "bring"; readonly device: string; readonly position: string; readonly into?: string }
  | { readonly kind: "move"; readonly retreats: readonly Retreat[] }
  /** A person takes hold of the part and, once it is let go, takes it away. */
  | { readonly kind: "take out"; readonly gripper?: string; readonly holder?: string }
  /** A person sees to it that the holder has what it has before the routine starts. */
  | { readonly kind: "refill"; readonly holder: string }
  /** The procedure ends here: trained people, with the energy locked out. */
  | { readonly kind: "trained"; readonly why: string }
  /** The cell is in the state from which the routine starts. */
  | { readonly kind: "restart" }
);

/** One thing of the cell, in words. */
export interface PossibleThing {
  /** "in gripper", "lathe.door", "output blow". */
  readonly what: string;
  /** What it may be, sorted, each once. */
  readonly values: readonly string[];
  /** What it is before the first start. */
  readonly usual: string;
}

export interface RecoveryProcedure {
  readonly cause: StopCause;
  readonly lines: readonly RecoveryLine[];
  /** What may be so once everything has come to rest. */
  readonly possible: readonly PossibleThing[];
  readonly verdict: "proved" | "not proved";
  /** Why it is not proved, in sentences. */
  readonly reasons: readonly string[];
  /** In some of the states it ends with trained people instead of a known state. */
  readonly trained: boolean;
}

/** What is to be done when the cell came to a stand in a step. */
export interface StepRecovery {
  readonly stepId: string;
  readonly variant: string;
  readonly procedures: readonly RecoveryProcedure[];
}
