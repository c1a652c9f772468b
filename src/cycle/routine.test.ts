/** How routines are walked: chains of motions, places, branches, variants, people, holders that fill and empty. */
import { describe, expect, it } from "vitest";
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
  input,
  level,
  near,
  off,
  on,
  part,
  press,
  process,
  pulse,
  range,
  run,
  timedMover,
  wait,
  when,
} from "../../test/cycle/builders.ts";
import { type Steps, shop } from "../../test/cycle/shop.ts";
import type { Activity, CycleOptions, MoveContext } from "./index.ts";
import { simulate } from "./simulate.ts";

type Seen = { chain: string[]; context: MoveContext }[];

/** A gripper that takes no time, two trays of three, a nest, two variants. */
function bench(main: Steps, more: Partial<CellSpec> = {}) {
  return cell({
    parts: [part("part", {}, ["raw", "done"]), part("long")],
    grippers: ["A", "B"].map((name) => ({
      device: { name, start: "open", command: level(`grip-${name}`, "closed", "open"), time: range(0) },
    })),
    holders: [
      { name: "raw", places: 3, start: "part" },
      { name: "finished", places: 3 },
      { name: "infeed", kind: "nest", start: "part" },
      { name: "outfeed", kind: "nest" },
    ],
    outputs: ["grip-A", "grip-B", "lamp"],
    inputs: ["sensor"],
    ...more,
    routines: { main, ...more.routines },
  });
}

function simulated(main: Steps, more: Partial<CellSpec> = {}, options: Partial<CycleOptions> = {}) {
  const seen: Seen = [];
  const record = simulate(bench(main, more), timedMover(1, seen), { variant: "part", pace: "nominal", ...options });
  return { record, chains: seen.map((s) => s.chain), seen, problems: record.problems.map((p) => p.code) };
}

const blend = { blend: 0.02 };

describe("chains of motions", () => {
  it("join blended motions, also across the border of a run and into a branch on the variant", () => {
    const { chains, problems, record } = simulated(
      [
        go("a", blend),
        run("sub"),
        go("d", blend),
        when({ kind: "variant", part: "part" }, [go("e", blend)], [go("x")]),
        when({ kind: "variant", part: "long" }, [go("x")]),
        go("f"),
        dwell(1),
      ],
      { routines: { sub: [go("b", blend), go("c", blend)] } },
    );
    expect(chains).toEqual([["main[0]", "sub[0]", "sub[1]", "main[2]", "main[3].then[0]", "main[5]"]]);
    expect(problems).toEqual(["no-part-finished"]);
    expect(record.steps).toBe(7);
    expect(record.moves[0]!.steps).toHaveLength(6);
  });

  it("end where something else may come between, and say so", () => {
    const signal = { kind: "signal", signal: "sensor", is: true } as const;
    const full = { kind: "holder", holder: "raw", has: "part" } as const;
    for (const next of [
      [dwell(1)],
      [when(signal, [], [go("b")])],
      [when({ kind: "not", of: { kind: "all", of: [full] } }, [], [go("b")])],
      [each(2, [go("b")])],
      [go("b", { gripper: "B" })],
      [],
    ]) {
      const { chains, problems } = simulated([go("a", blend), ...next]);
      expect(chains[0]).toEqual(["main[0]"]);
      expect(problems).toContain("blend-without-effect");
    }
  });

  it("end with the pass of an `each`", () => {
    const { chains } = simulated([each(2, [go("a"), go("b", blend)])]);
    expect(chains).toEqual([["main[0].do[0]"], ["main[0].do[1]"], ["main[0].do[0]"], ["main[0].do[1]"]]);
  });

  it("are asked for with the places, the load and the gripper in use", () => {
    const { seen } = simulated([
      each(
        ["raw", "finished"],
        [go("raw"), hold("A", "raw"), go("finished"), free("A", "finished"), go("b", { gripper: "B" }), go("c")],
      ),
    ]);
    const second = seen.slice(4, 8).map((s) => s.context);
    expect(second.map((c) => c.places.get("raw"))).toEqual([1, 1, 1, 1]);
    expect(second.map((c) => [...c.held])).toEqual([[], [["A", { part: "part", stage: "raw", grip: "end" }]], [], []]);
    expect(seen.slice(0, 4).map((s) => s.context.gripper)).toEqual(["A", "A", "B", "B"]);
    // Named last: B, until `hold` names A again.
    expect(second.map((c) => c.gripper)).toEqual(["B", "A", "B", "B"]);
  });

  it("lay the time of each step out within the chain", () => {
    const { record } = simulated([
      go("a", { ...blend, seconds: 2 }),
      go("b", { ...blend, seconds: 0.5 }),
      go("c", { seconds: 1 }),
    ]);
    expect(bars(record, "arm").map(([, start, end]) => [start, end])).toEqual([
      [0, 2],
      [2, 2.5],
      [2.5, 3.5],
    ]);
    expect(record.moves).toHaveLength(1);
    expect(record.moves[0]).toMatchObject({ kind: "go", start: 0, end: 3.5, activity: 0, pass: -1 });
  });
});

