import { expect, test } from "vitest";
import { mulberry32 } from "../../test/arms/random.ts";
import { ContractError } from "./contract-error.ts";
import { realRoots, trigonometricZeros } from "./polynomial-roots.ts";

const out = new Float64Array(8);
const roots = (a: number[]) => Array.from(out.subarray(0, realRoots(a, a.length - 1, out)));

test("hand-solved polynomials", () => {
  expect(roots([5])).toEqual([]);
  expect(roots([6, -2])).toEqual([3]);
  expect(roots([1, 0, 1])).toEqual([]);
  expect(roots([-2, 0, 1])).toEqual([expect.closeTo(-Math.SQRT2, 15), expect.closeTo(Math.SQRT2, 15)]);
  // (t - 1)² touches once; t³ = 0 is one root; a leading 0 lowers the degree.
  expect(roots([1, -2, 1])).toEqual([expect.closeTo(1, 12)]);
  expect(roots([0, 0, 0, 1])).toEqual([expect.closeTo(0, 12)]);
  expect(roots([-6, 2, 0, 0])).toEqual([3]);
  expect(() => realRoots(new Array(10).fill(1), 9, out)).toThrow(ContractError);
});

test("polynomials of degree 1 to 8 built from known real roots and complex pairs", () => {
  const random = mulberry32(31);
  for (let t = 0; t < 500; t++) {
    let a = [1];
    const known: number[] = [];
    const degree = 1 + Math.floor(8 * random());
    while (a.length <= degree) {
      if (random() < 0.6 || a.length === degree) {
        const r = 6 * random() - 3;
        if (known.some((k) => Math.abs(k - r) < 0.05)) continue;
        known.push(r);
        a = [...a, 0].map((_, i) => (i > 0 ? a[i - 1]! : 0) - r * (a[i] ?? 0));
      } else {
        const x = 4 * random() - 2,
          y = 0.2 + random();
        const m = x * x + y * y;
        a = [...a, 0, 0].map(
          (_, i) => (i > 1 ? a[i - 2]! : 0) - 2 * x * (i > 0 ? (a[i - 1] ?? 0) : 0) + m * (a[i] ?? 0),
        );
      }
    }
    const found = roots(a);
    expect(found.length).toBe(known.length);
    for (const [i, k] of known.sort((x, y) => x - y).entries()) expect(Math.abs(found[i]! - k)).toBeLessThan(1e-6);
  }
});

test("trigonometric zeros agree with sign changes of a fine scan", () => {
  const random = mulberry32(32);
  const counts = new Set<number>();
  for (let t = 0; t < 300; t++) {
    const c = Float64Array.from({ length: 5 }, () => 2 * random() - 1);
    const f = (y: number) =>
      c[0]! + c[1]! * Math.cos(y) + c[2]! * Math.sin(y) + c[3]! * Math.cos(2 * y) + c[4]! * Math.sin(2 * y);
    const n = trigonometricZeros(c, out);
    for (let i = 0; i < n; i++) expect(Math.abs(f(out[i]!))).toBeLessThan(1e-12);
    let changes = 0;
    for (let i = 0; i < 4000; i++) if (f((i * Math.PI) / 2000) > 0 !== f(((i + 1) * Math.PI) / 2000) > 0) changes++;
    expect(n).toBe(changes);
    counts.add(n);
  }
  expect([...counts].sort()).toEqual([0, 2, 4]);
});
