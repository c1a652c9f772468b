import { expect, it } from "vitest";
import {
  bars,
  type CellSpec,
  cell,
  drive,
  dwell,
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

/*
 * One machine, T s. Beside it: fixture 1 and pulse 0.1. From done to the next start: finished 3, raw 3, fixture 1 = 7 s.
 * T = 4: a round takes 11 s, of which the arm has 7, but it waits 2.9 s and could be no faster for the machine's sake.
 */
it("is bound by the machine when the arm has work beside it, even if the arm has the larger share", () => {
  const steps = [
    when(later, [...fetch(0, 1), go("finished0", { seconds: 3 }), free("grip", "finished0")]),
    go("raw0", { seconds: 3 }),
    hold("grip", "raw0"),
    go("fixture0"),
    free("grip", "fixture0"),
    pulse("start0", 0.1),
  ];
  const record = simulate(served([4], 6, steps), timedMover(), { variant: "part", pace: "nominal" });
  expect(round(record.period)).toBe(11);
  expect([...record.bound.shares].map(([lane, share]) => [lane, round(share * 11)])).toEqual([
    ["arm", 7],
    ["machine0.run", 4],
  ]);
  expect(record.bound.by).toBe("machine0.run");
});

it.each([
  [2, "arm"],
  [9, "machine0.run"],
])("is bound by the larger of the two when arm (6 s) and machine (%i s) work in turns", (time, by) => {
  const steps = [
    go("raw0", { seconds: 2 }),
    hold("grip", "raw0"),
    go("fixture0", { seconds: 2 }),
    free("grip", "fixture0"),
    pulse("start0", 0),
    wait("done0"),
    hold("grip", "fixture0"),
    go("finished0", { seconds: 2 }),
    free("grip", "finished0"),
  ];
  const record = simulate(served([time], 5, steps), timedMover(), { variant: "part", pace: "nominal" });
  expect(round(record.period)).toBe(6 + time);
  expect(record.bound.by).toBe(by);
});

/*
 * Two machines of 20 s served in turn, one per pass; an output remembers whose turn it is. A pass: fixture 1, wait, hold,
 * outfeed 1, infeed 1, fixture 1, start, dwell 0.5. Done to start takes 3 s, so each machine comes round in 23 s, two
 * passes. The first pass dwells 5 s more, which sets machine 1 off 7.6 s after machine 0 for good:
 *   start 0 at 2 (infeed 0-1, fixture 1-2), dwells to 7.5, infeed 8.5, fixture 9.5: start 1 at 9.5, dwell to 10.
 *   done 0 at 22, start 0 at 25, dwell 25.5, fixture 1 at 26.5, done 1 at 29.5 (waits 3), start 1 at 32.5, dwell 33,
 *   fixture 0 at 34, done 0 at 45 (waits 11), …
 * What lies between done and start delays that machine's own next turn, two passes on: no slack. The dwell has the smaller
 * wait, 3 s.
 */
it.each([24, 25])("finds the slack of steps that come back on themselves two passes later (%i passes)", (passes) => {
  const turn = { kind: "signal", signal: "turn", is: true } as const;
  const has = (i: number) => ({ kind: "holder", holder: `fixture${i}`, has: "part" }) as const;
  const unload = (i: number) => when(has(i), [...fetch(i, 1), go("outfeed"), free("grip", "outfeed")]);
  const load = (i: number) => [
    go(`fixture${i}`),
    free("grip", `fixture${i}`),
    pulse(`start${i}`, 0),
    drive("turn", i === 0),
  ];
  const base = served([20, 20], 1, []);
  const steps = [
    when(turn, [unload(1)], [unload(0)]),
    go("infeed"),
    hold("grip", "infeed"),
    when(turn, load(1), load(0)),
    dwell(0.5),
    when({ kind: "pass", which: "first" }, [dwell(5)]),
  ];
  const alternating = cell({
    holders: [
      { name: "infeed", kind: "nest", start: "part" },
      { name: "outfeed", kind: "nest" },
      { name: "fixture0", kind: "nest" },
      { name: "fixture1", kind: "nest" },
    ],
    outputs: ["turn"],
    routines: { main: [each(passes, steps)] },
  });
  const joined = {
    ...base,
    holders: alternating.holders,
    routines: alternating.routines,
    signals: new Map([...base.signals, ...alternating.signals]),
  };
  const record = simulate(joined, timedMover(), { variant: "part", pace: "nominal" });
  expect(record.problems).toEqual([]);
  expect(
    bars(record, "machine0.run")
      .slice(0, 2)
      .map(([, start]) => start),
  ).toEqual([2, 25]);
  expect(
    bars(record, "machine1.run")
      .slice(0, 2)
      .map(([, start]) => start),
  ).toEqual([9.5, 32.5]);
  expect(record.steady.basis).toBe("repeating passes");
  expect(round(record.period)).toBe(11.5);
  expect(round(record.slack.get("main[0].do[1]")!.steady_s)).toBe(0);
  expect(round(record.slack.get("main[0].do[4]")!.steady_s)).toBe(3);
});
