import { expect, it } from "vitest";
import {
  bars,
  type CellSpec,
  cell,
  each,
  free,
  go,
  hold,
  level,
  near,
  process,
  pulse,
  range,
  round,
  timedMover,
  wait,
  when,
} from "../../test/cycle/builders.ts";
import { simulate } from "./simulate.ts";

const later = { kind: "not", of: { kind: "pass", which: "first" } } as const;
const fetch = (i: number, seconds: number) => [
  go(`fixture${i}`, { seconds }),
  wait(`done${i}`),
  hold("grip", `fixture${i}`),
];

/** Machines with a fixture that needs no clamping; grippers that take no time; scan time 0. */
function served(times: readonly number[], passes: number, steps: CellSpec["routines"][string]) {
  return cell({
    grippers: [{ device: { name: "grip", start: "open", command: level("grip", "closed", "open"), time: range(0) } }],
    machines: times.map((time, i) => ({
      name: `machine${i}`,
      devices: [],
      processes: [
        process({
          name: `machine${i}.run`,
          machine: `machine${i}`,
          start: { signal: `start${i}`, style: "pulse", width: 0 },
          time: range(time),
          done: { signal: `done${i}`, style: "until start", width: 0 },
          holder: `fixture${i}`,
          makes: "done",
        }),
      ],
    })),
    holders: times.flatMap((_, i) => [
      { name: `raw${i}`, places: passes, start: "part" },
      { name: `finished${i}`, places: passes },
      { name: `fixture${i}`, kind: "nest" as const },
    ]),
    inputs: times.map((_, i) => `done${i}`),
    outputs: ["grip", ...times.map((_, i) => `start${i}`)],
    routines: {
      main: [
        each(
          times.flatMap((_, i) => [`raw${i}`, `finished${i}`]),
          steps,
        ),
      ],
    },
  });
}

/*
 * Two machines, 8 s and 5 s, motions of 1 s, start pulses of 0.1 s.
 *   pass 0: raw0 0-1, fixture0 1-2, pulse 2-2.1 (run 2-10), raw1 2.1-3.1, fixture1 3.1-4.1, pulse 4.1-4.2 (run 4.1-9.1)
 *   pass 1: fixture0 4.2-5.2, waits 5.2-10, finished0 10-11, raw0 11-12, fixture0 12-13, pulse 13-13.1 (run 13-21),
 *           fixture1 13.1-14.1, no wait, finished1 14.1-15.1, raw1 15.1-16.1, fixture1 16.1-17.1, pulse (run 17.1-22.1)
 *   pass 2: fixture0 17.2-18.2, waits 18.2-21, …
 * Machine 0 bounds: 8 + 3 motions = 11 s for two parts.
 */
it("serves two machines as computed by hand", () => {
  const steps = [0, 1].flatMap((i) => [
    when(later, [...fetch(i, 1), go(`finished${i}`), free("grip", `finished${i}`)]),
    go(`raw${i}`),
    hold("grip", `raw${i}`),
    go(`fixture${i}`),
    free("grip", `fixture${i}`),
    pulse(`start${i}`, 0.1),
  ]);
  const record = simulate(served([8, 5], 6, steps), timedMover(), { variant: "part", pace: "nominal" });
  expect(record.problems).toEqual([]);
  expect(bars(record, "machine0.run").slice(0, 3)).toEqual([
    ["machine0.run", 2, 10],
    ["machine0.run", 13, 21],
    ["machine0.run", 24, 32],
  ]);
  expect(bars(record, "machine1.run").slice(0, 3)).toEqual([
    ["machine1.run", 4.1, 9.1],
    ["machine1.run", 17.1, 22.1],
    ["machine1.run", 28.1, 33.1],
  ]);
  expect(bars(record, "arm").filter(([, start, end]) => start >= 4.2 && end <= 18.2 && start < end)).toEqual([
    ["main[0].do[0].then[0]", 4.2, 5.2],
    ["main[0].do[0].then[1]", 5.2, 10],
    ["main[0].do[0].then[3]", 10, 11],
    ["main[0].do[1]", 11, 12],
    ["main[0].do[3]", 12, 13],
    ["main[0].do[5]", 13, 13.1],
    ["main[0].do[6].then[0]", 13.1, 14.1],
    ["main[0].do[6].then[3]", 14.1, 15.1],
    ["main[0].do[7]", 15.1, 16.1],
    ["main[0].do[9]", 16.1, 17.1],
    ["main[0].do[11]", 17.1, 17.2],
    ["main[0].do[0].then[0]", 17.2, 18.2],
  ]);
  expect(round(record.period)).toBe(5.5);
  expect(round(record.robot_s)).toBe(4.1);
  expect(record.machines.map((m) => [round(m.spindleBusy_s), round(m.spindleIdle_s), round(m.engaged_s)])).toEqual([
    [4, 1.5, 4],
    [2.5, 3, 2.5],
  ]);
  expect(round(record.spindleIdle_s)).toBe(1.5);
  expect(record.bound.by).toBe("machine0.run");
  // Machine 1, second run: ready at 22.1, fetched at 25.1; the 3 s and the arm's next wait for machine 0 (29.2 to 32) are
  // time to spare, one after the other.
  const second = record.activities.filter((a) => a.lane === "machine1.run");
  expect(round(second[1]!.slack)).toBe(5.8);
});

/*
 * Deterministic machine interference (Groover, recalled from memory): service a = 0.5 while the machine stands, walk
 * b = 0.1, running t = 4. One arm keeps n* = (a + t) / (a + b) = 7.5 machines busy: with 7 the round takes a + t = 4.5,
 * with 8 it takes n (a + b) = 4.8.
 */
it.each([
  [1, 4.5],
  [7, 4.5],
  [8, 4.8],
  [12, 7.2],
])("reproduces the round of %i equal machines under one arm: %f", (n, round_s) => {
  const times = Array.from({ length: n }, () => 4);
  const steps = times.flatMap((_, i) => [
    when(
      later,
      [...fetch(i, 0.1), go(`finished${i}`, { seconds: 0.25 }), free("grip", `finished${i}`)],
      [go(`fixture${i}`, { ...near, seconds: 0.35 })],
    ),
    go(`raw${i}`, { seconds: 0 }),
    hold("grip", `raw${i}`),
    go(`fixture${i}`, { seconds: 0.25 }),
    free("grip", `fixture${i}`),
    pulse(`start${i}`, 0),
  ]);
  const record = simulate(served(times, 8, steps), timedMover(), { variant: "part", pace: "nominal" });
  expect(record.problems).toEqual([]);
  expect(record.steady.basis).toBe("repeating passes");
  expect(round(record.period * n)).toBe(round_s);
  expect(round(record.spindleIdle_s * n)).toBe(round(round_s - 4));
  expect(record.bound.by === "arm").toBe(n > 7.5);
});
