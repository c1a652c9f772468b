import { expect, test } from "vitest";
import { mulberry32 } from "../../test/arms/random.ts";
import { eigenvalues } from "./eigenvalues.ts";

function spectrum(rows: number[][]): [number, number][] {
  const n = rows.length;
  const re = new Float64Array(n),
    im = new Float64Array(n);
  expect(eigenvalues(Float64Array.from(rows.flat()), n, re, im)).toBe(true);
  return Array.from(re, (x, i): [number, number] => [x, im[i]!]).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
}

function expectSpectrum(found: [number, number][], expected: [number, number][], tolerance: number): void {
  for (const [re, im] of expected) {
    expect(Math.min(...found.map(([x, y]) => Math.hypot(x - re, y - im)))).toBeLessThan(tolerance);
  }
}

test("triangular, rotation and one by one", () => {
  expect(spectrum([[7]])).toEqual([[7, 0]]);
  expectSpectrum(
    spectrum([
      [1, 5, 9],
      [0, 2, 6],
      [0, 0, 3],
    ]),
    [
      [1, 0],
      [2, 0],
      [3, 0],
    ],
    1e-14,
  ); // prettier-ignore
  expectSpectrum(
    spectrum([
      [0, -1],
      [1, 0],
    ]),
    [
      [0, 1],
      [0, -1],
    ],
    1e-15,
  ); // prettier-ignore
});

test("companion matrix of (t - 1)…(t - 8): the roots", () => {
  let p = [1];
  for (let r = 1; r <= 8; r++) p = [...p.map((c) => -r * c), 0].map((c, i) => c + (i > 0 ? p[i - 1]! : 0));
  const rows = Array.from({ length: 8 }, (_, i) =>
    Array.from({ length: 8 }, (_, j) => (i === 0 ? -p[7 - j]! : i === j + 1 ? 1 : 0)),
  );
  expectSpectrum(
    spectrum(rows),
    Array.from({ length: 8 }, (_, i): [number, number] => [i + 1, 0]),
    1e-8,
  );
});

test("cyclic permutation: the roots of unity", () => {
  const n = 24;
  const rows = Array.from({ length: n }, (_, i) => Array.from({ length: n }, (_, j) => (j === (i + 1) % n ? 1 : 0)));
  const expected = Array.from({ length: n }, (_, k): [number, number] => [
    Math.cos((2 * Math.PI * k) / n),
    Math.sin((2 * Math.PI * k) / n),
  ]);
  expectSpectrum(spectrum(rows), expected, 1e-13);
});

test("random matrices similar to a known block diagonal", () => {
  const random = mulberry32(3);
  for (let t = 0; t < 30; t++) {
    const n = 2 + Math.floor(22 * random());
    const rows: number[][] = Array.from({ length: n }, () => new Array<number>(n).fill(0));
    const expected: [number, number][] = [];
    for (let i = 0; i < n; i++) {
      const x = 6 * random() - 3,
        y = 3 * random();
      rows[i]![i] = x;
      if (i + 1 < n && random() < 0.5) {
        rows[i + 1]![i + 1] = x;
        rows[i]![i + 1] = y;
        rows[i + 1]![i] = -y;
        expected.push([x, y], [x, -y]);
        i++;
      } else expected.push([x, 0]);
    }
    // Similarity by plane rotations.
    for (let k = 0; k < 6 * n; k++) {
      const i = Math.floor(n * random()),
        j = (i + 1 + Math.floor((n - 1) * random())) % n,
        c = Math.cos(7 * random()),
        s = Math.sqrt(1 - c * c);
      for (let m = 0; m < n; m++) {
        const x = rows[i]![m]!,
          y = rows[j]![m]!;
        rows[i]![m] = c * x - s * y;
        rows[j]![m] = s * x + c * y;
      }
      for (let m = 0; m < n; m++) {
        const x = rows[m]![i]!,
          y = rows[m]![j]!;
        rows[m]![i] = c * x - s * y;
        rows[m]![j] = s * x + c * y;
      }
    }
    expectSpectrum(spectrum(rows), expected, 1e-10);
  }
});
