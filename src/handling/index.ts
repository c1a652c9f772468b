/**
 * The handling floor: whether a gripper holds its part, and whether the part goes into its place.
 *
 * Computed: force per jaw for a load of known direction, moment on the jaws, jaw ways; wedging, jamming and entering of round
 * parts; sums of tolerances by worst case, root of squares and seeded trials. Rigid bodies, quasi-static insertion; not
 * modelled: elasticity of jaws and arm, wear, contact patches.
 */
export { type Deviation, type Distribution, type Sum, sharesOf, spreadOf, sumOf } from "./deviation.ts";
export {
  type EntryLimits,
  type EntryOdds,
  type EntrySizes,
  entryLimits,
  normalEntry,
  type StackCase,
  stackCase,
  tryEntries,
} from "./entry.ts";
export { type FrictionGrip, forcePerJaw, vJawForce } from "./grip.ts";
export { type Holding, type HoldingModel, holdingModel } from "./holding.ts";
export {
  caughtError,
  clearanceRatio,
  enteringTilt,
  type Jamming,
  jamming,
  jammingMoment,
  jammingParameter,
  type Push,
  twoPointTilt,
  wedgingDepth,
  wedgingTilt,
} from "./insertion.ts";
export { jawMoment, momentOf } from "./jaw-moment.ts";
export { type JawWays, type OpeningRoom, openingRoom } from "./opening.ts";
export { RandomSource } from "./random.ts";
