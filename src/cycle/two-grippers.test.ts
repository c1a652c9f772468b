import { expect, it } from "vitest";
import {
  bars,
  cell,
  drive,
  dwell,
  each,
  free,
  go,
  hold,
  level,
  near,
  part,
  process,
  pulse,
  range,
  round,
  timedMover,
  wait,
  when,
} from "../../test/cycle/builders.ts";
import { cycleChart } from "./chart.ts";
import { simulate } from "./simulate.ts";

const later = { kind: "not", of: { kind: "pass", which: "first" } } as const;
const half = { seconds: 0.5 };

/**
 * Two grippers (0.2 s, no feedback): A brings raw parts, B takes finished ones. Chuck on one output with feedback at both
 * ends, 0.5 s. Turning `turning` s. Scan time 0. Motions 1 s, short ones 0.5 s.
 */
function swapping(turning: number, parts = 6) {
  return cell({
    parts: [part("part")],
    grippers: ["A", "B"].map((name) => ({
      device: { name, start: "open", command: level(`grip-${name}`, "closed", "open"), time: range(0.2) },
    })),
    machines: [
      {
        name: "lathe",
        devices: [
          {
            name: "lathe.chuck",
            start: "open",
            command: level("clamp", "closed", "open"),
            time: range(0.5),
            feedback: { open: "chuck-open", closed: "chuck-closed" },
            clamps: "closed",
          },
        ],
        processes: [
          process({
            name: "lathe.turning",
            machine: "lathe",
            start: { signal: "start", style: "pulse", width: 0.1 },
            time: range(turning),
            done: { signal: "done", style: "until start", width: 0 },
            needs: [{ device: "lathe.chuck", position: "closed" }],
            holder: "lathe.chuck",
            makes: "done",
          }),
        ],
      },
    ],
    holders: [
      { name: "raw", places: parts, start: "part" },
      { name: "finished", places: parts },
      { name: "lathe.chuck", device: "lathe.chuck" },
    ],
    inputs: ["chuck-open", "chuck-closed", "done"],
    outputs: ["grip-A", "grip-B", "clamp", "start"],
    routines: {
      main: [
        each(
          ["raw", "finished"],
          [
            go("raw", { gripper: "A" }),
            hold("A", "raw"),
            dwell(0.2),
            go("lathe.chuck", { gripper: "B" }),
            when(later, [
              wait("done"),
              hold("B", "lathe.chuck"),
              dwell(0.2),
              drive("clamp", false),
              wait("chuck-open"),
              go("lathe.chuck", { ...near, ...half, gripper: "B" }),
            ]),
            go("lathe.chuck", { ...half, gripper: "A" }),
            drive("clamp", true),
            wait("chuck-closed"),
            free("A", "lathe.chuck"),
            dwell(0.2),
            go("lathe.chuck", { ...near, ...half, gripper: "A" }),
            pulse("start", 0.1),
            when(later, [go("finished", { gripper: "B" }), free("B", "finished"), dwell(0.2)]),
          ],
        ),
        go("lathe.chuck", { gripper: "B" }),
        wait("done"),
        hold("B", "lathe.chuck"),
        dwell(0.2),
        drive("clamp", false),
        wait("chuck-open"),
        go("finished", { gripper: "B" }),
        free("B", "finished"),
        dwell(0.2),
      ],
    },
  });
}

const record = simulate(swapping(10), timedMover(), { variant: "part", pace: "nominal" });

/*
 * Turning 10 s.
 *   pass 0: raw 0-1, hold 1, dwell 1-1.2, chuck (B) 1.2-2.2, chuck (A) 2.2-2.7, clamp 2.7-3.2, free 3.2, dwell 3.2-3.4,
 *           back 3.4-3.9, start 3.9-4.0: turning 3.9-13.9
 *   pass 1: raw 4-5, hold 5, dwell 5-5.2, chuck (B) 5.2-6.2, waits for turning 6.2-13.9, hold 13.9, dwell 13.9-14.1,
 *           unclamp 14.1-14.6, back 14.6-15.1, chuck (A) 15.1-15.6, clamp 15.6-16.1, free 16.1, dwell 16.1-16.3,
 *           back 16.3-16.8, start 16.8-16.9: turning 16.8-26.8, finished 16.9-17.9, free 17.9, dwell 17.9-18.1
 *   pass 2: raw 18.1-19.1, dwell 19.1-19.3, chuck (B) 19.3-20.3, waits 20.3-26.8, …
 * The swap takes 0.2 + 0.5 + 0.5 + 0.5 + 0.5 + 0.2 + 0.5 = 2.9 s, so the period is 12.9 s.
 */
