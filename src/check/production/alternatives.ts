/** Alternatives of a cell side by side. */
import type { Cell } from "../../cell/model.ts";
import type { ProductionReport } from "./report.ts";

/** Null where a figure is unknown. */
export interface AlternativeRow {
  readonly name: string;
  readonly variant: string;
  /** Null when the routine does not come to its end, or a motion cannot be made. */
  readonly period_s: number | null;
  /** Good parts of the plan per working day, and per week. */
  readonly goodPerDay: number | null;
  readonly goodPerWeek: number | null;
  /** Hours per week in which it produces without people, when it goes on alone. */
  readonly unattendedHoursPerWeek: number | null;
  /** Time from full trays until it needs somebody although nothing went wrong; null: never, or unknown. */
  readonly unattended_s: number | null;
  readonly oee: number | null;
  readonly costPerPart: number | null;
  readonly npv: number | null;
  /** Years; null: unknown or never, see `paysBack`. */
  readonly payback: number | null;
  readonly paysBack: boolean | null;
}

export function alternativeRow(
  name: string,
  cell: Cell,
  variant: string,
  report: ProductionReport | null,
): AlternativeRow {
  const days = report === null ? null : report.plan === "attended" ? report.attended : report.runningOn;
  const workingDays = cell.production?.shift?.daysPerWeek;
  const money = report?.money ?? null;
  const good = days?.goodPerWeek.mean ?? null;
  return {
    name,
    variant,
    period_s: report?.period_s ?? null,
    goodPerDay: good === null || workingDays === undefined ? null : good / workingDays,
    goodPerWeek: good,
    unattendedHoursPerWeek: report?.runningOn?.unattendedHoursPerWeek.mean ?? null,
    unattended_s: report?.unattended.longest_s ?? null,
    oee: days?.oee.mean ?? null,
    costPerPart: money?.costPerPart ?? null,
    npv: money?.npv ?? null,
    payback: money?.payback ?? null,
    paysBack: money?.paysBack ?? null,
  };
}
