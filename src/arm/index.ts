/**
 * Arm floor: kinematics and dynamics of any serial arm of 3 to 7 turning or sliding joints, from its description alone.
 *
 * Computed: pose, Jacobian and its rate, inverse kinematics, distance to singularities, joint torques, inertia matrix.
 * Model: rigid links and joints, drives as an inertia at the joint. Not modelled: friction, gear play, elasticity, heat.
 */
export { buildArm, MAX_JOINTS, MIN_JOINTS } from "./build.ts";
export { createDynamics, type Dynamics } from "./dynamics.ts";
export { forwardKinematics, jointFrames, linkFrames } from "./forward.ts";
export {
  createInverse,
  type InverseKinematics,
  type InverseResult,
  type NumericInverseOptions,
  type NumericInverseResult,
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
export {
  axisDistances,
  chordOf,
  type Extent,
  farthestFromLine,
  jointsMoving,
  placeExtent,
  wayOfBody,
} from "./travel.ts";
