import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import {
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
  off,
  on,
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
import { simulate } from "./simulate.ts";
import type { Mover } from "./types.ts";

const pick: Steps = [go("raw"), hold("grip", "raw"), dwell(0.5)];
const release: Steps = [free("grip", "finished"), dwell(0.5)];
const put: Steps = [go("finished"), ...release];
const intoVise: Steps = [...pick, go("mill.vise")];
const clampedInVise: Steps = [
  ...intoVise,
  drive("clamp", true),
  wait("vise-closed"),
  free("grip", "mill.vise"),
  dwell(0.5),
];

function problemsOf(main: Steps, more?: Parameters<typeof shop>[1], mover: Mover<{ message: string }> = timedMover()) {
  const record = simulate(shop(main, more), mover, { variant: "part", pace: "nominal", maxSteps: 500 });
  // Most of these routines make no part, or put a raw one down.
  const aside = ["no-part-finished", "part-left-unfinished"];
  return { record, problems: record.problems.filter((p) => !aside.includes(p.code)) };
}

/** Code, severity, step, part of the message, steps; each list must be the only problem unless `also` names others. */
type Case = readonly [
  code: string,
  severity: string,
  step: string,
  says: string,
  main: Steps,
  also?: string[],
  more?: Parameters<typeof shop>[1],
];

const cases: readonly Case[] = [
  ["blend-without-effect", "caution", "main[0]", "40 mm", [go("a", { blend: 0.04 }), dwell(1)]],
  ["blend-without-effect", "caution", "main[0]", "nothing is sure to follow", [go("a", { blend: 0.04 })]],
  [
    "pair-conflict",
    "error",
    "main[2]",
    "door-open (open) and door-close (closed)",
    [drive("door-open", true), dwell(2), drive("door-close", true), dwell(2), drive("door-open", false)],
  ],
  [
    "pulse-too-short",
    "error",
    "main[0]",
    "lasts 0.1 s; mill.chuck needs at least 0.2 s and does not react",
    [pulse("toggle", 0.1)],
  ],
  [
    "pulse-too-short",
    "error",
    "main[2]",
    "lasts 0.1 s; mill.lamp needs at least 0.3 s and may not react",
    [drive("lamp-on", true), dwell(0.1), drive("lamp-on", false)],
  ],
  ["pulse-too-short", "error", "main[0]", "mill.milling", [pulse("start", 0.1)]],
  ["pulses-too-close", "error", "main[1]", "begins 0 s after", [pulse("lamp-on", 0.3), pulse("lamp-on", 0.3)]],
  ["pulse-on-high-signal", "error", "main[1]", "already on", [drive("lamp-on", true), pulse("lamp-on", 0.3)]],
  [
    "input-too-short",
    "warning",
    "main[2]",
    "washed is on for 0.005 s",
    [drive("door-open", true), wait("door-is-open"), drive("wash", true), dwell(3)],
  ],
  [
    "stale-input",
    "error",
    "main[1]",
    "door-is-closed went off 0 s before",
    [drive("door-open", true), wait("door-is-closed")],
  ],
  ["await-never", "error", "main[0]", "nothing in the cell file drives it", [wait("nobody")]],
  ["await-never", "error", "main[0]", "stated to be off always", [wait("fixed")]],
  ["await-never", "error", "main[0]", "mill.milling, which was never started", [wait("done")]],
  ["await-never", "error", "main[0]", "mill.door is open, which stands closed", [wait("door-is-open")]],
  ["await-never", "error", "main[0]", "only the routine itself switches", [wait("lamp-on")]],
  ["await-never", "error", "main[1]", "waits for mill.door closed (needs open)", [drive("wash", true), wait("washed")]],
  [
    "await-never",
    "error",
    "main[0]",
    "nobody is not on; nothing in the cell file drives it, nor: fixed",
    [wait({ kind: "any", of: [on("nobody"), on("fixed")] })],
  ],
  [
    "await-never",
    "error",
    "main[0]",
    "nobody is not on",
    [wait({ kind: "all", of: [on("nobody"), on("door-is-closed"), off("done")] })],
  ],
  [
    "await-limit-passed",
    "error",
    "main[1]",
    'limit of 0.8 s passes: door-is-open is not on; it tells that mill.door is open, which still moves to open (door-open is on, door-close is off); the routine stops ("door!")',
    [drive("door-open", true), wait("door-is-open", { limit: 0.8, otherwise: { kind: "stop", message: "door!" } })],
  ],
  [
    "await-never",
    "error",
    "main[5]",
    "stands open (lamp-off is off, lamp-on is on); it moves on a rising edge only, and lamp-on has been left on",
    [drive("lamp-on", true), dwell(1), pulse("lamp-off", 0.3), dwell(1), drive("lamp-on", true), wait("lit")],
    [],
    { machines: litLamp(), inputs: ["lit"] },
  ],
  [
    "dwell-too-short",
    "error",
    "main[2]",
    "ends 0.3 s after main[1] told grip to become closed; it can take 0.4 s",
    [go("raw"), hold("grip", "raw"), dwell(0.3), ...put],
  ],
  [
    "dwell-too-short",
    "warning",
    "main[1]",
    "ends 0.35 s after main[0] told mill.lamp to become closed; it can take 0.6 s",
    [pulse("lamp-on", 0.3), dwell(0.05), go("a")],
    [],
    { machines: slowLamp() },
  ],
  ["dwell-missing", "error", "main[1]", "moves 0 s after grip", [go("raw"), hold("grip", "raw"), go("a")]],
  [
    "dwell-missing",
    "error",
    "main[3]",
    "moves 0.2 s after mill.chuck was told to become open; it can take 0.5 s",
    [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.4), pulse("toggle", 0.2), go("a")],
    ["moved-while-both-hold"],
  ],
  [
    "hold-nothing",
    "error",
    "main[1]",
    "finished place 1 has no part",
    [go("finished"), hold("grip", "finished"), dwell(0.5)],
  ],
  ["hold-already-closed", "error", "main[3]", "already closed on a part", [...pick, hold("grip", "raw")]],
  ["free-already-open", "warning", "main[0]", "already open", [free("grip", "raw")]],
  ["free-nothing", "warning", "main[2]", "without holding", [drive("grip", true), dwell(1), free("grip", "raw")]],
  [
    "place-occupied",
    "error",
    "main[4]",
    "(part, raw) already is",
    [...pick, go("raw", { place: 1 }), { ...free("grip", "mill.chuck") }],
    ["free-away-from-place"],
  ],
  [
    "part-not-accepted",
    "error",
    "main[4]",
    "picky takes other, but a part part is freed",
    [...pick, go("picky"), free("grip", "picky")],
  ],
  [
    "other-part",
    "warning",
    "main[1]",
    "takes a part other from others while the routine runs for part",
    [go("others"), hold("grip", takenFor({ part: "others", other: "raw" })), dwell(0.5)],
  ],
  [
    "moved-while-both-hold",
    "error",
    "main[3]",
    "mill.chuck is closed",
    [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.5), go("a")],
  ],
  [
    "moved-while-both-hold",
    "error",
    "main[6]",
    "mill.vise is closed",
    [...intoVise, drive("clamp", true), wait("vise-closed"), go("a")],
  ],
  [
    "unclamped-before-held",
    "error",
    "main[2]",
    "opens while grip is still closing",
    [go("mill.chuck"), hold("grip", "mill.chuck"), pulse("toggle", 0.2), dwell(0.5)],
  ],
  ["released-unheld", "caution", "main[0]", "that no gripper holds", [pulse("toggle", 0.2)]],
  [
    "freed-before-clamped",
    "error",
    "main[6]",
    "0.1 s after mill.vise began to close",
    [...intoVise, drive("clamp", true), dwell(0.1), free("grip", "mill.vise"), dwell(2)],
  ],
  ["freed-unclamped", "caution", "main[4]", "mill.vise is open", [...intoVise, free("grip", "mill.vise"), dwell(2)]],
  ["part-dropped", "error", "main[3]", "the part is dropped", [...pick, drive("grip", false)]],
  [
    "hold-away-from-place",
    "error",
    "main[1]",
    "went to finished place 1",
    [go("finished"), hold("grip", "raw"), dwell(0.5)],
  ],
  ["free-away-from-place", "error", "main[4]", "went to raw place 2", [...pick, go("raw", { place: 1 }), ...release]],
  [
    "process-needs-not-met",
    "error",
    "main[2]",
    "mill.door open (needs closed); the start pulse is lost",
    [drive("door-open", true), wait("door-is-open"), pulse("start", 0.2)],
  ],
  [
    "process-needs-not-met",
    "error",
    "main[0]",
    "mill.door closed (needs open); wash went off before they were",
    [drive("wash", true), dwell(0.5), drive("wash", false)],
  ],
  [
    "process-already-running",
    "warning",
    "main[11]",
    "the start is lost",
    [...clampedInVise, go("a"), pulse("start", 0.2), dwell(0.5), pulse("start", 0.2)],
  ],
  [
    "need-lost",
    "error",
    "main[10]",
    "mill.door leaves closed 0.2 s after mill.milling was started",
    [...clampedInVise, go("a"), pulse("start", 0.2), drive("door-open", true)],
  ],
  ["process-without-part", "warning", "main[0]", "no part in mill.vise", [pulse("start", 0.2)]],
  [
    "process-while-held",
    "error",
    "main[6]",
    "grip still holds",
    [...intoVise, drive("clamp", true), wait("vise-closed"), pulse("start", 0.2)],
  ],
  [
    "process-unclamped",
    "error",
    "main[6]",
    "mill.vise is open",
    [...intoVise, free("grip", "mill.vise"), dwell(0.5), pulse("start", 0.2)],
    ["freed-unclamped"],
  ],
  [
    "device-turned-back",
    "warning",
    "main[2]",
    "sent to open 0.3 s after it began to move to closed",
    [drive("clamp", true), dwell(0.3), drive("clamp", false)],
  ],
  ["press-without-part", "warning", "main[0]", "holds no part", [press(1)]],
  [
    "each-leaves-places",
    "caution",
    "main[0]",
    "raw has 2 places, but only 1 passes",
    [each(["raw", "picky"], [dwell(1)])],
  ],
  [
    "no-name-for-variant",
    "error",
    "main[0]",
    "names nothing for the part part",
    [hold("grip", { variants: new Map([["other", "raw"]]) })],
  ],
  ["too-many-steps", "error", "main[0].do[0]", "after 500 steps", [each(501, [dwell(0)])]],
  [
    "too-many-steps",
    "error",
    "",
    "after 500 steps",
    [each(1e9, [when({ kind: "variant", part: "other" }, [dwell(1)])])],
  ],
];

