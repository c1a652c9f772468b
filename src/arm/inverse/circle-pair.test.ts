/** Two equations in two angles against a fine search. */
import { expect, test } from "vitest";
import { mulberry32 } from "../../../test/arms/random.ts";
import { PAIR_OUT, PAIR_SIZE, PAIR_SLACK, solveCirclePair } from "./circle-pair.ts";

test("circle pair: every zero of a fine scan is found, in each mode", () => {
  const random = mulberry32(23);
  let most = 0;
  for (let t = 0; t < 150; t++) {
    const s = new Float64Array(PAIR_SIZE);
    for (let k = 0; k < 8; k++) s[k] = 2 * random() - 1;
    const mode = (["together", "x-last", "y-last"] as const)[t % 3]!;
    if (mode === "x-last") s[2] = s[3] = 0;
    if (mode === "y-last") s[6] = s[7] = 0;
    const x = Math.PI * (2 * random() - 1),
      y = Math.PI * (2 * random() - 1);
    const row = (i: number, a: number, b: number) =>
      s[2 * i]! * Math.cos(a) + s[2 * i + 1]! * Math.sin(a) - s[4 + 2 * i]! * Math.cos(b) - s[5 + 2 * i]! * Math.sin(b);
    s[8] = row(0, x, y);
    s[9] = row(1, x, y);
    s[PAIR_SLACK] = 1e-13;
    const count = solveCirclePair(s, mode, false, 1);
    most = Math.max(most, count);
    const found = Array.from({ length: count }, (_, i) => {
      const o = PAIR_OUT + 4 * i;
      return [Math.atan2(s[o + 1]!, s[o]!), Math.atan2(s[o + 3]!, s[o + 2]!)] as const;
    });
    for (const [a, b] of found) {
      expect(Math.abs(row(0, a, b) - s[8]!)).toBeLessThan(1e-11);
      expect(Math.abs(row(1, a, b) - s[9]!)).toBeLessThan(1e-11);
    }
    const near = (a: number, b: number) =>
      found.some((f) => Math.abs(Math.sin((f[0] - a) / 2)) + Math.abs(Math.sin((f[1] - b) / 2)) < 1e-5);
    expect(near(x, y)).toBe(true);
    // Newton from a grid of starts finds nothing that is not there.
    for (let i = 0; i < 64; i++) {
      let a = (i % 8) * 0.785 - 3,
        b = Math.floor(i / 8) * 0.785 - 3;
      for (let k = 0; k < 25; k++) {
        const r0 = row(0, a, b) - s[8]!,
          r1 = row(1, a, b) - s[9]!;
        const j00 = s[1]! * Math.cos(a) - s[0]! * Math.sin(a),
          j01 = s[4]! * Math.sin(b) - s[5]! * Math.cos(b),
          j10 = s[3]! * Math.cos(a) - s[2]! * Math.sin(a),
          j11 = s[6]! * Math.sin(b) - s[7]! * Math.cos(b);
        const det = j00 * j11 - j01 * j10;
        a -= (r0 * j11 - r1 * j01) / det;
        b -= (j00 * r1 - j10 * r0) / det;
      }
      if (Math.abs(row(0, a, b) - s[8]!) + Math.abs(row(1, a, b) - s[9]!) < 1e-12) expect(near(a, b)).toBe(true);
    }
  }
  expect(most).toBe(4);
});
