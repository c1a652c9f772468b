import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { brokenScale, tidyStep } from "./time-scale.ts";

describe("broken time axis", () => {
  it("is linear where events lie close", () => {
    const scale = brokenScale(10, 20, [12, 14, 16, 18]);
    expect(scale.breaks).toEqual([]);
    expect(scale.at(10)).toBe(0);
    expect(scale.at(13)).toBeCloseTo(0.3, 12);
    expect(scale.at(20)).toBe(1);
    expect(scale.ticks(5)).toEqual([0, 2, 4, 6, 8, 10]);
  });

  it("gives a long stretch without events 8 % of the axis", () => {
    const scale = brokenScale(0, 100, [2, 4, 6, 90, 92, 94, 96, 98]);
    expect(scale.breaks).toEqual([{ from: 6, to: 90 }]);
    // 16 s are left for 92 % of the axis.
    expect(scale.at(4)).toBeCloseTo((4 / 16) * 0.92, 12);
    expect(scale.at(48)).toBeCloseTo((6 / 16) * 0.92 + 0.04, 12);
    expect(scale.at(95)).toBeCloseTo((11 / 16) * 0.92 + 0.08, 12);
    expect(scale.ticks(10)).toEqual([0, 2, 4, 6, 90, 92, 94, 96, 98, 100]);
  });

  it("never runs back and stays on the axis", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 50, noNaN: true }), { maxLength: 12 }),
        fc.array(fc.double({ min: -5, max: 60, noNaN: true }), { minLength: 2, maxLength: 20 }),
        (events, times) => {
          const scale = brokenScale(1, 50, events);
          const places = times.sort((a, b) => a - b).map(scale.at);
          for (const [i, place] of places.entries()) {
            expect(place).toBeGreaterThanOrEqual(i === 0 ? 0 : places[i - 1]! - 1e-12);
            expect(place).toBeLessThanOrEqual(1);
          }
          expect(scale.at(50)).toBeCloseTo(1, 9);
        },
      ),
      { seed: 5 },
    );
  });

  it("does not break an axis on which nothing happens", () => {
    expect(brokenScale(0, 10, []).breaks).toEqual([]);
  });
});

describe("tidy steps", () => {
  it.each([
    [10, 5, 2],
    [10, 10, 1],
    [61, 8, 10],
    [0.3, 6, 0.05],
    [1930, 12, 200],
    [0, 5, 1],
  ])("cuts %d into at most %d parts of %d", (span, most, step) => expect(tidyStep(span, most)).toBeCloseTo(step, 12));
});
