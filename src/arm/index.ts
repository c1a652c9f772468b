/** Arm floor: kinematics and dynamics of a serial arm. */
export { buildArm, MAX_JOINTS, MIN_JOINTS } from "./build.ts";
export { createDynamics, type Dynamics } from "./dynamics.ts";
export { forwardKinematics, jointFrames, linkFrames } from "./forward.ts";
export {
  createInverse,
  type InverseKinematics,
  type InverseResult,
  type NumericInverseOptions,
  type NumericInverseResult,
  nearestBranch,
  nearestSolution,
  numericInverse,
  withinLimits,
} from "./inverse/index.ts";
export { biasAcceleration, geometricJacobian, manipulability } from "./jacobian.ts";
export type { Arm, ArmState, Payload } from "./model.ts";
export {
  type Branch,
  branchOf,
  createSingularityMeter,
  type SingularityKind,
  type SingularityMeasures,
  type SingularityMeter,
} from "./singularity.ts";
