/** Repeatable random numbers: the same seed gives the same route. */

/** mulberry32: uniform numbers in [0, 1) from a 32-bit seed. */
export function randomFrom(seed: number): () => number {
  let a = seed | 0;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Two independent normal numbers (mean 0, deviation 1) from two uniform ones (Box and Muller 1958), the first of them. */
export function normal(random: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
