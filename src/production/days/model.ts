/** What a simulation of days needs to know of a cell. Times in seconds. */
import { ContractError } from "../../math/contract-error.ts";
import type { Seconds } from "../../math/units.ts";
import type { Stream } from "../random.ts";
import type { ShiftPattern } from "./calendar.ts";

/** A time that is not always the same. */
export type Duration =
  | { readonly kind: "uniform"; readonly min: Seconds; readonly max: Seconds }
  | { readonly kind: "triangular"; readonly min: Seconds; readonly likely: Seconds; readonly max: Seconds }
  | { readonly kind: "exponential"; readonly mean: Seconds };

export const always = (time: number): Duration => ({ kind: "uniform", min: time as Seconds, max: time as Seconds });

function meanOf(d: Duration): number {
  if (d.kind === "exponential") return d.mean;
  return d.kind === "uniform" ? (d.min + d.max) / 2 : (d.min + d.likely + d.max) / 3;
}

export function draw(d: Duration, from: Stream): number {
  if (d.kind === "exponential") return from.exponential(d.mean);
  if (d.min === d.max) return d.min;
  return d.kind === "uniform" ? d.min + (d.max - d.min) * from.uniform() : from.triangular(d.min, d.likely, d.max);
}

/** A machine that the arm serves: it runs, calls, stands until it is served, and runs again. */
export interface Station {
  readonly name: string;
  /** Running alone; 0 where the arm's routine is the whole cycle. */
  readonly machining: Duration;
  /** The arm at it: unloading and loading. A part is done at its end. */
  readonly service: Duration;
}

/** Something that stops the whole cell, or one station. */
export interface Stop {
  readonly name: string;
  /** Index of the station; undefined: the whole cell. */
  readonly station: number | undefined;
  /** Mean running time between two, exponential. */
  readonly every: Seconds;
  readonly time: Duration;
  /** Whether a person has to see to it; else it clears by itself. */
  readonly person: boolean;
}

/** Work at a station after so many parts. */
export interface ToolChange {
  readonly name: string;
  readonly station: number;
  readonly parts: number;
  readonly time: Duration;
  readonly person: boolean;
}

export interface DaysModel {
  readonly stations: readonly Station[];
  /** Which station is served next: the one that called first, or one after the other. */
  readonly order: "first call" | "in turn";
  readonly stops: readonly Stop[];
  readonly toolChanges: readonly ToolChange[];
  /** Parts until trays are empty or full, the person's time to change them, and what a new filling costs besides. Undefined: never. */
  readonly refill: { readonly parts: number; readonly time: Duration; readonly startUp: Seconds } | undefined;
  readonly shift: ShiftPattern;
  readonly people: { readonly count: number; readonly response: Duration };
  /** Whether the cell goes on without people until it needs one. */
  readonly unattended: boolean;
  /** Share of the parts that are not good, [0, 1]. */
  readonly scrap: number;
}

/** @throws ContractError */
export function checkModel(model: DaysModel): void {
  const wrong = (what: string): never => {
    throw new ContractError(`simulateDays: ${what}`);
  };
  const n = model.stations.length;
  if (n < 1 || n > 1000) wrong(`1 to 1000 stations are needed, got ${n}`);
  const fits = (d: Duration) =>
    d.kind === "exponential"
      ? d.mean >= 0 && Number.isFinite(d.mean)
      : d.min >= 0 &&
        Number.isFinite(d.max) &&
        d.min <= d.max &&
        (d.kind === "uniform" || (d.min <= d.likely && d.likely <= d.max));
  for (const s of model.stations) {
    if (!fits(s.machining) || !fits(s.service)) wrong(`times of ${s.name} must be finite, ordered and at least 0 s`);
    if (!(meanOf(s.service) > 0)) wrong(`the service of ${s.name} must take time`);
  }
  const at = (i: number | undefined) => i === undefined || (Number.isInteger(i) && i >= 0 && i < n);
  for (const s of model.stops)
    if (!(s.every > 0) || !fits(s.time) || !at(s.station))
      wrong(`the stop ${s.name} has an impossible time or station`);
  for (const c of model.toolChanges)
    if (!(Number.isInteger(c.parts) && c.parts >= 1) || !fits(c.time) || !at(c.station))
      wrong(`the tool change ${c.name} has an impossible number of parts, time or station`);
  if (
    model.refill &&
    (!(Number.isInteger(model.refill.parts) && model.refill.parts >= 1) ||
      !fits(model.refill.time) ||
      !(model.refill.startUp >= 0))
  )
    wrong("the refill has an impossible number of parts or time");
  if (!(Number.isInteger(model.people.count) && model.people.count >= 1) || !fits(model.people.response))
    wrong(`people must be at least 1 with a possible response, got ${model.people.count}`);
  if (!(model.scrap >= 0 && model.scrap <= 1)) wrong(`scrap must be a share, got ${model.scrap}`);
}
