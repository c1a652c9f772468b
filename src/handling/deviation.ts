/** Deviations that add up between a part and the place that it has to go into. */
import { ContractError } from "../math/contract-error.ts";
import type { Metres, Radians } from "../math/units.ts";

export type Distribution = "normal" | "uniform" | "triangular";

/** One deviation, in each of two directions across the way in (independent of each other), and in tilt about each of them. */
export interface Deviation {
  readonly name: string;
  /** Half the width of what is possible; for a normal distribution three standard deviations, m. */
  readonly within: Metres;
  /** The same of the tilt, rad. */
  readonly tilt: Radians;
  readonly distribution: Distribution;
}

/** Standard deviation of a deviation within ±half: half / 3 (normal), / √3 (uniform), / √6 (triangular). */
export function spreadOf(distribution: Distribution, half: number): number {
  return half / (distribution === "normal" ? 3 : distribution === "uniform" ? Math.sqrt(3) : Math.sqrt(6));
}

export interface Sum {
  /** Σ of the half widths: none is ever larger, as far as the deviations keep within theirs. */
  readonly worst: number;
  /** √Σ of their squares. */
  readonly rss: number;
  /** Standard deviation of the sum. */
  readonly sigma: number;
}

/** Sum of deviations in one direction, by worst case, root of the sum of squares, and standard deviation. */
export function sumOf(deviations: readonly Deviation[], what: "within" | "tilt"): Sum {
  let worst = 0;
  let squares = 0;
  let variance = 0;
  for (const deviation of deviations) {
    const half = deviation[what];
    if (!(half >= 0 && Number.isFinite(half)))
      throw new ContractError(`sumOf: ${what} of ${deviation.name} must be finite and >= 0, got ${half}`);
    worst += half;
    squares += half * half;
    variance += spreadOf(deviation.distribution, half) ** 2;
  }
  return { worst, rss: Math.sqrt(squares), sigma: Math.sqrt(variance) };
}

/** Share of each deviation in the variance of the sum, in their order; 0 where nothing deviates. */
export function sharesOf(deviations: readonly Deviation[], what: "within" | "tilt"): number[] {
  const squares = deviations.map((deviation) => spreadOf(deviation.distribution, deviation[what]) ** 2);
  const total = squares.reduce((sum, square) => sum + square, 0);
  return squares.map((square) => (total > 0 ? square / total : 0));
}
