/**
 * The wiring floor: whether the signals find their points and what is at both ends suits. Computed: points assigned and counted,
 * terminals, maps of remote stations, sums of currents, levels, pulses. Left out: the rise and fall of signals, earthing, cables'
 * capacitance, temperature, and everything about safety circuits.
 */
export {
  type Assignment,
  type AssignOptions,
  assignPoints,
  type PlacedPoint,
  type PointPlace,
  PROPOSED_POINTS,
} from "./assign.ts";
export { type CurrentSum, type GroupBudget, type SupplyBudget, sumCurrents } from "./budget.ts";
export { type CableLoss, COPPER, loopResistance, voltageAtLoad } from "./compatibility.ts";
export { countPoints, type PortUse } from "./count.ts";
export { type EarlierPoints, type ParsedCsv, parseCsv, pointsFromCsv, scheduleCsv } from "./csv.ts";
export { type SignalEnd, signalEnds } from "./ends.ts";
export { INPUT_TYPES, type InputState, inputState, SUPPLY_VOLTS } from "./input-types.ts";
export { FUNCTION_CODES, type ModbusTable, packBits, readRequest, referenceOf, unpackBits } from "./modbus.ts";
export { type PointKind, pointKindOf, pointsOf, SHORT_KINDS } from "./points.ts";
export type { WiringProblem } from "./problem.ts";
export type { PulseCheck } from "./pulses.ts";
export type { RemoteEntry, StationMap, Transfer } from "./remote-map.ts";
export { pointText, type ScheduleRow, terminalOf } from "./schedule.ts";
export { surveyWiring, type WiringSurvey } from "./survey.ts";
export type { Wire } from "./wire.ts";