describe("each and when", () => {
  it("number passes over the run, with the place of an inner each shadowing an outer one", () => {
    const { seen, record } = simulated([
      each(["raw"], [go("raw"), each(["raw"], [go("raw")]), go("raw")]),
      each(2, [go("raw")]),
    ]);
    expect(seen.map((s) => s.context.places.get("raw"))).toEqual([
      0,
      0,
      1,
      2,
      0,
      1,
      0,
      1,
      2,
      1,
      2,
      0,
      1,
      2,
      2,
      undefined,
      undefined,
    ]);
    expect(record.passes.map((p) => [p.index, p.stepId, p.start, p.end])).toEqual([
      [0, "main[0]", 0, 5],
      [1, "main[0]", 5, 10],
      [2, "main[0]", 10, 15],
      [3, "main[1]", 15, 16],
      [4, "main[1]", 16, 17],
    ]);
    expect(record.activities.map((a) => a.pass)).toEqual([0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 3, 4]);
  });

  it("choose by pass, variant, contents of holders and grippers, and signals", () => {
    const labels = (main: Steps, more = {}, options = {}) =>
      simulated(main, more, options)
        .record.activities.filter((a) => a.kind === "dwell")
        .map((a) => `${a.pass}:${a.label.split(".").slice(2).join(".")}`);
    expect(
      labels([
        each(3, [
          when({ kind: "pass", which: "first" }, [dwell(1)]),
          when({ kind: "pass", which: "last" }, [dwell(1)]),
        ]),
      ]),
    ).toEqual(["0:then[0]", "2:then[0]"]);
    const byVariant: Steps = [each(1, [when({ kind: "variant", part: "long" }, [dwell(1)], [dwell(2)])])];
    expect(labels(byVariant)).toEqual(["0:otherwise[0]"]);
    expect(labels(byVariant, {}, { variant: "long" })).toEqual(["0:then[0]"]);
    const holder = (has: "part" | "nothing" | { stage: string }) => ({ kind: "holder", holder: "raw", has }) as const;
    const gripper = (has: "part" | "nothing" | { stage: string }) => ({ kind: "gripper", gripper: "A", has }) as const;
    const probe = (condition: Parameters<typeof when>[0]) => when(condition, [dwell(1)], [dwell(2)]);
    expect(
      labels([
        each(
          ["raw"],
          [
            probe(holder("part")),
            probe(holder({ stage: "raw" })),
            probe(holder({ stage: "done" })),
            probe(gripper("nothing")),
            go("raw"),
            when({ kind: "pass", which: "first" }, [hold("A", "raw"), go("b")]),
            probe({ kind: "all", of: [holder("nothing"), gripper({ stage: "raw" })] }),
            probe({ kind: "not", of: gripper("part") }),
          ],
        ),
      ]).map((l) => l.replace("[0]", "")),
    ).toEqual(
      [0, 1, 2].flatMap((pass) => [
        `${pass}:then`,
        `${pass}:then`,
        `${pass}:otherwise`,
        `${pass}:${pass === 0 ? "then" : "otherwise"}`,
        `${pass}:${pass === 0 ? "then" : "otherwise"}`,
        `${pass}:otherwise`,
      ]),
    );
  });

  it("do nothing when there is nothing to walk", () => {
    expect(simulated([each(0, [go("a")]), go("b")]).chains).toEqual([["main[1]"]]);
    expect(simulated([]).record).toMatchObject({
      outcome: "complete",
      duration: 0,
      period: 0,
      partsPerHour: 0,
      activities: [],
    });
  });
});

