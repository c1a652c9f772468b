/** The check floor: everything computed over one cell, with its findings. */
export { type CheckOptions, type CheckOutcome, type CheckResult, checkCell, variantsOf } from "./check-cell.ts";
export type { VariantRuns } from "./cycle-report.ts";
export { createMover, isPlanned, type PlannedMove } from "./mover.ts";
export {
  type CheckReport,
  type CycleReport,
  type GripReport,
  type PayloadReport,
  type ReachReport,
  SCHEMA_VERSION,
  type SignalReport,
  type StepRow,
} from "./result.ts";
export { createStateClearance, type StateClearance, type StateClearanceOutcome } from "./state-clearance.ts";
