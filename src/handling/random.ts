/** Repeatable random numbers: the same seed gives the same numbers on every machine. */

const PER_UNIT = 2 ** -32;

/** Uniform and normal numbers from one 32-bit seed. */
export class RandomSource {
  #a: number;
  #b: number;
  #c: number;
  #d: number;
  #spare = Number.NaN;

  /** @param seed whole number; its lower 32 bits count. Or the four words of the state, not all 0 */
  constructor(seed: number | readonly [number, number, number, number]) {
    if (typeof seed !== "number") {
      [this.#a, this.#b, this.#c, this.#d] = seed;
      return;
    }
    // splitmix32 fills the state, as the authors of xoshiro advise for a short seed.
    let a = seed | 0;
    const next = () => {
      a = (a + 0x9e3779b9) | 0;
      let t = Math.imul(a ^ (a >>> 16), 0x21f0aaad);
      t = Math.imul(t ^ (t >>> 15), 0x735a2d97);
      return t ^ (t >>> 15);
    };
    this.#a = next();
    this.#b = next();
    this.#c = next();
    this.#d = next();
  }

  /** Uniform in [0, 1). @source xoshiro128** 1.1, Blackman & Vigna, ACM Trans. Math. Softw. 47, 2021 (its published numbers are in random.test.ts) */
  uniform(): number {
    const b = this.#b;
    let t = Math.imul(b, 5);
    t = Math.imul((t << 7) | (t >>> 25), 9);
    const c = this.#c ^ this.#a;
    const d = this.#d ^ b;
    this.#b = b ^ c;
    this.#a ^= d;
    this.#c = c ^ (b << 9);
    this.#d = (d << 11) | (d >>> 21);
    return (t >>> 0) * PER_UNIT;
  }

  /** Normal with mean 0 and deviation 1. @source polar method, Marsaglia & Bray, SIAM Review 6, 1964 */
  normal(): number {
    if (!Number.isNaN(this.#spare)) {
      const kept = this.#spare;
      this.#spare = Number.NaN;
      return kept;
    }
    for (;;) {
      const u = 2 * this.uniform() - 1;
      const v = 2 * this.uniform() - 1;
      const s = u * u + v * v;
      if (s >= 1 || s === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(s)) / s);
      this.#spare = v * factor;
      return u * factor;
    }
  }
}