describe("people", () => {
  const button = input("button", { operator: { delay: range(2, 4) } });
  const held = input("held", { operator: { delay: range(1), hold: 0.5 } });

  it("give an input after it is awaited, at every pace, and take it away when that is awaited", () => {
    const main = [dwell(1), wait("button"), wait("button"), dwell(1), wait(off("button"))];
    for (const [pace, delay] of [
      ["fastest", 2],
      ["nominal", 3],
      ["slowest", 4],
    ] as const) {
      const { record } = simulated(main, { inputs: [button], scan: 0.5 }, { pace });
      // Seen one scan time later; the second wait finds it still on.
      expect(bars(record, "arm").map(([, start, end]) => [start, end])).toEqual([
        [0, 1],
        [1, 1 + delay + 0.5],
        [1.5 + delay, 1.5 + delay],
        [1.5 + delay, 2.5 + delay],
        [2.5 + delay, 3 + 2 * delay],
      ]);
      expect(record.activities.filter((a) => a.kind === "operator").map((a) => [a.lane, a.label, a.startedBy])).toEqual(
        [
          ["button", "gives", "main[1]"],
          ["button", "takes away", "main[4]"],
        ],
      );
    }
  });

  it("press a button again each time when it does not stay", () => {
    const { record } = simulated([each(3, [wait("held"), dwell(1)])], { inputs: [held], scan: 0.1 });
    expect(bars(record, "held").map(([, start, end]) => [start, end])).toEqual([
      [0, 1],
      [2.1, 3.1],
      [4.2, 5.2],
    ]);
    expect(record.signals.find((s) => s.signal === "held")!.edges.map((e) => e.level)).toEqual([
      true,
      false,
      true,
      false,
      true,
      false,
    ]);
  });

  it("need not take away what goes off by itself", () => {
    const { record } = simulated([wait("held"), wait(off("held"))], { inputs: [held], scan: 0.1 });
    expect(bars(record, "held").map(([, start, end]) => [start, end])).toEqual([[0, 1]]);
    expect(record.duration).toBeCloseTo(1.6, 12);
  });

  it("are missed when they press for less than a scan time", () => {
    const { record, problems } = simulated([wait("held")], { inputs: [held], scan: 0.6 });
    expect(record.outcome).toBe("deadlock");
    expect(problems).toContain("input-too-short");
  });
});

