/** The result of checking a cell, and its JSON form (`check --json`), which is a stable contract. */
import type { Finding } from "../cell/finding.ts";
import type { GuardReport } from "./guarding/report.ts";
import type { GripSizing, LoadCaseReport, SeatingReport } from "./handling/report.ts";
import type { ProductionReport } from "./production/report.ts";
import type { ProofReport } from "./proof/report.ts";

export const SCHEMA_VERSION = 1;

/** One row of the table of steps. */
export interface StepRow {
  readonly id: string;
  readonly kind: string;
  /** Short description in the cell's words. */
  readonly what: string;
  /** Times this step ran in the nominal run. */
  readonly count: number;
  /** Nominal seconds of one run: mean, shortest, longest. */
  readonly mean_s: number;
  readonly min_s: number;
  readonly max_s: number;
  /** Largest share of the time by one limit: "J2 acceleration 54 %". Empty for steps that are not motions. */
  readonly limitedBy: string;
  /** Least slack over the passes, s; 0 = on the critical path; null = nothing ever waits for it. */
  readonly slack_s: number | null;
}

export interface CheckReport {
  readonly schemaVersion: number;
  readonly cell: string;
  readonly verdict: "feasible" | "not feasible";
  readonly findings: readonly (Omit<Finding, "place"> & {
    readonly file: string;
    readonly line: number;
    readonly column: number;
  })[];
  readonly cycle: CycleReport | null;
  /** Null when there is nothing to compare; a finding then tells why. */
  readonly clearance: ClearanceReport | null;
  /** Null when the interlocks were not explored. */
  readonly proof: ProofReport | null;
  /** The arm's joints, base to wrist. */
  readonly joints: readonly { readonly name: string; readonly kind: "revolute" | "prismatic" }[];
  readonly reach: readonly ReachReport[];
  readonly grip: readonly GripReport[];
  readonly payload: PayloadReport | null;
  /** One entry for each place and part that is put into it. */
  readonly seating: readonly SeatingReport[];
  readonly signals: SignalReport;
  /** Days and money of the variant that speaks for the cell. Null when it could not be timed. */
  readonly production: ProductionReport | null;
  /** Null when the cell file says nothing about guarding. */
  readonly guarding: GuardReport | null;
}

/** Where two bodies come nearest to each other. */
export interface NearestReport {
  /** Least distance, m; negative: overlap. */
  readonly min_m: number;
  /** Names of the two bodies, the first carried by the arm. */
  readonly pair: readonly [string, string];
  readonly step: string;
  /** Into the step; null while the arm stands and a device passes. */
  readonly time_s: number | null;
  readonly variant: string;
  /** Where the step goes: "raw-tray, place 7". */
  readonly target: string;
  /** Where the device is to which the second body belongs; null when it belongs to none that moves. */
  readonly device: {
    readonly name: string;
    readonly from: string;
    readonly to: string;
    /** Share of the way, 0 to 1. */
    readonly share: number;
  } | null;
  /** The two points nearest to each other, world axes, m. */
  readonly points: readonly [readonly [number, number, number], readonly [number, number, number]];
  /** Joint values, rad or m. */
  readonly q: readonly number[];
}

/** Clearance of the whole routine: every motion along its whole path. */
export interface ClearanceReport extends NearestReport {
  /** Certified: no distance is below, m. */
  readonly certified_m: number;
  /** Least distance wanted by the cell. */
  readonly required_m: number;
  /** The steps with a motion, in the order in which they first ran. */
  readonly steps: readonly StepClearanceReport[];
  /** What was left out, in words. */
  readonly notConsidered: readonly string[];
}

export interface StepClearanceReport {
  readonly step: string;
  readonly required_m: number;
  readonly certified_m: number;
  /** Null: everything stays farther away than `beyond_m`. */
  readonly nearest: NearestReport | null;
  readonly beyond_m: number;
}

export interface CycleReport {
  readonly variant: string;
  readonly period_s: number;
  readonly robot_s: number;
  readonly machine_s: number;
  readonly spindleIdle_s: number;
  readonly partsPerHour: number;
  /** Period with every device and process at its shortest and longest time. */
  readonly fastest_s: number;
  readonly slowest_s: number;
  readonly steps: readonly StepRow[];
  readonly variants: readonly Omit<CycleReport, "variants">[];
}

export interface ReachReport {
  readonly target: string;
  readonly reachable: boolean;
  /** Branches inside the joint limits. */
  readonly branches: number;
  /** Distance by which the nearest attainable pose misses, m; 0 when reachable. */
  readonly miss_m: number;
  /** Smallest distance to a joint limit on the branch used, rad; m where the joint nearest to its limit slides. */
  readonly jointMargin_rad: number;
  /** Name of the joint nearest to its limit there; null when the target is not reached. */
  readonly nearestJoint: string | null;
  readonly singularity: string | null;
}

export interface GripReport {
  readonly gripper: string;
  readonly part: string;
  readonly grip: string;
  /** Force per jaw that the motions need, safety factor included, N; null when the friction is not stated. */
  readonly needed_N: number | null;
  readonly available_N: number | null;
  readonly acceleration_mps2: number;
  readonly cautions: readonly string[];
  /** How it was computed, the worst moments, a stop, moments on the jaws and their ways. */
  readonly sizing: GripSizing;
}

export interface PayloadReport {
  /** Largest load carried at the flange: grippers and parts. */
  readonly mass_kg: number;
  readonly rated_kg: number | null;
  /** Distance of its centre of mass from the flange centre, m. */
  readonly distance_m: number;
  /** Largest share of each joint's torque limit along the routine; null when masses or limits are not stated. */
  readonly torqueShare: readonly number[] | null;
  /** Every load carried: the empty tool, and with each part in each stage. */
  readonly loads: readonly LoadCaseReport[];
}

export interface SignalReport {
  readonly ports: readonly {
    readonly name: string;
    readonly digitalInputs: readonly [used: number, available: number];
    readonly digitalOutputs: readonly [used: number, available: number];
    readonly analogueInputs: readonly [used: number, available: number];
    readonly analogueOutputs: readonly [used: number, available: number];
  }[];
  /** Where each signal is wired, in the order of the file. */
  readonly points: readonly {
    readonly signal: string;
    /** Null: no point; for a register no terminal. */
    readonly terminal: string | null;
    readonly port: string | null;
    readonly point: number | null;
    readonly how: "pinned" | "kept" | "assigned" | "proposed" | "none";
  }[];
  /** Remote stations that would take the signals left over. */
  readonly stationsNeeded: number;
}
