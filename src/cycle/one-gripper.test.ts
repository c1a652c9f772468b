import { describe, expect, it } from "vitest";
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
  run,
  timedMover,
  toggling,
  wait,
} from "../../test/cycle/builders.ts";
import { simulate } from "./simulate.ts";
import type { Pace } from "./types.ts";

/**
 * One gripper (0.2 to 0.4 s, no feedback), a lathe with a door (level, both ends fed back, 1.0 to 2.0 s), a toggling chuck
 * (0.4 to 0.6 s, width 0.2 s, no feedback) and a turning process (10 to 14 s, pulse of 0.2 s). Scan 0.01 s.
 */
function lathe(passes: number, scan = 0.01) {
  return cell({
    scan,
    parts: [part("part", { "lathe.turning": range(10, 14) })],
    grippers: [
      { device: { name: "grip", start: "open", command: level("grip", "closed", "open"), time: range(0.2, 0.4) } },
    ],
    machines: [
      {
        name: "lathe",
        devices: [
          {
            name: "lathe.door",
            start: "closed",
            command: level("door-open", "open", "closed"),
            time: range(1, 2),
            feedback: { open: "door-is-open", closed: "door-is-closed" },
          },
          {
            name: "lathe.chuck",
            start: "open",
            command: toggling("chuck-toggle", 0.2),
            time: range(0.4, 0.6),
            clamps: "closed",
          },
        ],
        processes: [
          process({
            name: "lathe.turning",
            machine: "lathe",
            start: { signal: "cycle-start", style: "pulse", width: 0.2 },
            done: { signal: "cycle-complete", style: "until start", width: 0 },
            needs: [
              { device: "lathe.door", position: "closed" },
              { device: "lathe.chuck", position: "closed" },
            ],
            holder: "lathe.chuck",
            makes: "done",
          }),
        ],
      },
    ],
    holders: [
      { name: "raw", places: passes, start: "part" },
      { name: "finished", places: passes },
      { name: "lathe.chuck", device: "lathe.chuck" },
    ],
    inputs: ["door-is-open", "door-is-closed", "cycle-complete"],
    outputs: ["grip", "door-open", "chuck-toggle", "cycle-start"],
    routines: {
      main: [each(["raw", "finished"], [run("pick"), run("load"), run("machine"), run("unload")])],
      pick: [go("raw"), hold("grip", "raw"), dwell(0.5)],
      load: [
        drive("door-open", true),
        go("at-door"),
        wait("door-is-open"),
        go("lathe.chuck"),
        pulse("chuck-toggle", 0.2),
        dwell(0.6),
        free("grip", "lathe.chuck"),
        dwell(0.5),
        go("at-door"),
      ],
      machine: [drive("door-open", false), wait("door-is-closed"), pulse("cycle-start", 0.2), wait("cycle-complete")],
      unload: [
        drive("door-open", true),
        wait("door-is-open"),
        go("lathe.chuck"),
        hold("grip", "lathe.chuck"),
        dwell(0.5),
        pulse("chuck-toggle", 0.2),
        dwell(0.6),
        go("lathe.chuck", near),
        go("finished"),
        free("grip", "finished"),
        dwell(0.5),
      ],
    },
  });
}

