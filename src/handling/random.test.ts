import { describe, expect, it } from "vitest";
import { RandomSource } from "./random.ts";

describe("RandomSource", () => {
  // First outputs from the state 1, 2, 3, 4 of the authors' C program, as the test suite of the Rust crate rand_xoshiro 0.7 prints
  // them (read). The first is worked out by hand as well: rotl(2 · 5, 7) · 9 = 11520.
  it("gives the published numbers of xoshiro128**", () => {
    const random = new RandomSource([1, 2, 3, 4]);
    const words = Array.from({ length: 10 }, () => random.uniform() * 2 ** 32);
    expect(words).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804,
    ]);
  });

  it("repeats itself for a seed, and differs for another", () => {
    const draw = (seed: number) => {
      const random = new RandomSource(seed);
      return Array.from({ length: 50 }, (_, i) => (i % 2 === 0 ? random.uniform() : random.normal()));
    };
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  it("has the moments of the uniform and the normal distribution", () => {
    const random = new RandomSource(3);
    const n = 200_000;
    const moments = (draw: () => number) => {
      const sums = [0, 0, 0, 0];
      for (let i = 0; i < n; i++) {
        const x = draw();
        let power = 1;
        for (let k = 0; k < 4; k++) {
          power *= x;
          sums[k]! += power;
        }
      }
      return sums.map((sum) => sum / n);
    };
    // Five standard errors of each moment.
    const uniform = moments(() => random.uniform());
    for (let k = 1; k <= 4; k++) expect(Math.abs(uniform[k - 1]! - 1 / (k + 1))).toBeLessThan(5 / Math.sqrt(12 * n));
    const normal = moments(() => random.normal());
    const expected = [0, 1, 0, 3];
    const errors = [1, Math.sqrt(2), Math.sqrt(15), Math.sqrt(96)];
    for (let k = 0; k < 4; k++)
      expect(Math.abs(normal[k]! - expected[k]!)).toBeLessThan((5 * errors[k]!) / Math.sqrt(n));
  });

  it("spreads evenly over a hundred bins (chi-square) and does not follow itself", () => {
    const random = new RandomSource(11);
    const bins = new Array<number>(100).fill(0);
    const n = 100_000;
    let before = random.uniform();
    let product = 0;
    for (let i = 0; i < n; i++) {
      const x = random.uniform();
      bins[Math.floor(100 * x)]!++;
      product += (x - 0.5) * (before - 0.5);
      before = x;
    }
    const chi = bins.reduce((sum, count) => sum + (count - n / 100) ** 2 / (n / 100), 0);
    // 99 degrees of freedom: 0.1 % points of the table are 60 and 149.
    expect(chi).toBeGreaterThan(60);
    expect(chi).toBeLessThan(149);
    expect(Math.abs(product / n) * 12).toBeLessThan(5 / Math.sqrt(n));
  });
});