describe("machines", () => {
  it("move their own devices before and after a process, and report it by a pulse", () => {
    /*
     * Start at 0 by level. Door closes 0-1, blow on 1-1.25, wash 1.25-3.25, blow off 3.25-3.5, door opens 3.5-4.5,
     * complete at 4.5 for 0.5 s, seen at 4.6. `running` from 0 to 4.5.
     */
    const record = simulate(
      cell({
        scan: 0.1,
        machines: [
          {
            name: "m",
            devices: [
              { name: "m.door", start: "open", command: { style: "none" }, time: range(1) },
              { name: "m.blow", positions: ["off", "on"], start: "off", command: { style: "none" }, time: range(0.25) },
            ],
            processes: [
              process({
                name: "m.wash",
                machine: "m",
                start: { signal: "wash", style: "level", width: 0 },
                time: range(2),
                running: "washing",
                done: { signal: "washed", style: "pulse", width: 0.5 },
                // Not lost when the machine itself then closes the door.
                needs: [{ device: "m.door", position: "open" }],
                before: [
                  { device: "m.door", position: "closed" },
                  { device: "m.blow", position: "on" },
                ],
                after: [
                  { device: "m.blow", position: "off" },
                  { device: "m.door", position: "open" },
                ],
              }),
            ],
          },
        ],
        holders: [],
        inputs: ["washing", "washed"],
        outputs: ["wash"],
        routines: {
          main: [
            drive("wash", true),
            wait("washed"),
            dwell(1),
            drive("wash", false),
            dwell(1),
            drive("wash", true),
            wait("washed"),
          ],
        },
      }),
      timedMover(),
      { variant: "part", pace: "nominal" },
    );
    expect(bars(record, "m.door").slice(0, 2)).toEqual([
      ["to closed", 0, 1],
      ["to open", 3.5, 4.5],
    ]);
    expect(bars(record, "m.blow").slice(0, 2)).toEqual([
      ["to on", 1, 1.25],
      ["to off", 3.25, 3.5],
    ]);
    expect(bars(record, "m.wash").map(([, start, end]) => [start, end])).toEqual([
      [1.25, 3.25],
      [7.85, 9.85],
    ]);
    const edges = (name: string) =>
      record.signals.find((s) => s.signal === name)!.edges.map((e) => [Number(e.time.toFixed(6)), e.level]);
    expect(edges("washing")).toEqual([
      [0, true],
      [4.5, false],
      [6.6, true],
      [11.1, false],
    ]);
    expect(edges("washed").slice(0, 2)).toEqual([
      [4.5, true],
      [5, false],
    ]);
    expect(bars(record, "arm")[1]).toEqual(["main[1]", 0, 4.6]);
    // The level was still on at completion: one start per rising edge.
    expect(record.problems.filter((p) => p.code !== "no-part-finished")).toEqual([]);
    // The whole engagement is on the critical path.
    expect(record.activities.filter((a) => a.lane !== "arm").every((a) => a.critical)).toBe(true);
  });

  it("start by a held level when the last need is met", () => {
    const record = simulate(
      shop([drive("wash", true), drive("door-open", true), wait("washed")], {
        inputs: ["washed", "door-is-open", "door-is-closed", "vise-open", "vise-closed", "done"],
        scan: 0,
      }),
      timedMover(),
      { variant: "part", pace: "nominal" },
    );
    expect(bars(record, "mill.wash")).toEqual([["mill.wash", 1, 2]]);
    expect(record.duration).toBe(2);
    const door = record.activities.find((a) => a.lane === "mill.door")!;
    expect(record.activities.find((a) => a.lane === "mill.wash")!.after[0]).toBe(door.index);
  });

  it("take the time of the part in their holder, by variant", () => {
    const spec = (variant: string) =>
      simulate(
        cell({
          parts: [part("short", { "m.p": range(3) }), part("long", { "m.p": range(7) }), part("plain")],
          machines: [
            {
              name: "m",
              devices: [],
              processes: [
                process({
                  name: "m.p",
                  machine: "m",
                  start: { signal: "start", style: "pulse", width: 0 },
                  time: range(5),
                  done: { signal: "done", style: "until start", width: 0 },
                  holder: "fixture",
                  makes: "done",
                }),
              ],
            },
          ],
          holders: [{ name: "fixture", kind: "nest", start: "long" }],
          inputs: ["done"],
          outputs: ["start"],
          routines: { main: [pulse("start", 0), wait("done")] },
        }),
        timedMover(),
        { variant, pace: "nominal" },
      ).duration;
    // The part in the fixture is a long one whatever is run: nothing takes parts from the fixture.
    expect(spec("short")).toBe(7);
    expect(spec("plain")).toBe(7);
  });

  it("report a gripper's feedback and part present, in the order in which they come", () => {
    const main: Steps = [
      go("raw"),
      hold("A", "raw"),
      wait("present"),
      go("finished"),
      free("A", "finished"),
      wait(off("present")),
    ];
    const { record, problems } = simulated(main, {
      scan: 0.1,
      grippers: [
        {
          device: {
            name: "A",
            start: "open",
            command: {
              style: "pair",
              signals: new Map([
                ["open", "a-open"],
                ["closed", "a-close"],
              ]),
            },
            time: range(0.2, 0.4),
            feedback: { open: "a-is-open", closed: "a-is-closed" },
          },
          partPresent: "present",
        },
      ],
      inputs: ["a-is-open", "a-is-closed", "present"],
      outputs: ["a-open", "a-close"],
    });
    expect(problems).toEqual([]);
    // Nominal 0.3 s: hold 1-1.4 (seen 0.1 s later), wait at once, motion 1.4-2.4, free 2.4-2.8.
    expect(bars(record, "arm").map(([, start, end]) => [start, end])).toEqual([
      [0, 1],
      [1, 1.4],
      [1.4, 1.4],
      [1.4, 2.4],
      [2.4, 2.8],
      [2.8, 2.8],
    ]);
    expect(record.robotBusy_s).toBeCloseTo(2.8, 12);
    expect(record.problems).toEqual([]);
  });
});

