/**
 * The cycle floor: what a routine does in time. Discrete-event simulation of arm, devices, processes and people; the
 * period, the critical path and the problems that a run shows. Ignores faults, stops and restarts: those belong to the proof.
 */
export { type CycleBar, type CycleChart, type CycleChartLane, cycleChart } from "./chart.ts";
export { createRetiming, type Retiming } from "./retime.ts";
export type {
  Completion,
  CycleBound,
  CycleOptions,
  CycleProblem,
  CycleRun,
  DeviceState,
  DeviceTrace,
  JawRecord,
  MachineUse,
  MoveRecord,
  Pass,
  PeriodBasis,
  RunOutcome,
  SharedHold,
  SignalEdge,
  SignalTrace,
  SteadyWindow,
  StepSlack,
} from "./run.ts";
export { simulate } from "./simulate.ts";
export type {
  Activity,
  ActivityKind,
  HeldPart,
  MoveContext,
  MoveOutcome,
  Mover,
  Pace,
  PartToken,
  Resting,
} from "./types.ts";
export {
  type RunWhereabouts,
  type Situation,
  type Standing,
  type Stretch,
  stretchKey,
  type Whereabouts,
  whereaboutsOf,
} from "./whereabouts/index.ts";
