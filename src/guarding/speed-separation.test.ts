import fc from "fast-check";
import { expect, it } from "vitest";
import { monitoredSeparation, speedForSeparation } from "./speed-separation.ts";

const terms = (v: readonly number[]) => ({
  personSpeed: v[0]!,
  armSpeed: v[1]!,
  reactionTime: v[2]!,
  stoppingTime: v[3]!,
  stoppingDistance: v[4]!,
  intrusion: v[5]!,
  sensorUncertainty: v[6]!,
  armUncertainty: v[7]!,
});

// ISO/TS 15066:2016, 5.5.4 (terms recalled, sums recomputed).
it.each([
  [[1.6, 1, 0.1, 0.3, 0.15, 0.2, 0.05, 0.01], 1.15],
  [[1.6, 2, 0.08, 0.6, 0.6, 0.85, 0.05, 0.02], 2.768],
])("S of %j is %d m", (values, expected) => expect(monitoredSeparation(terms(values))).toBeCloseTo(expected, 12));

it("refuses a negative or unknown term", () => {
  expect(() => monitoredSeparation(terms([1.6, 1, -0.1, 0.3, 0.15, 0.2, 0.05, 0.01]))).toThrow("reactionTime");
  expect(() => monitoredSeparation(terms([1.6, 1, 0.1, 0.3, 0.15, 0.2, 0.05, Number.NaN]))).toThrow("armUncertainty");
});

it("the speed found is the largest whose distance fits", () => {
  const fixed = { personSpeed: 1.6, reactionTime: 0.1, intrusion: 0.2, sensorUncertainty: 0.05, armUncertainty: 0.01 };
  const stopping = (speed: number) => ({ time: speed / 3, distance: (speed * speed) / 6 });
  const needed = (speed: number) =>
    monitoredSeparation({ ...fixed, armSpeed: speed, stoppingTime: speed / 3, stoppingDistance: (speed * speed) / 6 });
  fc.assert(
    fc.property(fc.double({ min: 0, max: 4, noNaN: true }), (distance) => {
      const speed = speedForSeparation(distance, fixed, stopping, 2);
      if (speed > 0) expect(needed(speed)).toBeLessThanOrEqual(distance + 1e-9);
      if (speed < 2) expect(needed(speed + 1e-6)).toBeGreaterThan(distance);
    }),
    { seed: 15066, numRuns: 300 },
  );
  expect(speedForSeparation(0.3, fixed, stopping, 2)).toBe(0);
});
