import { describe, expect, it } from "vitest";
import {
  bars,
  cell,
  dwell,
  each,
  free,
  go,
  hold,
  level,
  range,
  round,
  timedMover,
  when,
} from "../../test/cycle/builders.ts";
import type { Completion, Pass } from "./run.ts";
import { simulate } from "./simulate.ts";
import { steadyWindow } from "./steady.ts";
import { covered } from "./use.ts";

/** Completions at the given times, by pass. */
function made(byPass: readonly (readonly number[])[], outside: readonly number[] = []) {
  const passes: Pass[] = byPass.map((_, index) => ({ index, stepId: "each", start: 0, end: 0 }));
  const at = (time: number, pass: number): Completion => ({
    time,
    pass,
    token: 0,
    part: "p",
    stage: "done",
    holder: "t",
    place: 0,
  });
  const completions = [
    ...byPass.flatMap((times, pass) => times.map((t) => at(t, pass))),
    ...outside.map((t) => at(t, -1)),
  ];
  completions.sort((a, b) => a.time - b.time);
  return { completions, passes };
}

function windowOf(byPass: readonly (readonly number[])[], outside: readonly number[] = [], duration = 1000) {
  const { completions, passes } = made(byPass, outside);
  const w = steadyWindow(completions, passes, duration);
  return { ...w, period: round((w.end - w.start) / w.parts) };
}

describe("the steady window", () => {
  it("leaves out the first fill and the run-out, and takes the last pass that repeats", () => {
    // Fill 30, then 12, 10, 10, 10; last pass 4, and one more part at 90.
    expect(windowOf([[], [30], [42], [52], [62], [72], [76]], [90])).toMatchObject({
      basis: "repeating passes",
      start: 62,
      end: 72,
      parts: 1,
      period: 10,
      passes: { first: 5, last: 5 },
      pattern: 1,
      from: 3,
    });
  });

  it("takes a whole pattern: every third part gauged", () => {
    // Spans 10, 10, 13 over and over; a mean over any other number of passes would be wrong.
    const spans = [10, 10, 13, 10, 10, 13, 10, 10, 13, 10];
    const ends = [[20], ...spans.map((_, i) => [20 + spans.slice(0, i + 1).reduce((a, b) => a + b)])];
    expect(windowOf(ends)).toMatchObject({ basis: "repeating passes", parts: 3, period: 11, pattern: 3 });
  });

  it("takes the mean of all inner passes when none repeats", () => {
    expect(windowOf([[10], [20], [31], [43], [44]])).toMatchObject({
      basis: "inner passes",
      start: 10,
      end: 43,
      parts: 3,
      period: 11,
    });
    // 10, 12, 10 is not yet 12, 10 twice.
    expect(windowOf([[10], [17], [27], [39], [49], [50]])).toMatchObject({ basis: "inner passes", period: 9.75 });
    // One inner pass can repeat nothing.
    expect(windowOf([[10], [20], [21]])).toMatchObject({ basis: "inner passes", start: 10, end: 20, period: 10 });
  });

  it("counts several parts of a pass", () => {
    expect(windowOf([[5, 9], [15, 19], [25, 29], [35, 39], [40]])).toMatchObject({
      parts: 2,
      period: 5,
      start: 29,
      end: 39,
    });
  });

  it("takes the passes of the `each` that finishes most parts", () => {
    const { completions, passes } = made([[5], [20], [30], [40], [50], [60]]);
    const two = passes.map((p) => ({ ...p, stepId: p.index < 1 ? "first" : "second" }));
    expect(steadyWindow(completions, two, 100)).toMatchObject({
      start: 40,
      end: 50,
      passes: { first: 4, last: 4 },
      from: 2,
    });
  });

  it("falls back when passes are few", () => {
    expect(windowOf([[10], [22]])).toMatchObject({ basis: "last pass", start: 10, end: 22, period: 12 });
    expect(windowOf([[10, 20, 30]])).toMatchObject({ basis: "completions", start: 10, end: 30, parts: 2, period: 10 });
    expect(windowOf([], [7, 19])).toMatchObject({ basis: "completions", period: 12 });
    expect(windowOf([[10]], [], 25)).toMatchObject({ basis: "run", start: 0, end: 25, parts: 1, period: 25 });
    expect(windowOf([], [], 25)).toMatchObject({ basis: "run", parts: 1, period: 25 });
  });
});

it("adds covered time once", () => {
  const spans = [
    { start: 5, end: 7 },
    { start: 0, end: 2 },
    { start: 1, end: 3 },
    { start: 6, end: 6.5 },
    { start: 9, end: 20 },
  ];
  expect(covered(spans, { start: 1, end: 10 })).toBe(2 + 2 + 1);
});

/*
 * Parts come by an infeed, go to an outfeed, and every third pass of three is gauged on the way: motions of 1 s, 3 s on the
 * gauge. Passes 0, 1: pick 1, put 1 = 2 s. Pass 2: pick 1, gauge 1 + 3, put 1 = 6 s. The outer `each` makes 3 parts in 10 s.
 */
it("gauges the last of every three parts", () => {
  const record = simulate(
    cell({
      grippers: [{ device: { name: "A", start: "open", command: level("a", "closed", "open"), time: range(0) } }],
      holders: [
        { name: "infeed", kind: "nest", start: "part" },
        { name: "gauge", kind: "nest" },
        { name: "outfeed", kind: "nest" },
      ],
      outputs: ["a"],
      routines: {
        main: [
          each(5, [
            each(3, [
              go("infeed"),
              hold("A", "infeed"),
              when({ kind: "pass", which: "last" }, [go("gauge"), free("A", "gauge"), dwell(3), hold("A", "gauge")]),
              go("outfeed"),
              free("A", "outfeed"),
            ]),
          ]),
        ],
      },
    }),
    timedMover(),
    { variant: "part", pace: "nominal" },
  );
  expect(record.problems).toEqual([]);
  expect(record.partsFinished).toBe(15);
  expect(round(record.period)).toBe(round(10 / 3));
  expect(record.bound).toEqual({ by: "arm", shares: new Map([["arm", 1]]) });
  expect(
    bars(record, "arm")
      .filter(([label]) => label.endsWith("then[2]"))
      .map(([, start]) => start),
  ).toEqual([6, 16, 26, 36, 46]);
  // Three turns of the same step in a pass are told apart; the arm never waits, so nothing has time to spare.
  expect([...record.slack.values()].every((s) => s.steady_s === 0 && s.run_s === 0)).toBe(true);
});
