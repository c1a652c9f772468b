import fc from "fast-check";
import { expect, it } from "vitest";
import { gantry } from "../../test/route/simple-arms.ts";
import { brakingTime, createStopMeter } from "./stopping.ts";

it("braking time: v/a, v/a + a/j, 2 √(v/j) (trapezoid and double S, Biagiotti & Melchiorri 2008, ch. 3, recalled)", () => {
  expect(brakingTime(2, 4, Number.POSITIVE_INFINITY)).toBe(0.5);
  expect(brakingTime(-2, 4, 40)).toBeCloseTo(0.6, 12);
  expect(brakingTime(0.1, 4, 40)).toBeCloseTo(0.1, 12);
  expect(brakingTime(0, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY)).toBe(0);
  expect(brakingTime(1, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY)).toBe(Number.POSITIVE_INFINITY);
});

it("a slide at v stops within v T/2", () => {
  const blank = gantry(-5, 5);
  const arm = {
    ...blank,
    acceleration: Float64Array.of(2, 4, 4),
    jerk: new Float64Array(3).fill(Number.POSITIVE_INFINITY),
  };
  const stop = createStopMeter(arm);
  const one = stop([0, 0, 0], [1, 0, 0], undefined);
  expect(one.time).toBeCloseTo(0.5, 12);
  expect(one.distance).toBeCloseTo(0.25, 12);
  expect(one.joint).toBe(0);
  // Two slides brake in the time of the slower: (1, 1) m/s for 0.5 s is √2/4 m.
  expect(stop([0, 0, 0], [1, 1, 0], undefined).distance).toBeCloseTo(Math.SQRT2 / 4, 12);
  expect(stop([0, 0, 0], [0, 0, 0], undefined)).toEqual({ time: 0, distance: 0, joint: -1 });
});

it("time and way grow with the speed", () => {
  const blank = gantry(-5, 5);
  const arm = { ...blank, acceleration: Float64Array.of(2, 3, 4), jerk: Float64Array.of(20, 30, 40) };
  const stop = createStopMeter(arm);
  const rate = fc.double({ min: -2, max: 2, noNaN: true });
  fc.assert(
    fc.property(fc.tuple(rate, rate, rate), fc.double({ min: 0, max: 1, noNaN: true }), (qd, share) => {
      const fast = stop([0, 0, 0], qd, undefined);
      const slow = stop(
        [0, 0, 0],
        qd.map((v) => v * share),
        undefined,
      );
      expect(slow.time).toBeLessThanOrEqual(fast.time + 1e-12);
      expect(slow.distance).toBeLessThanOrEqual(fast.distance + 1e-12);
    }),
    { seed: 60204, numRuns: 200 },
  );
});
