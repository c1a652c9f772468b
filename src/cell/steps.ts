/** The steps of a routine, in the vocabulary of the cell file, with names resolved and units SI. */
import type { Pose } from "../math/pose.ts";
import type { Metres, MetresPerSecond, MetresPerSecond2, Newtons, Seconds } from "../math/units.ts";
import type { BranchChoice } from "./model.ts";

/** A name that may depend on the part variant being run. */
export type ByVariant = { readonly default?: string; readonly variants: ReadonlyMap<string, string> };

interface StepBase {
  /** Path in the cell: ["routines", "load", 3], deeper for steps inside `each` and `when`. */
  readonly path: readonly (string | number)[];
  /** The path as text, "load[3]", "load[4].do[0]". Unique in the cell. */
  readonly id: string;
  /** The user's own words for the step. */
  readonly note?: string;
}

/** Where a motion ends. */
export interface Target {
  /** A named pose, or a holder (then: its current place inside `each`, else its only or first place). */
  readonly at: ByVariant;
  readonly kind: "pose" | "holder";
  /** Fixed place of a holder, counted from 0 in serving order; undefined: the current one. */
  readonly place?: number;
  /** Displacement applied on top: in the target's own frame, or in the axes of another frame. */
  readonly offset?: { readonly in: "target" | string; readonly pose: Pose };
  /**
   * What is brought to the target. "part": the part's frame (held, or about to be held, by `grip`), so the TCP goes to
   * target · partFromTcp; "gripper": the TCP itself. Default: "part" for holders, "gripper" for poses.
   */
  readonly bring: "part" | "gripper";
  /** Grip used for "part"; undefined: the one the part is held by, else the part's first. */
  readonly grip?: string;
  readonly branch?: BranchChoice;
}

/** What a motion may come near to. */
interface Nearness {
  /** Least distance of bodies along this motion, m; undefined: that of the cell. */
  readonly clearance?: Metres;
  /** Shapes that tool, grippers and held parts touch in it on purpose, by their names; a device's name stands for all its shapes. */
  readonly mayTouch?: readonly string[];
}

/** Speed wanted in a step; every limit of arm and cell still applies. */
export interface StepSpeed {
  /** Share of the joint limits (velocity; acceleration and jerk are not reduced), (0, 1]. */
  readonly fraction?: number;
  readonly tool?: MetresPerSecond;
  readonly toolAcceleration?: MetresPerSecond2;
  /** Process motion: the tool speed must be constant along the whole segment, entered and left at that speed by the neighbouring blends. */
  readonly constant: boolean;
}

export interface GoStep extends StepBase, Nearness {
  readonly kind: "go";
  readonly to: Target;
  readonly by: "joint" | "line" | "arc";
  /** "find": a clear route to the end is found, by joint motion through corners of its own. Only with "joint". */
  readonly route?: "find";
  /** Point passed on the way, for "arc". */
  readonly via?: Target;
  readonly speed: StepSpeed;
  /** Distance from the end point within which the path may round the corner into the next motion; 0 stops at the point. */
  readonly blend: Metres;
  /** Gripper whose TCP moves; undefined: the one last named, the first of the tool at start. */
  readonly gripper?: string;
}

/** Close a gripper on a part. Completes at once without feedback, else when the feedback is seen. */
export interface HoldStep extends StepBase {
  readonly kind: "hold";
  readonly gripper: string;
  /** Holder the part is taken from; current place when it has many. */
  readonly from: ByVariant;
  readonly grip?: string;
}

/** Open a gripper. */
export interface FreeStep extends StepBase {
  readonly kind: "free";
  readonly gripper: string;
  /** Holder the part is left in. */
  readonly into: ByVariant;
}

export interface DriveStep extends StepBase {
  readonly kind: "drive";
  readonly signal: string;
  readonly to: boolean;
}

export interface PulseStep extends StepBase {
  readonly kind: "pulse";
  readonly signal: string;
  readonly width: Seconds;
}

export interface AwaitStep extends StepBase {
  readonly kind: "await";
  readonly condition: SignalCondition;
  /** Undefined: waits for ever (`limit: none` in the file). */
  readonly limit: Seconds | undefined;
  /** What happens when the limit passes: the routine stops with a message, or another routine runs instead. */
  readonly otherwise:
    | { readonly kind: "stop"; readonly message?: string }
    | { readonly kind: "run"; readonly routine: string };
}

export interface DwellStep extends StepBase {
  readonly kind: "dwell";
  readonly time: Seconds;
}

/** Push along the tool's z axis until contact, then hold a force for a time. */
export interface PressStep extends StepBase, Nearness {
  readonly kind: "press";
  readonly force: Newtons;
  readonly time: Seconds;
  /** Largest travel before it counts as not seated. */
  readonly travel: Metres;
  /** Travel expected before contact, 0 ≤ expect ≤ travel. */
  readonly expect: Metres;
  readonly speed: MetresPerSecond;
}

export interface RunStep extends StepBase {
  readonly kind: "run";
  readonly routine: string;
}

export interface EachStep extends StepBase {
  readonly kind: "each";
  /** Holders walked in step, place by place; the shortest decides the count. Empty when `times` is given. */
  readonly over: readonly ByVariant[];
  readonly times?: number;
  readonly steps: readonly Step[];
}

export interface WhenStep extends StepBase {
  readonly kind: "when";
  readonly condition: Condition;
  readonly then: readonly Step[];
  readonly otherwise: readonly Step[];
}

export type Step =
  | GoStep
  | HoldStep
  | FreeStep
  | DriveStep
  | PulseStep
  | AwaitStep
  | DwellStep
  | PressStep
  | RunStep
  | EachStep
  | WhenStep;

/** Conditions on signals only: what the arm controller can see. */
export type SignalCondition =
  | { readonly kind: "signal"; readonly signal: string; readonly is: boolean }
  | { readonly kind: "all"; readonly of: readonly SignalCondition[] }
  | { readonly kind: "any"; readonly of: readonly SignalCondition[] };

/** Conditions on signals and on what the routine itself keeps count of. */
export type Condition =
  | { readonly kind: "signal"; readonly signal: string; readonly is: boolean }
  | { readonly kind: "variant"; readonly part: string }
  /** Contents of a holder's current place: any part, nothing, or a part of a stage. */
  | { readonly kind: "holder"; readonly holder: string; readonly has: "part" | "nothing" | { readonly stage: string } }
  | {
      readonly kind: "gripper";
      readonly gripper: string;
      readonly has: "part" | "nothing" | { readonly stage: string };
    }
  /** First or last pass of the innermost `each`. */
  | { readonly kind: "pass"; readonly which: "first" | "last" }
  | { readonly kind: "all"; readonly of: readonly Condition[] }
  | { readonly kind: "any"; readonly of: readonly Condition[] }
  | { readonly kind: "not"; readonly of: Condition };

export interface Routine {
  readonly name: string;
  readonly steps: readonly Step[];
}
