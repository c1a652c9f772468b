/** How long a cell goes on without people: trays run out, tools are due, something stops that needs somebody. */
import { ContractError } from "../math/contract-error.ts";
import type { Seconds } from "../math/units.ts";

export interface UnattendedInputs {
  /** Time per part, > 0. */
  readonly period: Seconds;
  /** Parts until trays are empty or full, from full trays; undefined: never. */
  readonly partsPerFilling: number | undefined;
  /** Parts between the tool changes that need a person, of the whole cell, each from new tools. */
  readonly partsPerTool: readonly number[];
  /** Mean running times between the stops that need a person, > 0. */
  readonly stopsEvery: readonly Seconds[];
}

export interface Unattended {
  /** Time after which it needs somebody although nothing went wrong; infinite when never. */
  readonly longest: Seconds;
  readonly by: "trays" | "tools" | "nothing";
  /** Mean time until it needs somebody, and the parts made in it. */
  readonly mean: Seconds;
  readonly meanParts: number;
  /** Probability that it goes on for `longest` without a stop that needs somebody; 0 when that is infinite and something stops. */
  readonly undisturbed: number;
}

/**
 * From full trays and new tools, within a stretch of `stretch` seconds without people (infinite: no end).
 * With T = min(longest, stretch) and λ the sum of the rates of stops that need a person, the mean of the shorter of T and an
 * exponential time is (1 - e^(-λT))/λ. @throws ContractError
 * @source derived in docs/explanation/production.md
 */
export function unattendedRun(inputs: UnattendedInputs, stretch: Seconds): Unattended {
  const { period, partsPerFilling, partsPerTool, stopsEvery } = inputs;
  if (!(period > 0) || !(stretch >= 0) || stopsEvery.some((t) => !(t > 0)))
    throw new ContractError(
      "unattendedRun: period and times between stops must be above 0 s, the stretch at least 0 s",
    );
  const tray = partsPerFilling === undefined ? Number.POSITIVE_INFINITY : partsPerFilling * period;
  const tool = Math.min(Number.POSITIVE_INFINITY, ...partsPerTool.map((parts) => parts * period));
  const longest = Math.min(tray, tool);
  const rate = stopsEvery.reduce((sum, every) => sum + 1 / every, 0);
  const T = Math.min(longest, stretch);
  const mean = rate === 0 ? T : -Math.expm1(-rate * T) / rate;
  return {
    longest: longest as Seconds,
    by: longest === Number.POSITIVE_INFINITY ? "nothing" : tray <= tool ? "trays" : "tools",
    mean: mean as Seconds,
    meanParts: mean / period,
    undisturbed: rate === 0 ? 1 : Math.exp(-rate * longest),
  };
}
