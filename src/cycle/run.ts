/** The record of one simulated run of a cell's routine. */
import type { Severity } from "../cell/finding.ts";
import type { FreeStep, GoStep, HoldStep, PressStep } from "../cell/steps.ts";
import type { Seconds } from "../math/units.ts";
import type { Network } from "./network.ts";
import type { Activity, MoveContext, MoveOutcome, Pace, Resting } from "./types.ts";

export interface CycleOptions {
  /** Part variant that is run. */
  readonly variant: string;
  readonly pace: Pace;
  /** Most steps run before the simulation gives up with "too many steps"; default 200 000. */
  readonly maxSteps?: number;
  /** Called as passes of the outermost `each` begin and at the end: passes begun before, and passes known so far. */
  readonly onProgress?: (done: number, total: number) => void;
  readonly cancelled?: () => boolean;
}

/** Something that the run shows to be wrong, once per step and subject however often it happened. */
export interface CycleProblem {
  /** Stable, kebab-case; listed in docs/explanation/cycle.md. */
  readonly code: string;
  readonly severity: Severity;
  /** Step that caused it; "" when it belongs to no step. */
  readonly stepId: string;
  /** Path in the cell, for `cell.locate`. */
  readonly path: readonly (string | number)[];
  /** What happened the first time, with numbers and units. */
  readonly message: string;
  readonly mend: string;
  /** How often it happened in the run, and when first. */
  readonly times: number;
  readonly firstAt: Seconds;
}

/** One pass of an outermost `each`. */
export interface Pass {
  /** Counted from 0 over the whole run. */
  readonly index: number;
  readonly stepId: string;
  readonly start: Seconds;
  readonly end: Seconds;
}

/** A part left in a tray, or in a nest that nothing is taken from, and not touched again. */
export interface Completion {
  readonly time: Seconds;
  readonly pass: number;
  readonly token: number;
  readonly part: string;
  readonly stage: string;
  readonly holder: string;
  readonly place: number;
}

/** What the mover answered for one chain of motions or one press. */
export interface MoveRecord<F> {
  readonly kind: "go" | "press";
  readonly steps: readonly (GoStep | PressStep)[];
  /** First activity of the chain; the others follow without a gap. */
  readonly activity: number;
  readonly start: Seconds;
  readonly end: Seconds;
  readonly pass: number;
  /** Joint values, places and loads with which it was asked for. */
  readonly context: MoveContext;
  readonly outcome: MoveOutcome<F>;
  /** Parts in the holders while it was made; not those in the grippers. */
  readonly resting: Resting;
}

/** Where the arm stood when a gripper was told to close on a part or to leave one. */
export interface JawRecord {
  readonly step: HoldStep | FreeStep;
  /** Joint values of the arm. */
  readonly q: Float64Array;
  /** The place that the step names. */
  readonly holder: string;
  readonly place: number;
  /** The part there (or held, for `free`) and the grip by which it is taken or held. */
  readonly part: string;
  readonly grip: string;
  /** Index of the last move before, -1 for none. */
  readonly after: number;
}

/** Change of a signal's level. */
export interface SignalEdge {
  readonly time: Seconds;
  readonly level: boolean;
}

export interface SignalTrace {
  readonly signal: string;
  readonly initial: boolean;
  readonly edges: readonly SignalEdge[];
}

/** Where a device is: at a position from `time` on, or moving towards one. */
export interface DeviceState {
  readonly time: Seconds;
  readonly at: string | undefined;
  readonly towards: string;
}

export interface DeviceTrace {
  readonly device: string;
  readonly states: readonly DeviceState[];
}

/** A gripper and a clamping device held the same part. */
export interface SharedHold {
  readonly token: number;
  readonly gripper: string;
  readonly holder: string;
  readonly start: Seconds;
  readonly end: Seconds;
}

export type PeriodBasis =
  /** Mean over the last passes that repeat exactly, `passes` of them forming the pattern. */
  | "repeating passes"
  /** Mean over all passes but the first and the last in which parts are finished. */
  | "inner passes"
  /** Only two passes finish parts: from the end of the first to the end of the second. */
  | "last pass"
  /** No two passes finish parts: mean interval between completions. */
  | "completions"
  /** Fewer than two completions: the whole run. */
  | "run";

/** The stretch of the run from which the steady figures are taken. */
export interface SteadyWindow {
  readonly basis: PeriodBasis;
  readonly start: Seconds;
  readonly end: Seconds;
  /** Parts finished in it (1 when none was finished at all). */
  readonly parts: number;
  /** Passes covered, first and last index included; undefined when the basis is not passes. */
  readonly passes?: { readonly first: number; readonly last: number };
}

/** Use of one machine in the steady window, per finished part. */
export interface MachineUse {
  readonly machine: string;
  /** Time with a spindle process running. */
  readonly spindleBusy_s: Seconds;
  /** Time without. */
  readonly spindleIdle_s: Seconds;
  /** Time from the start signal accepted to completion reported, including what the machine moves before and after. */
  readonly engaged_s: Seconds;
}

/** Slack of a routine step over all its activities. */
export interface StepSlack {
  readonly stepId: string;
  /** Times it ran, and its shortest, mean and longest time. */
  readonly count: number;
  readonly min_s: Seconds;
  readonly mean_s: Seconds;
  readonly max_s: Seconds;
  /** Least time by which one activity of it could last longer without lengthening the run. */
  readonly run_s: Seconds;
  /** Time by which it could last longer in every pass without lengthening the period; that of the run for steps outside the steady passes. */
  readonly steady_s: Seconds;
}

/** What keeps the period from being shorter. */
export interface CycleBound {
  /** "arm", or the process, device or operator signal that the arm waits for on the critical path. */
  readonly by: string;
  /** Share of the steady window that each lane has on one critical path through it; they add up to 1. "controller" is the time to see inputs. */
  readonly shares: ReadonlyMap<string, number>;
}

export type RunOutcome = "complete" | "stopped" | "deadlock" | "too many steps" | "cancelled";

export interface CycleRun<F> {
  readonly variant: string;
  readonly pace: Pace;
  readonly outcome: RunOutcome;
  readonly activities: readonly Activity[];
  readonly duration: Seconds;
  readonly steps: number;
  readonly passes: readonly Pass[];
  readonly partsFinished: number;
  readonly completions: readonly Completion[];
  /** Mean time between finished parts in steady operation; see `steady` and docs/explanation/cycle.md. */
  readonly period: Seconds;
  readonly partsPerHour: number;
  readonly steady: SteadyWindow;
  /** Time in the whole run during which the arm does anything but wait. */
  readonly robotBusy_s: Seconds;
  /** The same per finished part in the steady window, and as a share of it. */
  readonly robot_s: Seconds;
  readonly robotShare: number;
  /** Largest `engaged_s` of the machines; 0 without machines. */
  readonly machine_s: Seconds;
  /** Least `spindleIdle_s` of the machines that run a spindle process; the period when none does. */
  readonly spindleIdle_s: Seconds;
  readonly machines: readonly MachineUse[];
  readonly bound: CycleBound;
  readonly slack: ReadonlyMap<string, StepSlack>;
  readonly signals: readonly SignalTrace[];
  readonly devices: readonly DeviceTrace[];
  readonly sharedHolds: readonly SharedHold[];
  readonly moves: readonly MoveRecord<F>[];
  /** Every `hold` and `free` for which the arm stood where a motion had brought it (not after a motion that failed). */
  readonly jaws: readonly JawRecord[];
  readonly problems: readonly CycleProblem[];
  /** What had to happen before what, for questions about other durations (see retime.ts). */
  readonly network: Network;
}
