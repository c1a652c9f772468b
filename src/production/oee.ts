/**
 * Overall equipment effectiveness of a work unit.
 *
 * availability = APT / PBT, effectiveness = PRI · PQ / APT, quality = GQ / PQ; OEE is their product.
 * @source ISO 22400-2:2014, KPIs availability, effectiveness, quality ratio and OEE index (recalled from memory)
 */
import { ContractError } from "../math/contract-error.ts";
import type { Seconds } from "../math/units.ts";

export interface OeeInputs {
  /** Planned busy time PBT, > 0. */
  readonly plannedBusy: Seconds;
  /** Actual production time APT: planned busy time without the times in which it stood. */
  readonly producing: Seconds;
  /** Planned run time per item PRI. */
  readonly planned: Seconds;
  /** Produced quantity PQ. */
  readonly made: number;
  /** Good quantity GQ. */
  readonly good: number;
}

export interface Oee {
  readonly availability: number;
  /** Undefined when it never produced. Above 1 where it was faster than planned. */
  readonly effectiveness: number | undefined;
  /** Undefined when nothing was made. */
  readonly quality: number | undefined;
  /** 0 when nothing was made. */
  readonly oee: number;
}

/** @throws ContractError for quantities below 0, more good than made, or more production than planned time */
export function oeeOf({ plannedBusy, producing, planned, made, good }: OeeInputs): Oee {
  const all = { plannedBusy, producing, planned, made, good };
  for (const [name, value] of Object.entries(all))
    if (!(value >= 0) || !Number.isFinite(value))
      throw new ContractError(`oeeOf: ${name} must be finite and at least 0, got ${value}`);
  if (!(plannedBusy > 0)) throw new ContractError("oeeOf: plannedBusy must be above 0 s");
  if (good > made) throw new ContractError(`oeeOf: more good parts (${good}) than made (${made})`);
  if (producing > plannedBusy * (1 + 1e-9))
    throw new ContractError(`oeeOf: producing (${producing} s) longer than planned (${plannedBusy} s)`);
  const availability = Math.min(1, producing / plannedBusy);
  const effectiveness = producing > 0 ? (planned * made) / producing : undefined;
  const quality = made > 0 ? good / made : undefined;
  return { availability, effectiveness, quality, oee: (planned * good) / plannedBusy };
}