describe("holders", () => {
  it("fill and empty again when they are an infeed and an outfeed", () => {
    const { record, problems } = simulated([
      each(5, [go("infeed"), hold("A", "infeed"), go("outfeed"), free("A", "outfeed")]),
    ]);
    expect(problems).toEqual([]);
    expect(record.partsFinished).toBe(5);
    expect(record.period).toBe(2);
  });

  it("finish a part only when it is not taken up again", () => {
    const put = [go("raw"), hold("A", "raw"), go("finished"), free("A", "finished")];
    expect(simulated(put).record.partsFinished).toBe(1);
    expect(simulated([...put, hold("A", "finished"), go("a")]).record.partsFinished).toBe(0);
  });

  it("do not fill or empty when parts both come and go, or a process works there", () => {
    const stand = [go("stand"), hold("A", "stand"), go("finished"), free("A", "finished")];
    const both = simulated(
      [each(["finished"], [...stand, when({ kind: "pass", which: "last" }, [free("A", "stand")])])],
      {
        holders: [
          { name: "finished", places: 2 },
          { name: "stand", kind: "nest", start: "part" },
        ],
      },
    );
    expect(both.problems).toContain("hold-nothing");
    const worked = simulated([each(2, [go("infeed"), hold("A", "infeed"), go("washer"), free("A", "washer")])], {
      holders: [
        { name: "infeed", kind: "nest", start: "part" },
        { name: "washer", kind: "nest" },
      ],
      machines: [
        {
          name: "m",
          devices: [],
          processes: [
            process({
              name: "m.p",
              machine: "m",
              start: { signal: "lamp", style: "pulse", width: 0 },
              time: range(1),
              holder: "washer",
            }),
          ],
        },
      ],
    });
    expect(worked.problems).toContain("place-occupied");
  });

  it("hold the variant being run where all variants are taken from one holder", () => {
    const main: Steps = [
      each(["raw", "finished"], [go("raw"), hold("A", "raw"), go("finished"), free("A", "finished")]),
    ];
    const { record, problems } = simulated(main, {}, { variant: "long" });
    expect(problems).toEqual([]);
    expect(record.completions.map((c) => c.part)).toEqual(["long", "long", "long"]);
  });
});

