/** Repeatable random numbers: one stream for each cause, so that two alternatives meet the same luck. */
import { ContractError } from "../math/contract-error.ts";

const PER_UNIT = 2 ** -32;

/** Uniform, exponential and triangular numbers of one numbered stream of a seed. */
export class Stream {
  #a: number;
  #b: number;
  #c: number;
  #counter = 1;

  /** @param seed and @param stream whole numbers, of which the lower 32 bits count; different streams are independent for practical purposes */
  constructor(seed: number, stream: number) {
    this.#a = seed | 0;
    this.#b = stream | 0;
    this.#c = 0x9e3779b9 | 0;
    // As the generator's author advises: a few numbers are thrown away until the seed has spread over the state.
    for (let i = 0; i < 15; i++) this.uniform();
  }

  /** Uniform in [0, 1). @source sfc32, Doty-Humphrey, PractRand, 2014 (recalled from memory) */
  uniform(): number {
    const t = (((this.#a + this.#b) | 0) + this.#counter) | 0;
    this.#counter = (this.#counter + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = (((this.#c << 21) | (this.#c >>> 11)) + t) | 0;
    return (t >>> 0) * PER_UNIT;
  }

  /** Exponential with the given mean, by inversion. */
  exponential(mean: number): number {
    return -mean * Math.log(1 - this.uniform());
  }

  /** Triangular between `low` and `high` with its peak at `likely`, by inversion; one uniform number each, whatever the ends. */
  triangular(low: number, likely: number, high: number): number {
    return triangularQuantile(this.uniform(), low, likely, high);
  }
}

/** Value that a triangular number stays below with probability `p` in [0, 1]. @throws ContractError unless low <= likely <= high */
export function triangularQuantile(p: number, low: number, likely: number, high: number): number {
  if (!(low <= likely && likely <= high))
    throw new ContractError(`triangularQuantile: low <= likely <= high is needed, got ${low}, ${likely}, ${high}`);
  const width = high - low;
  if (width === 0) return low;
  const peak = (likely - low) / width;
  return p < peak ? low + width * Math.sqrt(p * peak) : high - width * Math.sqrt((1 - p) * (1 - peak));
}
