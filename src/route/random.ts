/** Repeatable random numbers: the same seed gives the same route. */
import { SeededRandom } from "../math/seeded-random.ts";

/** Uniform numbers in [0, 1) from a 32-bit seed. */
export function randomFrom(seed: number): () => number {
  const source = new SeededRandom(seed);
  return () => source.next();
}

/** Two independent normal numbers (mean 0, deviation 1) from two uniform ones (Box and Muller 1958), the first of them. */
export function normal(random: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
