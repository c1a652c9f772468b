/** What a study varies: one axis per quantity or choice, and the layouts that come of them. Plain data, so that it can cross threads. */
import { ContractError } from "../math/contract-error.ts";

/** What an axis changes. Lengths and turns are added to what the cell file states; words replace it. */
export type Change =
  /** The arm's base with its stand: along x, y, z of the world (m), or turned about the vertical through the base's origin (rad). */
  | { readonly kind: "base"; readonly along: "x" | "y" | "height" | "turn" }
  /** A tray or nest: along x and y of the world, or turned about the vertical through its own origin. */
  | { readonly kind: "tray"; readonly holder: string; readonly along: "x" | "y" | "turn" }
  /** A gripper's tool centre point along its own axes. */
  | { readonly kind: "tcp"; readonly gripper: string; readonly along: "x" | "y" | "z" }
  /** The order in which a tray is served. */
  | { readonly kind: "order"; readonly holder: string }
  /** The gripper that does the work of the named one; the two change roles. */
  | { readonly kind: "gripper"; readonly gripper: string }
  /** The grip that is used for a part wherever the cell uses its first one; the two change roles. */
  | { readonly kind: "grip"; readonly part: string };

export interface Axis {
  /** "base x", "raw-short turn", "gripper tcp z", "raw-short order", "gripper for left", "short grip". Unique in a study. */
  readonly name: string;
  readonly change: Change;
  /** Changes in m or rad, in the order written; for words their numbers 0, 1, …. At least one. */
  readonly values: readonly number[];
  /** For choices, what the numbers stand for. */
  readonly words?: readonly string[];
  /** Sampling takes any value between the least and the largest; else one of `values`. */
  readonly continuous: boolean;
}

export type Sampling =
  /** Every combination; the axis stated first varies slowest. */
  | { readonly kind: "grid" }
  /** Points drawn evenly at random, each on its own: the first k of n are those of k. */
  | { readonly kind: "random"; readonly count: number; readonly seed: number }
  /** The Halton sequence in the first primes, shifted by the seed: spreads more evenly than random points. */
  | { readonly kind: "halton"; readonly count: number; readonly seed: number };

/** Stands for "as the cell file has it" on an axis: no change, or the word that is in force. */
export const AS_IT_IS = Number.NaN;

/** Values by axis of one layout; `AS_IT_IS` where an axis is left alone. */
export type LayoutValues = Float64Array;

/** Primes for as many axes as a Halton sequence is used for. */
const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53];
export const MOST_AXES = PRIMES.length;

/** `count` values from one end to the other, to a picometre: 100 mm is 0.1 m wherever it stands. */
export const evenSteps = (from: number, to: number, count: number): number[] =>
  Array.from({ length: count }, (_, i) => Number((from + ((to - from) * i) / (count - 1)).toFixed(12)));

/** Number of layouts that the sampling alone gives. */
export function sampleCount(axes: readonly Axis[], sampling: Sampling): number {
  return sampling.kind === "grid" ? axes.reduce((product, { values }) => product * values.length, 1) : sampling.count;
}

/**
 * The layouts of a study in order: the present one; each axis changed alone, the others as they are; then the sample.
 * Every layout follows from its number alone, whoever computes it.
 */
export interface Layouts {
  readonly count: number;
  /** Number of the first layout of the sample. */
  readonly firstOfSample: number;
  /** @throws ContractError for a number outside [0, count) */
  at(index: number): LayoutValues;
}

export function layoutsOf(axes: readonly Axis[], sampling: Sampling): Layouts {
  const alone = axes.flatMap((axis, a) => axis.values.map((value) => ({ a, value })));
  const firstOfSample = 1 + alone.length;
  const count = firstOfSample + sampleCount(axes, sampling);
  return {
    count,
    firstOfSample,
    at(index) {
      if (!(Number.isInteger(index) && index >= 0 && index < count))
        throw new ContractError(`layouts: index must be 0 to ${count - 1}, got ${index}`);
      const values = new Float64Array(axes.length).fill(AS_IT_IS);
      if (index === 0) return values;
      if (index < firstOfSample) {
        const { a, value } = alone[index - 1]!;
        values[a] = value;
        return values;
      }
      writeSample(axes, sampling, index - firstOfSample, values);
      return values;
    },
  };
}

function writeSample(axes: readonly Axis[], sampling: Sampling, k: number, out: Float64Array): void {
  if (sampling.kind === "grid") {
    let rest = k;
    for (let a = axes.length - 1; a >= 0; a--) {
      const { values } = axes[a]!;
      out[a] = values[rest % values.length]!;
      rest = Math.floor(rest / values.length);
    }
    return;
  }
  for (const [a, { values, continuous }] of axes.entries()) {
    const share =
      sampling.kind === "random"
        ? evenShare(sampling.seed, k, a)
        : (radicalInverse(PRIMES[a]!, k + 1) + evenShare(sampling.seed, 0, a)) % 1;
    if (continuous) {
      const from = Math.min(...values),
        to = Math.max(...values);
      out[a] = from + (to - from) * share;
    } else out[a] = values[Math.min(values.length - 1, Math.floor(share * values.length))]!;
  }
}

/**
 * The digits of k in base b mirrored behind the point.
 * @source J. H. Halton, Numerische Mathematik 2, 1960 (recalled)
 */
export function radicalInverse(b: number, k: number): number {
  let share = 0;
  let weight = 1 / b;
  for (let rest = k; rest > 0; rest = Math.floor(rest / b)) {
    share += weight * (rest % b);
    weight /= b;
  }
  return share;
}

/** A number in [0, 1) that depends on the three numbers only: two rounds of the 32-bit mixing of MurmurHash3 (public domain, recalled). */
function evenShare(seed: number, k: number, a: number): number {
  const high = mixed(mixed(mixed(seed >>> 0) ^ (k >>> 0)) ^ (a + 0x9e3779b9));
  const low = mixed(high ^ 0x85ebca6b ^ (a * 0x632be5ab));
  return ((high >>> 6) * 0x8000000 + (low >>> 5)) / 2 ** 53;
}

function mixed(x: number): number {
  let h = Math.imul(x ^ 0x5bd1e995, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}
