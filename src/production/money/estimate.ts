/** An amount that is not known exactly. */
import type { Estimate } from "../../cell/production.ts";
import { ContractError } from "../../math/contract-error.ts";

export type { Estimate };

export const certain = (value: number): Estimate => ({ low: value, likely: value, high: value });

export const isCertain = (e: Estimate): boolean => e.low === e.high;

/** @throws ContractError */
export function checkEstimate(name: string, e: Estimate): void {
  if (![e.low, e.likely, e.high].every(Number.isFinite) || e.low > e.likely || e.likely > e.high)
    throw new ContractError(`${name}: finite low <= likely <= high are needed, got ${e.low}, ${e.likely}, ${e.high}`);
}
