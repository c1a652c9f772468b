/** What the cell file says about production: shifts, batches, what stops the cell, people, money. */
import type { Seconds } from "../math/units.ts";
import type { TimeRange } from "./model.ts";

/** An amount that is not known exactly: low <= likely <= high, all the same where it is. */
export interface Estimate {
  readonly low: number;
  readonly likely: number;
  readonly high: number;
}

export interface ShiftHours {
  readonly hours: number;
  readonly perDay: number;
  readonly daysPerWeek: number;
  /** Weeks worked in a year; undefined: not stated, and then nothing per year can be told. */
  readonly weeksPerYear?: number;
}

export interface Production {
  /** Wanted parts per hour; a lower rate is an error. */
  readonly target?: number;
  readonly shift?: ShiftHours;
  readonly batches: readonly { readonly part: string; readonly quantity: number }[];
  /** Stops by name: mean running time between them, how long one lasts, who clears it (undefined: a person). */
  readonly stops?: ReadonlyMap<
    string,
    { readonly every: Seconds; readonly time: TimeRange; readonly needs?: "person" | "nobody" }
  >;
  /** Tool changes by name: parts of the cell between two, how long one lasts, who does it (undefined: a person). */
  readonly toolChanges?: ReadonlyMap<
    string,
    { readonly parts: number; readonly time: TimeRange; readonly needs?: "person" | "nobody" }
  >;
  /** How long a person takes to change the trays. */
  readonly refill?: { readonly time: TimeRange };
  /** People who see to the cell during shifts, and how long it takes one to come. */
  readonly people?: { readonly attending: number; readonly response: TimeRange };
  /** Share of the parts that are not good. */
  readonly scrap?: number;
  /** Time for which the cell shall go on without people, from full trays. */
  readonly unattended?: Seconds;
  readonly costs?: Costs;
}

/** Amounts of money in the stated currency; interest and the like as shares per year. */
export interface Costs {
  readonly currency?: string;
  /** Items by name; one item named "investment" where the file states one amount. */
  readonly investment?: ReadonlyMap<string, Estimate>;
  readonly residualValue?: Estimate;
  readonly savingPerYear?: Estimate;
  readonly years?: Estimate;
  readonly interest?: Estimate;
  /** What one good part earns, or would cost made otherwise. */
  readonly partValue?: Estimate;
  readonly materialPerPart?: Estimate;
  readonly toolingPerPart?: Estimate;
  /** Per hour of planned time. */
  readonly cellPerHour?: Estimate;
  readonly operatorPerHour?: Estimate;
  /** Hours per working day. */
  readonly operatorHoursPerDay?: Estimate;
  readonly upkeepPerYear?: Estimate;
}
