/** Means with their confidence intervals, and shares of sorted values. */
import { ContractError } from "../../math/contract-error.ts";
import { studentQuantile } from "./student.ts";

/** Mean of independent replications, and half the width of its confidence interval. */
export interface MeanInterval {
  readonly mean: number;
  /** The true mean lies within mean ± half with the stated confidence; undefined: one replication tells nothing about it. */
  readonly half: number | undefined;
}

/** Student's interval mean ± t s/√n over independent, roughly normal values. @throws ContractError without values */
export function meanInterval(values: readonly number[], confidence = 0.95): MeanInterval {
  const n = values.length;
  if (n === 0) throw new ContractError("meanInterval: at least one value is needed");
  const mean = values.reduce((sum, v) => sum + v, 0) / n;
  if (n === 1) return { mean, half: undefined };
  const variance = values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1);
  return { mean, half: studentQuantile(confidence, n - 1) * Math.sqrt(variance / n) };
}

/** Value at share `p` in [0, 1] of ascending values, between two of them in proportion. @throws ContractError without values */
export function quantileOf(ascending: Float64Array, p: number): number {
  if (ascending.length === 0) throw new ContractError("quantileOf: at least one value is needed");
  const at = p * (ascending.length - 1);
  const i = Math.min(ascending.length - 2, Math.floor(at));
  if (i < 0) return ascending[0]!;
  return ascending[i]! + (at - i) * (ascending[i + 1]! - ascending[i]!);
}
