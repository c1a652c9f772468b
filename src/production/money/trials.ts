/** Ranges by seeded trials: every input drawn between its ends, all at once. */
import { ContractError } from "../../math/contract-error.ts";
import { Stream } from "../random.ts";
import { quantileOf } from "../statistics/interval.ts";
import { type EstimatedInputs, INPUTS, type InputName, likelyInputs, outcomeOf, uncertainInputs } from "./business.ts";
import type { Outcome } from "./tornado.ts";

export interface Trials {
  readonly trials: number;
  readonly seed: number;
  readonly mean: number;
  /** Values that 5, 50 and 95 of 100 trials stay below. */
  readonly p5: number;
  readonly p50: number;
  readonly p95: number;
  /** Share of the trials above 0. */
  readonly positive: number;
}

/**
 * Inputs are drawn independently, each from the triangular distribution over low, likely and high. Every input has a stream of
 * its own, so alternatives are compared under the same luck. Undefined when the outcome is not known. @throws ContractError
 */
export function tryOutcomes(
  inputs: EstimatedInputs,
  outcome: Outcome,
  trials: number,
  seed: number,
): Trials | undefined {
  if (!Number.isInteger(trials) || trials < 1 || trials > 10_000_000)
    throw new ContractError(`tryOutcomes: 1 to 10000000 trials are needed, got ${trials}`);
  const uncertain = uncertainInputs(inputs).map((name) => ({
    name,
    estimate: inputs[name]!,
    stream: new Stream(seed, 4096 + INPUTS.indexOf(name)),
  }));
  const drawn: Partial<Record<InputName, number>> = { ...likelyInputs(inputs) };
  const values = new Float64Array(trials);
  let sum = 0;
  let positive = 0;
  for (let k = 0; k < trials; k++) {
    for (const { name, estimate, stream } of uncertain)
      drawn[name] = stream.triangular(estimate.low, estimate.likely, estimate.high);
    const figure = outcomeOf(drawn, outcome);
    if (!figure.known) return undefined;
    values[k] = figure.value;
    sum += figure.value;
    if (figure.value > 0) positive++;
  }
  values.sort();
  return {
    trials,
    seed,
    mean: sum / trials,
    p5: quantileOf(values, 0.05),
    p50: quantileOf(values, 0.5),
    p95: quantileOf(values, 0.95),
    positive: positive / trials,
  };
}