it("swaps at the chuck as computed by hand", () => {
  expect(record.problems).toEqual([]);
  const at = "main[0].do";
  expect(
    bars(record, "arm")
      .filter(([label]) => label.startsWith(at))
      .slice(0, 31),
  ).toEqual([
    [`${at}[0]`, 0, 1],
    [`${at}[1]`, 1, 1],
    [`${at}[2]`, 1, 1.2],
    [`${at}[3]`, 1.2, 2.2],
    [`${at}[5]`, 2.2, 2.7],
    [`${at}[6]`, 2.7, 2.7],
    [`${at}[7]`, 2.7, 3.2],
    [`${at}[8]`, 3.2, 3.2],
    [`${at}[9]`, 3.2, 3.4],
    [`${at}[10]`, 3.4, 3.9],
    [`${at}[11]`, 3.9, 4],
    [`${at}[0]`, 4, 5],
    [`${at}[1]`, 5, 5],
    [`${at}[2]`, 5, 5.2],
    [`${at}[3]`, 5.2, 6.2],
    [`${at}[4].then[0]`, 6.2, 13.9],
    [`${at}[4].then[1]`, 13.9, 13.9],
    [`${at}[4].then[2]`, 13.9, 14.1],
    [`${at}[4].then[3]`, 14.1, 14.1],
    [`${at}[4].then[4]`, 14.1, 14.6],
    [`${at}[4].then[5]`, 14.6, 15.1],
    [`${at}[5]`, 15.1, 15.6],
    [`${at}[6]`, 15.6, 15.6],
    [`${at}[7]`, 15.6, 16.1],
    [`${at}[8]`, 16.1, 16.1],
    [`${at}[9]`, 16.1, 16.3],
    [`${at}[10]`, 16.3, 16.8],
    [`${at}[11]`, 16.8, 16.9],
    [`${at}[12].then[0]`, 16.9, 17.9],
    [`${at}[12].then[1]`, 17.9, 17.9],
    [`${at}[12].then[2]`, 17.9, 18.1],
  ]);
  expect(bars(record, "lathe.turning").slice(0, 3)).toEqual([
    ["lathe.turning", 3.9, 13.9],
    ["lathe.turning", 16.8, 26.8],
    ["lathe.turning", 29.7, 39.7],
  ]);
});

it("has the period, use and critical path of a cell bound by its machine", () => {
  expect(record.partsFinished).toBe(6);
  expect(record.steady.basis).toBe("repeating passes");
  expect(round(record.period)).toBe(12.9);
  expect(round(record.spindleIdle_s)).toBe(2.9);
  // Waits of a steady pass: 6.5 for turning, 0.5 to unclamp, 0.5 to clamp.
  expect(round(record.robot_s)).toBe(round(12.9 - 7.5));
  expect(record.bound.by).toBe("lathe.turning");
  const shares = [...record.bound.shares].map(([lane, share]) => [lane, round(share * 12.9)]);
  expect(shares).toEqual([
    ["lathe.turning", 10],
    ["arm", 1.9],
    ["lathe.chuck", 1],
  ]);
});

it("gives every step its slack", () => {
  const steady = (step: string) => round(record.slack.get(`main[0].do${step}`)!.steady_s);
  // On the way from one start of the machine to the next: none. Beside it: the wait of 6.5 s.
  for (const step of ["[4].then[1]", "[4].then[2]", "[4].then[4]", "[5]", "[6]", "[7]", "[9]", "[10]"])
    expect([step, steady(step)]).toEqual([step, 0]);
  for (const step of ["[0]", "[2]", "[3]", "[12].then[0]", "[12].then[2]"])
    expect([step, steady(step)]).toEqual([step, 6.5]);
  // In the whole run the first pass has nothing to wait for: its steps delay everything.
  expect(record.slack.get("main[0].do[0]")!.run_s).toBe(0);
  expect(round(record.slack.get("main[0].do[12].then[0]")!.run_s)).toBe(6.5);
});

it("records who held the part together, and for how long", () => {
  const [load, unload] = record.sharedHolds;
  expect([load!.gripper, round(load!.start), round(load!.end)]).toEqual(["A", 3.2, 3.2]);
  // Jaws closed at 14.1, chuck open at 14.6.
  expect([unload!.gripper, round(unload!.start), round(unload!.end)]).toEqual(["B", 14.1, 14.6]);
});

it("is bound by the arm when the machine is fast", () => {
  /*
   * Turning 1 s: the machine is done at 4.9, long before the arm is back. A pass is the arm's own work: 1 + 0.2 + 1 +
   * 0.2 + 0.5 (unclamp) + 0.5 + 0.5 + 0.5 (clamp) + 0.2 + 0.5 + 0.1 + 1 + 0.2 = 6.4 s.
   */
  const fast = simulate(swapping(1), timedMover(), { variant: "part", pace: "nominal" });
  expect(round(fast.period)).toBe(6.4);
  expect(fast.bound.by).toBe("arm");
  // From the start pulse to the next wait: 0.1 + 1 + 0.2 (finished part) + 1 + 0.2 + 1 (raw part, chuck) = 3.5 s.
  const turning = fast.activities.filter((a) => a.kind === "process");
  expect(round(turning[2]!.slack)).toBe(2.5);
  expect(turning[2]!.critical).toBe(false);
});

it("cuts one steady pass out as a chart", () => {
  const chart = cycleChart(record);
  expect(chart.pass).toBe(record.steady.passes!.last);
  expect(round(chart.end - chart.start)).toBe(12.9);
  expect(chart.lanes.map((l) => l.name)).toEqual(["arm", "A", "lathe.turning", "B", "lathe.chuck"].sort(byKind));
  const turning = chart.lanes.find((l) => l.name === "lathe.turning")!;
  expect(turning.bars.map((b) => [round(b.start), round(b.end), b.cutAtStart, b.cutAtEnd])).toEqual([
    [0, 8.7, true, false],
    [11.6, 12.9, false, true],
  ]);
  const arm = chart.lanes[0]!;
  expect(arm.bars.every((bar, i) => i === 0 || round(bar.start) === round(arm.bars[i - 1]!.end))).toBe(true);

  function byKind(a: string, b: string): number {
    const rank = (name: string) => (name === "arm" ? 0 : name === "lathe.turning" ? 2 : 1);
    return rank(a) - rank(b);
  }
});