function takenFor(holders: Record<string, string>) {
  return { variants: new Map(Object.entries(holders)) };
}

function litLamp(): NonNullable<CellSpec["machines"]> {
  return slowLamp().map((machine) => ({
    ...machine,
    devices: machine.devices.map((device) => ({ ...device, feedback: { closed: "lit" } })),
  }));
}

function slowLamp(): NonNullable<CellSpec["machines"]> {
  return [
    {
      name: "mill",
      devices: [
        {
          name: "mill.lamp",
          start: "open",
          command: {
            style: "pulse",
            signals: new Map([
              ["open", "lamp-off"],
              ["closed", "lamp-on"],
            ]),
            width: 0.3,
          },
          time: range(0.1, 0.6),
        },
      ],
      processes: [],
    },
  ];
}

describe("problems that a run shows", () => {
  it.each(cases.map((c) => [c[0], c[2], c[3], c] as const))(
    "%s at %s: %s",
    (_code, _step, _says, [code, severity, step, says, main, also = [], more]) => {
      const { problems } = problemsOf(main, more);
      const found = problems.find((p) => p.code === code);
      expect(found, problems.map((p) => `${p.code} ${p.stepId}: ${p.message}`).join("\n")).toBeDefined();
      expect({ severity: found!.severity, step: found!.stepId }).toEqual({ severity, step });
      expect(found!.message).toContain(says);
      expect(found!.mend.length).toBeGreaterThan(10);
      expect(problems.map((p) => p.code).sort()).toEqual([code, ...also].sort());
    },
  );

  it("finds nothing wrong in sound routines", () => {
    const sound: Steps[] = [
      [...pick, ...put],
      [...clampedInVise, go("a"), pulse("start", 0.2), wait("done"), go("b", { blend: 0.01 }), go("c"), dwell(1)],
      [
        drive("door-open", true),
        wait("door-is-open"),
        drive("door-open", false),
        drive("door-close", true),
        wait("door-is-closed"),
      ],
      [pulse("lamp-on", 0.3), dwell(0.1), pulse("lamp-off", 0.3), dwell(0.1)],
      [wait("button"), wait(off("button")), wait(off("fixed"))],
      // A pick from the chuck: both hold, then the chuck opens, then the arm moves.
      [
        go("mill.chuck"),
        hold("grip", "mill.chuck"),
        dwell(0.4),
        pulse("toggle", 0.2),
        dwell(0.3),
        go("mill.chuck", near),
        ...put,
      ],
    ];
    for (const main of sound) expect(problemsOf(main).problems).toEqual([]);
    // A dwell after a motion is not meant for what was commanded before it: a lamp that takes up to 0.6 s.
    const lamp: Steps = [pulse("lamp-on", 0.3), go("a", { seconds: 0.05 }), dwell(0.01), go("b")];
    expect(problemsOf(lamp, { machines: slowLamp() }).problems).toEqual([]);
  });

  it("takes a dwell exactly as long as the slowest time for long enough, however the sums are rounded", () => {
    for (let k = 0; k < 40; k++) {
      const clamped: Steps = [dwell(0.1 * k + 0.01), ...intoVise, drive("clamp", true), dwell(0.7), dwell(0.3)];
      const main = [...clamped, free("grip", "mill.vise"), dwell(2)];
      const { problems } = simulate(shop(main), timedMover(), { variant: "part", pace: "slowest" });
      expect(problems.filter((p) => p.severity === "error")).toEqual([]);
    }
  });

  it("tells that no part, or an unfinished one, is left", () => {
    const codes = (main: Steps) => problemsOf(main).record.problems.map((p) => [p.code, p.severity, p.stepId, p.times]);
    expect(codes([dwell(1)])).toEqual([["no-part-finished", "warning", "", 1]]);
    const carry = each(["raw", "finished"], [go("raw"), hold("grip", "raw"), dwell(0.5), ...put]);
    expect(codes([carry])).toEqual([["part-left-unfinished", "caution", "main[0].do[4]", 2]]);
    const made: Steps = [
      ...clampedInVise,
      go("a"),
      pulse("start", 0.2),
      wait("done"),
      go("mill.vise"),
      hold("grip", "mill.vise"),
      dwell(0.5),
      drive("clamp", false),
      wait("vise-open"),
      ...put,
    ];
    expect(codes(made)).toEqual([]);
  });

  it("counts how often a problem happened, and reports it once", () => {
    const { problems } = problemsOf([each(["raw", "finished"], [go("raw"), hold("grip", "raw"), dwell(0.1), ...put])]);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ code: "dwell-too-short", stepId: "main[0].do[2]", times: 2 });
    expect(problems[0]!.message).toContain("(2 times in the run; this is the first)");
    expect(problems[0]!.path).toEqual(["routines", "main", 0, "do", 2]);
  });

  it("goes on after a motion that cannot be done, from where the mover says", () => {
    const asked: number[] = [];
    const mover: Mover<{ message: string }> = {
      ...timedMover(),
      go(chain, context) {
        asked.push(context.q[0]!);
        if (chain[0]!.id === "main[1]")
          return { ok: false, failure: { message: "350 mm out of reach." }, step: 0, resume: Float64Array.of(7) };
        return { ok: true, duration: 1, perStep: [1], end: Float64Array.of(context.q[0]! + 1), motion: undefined };
      },
    };
    const { problems, record } = problemsOf([go("a"), go("b"), go("c"), go("d")], {}, mover);
    expect(problems).toMatchObject([
      { code: "motion-failed", severity: "error", stepId: "main[1]", message: "350 mm out of reach." },
    ]);
    expect(asked).toEqual([0, 1, 7, 8]);
    expect(record.duration).toBe(3);
    expect(record.moves[1]!.outcome.ok).toBe(false);
  });

  it("stops at a limit, or runs the other routine in place of the rest", () => {
    const more = {
      extra: {
        sub: [wait("nobody", { limit: 2, otherwise: { kind: "run", routine: "escape" } }), go("never")],
        escape: [go("back")],
      },
    };
    const { record } = problemsOf([go("a"), run("sub"), go("b")], more);
    expect(record.activities.filter((a) => a.lane === "arm").map((a) => [a.label, a.start, a.end])).toEqual([
      ["main[0]", 0, 1],
      ["sub[0]", 1, 3],
      ["escape[0]", 3, 4],
      ["main[2]", 4, 5],
    ]);
    expect(record.outcome).toBe("complete");
    expect(problemsOf([wait("nobody", { limit: 2 }), go("a")]).record).toMatchObject({
      outcome: "stopped",
      duration: 2,
    });
    expect(problemsOf([wait("nobody"), go("a")]).record).toMatchObject({ outcome: "deadlock" });
  });

  it("starts a device whose output contradicts its stated start by moving it", () => {
    const record = simulate(
      cell({
        machines: [
          {
            name: "m",
            devices: [{ name: "m.door", start: "open", command: level("door", "open", "closed"), time: range(1) }],
            processes: [],
          },
        ],
        holders: [],
        outputs: ["door"],
        routines: { main: [dwell(2)] },
      }),
      timedMover(),
      { variant: "part", pace: "nominal" },
    );
    expect(record.problems.map((p) => p.code)).toEqual(["start-contradicts-output", "no-part-finished"]);
    expect(record.devices[0]!.states.map((s) => [s.time, s.at, s.towards])).toEqual([
      [0, "open", "open"],
      [0, undefined, "closed"],
      [1, "closed", "closed"],
    ]);
  });

  it("names a gripper without command, a process without time, and a part held twice", () => {
    const grippers = [
      { device: { name: "A", start: "open", command: { style: "none" as const }, time: range(0.1) } },
      { device: { name: "B", start: "open", command: level("b", "closed", "open"), time: range(0.1) } },
    ];
    const { problems } = problemsOf(
      [
        go("mill.chuck"),
        hold("A", "mill.chuck"),
        dwell(1),
        hold("B", "mill.chuck"),
        dwell(1),
        pulse("go", 0.1),
        wait("ready"),
      ],
      {
        grippers,
        machines: [
          {
            name: "mill",
            devices: [
              { name: "mill.chuck", start: "closed", command: { style: "none" }, time: range(1), clamps: "closed" },
            ],
            processes: [
              process({
                name: "mill.p",
                machine: "mill",
                start: { signal: "go", style: "pulse", width: 0.1 },
                done: { signal: "ready", style: "until start", width: 0 },
              }),
            ],
          },
        ],
        inputs: ["ready"],
        outputs: ["b", "go"],
        holders: [{ name: "mill.chuck", device: "mill.chuck", start: "part" }],
      },
    );
    expect(problems.map((p) => [p.code, p.stepId])).toEqual([
      ["gripper-not-commanded", "main[1]"],
      ["hold-already-held", "main[3]"],
      ["process-without-time", "main[5]"],
    ]);
  });

  it("lists every code in the explanation of the cycle", () => {
    const page = readFileSync(new URL("../../docs/explanation/cycle.md", import.meta.url), "utf8");
    const folder = new URL("./", import.meta.url);
    const sources = readdirSync(folder).filter((name) => name.endsWith(".ts") && !name.endsWith(".test.ts"));
    const text = sources.map((name) => readFileSync(new URL(name, folder), "utf8")).join("\n");
    const said = [
      ...text.matchAll(/code: (?:[^"\n]*\? )?"([a-z-]+)"(?: : "([a-z-]+)")?/g),
      ...text.matchAll(/#say\(\s*"([a-z-]+)"/g),
      ...text.matchAll(/problem\(\s*"([a-z-]+)"/g),
      ...text.matchAll(/#checkPlace\(spot, stepId, "([a-z-]+)"/g),
    ];
    const codes = new Set(said.flatMap((m) => m.slice(1).filter((c) => c !== undefined)));
    expect(codes.size).toBeGreaterThanOrEqual(40);
    expect([...codes].filter((code) => !page.includes(`\`${code}\``))).toEqual([]);
  });
});
