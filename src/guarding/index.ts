/**
 * The guarding floor: the arithmetic of a risk assessment. Separation distances, contact and stopping of the arm, gaps, the hazard
 * register and performance levels. It computes; it does not judge: nothing here calls anything safe.
 */
export { type BodyRegion, bodyRegions } from "./body-regions.ts";
export {
  blowForce,
  blowLimit,
  type ContactLimit,
  clampLimit,
  contactEnergy,
  reducedMass,
  simplifiedMass,
} from "./contact.ts";
export { createEffectiveMass, type EffectiveMass } from "./effective-mass.ts";
export { type FunctionVerdict, judgeFunction } from "./functions.ts";
export { type BodyGap, crushedIn, GAP_EDITION, leastGaps } from "./gaps.ts";
export { type Hazard, type HazardFacts, hazardRegister, type Phase, REGISTER_EDITION, travelOf } from "./hazards.ts";
export {
  type Achieved,
  achievedLevel,
  averageCoverage,
  type ChannelPart,
  type CoverageBand,
  channelMttfd,
  coverageBand,
  type FunctionDesign,
  failureRange,
  fromB10d,
  isAtLeast,
  LEAST_COMMON_CAUSE,
  LEVELS,
  MISSION_YEARS,
  type MttfdBand,
  mttfdBand,
  operationsPerYear,
  PERFORMANCE_EDITION,
  type RiskParameters,
  requiredLevel,
  simplifiedLevel,
  symmetrised,
} from "./performance.ts";
export { convexOutline, entryShare, type Outline, outlineOf, type Point2 } from "./plan-view.ts";
export {
  HAND_SPEED,
  type ProtectiveDevice,
  SEPARATION_EDITION,
  type Separation,
  separationDistance,
  WALKING_SPEED,
} from "./separation.ts";
export {
  COLLABORATION_EDITION,
  monitoredSeparation,
  type SeparationTerms,
  type StoppingCurve,
  speedForSeparation,
  UNMONITORED_SPEED,
} from "./speed-separation.ts";
export { brakingTime, createStopMeter, type Stop } from "./stopping.ts";
