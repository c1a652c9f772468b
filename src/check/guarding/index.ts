/** Guarding of a whole cell. */

export { type GuardOptions, type GuardOutcome, guardCell } from "./guard-cell.ts";

export type {
  ApproachReport,
  ContactReport,
  ContactStep,
  CostReport,
  GapReport,
  GuardReport,
  MonitoringReport,
  RegionReport,
  StoppingReport,
  ZoneReport,
} from "./report.ts";