describe("one gripper, lathe with door and toggling chuck", () => {
  /*
   * Nominal: door 1.5 s, chuck 0.5 s, grip 0.3 s, turning 12 s, every motion 1 s, scan 0.01 s. Pass 0 from 0 s:
   *
   *   pick[0]    go raw          0.00  1.00
   *   pick[1]    hold            1.00  1.00   grip to closed 1.00-1.30
   *   pick[2]    dwell           1.00  1.50
   *   load[0]    drive door      1.50  1.50   door to open 1.50-3.00, seen 3.01
   *   load[1]    go at-door      1.50  2.50
   *   load[2]    wait            2.50  3.01
   *   load[3]    go chuck        3.01  4.01
   *   load[4]    pulse           4.01  4.21   rising edge: chuck to closed 4.01-4.51
   *   load[5]    dwell 0.6       4.21  4.81
   *   load[6]    free            4.81  4.81   grip to open 4.81-5.11
   *   load[7]    dwell           4.81  5.31
   *   load[8]    go at-door      5.31  6.31
   *   machine[0] drive           6.31  6.31   door to closed 6.31-7.81, seen 7.82
   *   machine[1] wait            6.31  7.82
   *   machine[2] pulse           7.82  8.02   rising edge: turning 7.82-19.82, seen 19.83
   *   machine[3] wait            8.02 19.83
   *   unload[0]  drive          19.83 19.83   door to open 19.83-21.33, seen 21.34
   *   unload[1]  wait           19.83 21.34
   *   unload[2]  go chuck       21.34 22.34
   *   unload[3]  hold           22.34 22.34   grip to closed 22.34-22.64
   *   unload[4]  dwell          22.34 22.84
   *   unload[5]  pulse          22.84 23.04   chuck to open 22.84-23.34
   *   unload[6]  dwell          23.04 23.64
   *   unload[7]  go near chuck  23.64 24.64
   *   unload[8]  go finished    24.64 25.64
   *   unload[9]  free           25.64 25.64   grip to open 25.64-25.94
   *   unload[10] dwell          25.64 26.14
   *
   * The door is already open in pass 1, so load[2] does not wait there: load[1] ends at 28.64 (26.14 + 1 + 0.5 + 1) and the
   * wait has zero length. From pass 1 on a pass is 0.51 s shorter: 25.63 s.
   */
  const nominal = simulate(lathe(5), timedMover(), { variant: "part", pace: "nominal" });

  it("has the chart computed by hand", () => {
    expect(bars(nominal, "arm").slice(0, 27)).toEqual([
      ["pick[0]", 0, 1],
      ["pick[1]", 1, 1],
      ["pick[2]", 1, 1.5],
      ["load[0]", 1.5, 1.5],
      ["load[1]", 1.5, 2.5],
      ["load[2]", 2.5, 3.01],
      ["load[3]", 3.01, 4.01],
      ["load[4]", 4.01, 4.21],
      ["load[5]", 4.21, 4.81],
      ["load[6]", 4.81, 4.81],
      ["load[7]", 4.81, 5.31],
      ["load[8]", 5.31, 6.31],
      ["machine[0]", 6.31, 6.31],
      ["machine[1]", 6.31, 7.82],
      ["machine[2]", 7.82, 8.02],
      ["machine[3]", 8.02, 19.83],
      ["unload[0]", 19.83, 19.83],
      ["unload[1]", 19.83, 21.34],
      ["unload[2]", 21.34, 22.34],
      ["unload[3]", 22.34, 22.34],
      ["unload[4]", 22.34, 22.84],
      ["unload[5]", 22.84, 23.04],
      ["unload[6]", 23.04, 23.64],
      ["unload[7]", 23.64, 24.64],
      ["unload[8]", 24.64, 25.64],
      ["unload[9]", 25.64, 25.64],
      ["unload[10]", 25.64, 26.14],
    ]);
    expect(bars(nominal, "lathe.door").slice(0, 3)).toEqual([
      ["to open", 1.5, 3],
      ["to closed", 6.31, 7.81],
      ["to open", 19.83, 21.33],
    ]);
    expect(bars(nominal, "lathe.chuck").slice(0, 2)).toEqual([
      ["to closed", 4.01, 4.51],
      ["to open", 22.84, 23.34],
    ]);
    expect(bars(nominal, "grip").slice(0, 4)).toEqual([
      ["to closed", 1, 1.3],
      ["to open", 4.81, 5.11],
      ["to closed", 22.34, 22.64],
      ["to open", 25.64, 25.94],
    ]);
    expect(bars(nominal, "lathe.turning")[0]).toEqual(["lathe.turning", 7.82, 19.82]);
  });

  it("gives movements that nothing waits for the time that is left of their dwell", () => {
    const slacks = (lane: string) => nominal.activities.filter((a) => a.lane === lane).map((a) => round(a.slack));
    // Closed at 1.3, relied on when the arm moves at 1.5; open 5.11, 5.31; closed 22.64, chuck opens 22.84; open 25.94, 26.14.
    expect(slacks("grip").slice(0, 4)).toEqual([0.2, 0.2, 0.2, 0.2]);
    // Closed at 4.51, part freed at 4.81; open at 23.34, the arm moves at 23.64.
    expect(slacks("lathe.chuck").slice(0, 2)).toEqual([0.3, 0.3]);
    // Opens for load[2] in pass 0, which waits for it; everything waits for turning.
    expect(slacks("lathe.door").slice(0, 3)).toEqual([0, 0, 0]);
    expect(slacks("lathe.turning")).toEqual([0, 0, 0, 0, 0]);
    const chuck = nominal.activities.find((a) => a.lane === "lathe.chuck")!;
    expect(chuck.critical).toBe(false);
  });

  it("has the steady period, shares and use computed by hand", () => {
    expect(nominal.outcome).toBe("complete");
    expect(nominal.problems).toEqual([]);
    expect(nominal.partsFinished).toBe(5);
    expect(round(nominal.duration)).toBe(round(26.14 + 4 * 25.63));
    expect(nominal.steady.basis).toBe("repeating passes");
    expect(round(nominal.period)).toBe(25.63);
    expect(round(nominal.partsPerHour)).toBe(round(3600 / 25.63));
    // Waits in a steady pass: 1.51 for the door to close, 11.81 for turning, 1.51 for the door to open.
    expect(round(nominal.robot_s)).toBe(round(25.63 - 1.51 - 11.81 - 1.51));
    expect(nominal.machines).toHaveLength(1);
    expect(round(nominal.machines[0]!.spindleBusy_s)).toBe(12);
    expect(round(nominal.spindleIdle_s)).toBe(13.63);
    expect(nominal.bound.by).toBe("lathe.turning");
  });
});

it.each([
  ["fastest", 1, 10],
  ["slowest", 2, 14],
] as [Pace, number, number][])("at the pace %s", (pace, door, turning) => {
  // Steady pass: motions 7 s, hold/free dwells 4 x 0.5, pulses 3 x 0.2, chuck dwells 2 x 0.6; waits door twice,
  // turning less the start pulse that runs beside it, 3 scans.
  const record = simulate(lathe(5), timedMover(), { variant: "part", pace });
  expect(record.problems).toEqual([]);
  expect(round(record.period)).toBe(round(7 + 2 + 0.6 + 1.2 + 2 * door + turning - 0.2 + 0.03));
});
