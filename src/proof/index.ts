/**
 * The proof floor. An engine that explores timed automata exhaustively in dense time (automata/), and the interlocks of a tending
 * cell put as such a network and proved without and with faults (tending/). What is modelled: docs/explanation/interlock-proof.md.
 */
export * from "./automata/index.ts";
export { type RecoveryOptions, type RecoveryOutcome, recoverySteps, stepNames } from "./recovery/recover.ts";
export type {
  Answer,
  PossibleThing,
  Question,
  RecoveryLine,
  RecoveryProcedure,
  Retreat,
  RetreatClearance,
  RetreatMove,
  StepRecovery,
  StepRetreats,
  StopCause,
} from "./recovery/types.ts";
export { type Fault, nameOfFault } from "./tending/faults.ts";
export {
  type FaultProof,
  type FaultVerdict,
  faultNames,
  type NominalProof,
  type Proof,
  type ProofOptions,
  proveCell,
  type RuleProof,
  type Violation,
} from "./tending/prove.ts";
export type { RunEvent, RunLane, RunSpan, TendingRun } from "./tending/run.ts";
export { isHarmful, type Trouble, type TroubleKind } from "./tending/trouble.ts";
export type { StepMotion } from "./tending/types.ts";
