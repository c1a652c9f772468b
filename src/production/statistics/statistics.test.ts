import { describe, expect, it } from "vitest";
import { Stream, triangularQuantile } from "../random.ts";
import { meanInterval, quantileOf } from "./interval.ts";
import { meanInside } from "./little.ts";
import { studentQuantile } from "./student.ts";

// Two-sided values of the printed tables of Student's t (Abramowitz & Stegun, table 26.10, recalled from memory).
it.each([
  [0.95, 1, 12.706],
  [0.95, 2, 4.303],
  [0.95, 9, 2.262],
  [0.95, 30, 2.042],
  [0.99, 5, 4.032],
  [0.99, 10, 3.169],
  [0.9, 4, 2.132],
  [0.999, 11, 4.437],
])("Student's t, confidence %f, %i degrees of freedom: %f", (confidence, freedom, value) => {
  expect(studentQuantile(confidence, freedom)).toBeCloseTo(value, 3);
});

it("Student's t of one and two degrees of freedom by their closed forms, and of many by the normal value", () => {
  for (const p of [0.1, 0.5, 0.8, 0.99]) {
    expect(studentQuantile(p, 1)).toBeCloseTo(Math.tan((Math.PI * p) / 2), 9);
    expect(studentQuantile(p, 2)).toBeCloseTo(p * Math.sqrt(2 / (1 - p * p)), 9);
  }
  expect(studentQuantile(0.95, 1e6)).toBeCloseTo(1.959966, 5);
  expect(() => studentQuantile(1, 3)).toThrow(/confidence/);
});

it("the interval of a mean: by hand, and as often right as it says", () => {
  const { mean, half } = meanInterval([1, 2, 3, 4]);
  expect(mean).toBe(2.5);
  // s = √(5/3), t(0.975, 3) = 3.18245
  expect(half).toBeCloseTo((3.18245 * Math.sqrt(5 / 3)) / 2, 4);
  expect(meanInterval([7]).half).toBeUndefined();
  expect(() => meanInterval([])).toThrow(/one value/);
  const stream = new Stream(5, 1);
  let inside = 0;
  for (let k = 0; k < 2000; k++) {
    const values = Array.from({ length: 6 }, () =>
      Array.from({ length: 12 }, () => stream.uniform()).reduce((a, b) => a + b, -6),
    );
    const found = meanInterval(values);
    if (Math.abs(found.mean) < found.half!) inside++;
  }
  // 95 % of 2000 with four standard deviations of the count, 9.7.
  expect(Math.abs(inside - 1900)).toBeLessThan(40);
});

it("shares of sorted values", () => {
  expect(quantileOf(Float64Array.of(0, 10, 20), 0.5)).toBe(10);
  expect(quantileOf(Float64Array.of(0, 10, 20), 0.75)).toBe(15);
  expect(quantileOf(Float64Array.of(0, 10, 20), 1)).toBe(20);
  expect(quantileOf(Float64Array.of(3), 0.9)).toBe(3);
});

// Little, Operations Research 9, 1961: L = λ W.
it("Little's law: half a part a minute, 12 minutes inside, 6 parts", () => expect(meanInside(0.5, 12)).toBe(6));

describe("streams of random numbers", () => {
  const N = 200_000;
  it("have the mean and variance of their distribution", () => {
    const stream = new Stream(3, 9);
    const moments = (draw: () => number) => {
      let [sum, squares] = [0, 0];
      for (let i = 0; i < N; i++) {
        const x = draw();
        sum += x;
        squares += x * x;
      }
      return [sum / N, squares / N - (sum / N) ** 2] as const;
    };
    const [u, uu] = moments(() => stream.uniform());
    expect(u).toBeCloseTo(1 / 2, 2);
    expect(uu).toBeCloseTo(1 / 12, 3);
    const [e, ee] = moments(() => stream.exponential(2));
    expect(e).toBeCloseTo(2, 1);
    expect(Math.abs(ee - 4)).toBeLessThan(0.1);
    const [t, tt] = moments(() => stream.triangular(1, 2, 6));
    expect(t).toBeCloseTo(3, 1);
    // (a² + b² + c² - ab - ac - bc) / 18
    expect(tt).toBeCloseTo((1 + 36 + 4 - 6 - 2 - 12) / 18, 1);
  });

  it("repeat for a seed and differ between streams and seeds", () => {
    const take = (seed: number, stream: number) => {
      const s = new Stream(seed, stream);
      return Array.from({ length: 5 }, () => s.uniform());
    };
    expect(take(1, 2)).toEqual(take(1, 2));
    expect(take(1, 2)).not.toEqual(take(1, 3));
    expect(take(1, 2)).not.toEqual(take(2, 2));
  });

  it("neighbouring streams are not correlated", () => {
    const [a, b] = [new Stream(1, 10), new Stream(1, 11)];
    let sum = 0;
    for (let i = 0; i < N; i++) sum += (a.uniform() - 0.5) * (b.uniform() - 0.5);
    // Standard deviation of the mean product: (1/12)/√N.
    expect(Math.abs(sum / N)).toBeLessThan(4 / 12 / Math.sqrt(N));
  });

  it("the triangular quantile at its ends, its peak and without width", () => {
    expect(triangularQuantile(0, 1, 2, 6)).toBe(1);
    expect(triangularQuantile(1, 1, 2, 6)).toBe(6);
    expect(triangularQuantile(0.2, 1, 2, 6)).toBeCloseTo(2, 12);
    expect(triangularQuantile(0.4, 3, 3, 3)).toBe(3);
    expect(triangularQuantile(0.75, 0, 0, 1)).toBeCloseTo(0.5, 12);
    expect(() => triangularQuantile(0.5, 2, 1, 3)).toThrow(/likely/);
  });
});
