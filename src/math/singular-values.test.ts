import { expect, test } from "vitest";
import { mulberry32 } from "../../test/arms/random.ts";
import { smallestSingularValue } from "./singular-values.ts";

test("diagonal, and a known 2 x 2", () => {
  expect(smallestSingularValue(Float64Array.of(3, 0, 0, 4), 2, 2)).toBeCloseTo(3, 14);
  // [[1, 1], [0, 1]]: singular values are the golden ratio and its inverse.
  expect(smallestSingularValue(Float64Array.of(1, 1, 0, 1), 2, 2)).toBeCloseTo((Math.sqrt(5) - 1) / 2, 14);
});

test("a matrix built as U·diag·V keeps its smallest value, however small", () => {
  const random = mulberry32(7);
  for (const least of [1, 1e-3, 1e-9]) {
    const a = Float64Array.from({ length: 36 }, (_, k) => (k % 7 === 0 ? [5, 4, 3, 2, 1.5, least][k / 7]! : 0));
    // Plane rotations from both sides leave singular values alone.
    for (let t = 0; t < 40; t++) {
      const i = Math.floor(6 * random()),
        j = (i + 1 + Math.floor(5 * random())) % 6,
        c = Math.cos(random() * 6),
        s = Math.sqrt(1 - c * c);
      for (let k = 0; k < 6; k++) {
        const [p, q] = t % 2 === 0 ? [6 * i + k, 6 * j + k] : [6 * k + i, 6 * k + j];
        const x = a[p]!,
          y = a[q]!;
        a[p] = c * x - s * y;
        a[q] = s * x + c * y;
      }
    }
    expect(Math.abs(smallestSingularValue(a, 6, 6) / least - 1)).toBeLessThan(1e-15 / least + 1e-12);
  }
});
