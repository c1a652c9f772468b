/**
 * The production floor: what a cell makes over days, and what that is worth.
 *
 * Computed: several machines per arm (closed forms and simulation), days with stops, tool changes, refills by people and
 * shifts, hours without people, effectiveness after ISO 22400-2, cost per part, payback, net present value, rate of return,
 * their ranges. Everything is an estimate from what is stated; not modelled: demand, stock outside the cell, wear that makes
 * stops likelier, taxes and inflation.
 */
export { Calendar, type ShiftPattern } from "./days/calendar.ts";
export { always, type DaysModel, type Duration, type Station, type Stop, type ToolChange } from "./days/model.ts";
export { type DaysFigures, type ReplicationOptions, replicateDays } from "./days/replicate.ts";
export { type DaysOptions, type DaysResult, simulateDays } from "./days/simulate.ts";
export { constantInterference } from "./interference/constant.ts";
export { exponentialInterference } from "./interference/exponential.ts";
export { type FixedRound, fixedBalance, fixedRound } from "./interference/fixed.ts";
export type { Interference } from "./interference/interference.ts";
export {
  type Business,
  businessOf,
  type EstimatedInputs,
  type Figure,
  INPUTS,
  type InputName,
  type Inputs,
  likelyInputs,
  uncertainInputs,
} from "./money/business.ts";
export { annuityFactor, discountedPayback, type LevelInvestment, levelNpv, npv, payback } from "./money/cash-flow.ts";
export { certain, type Estimate, isCertain } from "./money/estimate.ts";
export { internalRate, levelInternalRate, type RateOfReturn } from "./money/irr.ts";
export { type Outcome, type Tornado, type TornadoBar, tornado } from "./money/tornado.ts";
export { type Trials, tryOutcomes } from "./money/trials.ts";
export { type Oee, type OeeInputs, oeeOf } from "./oee.ts";
export { Stream, triangularQuantile } from "./random.ts";
export { type MeanInterval, meanInterval, quantileOf } from "./statistics/interval.ts";
export { meanInside } from "./statistics/little.ts";
export { studentQuantile } from "./statistics/student.ts";
export { type Unattended, type UnattendedInputs, unattendedRun } from "./unattended.ts";
