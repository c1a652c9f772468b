/** The check floor: everything computed over one cell, with its findings. */

export { cellMeshes, type MeshUse } from "./cell-meshes.ts";
export { type CheckOptions, type CheckOutcome, type CheckResult, checkCell } from "./check-cell.ts";
export { type CellBodies, type CellBody, cellBodies } from "./clearance/cell-bodies.ts";
export { type CellElements, createElements, type Element, PERSON } from "./clearance/elements.ts";
export { ClearanceMemory } from "./clearance/memory.ts";
export { type MeshFinding, meshFindings } from "./clearance/mesh-findings.ts";
export { createSceneBuilder, type Moment, type MovingScene, type SceneBuilder } from "./clearance/moving-scene.ts";
export { sceneOf } from "./clearance/picture.ts";
export type { ClearanceScene, SceneBody, SceneGroup, SceneMesh } from "./clearance/scene.ts";
export { createStateClearance, type StateClearance, type StateClearanceOutcome } from "./clearance/state-clearance.ts";
export { type Encounter, type Sighting, type StepSurvey, type Survey, surveyClearance } from "./clearance/survey.ts";
export type { VariantRuns } from "./cycle-report.ts";
export {
  type ApproachReport,
  type ContactReport,
  type ContactStep,
  type CostReport,
  type GapReport,
  type GuardOptions,
  type GuardOutcome,
  type GuardReport,
  guardCell,
  type MonitoringReport,
  type RegionReport,
  type StoppingReport,
  type ZoneReport,
} from "./guarding/index.ts";
export type {
  FitReport,
  GripLoadReport,
  GripSizing,
  JointLoadReport,
  LoadCaseReport,
  MomentReport,
  PressReport,
  SeatingReport,
} from "./handling/report.ts";
export { type SizeOptions, type SizeReport, sizeCell } from "./handling/size-cell.ts";
export { activeTcp, carriedLoad, flangeFromHeldPart } from "./load.ts";
export { createMover, gravityInBase, isPlanned, type PlannedMove } from "./mover.ts";
export { type AlternativeRow, alternativeRow } from "./production/alternatives.ts";
export { type DaysReport, type DaysRequest, USUAL_DAYS } from "./production/days-report.ts";
export type { MoneyReport, TornadoReport } from "./production/money-report.ts";
export { type ProductionOptions, type ProductionReport, productionReport } from "./production/report.ts";
export { type Alternative, type VariationOutcome, variedCell } from "./production/vary.ts";
export { type ProofDepth, type ProveOptions, proveRuns } from "./proof/prove-runs.ts";
export {
  type FaultReport,
  type ProofReport,
  proofReport,
  type RuleReport,
  type RunReport,
  type VariantProofReport,
  type ViolationReport,
} from "./proof/report.ts";
export {
  CARD_CAUTIONS,
  type CardLine,
  type CardProcedure,
  type CardReport,
  type RecoveryCard,
} from "./recovery/cards.ts";
export { type RecoverOptions, type RecoverOutcome, recoverRuns } from "./recovery/recover-runs.ts";
export { REDUCED_SPEED, type RetreatOptions, stepRetreats } from "./recovery/retreats.ts";
export {
  type CheckReport,
  type ClearanceReport,
  type CycleReport,
  type GripReport,
  type NearestReport,
  type PayloadReport,
  type ReachReport,
  SCHEMA_VERSION,
  type SignalReport,
  type StepClearanceReport,
  type StepRow,
} from "./result.ts";
export { type CellPlanner, createCellPlanner, type PlannedRoute, type PlannerOptions } from "./route/cell-planner.ts";
export type { RouteOptions } from "./route/finder.ts";
export { RouteMemory } from "./route/memory.ts";
export { runVariants, variantsOf } from "./runs.ts";
export { NO_GRIPPER, nameFor, resolveTarget } from "./targets.ts";
export { type WiringDocument, wiringDocument } from "./wiring.ts";
