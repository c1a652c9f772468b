/** The guarding figures of a cell, as `check --json` and `guard --json` give them. Lengths m, times s, speeds m/s. */
import type { FunctionVerdict, Hazard } from "../../guarding/index.ts";

export interface GuardReport {
  /** What has to be read with every figure. */
  readonly caution: string;
  /** Editions of the standards whose formulas were used. */
  readonly editions: readonly string[];
  /** What cannot be told, and what it would need. */
  readonly unknown: readonly string[];
  readonly stopping: StoppingReport;
  readonly approaches: readonly ApproachReport[];
  readonly contact: ContactReport;
  readonly monitoring: readonly MonitoringReport[];
  readonly gaps: readonly GapReport[];
  readonly hazards: readonly Hazard[];
  readonly functions: readonly FunctionVerdict[];
  /** Null in `check`: `guard` computes them. */
  readonly costs: readonly CostReport[] | null;
}

export interface StoppingReport {
  readonly reaction_s: number | null;
  /** As the cell file states them. */
  readonly statedTime_s: number | null;
  readonly statedDistance_m: number | null;
  /** The longest of the routine, from the joints' limits; null when a moving joint states none. */
  readonly computed: {
    readonly step: string;
    readonly time_s: number;
    readonly distance_m: number;
    readonly joint: string;
  } | null;
}

/** The ways of one person from the place to the arm, straight, seen from above. */
export interface ApproachReport {
  readonly person: string;
  readonly place: string;
  /** Shares of the points of the arm in the routine that are reached only past a fence panel, through a zone, or past neither. */
  readonly fenced: number;
  readonly watched: number;
  readonly open: number;
  /** Nearest point reached past neither: step, and its distance. */
  readonly nearestOpen: { readonly step: string; readonly distance_m: number } | null;
  /** Shortest way from a panel on to the arm: panel, step and distance. What can be reached over or through it is not computed. */
  readonly nearestFenced: { readonly panel: string; readonly step: string; readonly distance_m: number } | null;
  readonly zones: readonly ZoneReport[];
}

export interface ZoneReport {
  readonly zone: string;
  readonly by: string;
  readonly response: "stop" | number;
  /** Null: cannot be told, for the reason. */
  readonly needed_m: number | null;
  readonly reason: string;
  /** Of `needed_m`: separation of the standard, and way of the tool while it stops. */
  readonly separation_m: number | null;
  readonly overtravel_m: number | null;
  readonly placed_m: number;
  /** Above 0: so much is missing. */
  readonly missing_m: number | null;
  readonly time_s: number | null;
  readonly step: string;
}

export interface ContactReport {
  /** Null: cannot be told, see `unknown`. */
  readonly movingMass_kg: number | null;
  readonly heaviestLoad_kg: number | null;
  /** Per body region at the heaviest effective mass of the routine, by a blow. */
  readonly regions: readonly RegionReport[];
  readonly steps: readonly ContactStep[];
}

export interface RegionReport {
  readonly region: string;
  readonly stated: boolean;
  /** Null: a blow is not permitted. */
  readonly blow_mps: number | null;
  /** Where it can be held against something rigid. */
  readonly clamped_mps: number;
  readonly governs: string;
}

export interface ContactStep {
  readonly step: string;
  readonly what: string;
  /** Fastest point of contact, m/s. */
  readonly peak_mps: number;
  /** Least and largest effective mass along the step in the direction of motion, and M/2 + m_L. */
  readonly effectiveMin_kg: number;
  readonly effectiveMax_kg: number;
  readonly simplified_kg: number;
  /** Allowed speed of the point of contact for the stated regions; null: no regions stated. */
  readonly allowed_mps: number | null;
  readonly region: string | null;
  readonly surface: string | null;
  readonly governs: string | null;
  /** Largest ratio of speed to allowed speed; above 1 the blow is too hard. */
  readonly ratio: number | null;
}

export interface MonitoringReport {
  readonly person: string;
  readonly step: string;
  /** At the worst moment: needed (at least, where terms are missing), and from the person to the arm's centre line. */
  readonly needed_m: number;
  readonly distance_m: number;
  readonly allowed_mps: number;
  readonly missing: readonly string[];
}

export interface GapReport {
  readonly what: string;
  readonly step: string | null;
  /** Null: closes, or is not known to stay open. */
  readonly gap_m: number | null;
  /** Parts of the body for which it is too narrow. */
  readonly crushed: readonly string[];
}

export interface CostReport {
  readonly what: string;
  readonly variant: string;
  readonly period_s: number;
  readonly limited_s: number;
  /** Steps that could not be planned at the lower speed; their time is the old one. */
  readonly notPlanned: readonly string[];
}

export const GUARD_CAUTION =
  "Figures for a risk assessment, not one: they hold for the numbers in the cell file and call nothing safe. Risk assessment, guards and safety functions are for licensed people under the codes in force where the cell stands; stopping times, distances and contact forces are measured on the built cell.";