it("counts a wait for any of several on the one that came first", () => {
  const main: Steps = [
    drive("door-open", true),
    drive("clamp", true),
    dwell(3),
    wait({ kind: "any", of: [on("door-is-open"), on("vise-closed")] }),
    dwell(1),
  ];
  const record = simulate(shop(main), timedMover(), { variant: "part", pace: "nominal" });
  const [door, vise, waits] = ["mill.door", "mill.vise", "arm"].map(
    (lane) => record.activities.find((a) => a.lane === lane && (lane !== "arm" || a.kind === "wait"))!,
  ) as [Activity, Activity, Activity];
  // The vise closes at 0.75 s and is seen at 0.76, the door opens at 1 s: it could take until the end of the run, 4 s.
  expect(waits.after).toContain(vise.index);
  expect(waits.after).not.toContain(door.index);
  expect(door.slack).toBeCloseTo(3, 12);
  expect(vise.slack).toBeCloseTo(2.24, 12);
});

it("counts a clamp that has not yet opened as still holding", () => {
  const main: Steps = [go("mill.chuck"), pulse("toggle", 0.2), hold("grip", "mill.chuck"), dwell(1)];
  const record = simulate(shop(main), timedMover(), { variant: "part", pace: "fastest" });
  // The chuck opens 1-1.5 s, the jaws close 1.2-1.4 s.
  expect(record.sharedHolds).toHaveLength(1);
  expect(record.sharedHolds[0]!.start).toBeCloseTo(1.4, 12);
  expect(record.sharedHolds[0]!.end).toBeCloseTo(1.5, 12);
});

it("records outputs that work nothing", () => {
  const { record } = simulated([drive("lamp", true), dwell(1), drive("lamp", true), dwell(1), drive("lamp", false)]);
  expect(record.signals.find((s) => s.signal === "lamp")).toEqual({
    signal: "lamp",
    initial: false,
    edges: [
      { time: 0, level: true },
      { time: 2, level: false },
    ],
  });
});

it("tells its progress and can be cancelled", () => {
  const progress: [number, number][] = [];
  const main = [each(3, [dwell(1)]), each(2, [dwell(1)])];
  simulated(main, {}, { onProgress: (done, total) => progress.push([done, total]) });
  expect(progress).toEqual([
    [0, 3],
    [1, 3],
    [2, 3],
    [3, 5],
    [4, 5],
    [5, 5],
  ]);
  let asked = 0;
  const { record } = simulated(main, {}, { cancelled: () => ++asked > 3 });
  expect(record).toMatchObject({ outcome: "cancelled", duration: 3, steps: 3 });
});

it("refuses a variant that is no part of the cell", () => {
  expect(() => simulated([], {}, { variant: "none" })).toThrow(
    'simulate: variant must be a part of the cell (part, long), got "none"',
  );
});

it("takes a part held beside a place for not being in it", () => {
  const main: Steps = [
    go("raw"),
    hold("grip", "raw"),
    dwell(0.5),
    go("mill.vise", near),
    drive("clamp", true),
    wait("vise-closed"),
    go("a"),
  ];
  const record = simulate(shop(main), timedMover(), { variant: "part", pace: "nominal" });
  expect(record.problems.map((p) => p.code)).toEqual(["no-part-finished"]);
  expect(record.sharedHolds).toEqual([]);
});

it("presses at a place displaced by the way to the contact", () => {
  // After a press the arm counts as at the place: clamp and gripper then share the part, and moving away is an error.
  const pick: Steps = [go("raw"), hold("grip", "raw"), dwell(0.5), go("mill.vise", near), press(2)];
  const codes = (rest: Steps) =>
    simulate(shop([...pick, ...rest]), timedMover(), { variant: "part", pace: "nominal" }).problems.map((p) => p.code);
  expect(codes([drive("clamp", true), wait("vise-closed"), go("a")])).toContain("moved-while-both-hold");
  expect(codes([drive("clamp", true), wait("vise-closed"), free("grip", "mill.vise"), dwell(0.5), go("a")])).toEqual([
    "no-part-finished",
  ]);
});
