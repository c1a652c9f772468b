import { expect, test } from "vitest";
import { mulberry32 } from "../../../test/arms/random.ts";
import { septic, septicAt, septicValue } from "./septic.ts";

test("takes the value and three derivatives asked for at both ends", () => {
  const random = mulberry32(7);
  for (let round = 0; round < 50; round++) {
    const draw = () => Float64Array.from({ length: 3 }, () => 4 * random() - 2);
    const h = 0.05 + 2 * random();
    const ends = Array.from({ length: 8 }, draw);
    const c = new Float64Array(24);
    septic(3, h, ends[0]!, ends[1]!, ends[2]!, ends[3]!, ends[4]!, ends[5]!, ends[6]!, ends[7]!, c);
    const out = Array.from({ length: 4 }, () => new Float64Array(3));
    for (const [u, first] of [
      [0, 0],
      [1, 4],
    ] as const) {
      septicAt(3, h, u, c, 0, out[0]!, out[1]!, out[2]!, out[3]!);
      for (let d = 0; d < 4; d++)
        for (let i = 0; i < 3; i++)
          expect(Math.abs(out[d]![i]! - ends[first + d]![i]!) * h ** d).toBeLessThan(1e-11 * (1 + h ** 3));
    }
  }
});

test("reproduces a polynomial of degree 7", () => {
  const f = (s: number, d: number) => {
    let sum = 0;
    for (let k = d; k <= 7; k++) {
      let factor = k % 3 === 0 ? 1.5 : -0.7;
      for (let j = 0; j < d; j++) factor *= k - j;
      sum += factor * s ** (k - d);
    }
    return [sum];
  };
  const h = 1.3;
  const c = new Float64Array(8);
  septic(1, h, f(0, 0), f(0, 1), f(0, 2), f(0, 3), f(h, 0), f(h, 1), f(h, 2), f(h, 3), c);
  const x = new Float64Array(1);
  for (const s of [0.1, 0.5, 0.9, 1.2]) {
    septicValue(1, s / h, c, 0, x);
    expect(x[0]).toBeCloseTo(f(s, 0)[0]!, 10);
  }
});
