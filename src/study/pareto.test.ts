import { describe, expect, test } from "vitest";
import { byCompromise, paretoFront } from "./pareto.ts";

/** Straight from the definition. */
function bruteForce(costs: Float64Array, width: number): number[] {
  const rows = Array.from({ length: costs.length / width }, (_, r) =>
    Array.from(costs.subarray(width * r, width * r + width), (x) => (Number.isNaN(x) ? Number.POSITIVE_INFINITY : x)),
  );
  return rows.flatMap((own, r) => {
    const beaten = rows.some((other) => other.every((x, k) => x <= own[k]!) && other.some((x, k) => x < own[k]!));
    return beaten ? [] : [r];
  });
}

function mulberry(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

describe("front", () => {
  test("a hand-made set: ties stay, NaN loses", () => {
    const rows = [
      [1, 5],
      [2, 2],
      [2, 2],
      [5, 1],
      [3, 3],
      [1, Number.NaN],
      [0, Number.NaN],
      [Number.NaN, Number.NaN],
    ];
    expect(paretoFront(Float64Array.from(rows.flat()), 2)).toEqual([0, 1, 2, 3, 6]);
  });

  test.each([1, 2, 3, 5])("random sets in %d columns, with ties and NaN, against the definition", (width) => {
    const random = mulberry(width);
    for (let round = 0; round < 40; round++) {
      const coarse = 2 + Math.floor(20 * random());
      const costs = Float64Array.from({ length: width * (1 + Math.floor(120 * random())) }, () =>
        random() < 0.05 ? Number.NaN : Math.floor(coarse * random()),
      );
      expect(paretoFront(costs, width)).toEqual(bruteForce(costs, width));
    }
  });

  test("no rows, and rows of another width", () => {
    expect(paretoFront(new Float64Array(0), 3)).toEqual([]);
    expect(() => paretoFront(new Float64Array(4), 3)).toThrow("4 numbers are no rows of 3");
  });
});

test("the most even compromise comes first", () => {
  const costs = Float64Array.from([0, 10, 5, 4, 10, 0, 5, 4]);
  expect(byCompromise([0, 1, 2, 3], costs, 2)).toEqual([1, 3, 0, 2]);
});
