import { describe, expect, it } from "vitest";
import { standing } from "../clearance/index.ts";
import type { CycleRun, MoveRecord } from "../cycle/index.ts";
import type { Motion } from "../motion/index.ts";
import { chartOfRun, seriesOfRun } from "./run-data.ts";

/** One joint from `a` to `b` by q = a + (b - a)(3τ² - 2τ³), τ = t / duration. */
function smooth(a: number, b: number, duration: number): Motion {
  return {
    duration,
    segmentEnds: [duration],
    end: Float64Array.of(b),
    swept: standing([b]),
    limits: [],
    torqueShare: undefined,
    peakToolSpeed: 0,
    peakToolAcceleration: 0,
    nearestSingularity: undefined,
    sample(time, out) {
      const x = Math.min(1, Math.max(0, time / duration));
      out.q[0] = a + (b - a) * x * x * (3 - 2 * x);
      out.qd[0] = ((b - a) * 6 * x * (1 - x)) / duration;
      out.qdd[0] = ((b - a) * (6 - 12 * x)) / duration ** 2;
    },
  };
}

const motions = [
  { start: 1, motion: smooth(0, 1, 2) },
  { start: 5, motion: smooth(1, -1, 4) },
  { start: 9, motion: smooth(-1, 0, 1) },
];
const run = {
  variant: "shaft",
  duration: 12,
  passes: [
    { index: 0, stepId: "main[0]", start: 0, end: 6 },
    { index: 1, stepId: "main[0]", start: 6, end: 12 },
  ],
  steady: { basis: "last pass", start: 6, end: 12, parts: 1, passes: { first: 1, last: 1 } },
  activities: [
    {
      index: 0,
      lane: "arm",
      kind: "motion",
      label: "main[0].do[0]",
      stepId: "main[0].do[0]",
      start: 1,
      end: 3,
      pass: 0,
      after: [],
      slack: 0,
      critical: true,
    },
    {
      index: 1,
      lane: "door",
      kind: "device",
      label: "to open",
      start: 2,
      end: 4,
      pass: 0,
      after: [],
      slack: 1,
      critical: false,
    },
  ],
  moves: motions.map(({ start, motion }) => ({
    start,
    end: start + motion.duration,
    motion,
    context: { q: Float64Array.of(0) },
  })),
} as unknown as CycleRun<never>;
const motionOf = (move: MoveRecord<never>) => (move as unknown as { motion: Motion }).motion;

describe("series of a run", () => {
  const whole = seriesOfRun(run, motionOf, 0, 12)!;

  it("covers the stretch with time that never runs back", () => {
    expect(whole.time[0]).toBe(0);
    expect(whole.time.at(-1)).toBe(12);
    for (let k = 1; k < whole.time.length; k++) expect(whole.time[k]!).toBeGreaterThanOrEqual(whole.time[k - 1]!);
  });

  it("holds still between motions and is continuous everywhere", () => {
    for (let k = 1; k < whole.time.length; k++) {
      const dt = whole.time[k]! - whole.time[k - 1]!;
      // The fastest of the three motions has a peak speed of 1.5.
      expect(Math.abs(whole.q[k]! - whole.q[k - 1]!)).toBeLessThanOrEqual(1.5 * dt + 1e-12);
    }
    const at = (t: number) => whole.q[whole.time.findIndex((x) => x >= t)];
    expect(at(0)).toBe(0);
    expect(at(3)).toBe(1);
    expect(at(5)).toBe(1);
    expect(at(12)).toBe(0);
    expect(Math.max(...whole.qd.map(Math.abs))).toBeCloseTo(1.5, 3);
  });

  it("keeps standstills to their ends", () => {
    const still = whole.time.filter((t) => t > 3 && t < 5);
    expect(still).toHaveLength(0);
  });

  it("cuts motions at the ends of the stretch and begins from the last standstill", () => {
    const cut = seriesOfRun(run, motionOf, 6, 8)!;
    expect(cut.time[0]).toBe(6);
    expect(cut.time.at(-1)).toBe(8);
    expect(cut.q[0]).toBeCloseTo(1 - 2 * 0.0625 * 2.5, 12);
    const late = seriesOfRun(run, motionOf, 4, 6)!;
    expect([late.time[0], late.q[0], late.time[1], late.q[1]]).toEqual([4, 1, 5, 1]);
  });

  it("is absent where nothing moves", () => {
    expect(seriesOfRun(run, motionOf, 10.5, 12)).toBeUndefined();
    expect(seriesOfRun(run, () => undefined, 0, 12)).toBeUndefined();
  });
});

describe("chart of a run", () => {
  it("shows the last steady pass and names steps by their words", () => {
    const chart = chartOfRun(run, new Map([["main[0].do[0]", "line to chuck"]]));
    expect(chart.pass).toEqual({ number: 2, of: 2, from: 6, to: 12 });
    expect(chart.activities.map((a) => a.label)).toEqual(["line to chuck", "to open"]);
    expect(
      chartOfRun({ ...run, passes: [], steady: { ...run.steady, passes: undefined } } as never, new Map()).pass,
    ).toBeUndefined();
  });
});
