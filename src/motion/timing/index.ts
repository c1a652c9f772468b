/**
 * Timing of motions as pure numerics: laws of one coordinate, point-to-point motions, and timing along a given path.
 * No kinematics in here: a path is a set of channels given with their derivatives.
 */

export type { AxisRefusal } from "./axis-move.ts";
export { type DoubleSPhases, doubleS, doubleSPhases } from "./double-s.ts";
export type { AxisLimits } from "./limits.ts";
export { type PathTimingOptions, timePath } from "./path-timing.ts";
export type {
  GroupLimits,
  PathGroup,
  PathLimitKind,
  PathLimitName,
  PathLimitSpan,
  PathLimits,
  PathRange,
  PathState,
  PathTiming,
  PathTimingFailure,
  PathTimingOutcome,
  PathTorque,
  TimedPath,
} from "./path-types.ts";
export {
  type AxisMotion,
  type AxisState,
  axisMotion,
  type StraightJointMotion,
  type SynchronisedMotion,
  straightJointMotion,
  synchronisedMotion,
} from "./point-to-point.ts";
export { type Profile, sampleProfile } from "./profile.ts";
export { trapezoid } from "./trapezoid.ts";
