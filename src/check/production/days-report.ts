/** Simulated days as reported, per week. */
import type { DaysModel } from "../../production/index.ts";
import { type MeanInterval, replicateDays } from "../../production/index.ts";

/** Mean of the replications, and half of its 95 % interval; null with one replication. */
export interface MeanReport {
  readonly mean: number;
  readonly half: number | null;
}

export interface DaysReport {
  readonly days: number;
  readonly replications: number;
  readonly seed: number;
  /** Planned busy time per week: attended hours, or all when the cell goes on without people. */
  readonly plannedHoursPerWeek: number;
  readonly partsPerWeek: MeanReport;
  readonly goodPerWeek: MeanReport;
  /** Over the planned busy time. */
  readonly goodPerHour: number;
  readonly unattendedPartsPerWeek: MeanReport;
  readonly unattendedHoursPerWeek: MeanReport;
  /** Hours per week lost to each stop, tool change, and to the trays. */
  readonly lost: readonly { readonly cause: string; readonly hoursPerWeek: MeanReport }[];
  readonly refillsPerWeek: number;
  readonly callsPerWeek: number;
  readonly peopleHoursPerWeek: number;
  /** Shares; null where nothing was made. */
  readonly availability: number;
  readonly effectiveness: number | null;
  readonly quality: number | null;
  readonly oee: MeanReport;
}

export interface DaysRequest {
  readonly days: number;
  readonly replications: number;
  readonly seed: number;
}

export const USUAL_DAYS: DaysRequest = { days: 28, replications: 10, seed: 1 };

const HOUR = 3600;

/** @param plannedPerPart the nominal period, s: what effectiveness is measured against */
export function daysReport(model: DaysModel, plannedPerPart: number, request: DaysRequest): DaysReport {
  const figures = replicateDays(model, { ...request, plannedPerPart });
  const report = ({ mean, half }: MeanInterval, unit = 1): MeanReport => ({
    mean: mean / unit,
    half: half === undefined ? null : half / unit,
  });
  const lost = [
    ...model.stops.map(({ name }, i) => ({ cause: name, hoursPerWeek: report(figures.stopped[i]!, HOUR) })),
    ...model.toolChanges.map(({ name }, i) => ({ cause: name, hoursPerWeek: report(figures.changed[i]!, HOUR) })),
    ...(model.refill ? [{ cause: "trays", hoursPerWeek: report(figures.refilling, HOUR) }] : []),
  ];
  return {
    ...request,
    plannedHoursPerWeek: figures.planned / HOUR,
    partsPerWeek: report(figures.made),
    goodPerWeek: report(figures.good),
    goodPerHour: figures.planned > 0 ? (figures.good.mean / figures.planned) * HOUR : 0,
    unattendedPartsPerWeek: report(figures.madeUnattended),
    unattendedHoursPerWeek: report(figures.producingUnattended, HOUR),
    lost,
    refillsPerWeek: figures.refills.mean,
    callsPerWeek: figures.calls.mean,
    peopleHoursPerWeek: figures.peopleBusy.mean / HOUR,
    availability: figures.oee.availability,
    effectiveness: figures.oee.effectiveness ?? null,
    quality: figures.oee.quality ?? null,
    oee: report(figures.oeeInterval),
  };
}
