/** What matters: each input at its ends, one at a time, the others at their likely values. */
import { type EstimatedInputs, type InputName, likelyInputs, outcomeOf, uncertainInputs } from "./business.ts";

/** The outcome that is looked at. */
export type Outcome = "npv" | "costPerPart";

export interface TornadoBar {
  readonly input: InputName;
  readonly low: number;
  readonly high: number;
  /** Outcome with the input at its low and at its high end. */
  readonly atLow: number;
  readonly atHigh: number;
}

export interface Tornado {
  readonly outcome: Outcome;
  /** With every input likely. */
  readonly likely: number;
  /** Widest first; inputs of equal width in the order of `INPUTS`. Inputs that change nothing are left out. */
  readonly bars: readonly TornadoBar[];
}

/** Undefined when the outcome is not known. */
export function tornado(inputs: EstimatedInputs, outcome: Outcome): Tornado | undefined {
  const base = likelyInputs(inputs);
  const at = (changed: Partial<Record<InputName, number>>) => outcomeOf({ ...base, ...changed }, outcome);
  const likely = at({});
  if (!likely.known || !Number.isFinite(likely.value)) return undefined;
  const bars: TornadoBar[] = [];
  for (const input of uncertainInputs(inputs)) {
    const { low, high } = inputs[input]!;
    const [atLow, atHigh] = [at({ [input]: low }), at({ [input]: high })];
    if (atLow.known && atHigh.known && atLow.value !== atHigh.value)
      bars.push({ input, low, high, atLow: atLow.value, atHigh: atHigh.value });
  }
  const width = (bar: TornadoBar) => Math.abs(bar.atHigh - bar.atLow);
  return { outcome, likely: likely.value, bars: bars.sort((a, b) => width(b) - width(a)) };
}
