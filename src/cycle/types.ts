/** What the cycle simulation needs from outside, and what it gives back. */
import type { GoStep, PressStep } from "../cell/steps.ts";
import type { Seconds } from "../math/units.ts";
import type { JawRecord } from "./run.ts";
import type { Situation } from "./whereabouts/index.ts";

/** A part as a token. */
export interface PartToken {
  /** Unique in a run, counted from 1 in order of the holders' places. */
  readonly id: number;
  readonly part: string;
  stage: string;
}

export interface HeldPart {
  readonly part: string;
  readonly stage: string;
  readonly grip: string;
}

/** Parts that rest in the places of each holder, by the name of the part; undefined: the place is empty. */
export type Resting = ReadonlyMap<string, readonly (string | undefined)[]>;

/** What a motion depends on besides its steps. */
export interface MoveContext {
  /** Joint values at the start of the chain. */
  readonly q: Float64Array;
  readonly variant: string;
  /** Current place of each holder walked by an enclosing `each`. */
  readonly places: ReadonlyMap<string, number>;
  /** Parts in the grippers, by gripper. */
  readonly held: ReadonlyMap<string, HeldPart>;
  /** Gripper in use, the same for the whole chain: named by its steps or before. */
  readonly gripper: string;
  /** Parts in the holders; undefined: not known. */
  readonly resting?: Resting;
  /** Where devices may stand while the chain is made, for all times in the stated ranges; undefined: not known. */
  readonly devices?: Situation;
  /** Grippers closed and opened where the chain starts, since the move before. */
  readonly worked?: readonly JawRecord[];
}

export type MoveOutcome<Failure> =
  | {
      readonly ok: true;
      readonly duration: Seconds /** Seconds spent in each step of the chain. */;
      readonly perStep: readonly Seconds[];
      readonly end: Float64Array /** Opaque to the cycle: carried into the record. */;
      readonly motion: unknown;
      /** Of a press: its motion until contact, as opaque as `motion`. */
      readonly approach?: unknown;
    }
  | {
      readonly ok: false;
      readonly failure: Failure /** Index in the chain of the step that failed. */;
      readonly step: number /** Joint values to go on from, so that later steps are checked as well. */;
      readonly resume: Float64Array;
    };

/** Plans the motions of a routine; the cycle asks, the motion floor answers. Must be deterministic and free of side effects. */
export interface Mover<Failure = unknown> {
  /** One chain of `go` steps joined by blends (a single step when it has none). */
  go(chain: readonly GoStep[], context: MoveContext): MoveOutcome<Failure>;
  press(step: PressStep, context: MoveContext): MoveOutcome<Failure>;
}

/** Which end of every time range the simulation takes. */
export type Pace = "fastest" | "nominal" | "slowest";

export type ActivityKind =
  | "motion"
  | "hold"
  | "free"
  | "drive"
  | "pulse"
  | "wait"
  | "dwell"
  | "press"
  | "device"
  | "process"
  | "operator";

/** One bar of the cycle chart. */
export interface Activity {
  /** Index in the list of activities. */
  readonly index: number;
  /** "arm", or a device, process or operator signal by qualified name. */
  readonly lane: string;
  readonly kind: ActivityKind;
  /** Step id for the arm's activities; "to open" … for devices. */
  readonly label: string;
  readonly stepId?: string;
  /** For devices, processes and people: the arm's step that started it. */
  readonly startedBy?: string;
  readonly start: Seconds;
  readonly end: Seconds;
  /** Pass of the outermost `each` in which it happened, from 0; -1 before and after. */
  readonly pass: number;
  /** Activities that had to end (or signals' activities) before this one could start; the one that was last is first. */
  readonly after: readonly number[];
  /** Time (s) by which it could last longer without lengthening the run. */
  readonly slack: Seconds;
  readonly critical: boolean;
  /** From the mover, for motions. */
  readonly motion?: unknown;
}
