/** The check floor: everything computed over one cell, with its findings. */

export { cellMeshes, type MeshUse } from "./cell-meshes.ts";
export { type CheckOptions, type CheckOutcome, type CheckResult, checkCell, variantsOf } from "./check-cell.ts";
export { type CellBodies, type CellBody, cellBodies } from "./clearance/cell-bodies.ts";
export { createStateClearance, type StateClearance, type StateClearanceOutcome } from "./clearance/state-clearance.ts";
export type { VariantRuns } from "./cycle-report.ts";
export { activeTcp, carriedLoad, flangeFromHeldPart } from "./load.ts";
export { createMover, gravityInBase, isPlanned, type PlannedMove } from "./mover.ts";
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
export { NO_GRIPPER, nameFor, resolveTarget } from "./targets.ts";
