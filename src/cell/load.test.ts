/** A good cell comes out as written, in SI and in the world. */
import { expect, it } from "vitest";
import { parse } from "yaml";
import { puma560 } from "../../test/arms/puma560.ts";
import { smallLathe, textSource } from "../../test/cells/texts.ts";
import { compose, poseFromAbc, translation } from "../math/pose.ts";
import { type ArmDescription, type Cell, formatIssue, loadArm, loadCell } from "./index.ts";

function load(text: string, options = {}): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text, "arm.urdf": "<robot/>" }), options);
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}
const small = load(smallLathe);
const rad = Math.PI / 180;
const near = (pose: ArrayLike<number>, wanted: ArrayLike<number>) => {
  for (let i = 0; i < 16; i++) expect(pose[i]).toBeCloseTo(wanted[i]!, 12);
};

it("reads the arm", () => {
  const { arm } = small;
  expect(arm.joints.map(({ name }) => name)).toEqual(["J1", "J2", "J3", "J4", "J5", "J6"]);
  expect(arm.joints[1]).toMatchObject({
    kind: "revolute",
    min: -30 * rad,
    max: 210 * rad,
    velocity: 200 * rad,
    acceleration: 600 * rad,
    jerk: 6000 * rad,
    torque: 320,
    motorInertia: 2.4,
  });
  expect(arm.links.map(({ name }) => name)).toEqual(["base", "J1", "J2", "J3", "J4", "J5", "J6"]);
  expect(arm.links[0]!.inertia).toBeUndefined();
  // Link data move from the DH frame at the far end of the link to the joint's frame: for J2, 450 mm along x.
  expect(arm.links[2]!.inertia!.mass).toBe(9);
  arm.links[2]!.inertia!.centre.forEach((c, k) => {
    expect(c).toBeCloseTo([0.225, 0, 0.06][k]!, 12);
  });
  expect(arm.ratedLoad).toEqual({ mass: 6, distance: 0.12 });
  expect(arm).toMatchObject({
    toolSpeed: 2,
    toolAcceleration: 20,
    toolJerk: Number.POSITIVE_INFINITY,
    repeatability: 0.03 / 1000,
  });
});

it("reads tool, parts and controller", () => {
  const gripper = small.tool.grippers.get("gripper")!;
  expect(gripper).toMatchObject({ jaws: 2, stroke: 0.02, force: 140, friction: 0.15 });
  expect(gripper.device).toMatchObject({
    name: "gripper",
    positions: ["open", "closed"],
    start: "open",
    command: { style: "level", signal: "grip", on: "closed", off: "open" },
  });
  expect(gripper.device.time.get("closed")).toEqual({ min: 0.25, max: 0.4 });
  expect(small.tool.inertia).toMatchObject({ mass: 1.1, centre: [0, 0, 0.06] });
  const part = small.parts.get("short")!;
  expect(part.stages.map(({ name, inertia }) => [name, inertia.mass])).toEqual([
    ["raw", 0.33],
    ["turned", 0.28],
  ]);
  // A cylinder of 30 mm and 60 mm standing on the part's origin: centre 30 mm up, m r² / 2 about its axis.
  expect(part.stages[0]!.inertia.centre[2]).toBeCloseTo(0.03, 12);
  expect(part.stages[0]!.inertia.tensor[2]).toBeCloseTo((0.33 * 0.015 ** 2) / 2, 12);
  expect(part.processTimes.get("lathe.turning")).toEqual({ min: 38, max: 40 });
  near(part.grips.get("end")!.partFromTcp, poseFromAbc([0, 0, 0.048], Math.PI, 0, 0));
  expect(small.controller.ports.get("flange")).toEqual({
    name: "flange",
    digitalInputs: 2,
    digitalOutputs: 2,
    analogueInputs: 2,
    analogueOutputs: 0,
  });
});

it("places machines, devices and holders in the world", () => {
  const lathe = small.machines.get("lathe")!;
  const [door, chuck] = lathe.devices;
  expect(door).toMatchObject({ name: "lathe.door", machine: "lathe", start: "closed", sweeps: ["doorway"] });
  near(door!.worldFromShapes.get("open")!, translation(0.15 - 0.62, 0.65, 0.55));
  expect(chuck!.time.get("open")).toEqual({ min: 0.5, max: 0.8 });
  expect(chuck!.command).toEqual({ style: "toggling pulse", signal: "chuck-toggle", width: 0.2 });
  const [turning] = lathe.processes;
  expect(turning).toMatchObject({
    name: "lathe.turning",
    needs: [
      { device: "lathe.door", position: "closed" },
      { device: "lathe.chuck", position: "closed" },
    ],
    holder: "lathe.chuck",
    makes: "turned",
    spindle: true,
  });

  const tray = small.holders.get("raw-tray")!;
  expect(tray).toMatchObject({ kind: "tray", columns: 3, start: { part: "short", stage: "raw" } });
  expect(tray.places.map(({ worldFromPlace: p }) => [p[3], p[7], p[11]].map((v) => Math.round(v! * 1000)))).toEqual([
    [350, -450, 200],
    [410, -450, 200],
    [470, -450, 200],
    [350, -390, 200],
    [410, -390, 200],
    [470, -390, 200],
  ]);
  const nest = small.holders.get("lathe.chuck")!;
  expect(nest).toMatchObject({ kind: "device", device: "lathe.chuck", start: undefined });
  // z along the machine's x, x along its z: y = z × x points along -y… of (1,0,0) × (0,0,1) = (0,-1,0).
  near(nest.places[0]!.worldFromPlace, Float64Array.of(0, 0, 1, 0.09, 0, -1, 0, 0.65, 1, 0, 0, 0.55, 0, 0, 0, 1));
});

it("reads scene, signals, poses and production", () => {
  expect(small.scene.shapes.map(({ name }) => name)).toEqual(["table-top", "fence-1", "fence-2", "fence-3", "fence-4"]);
  const fence = small.scene.shapes[2]!;
  expect(fence.shape).toEqual({ kind: "box", size: [2.1, 0.04, 2] });
  near(fence.ownerFromShape, poseFromAbc([0.9, 0.15, 1], 0, 0, Math.PI / 2));
  near(small.scene.operatorPlaces!.get("loading-side")!, translation(0.3, -1.1, 0));
  expect(small.signals.get("door-open")).toEqual({
    name: "door-open",
    direction: "output",
    kind: "digital",
    initial: false,
    port: "controller",
    point: 0,
  });
  expect(small.signals.get("start-button")).toMatchObject({
    direction: "input",
    contact: "normally open",
    operator: { delay: { min: 1, max: 5 }, hold: 0.5 },
  });
  expect(small.home).toEqual([0, 90, 0, 0, -90, 0].map((degrees) => degrees * rad));
  const above = small.poses.get("above-table")!;
  expect(above.branch).toEqual({ near: "home" });
  near(above.target.kind === "frame" ? above.target.worldFromPose : [], poseFromAbc([0.35, -0.45, 0.5], Math.PI, 0, 0));
  expect(small.production).toEqual({
    target: 40,
    shift: { hours: 8, perDay: 2, daysPerWeek: 5 },
    batches: [{ part: "short", quantity: 240 }],
  });
  expect(small.gravity).toEqual([0, 0, -9.80665]);
});

it("reads steps with ids, paths and places", () => {
  const main = small.routines.get("main")!.steps;
  expect(main.map(({ kind, id }) => `${id} ${kind}`)).toEqual(["main[0] await", "main[1] each", "main[2] go"]);
  const each = main[1]!;
  if (each.kind !== "each") throw new Error("not each");
  expect(each.over.map((names) => names.default)).toEqual(["raw-tray", "finished-tray"]);
  expect(each.steps[3]).toMatchObject({
    kind: "run",
    id: "main[1].do[3]",
    path: ["routines", "main", 1, "do", 3],
    routine: "unload",
  });
  const lines = smallLathe.split("\n");
  const place = small.locate(each.steps[3]!.path);
  expect(lines[place.line - 1]!.slice(place.column - 1)).toBe("run: unload");
  expect(small.locate(["routines", "load", 6, "nothing"]).line).toBe(small.locate(["routines", "load", 6]).line);
  expect(small.locate(["machines", "lathe", "devices", "door"]).line).toBe(lines.indexOf("      door:") + 1);
  expect(small.routines.get("load")!.steps[6]).toMatchObject({
    kind: "press",
    force: 20,
    time: 2,
    travel: 0.005,
    expect: 0.002,
    speed: 0.01,
    note: "seats the part against the back stop",
  });
  expect(small.routines.get("load")!.steps[7]).toMatchObject({ kind: "pulse", signal: "chuck-toggle", width: 0.2 });
  expect(small.routines.get("pick")!.steps[0]).toMatchObject({
    kind: "go",
    by: "joint",
    blend: 0.04,
    speed: { fraction: 0.8, constant: false },
    to: { kind: "pose", bring: "gripper" },
  });
  expect(small.routines.get("pick")!.steps[2]).toMatchObject({
    kind: "go",
    by: "line",
    speed: { tool: 0.15 },
    to: { kind: "holder", bring: "part" },
  });
  expect(small.routines.get("unload")!.steps[2]).toMatchObject({
    kind: "await",
    limit: 5,
    otherwise: { kind: "stop" },
    condition: {
      kind: "all",
      of: [
        { signal: "door-is-open", is: true },
        { signal: "door-is-closed", is: false },
      ],
    },
  });
});

it("reads every other way of writing a step", () => {
  const steps = [
    "go: { to: { short: at-door, long: home }, speed: { joints: 50 %, tool: 200 mm/s, acceleration: 1 m/s^2, constant: yes } }",
    "go: { short: at-door, default: home }",
    "go: { to: above-table, by: arc, via: { to: raw-tray, place: 6, offset: { at: [0, 0, 1 in], abc: [0, 0, 90 deg], in: table } } }",
    "hold: raw-tray",
    "free: { short: raw-tray, long: finished-tray }",
    "drive: { signal: door-open, to: true }",
    "await: { any: [door-is-open, { all: [{ signal: start-button, is: off }] }], limit: none }",
    "await: { signal: door-is-open, limit: 200 ms, otherwise: { run: pick } }",
    "each: { times: 3, do: [dwell: 1 s] }",
    "each: { place: { short: raw-tray, long: finished-tray }, do: [] }",
    "when: { if: { not: { holder: raw-tray, has: { stage: raw } } }, then: [dwell: 0 s], otherwise: [{ when: { if: { any: [{ variant: short }, { pass: last }, { gripper: gripper, has: nothing }, door-open, { cycle-complete: off }] }, then: [] } }] }",
  ];
  const text = smallLathe.replace(
    "    - go: home\n  pick:",
    `${steps.map((step) => `    - ${step}\n`).join("")}    - go: home\n  pick:`,
  );
  const read = load(text).routines.get("main")!.steps.slice(2, -1);
  expect(read[0]).toMatchObject({
    to: {
      at: {
        variants: new Map([
          ["short", "at-door"],
          ["long", "home"],
        ]),
      },
    },
    speed: { fraction: 0.5, tool: 0.2, toolAcceleration: 1, constant: true },
  });
  expect(read[1]).toMatchObject({
    kind: "go",
    by: "joint",
    to: { at: { default: "home", variants: new Map([["short", "at-door"]]) } },
  });
  const arc = read[2]!;
  if (arc.kind !== "go") throw new Error("not go");
  expect(arc.via).toMatchObject({ kind: "holder", place: 5, offset: { in: "table" } });
  near(arc.via!.offset!.pose, poseFromAbc([0, 0, 0.0254], 0, 0, Math.PI / 2));
  expect(read[3]).toMatchObject({ kind: "hold", gripper: "gripper", from: { default: "raw-tray" } });
  expect(read[4]).toMatchObject({
    kind: "free",
    into: {
      variants: new Map([
        ["short", "raw-tray"],
        ["long", "finished-tray"],
      ]),
    },
  });
  expect(read[5]).toMatchObject({ kind: "drive", signal: "door-open", to: true });
  expect(read[6]).toMatchObject({
    limit: undefined,
    condition: { kind: "any", of: [{ kind: "signal" }, { kind: "all", of: [{ signal: "start-button", is: false }] }] },
  });
  expect(read[7]).toMatchObject({ limit: 0.2, otherwise: { kind: "run", routine: "pick" } });
  expect(read[8]).toMatchObject({
    kind: "each",
    times: 3,
    over: [],
    steps: [{ kind: "dwell", time: 1, id: "main[10].do[0]" }],
  });
  expect(read[9]).toMatchObject({
    kind: "each",
    over: [
      {
        variants: new Map([
          ["short", "raw-tray"],
          ["long", "finished-tray"],
        ]),
      },
    ],
  });
  expect(read[10]).toMatchObject({
    kind: "when",
    condition: { kind: "not", of: { kind: "holder", has: { stage: "raw" } } },
    // biome-ignore lint/suspicious/noThenProperty: the step's own word
    then: [{ kind: "dwell" }],
    otherwise: [
      {
        kind: "when",
        id: "main[12].otherwise[0]",
        condition: {
          kind: "any",
          of: [
            { kind: "variant", part: "short" },
            { kind: "pass", which: "last" },
            { kind: "gripper", has: "nothing" },
            { kind: "signal", signal: "door-open", is: true },
            { kind: "signal", is: false },
          ],
        },
      },
    ],
  });
});

it("composes a tree of frames", () => {
  const text = smallLathe.replace(
    "  frames:\n",
    "  frames:\n    inner: { in: middle, at: [1, 0, 0 m] }\n    middle: { in: table, abc: [0, 0, 90 deg] }\n",
  );
  const { frames } = load(text);
  expect([...frames.keys()]).toEqual(["world", "inner", "middle", "table", "lathe"]);
  near(
    frames.get("inner")!.worldFromFrame,
    compose(translation(0.35, -0.45, 0.2), poseFromAbc([0, 1, 0], 0, 0, Math.PI / 2)),
  );
});

it("loads the arm alone, from a cell or a file of its own, with the tool centre point", () => {
  const arm = smallLathe.slice(smallLathe.indexOf("arm:"), smallLathe.indexOf("controller:"));
  const tool = smallLathe.slice(smallLathe.indexOf("tool:"), smallLathe.indexOf("parts:"));
  for (const [text, tcp] of [
    [smallLathe, 0.15],
    [arm, undefined],
    [arm + tool, 0.15],
    [`${arm}\ntool: { tcp: { at: [0, 0, 90 mm] } }\n`, 0.09],
  ] as const) {
    const loaded = loadArm("arm.yaml", textSource({ "arm.yaml": text }));
    if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
    expect(loaded.value.arm.joints.length).toBe(6);
    expect(loaded.value.flangeFromTcp?.[11]).toBe(tcp);
  }
  const wrong = loadArm("arm.yaml", textSource({ "arm.yaml": "armm: {}\n" }));
  expect(wrong.ok ? [] : wrong.issues.map(({ code }) => code)).toEqual(["unknown-key", "missing-key"]);
});

it("reads the published Puma 560 table as its description in code", () => {
  const wanted = puma560({ motors: true });
  // Data as in test/arms/puma560.ts, written in SI units, link data in the DH frames of the table.
  const table: readonly (readonly [a: number, alpha: number, d: number])[] = [
    [0, 1, 0],
    [0.4318, 0, 0],
    [0.0203, -1, 0.15005],
    [0, 1, 0.4318],
    [0, -1, 0],
    [0, 0, 0],
  ];
  const links = [
    "{ mass: 0 kg, centre: [0, 0, 0 m], inertia: [0, 0.35, 0 kg m^2] }",
    "{ mass: 17.4 kg, centre: [-0.3638, 0.006, 0.2275 m], inertia: [0.13, 0.524, 0.539 kg m^2] }",
    "{ mass: 4.8 kg, centre: [-0.0203, -0.0141, 0.07 m], inertia: [0.066, 0.086, 0.0125 kg m^2] }",
    "{ mass: 0.82 kg, centre: [0, 0.019, 0 m], inertia: [1.8e-3, 1.3e-3, 1.8e-3 kg m^2] }",
    "{ mass: 0.34 kg, centre: [0, 0, 0 m], inertia: [0.3e-3, 0.4e-3, 0.3e-3 kg m^2] }",
    "{ mass: 0.09 kg, centre: [0, 0, 0.032 m], inertia: [0.15e-3, 0.15e-3, 0.04e-3 kg m^2] }",
  ];
  const rows = table.map(
    ([a, alpha, d], i) =>
      `    - { name: J${i + 1}, a: ${a} m, alpha: ${alpha * 90} deg, d: ${d} m, range: none, motor inertia: ${wanted.joints[i]!.motorInertia} kg m^2 }\n`,
  );
  const text = `arm:\n  name: Puma 560\n  dh: standard\n  joints:\n${rows.join("")}  links:\n${links.map((link, i) => `    J${i + 1}: ${link}\n`).join("")}`;
  const loaded = loadArm("puma.yaml", textSource({ "puma.yaml": text }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  // As JSON, in which -0 is 0; links go by other names in the two.
  const unnamed = (arm: ArmDescription) =>
    JSON.stringify({ ...arm, links: arm.links.map((link) => ({ ...link, name: "" })) });
  expect(JSON.parse(unnamed(loaded.value.arm))).toEqual(JSON.parse(unnamed(wanted)));
});

it("reads JSON, anchors, and machine for machines", () => {
  expect(load(JSON.stringify(parse(smallLathe), null, 2)).routines.size).toBe(small.routines.size);
  const anchored = smallLathe
    .replace("raw-tray: { in: table, at: [0, 0, 0 mm],", "raw-tray: { in: table, at: &here [0, 0, 0 mm],")
    .replace("finished-tray: { in: table, at: [-250, 0, 0 mm],", "finished-tray: { in: table, at: *here,")
    .replace("machines:", "machine:");
  const cell = load(anchored);
  expect(cell.holders.get("finished-tray")!.places[0]).toEqual(cell.holders.get("raw-tray")!.places[0]);
  expect(cell.machines.has("lathe")).toBe(true);
});

it("hands URDF files to the reader given, and lays the limits of the cell over them", () => {
  const read: ArmDescription = { ...small.arm, name: "from a file" };
  const asked: unknown[] = [];
  const start = smallLathe.indexOf("arm:");
  const text = `${smallLathe.slice(0, start)}arm:\n  urdf: arm.urdf\n  base: foot\n  tip: tool\n  limits: { J2: { acceleration: 10 deg/s^2 } }\n${smallLathe.slice(smallLathe.indexOf("controller:"))}`;
  const cell = load(text, {
    readArm: (content: string, file: string, options: object) => {
      asked.push(content, file, options);
      return { ok: true, value: read };
    },
  });
  expect(asked).toEqual(["<robot/>", "arm.urdf", { base: "foot", tip: "tool" }]);
  expect(cell.arm.name).toBe("from a file");
  expect(cell.arm.joints[1]!.acceleration).toBeCloseTo(10 * rad, 14);
  expect(cell.arm.joints[0]!.acceleration).toBe(small.arm.joints[0]!.acceleration);
  const files = textSource({ "cell.yaml": text, "arm.urdf": "<robot/>" });
  const codes = (options: object) => {
    const loaded = loadCell("cell.yaml", files, options);
    return loaded.ok ? [] : loaded.issues.map(({ code }) => code);
  };
  expect(codes({})).toEqual(["no-urdf-reader"]);
  const issue = {
    code: "bad-urdf",
    path: "",
    place: { file: "arm.urdf", line: 3, column: 1 },
    found: "a",
    expected: "b",
    mend: "c",
  };
  expect(codes({ readArm: () => ({ ok: false, issues: [issue] }) })).toEqual(["bad-urdf"]);
  // What is wrong with the choice of base and tip stands where the choice was written.
  const unknown = { ...issue, code: "unknown-tip", path: "tip", found: "tool" };
  const chosen = loadCell("cell.yaml", files, { readArm: () => ({ ok: false, issues: [unknown] }) });
  expect(chosen.ok ? [] : chosen.issues).toMatchObject([
    { code: "unknown-tip", path: "arm.urdf", found: "tip tool", place: { file: "cell.yaml" } },
  ]);
});

it("reads people, tool changes and ranges of money", () => {
  const cell = load(`${smallLathe}
  stops: { chips: { every: 2 h, time: 1 to 4 min, needs: nobody } }
  tool changes: { insert: { parts: 200, time: 5 min } }
  refill: { time: 3 to 5 min }
  people: { attending: 2, response: 0 to 5 min }
  scrap: 1.5 %
  unattended: 2 h
  costs:
    investment: { arm: 40000, gripper: 4000 to 6000, work: { low: 20000, likely: 22000, high: 30000 } }
    interest: 6 to 10 %
    years: 4 to 6
    part value: 2.5
    operator time per day: 30 to 90 min
`);
  expect(cell.production).toMatchObject({
    stops: new Map([["chips", { every: 7200, time: { min: 60, max: 240 }, needs: "nobody" }]]),
    toolChanges: new Map([["insert", { parts: 200, time: { min: 300, max: 300 } }]]),
    refill: { time: { min: 180, max: 300 } },
    people: { attending: 2, response: { min: 0, max: 300 } },
    scrap: 0.015,
    unattended: 7200,
    costs: {
      investment: new Map([
        ["arm", { low: 40000, likely: 40000, high: 40000 }],
        ["gripper", { low: 4000, likely: 5000, high: 6000 }],
        ["work", { low: 20000, likely: 22000, high: 30000 }],
      ]),
      years: { low: 4, likely: 5, high: 6 },
      partValue: { low: 2.5, likely: 2.5, high: 2.5 },
      operatorHoursPerDay: { low: 0.5, likely: 1, high: 1.5 },
    },
  });
  expect(cell.production!.costs!.interest!.likely).toBeCloseTo(0.08, 12);
});

it("reads guarding, stops and costs", () => {
  const text = `${smallLathe}
  stops: { tool-change: { every: 4 h, time: 5 to 10 min } }
  costs: { currency: EUR, investment: 90000, saving per year: 32000, years: 5, interest: 8 % }
guarding:
  people: { loader: { place: loading-side, body: [hand] } }
  zones: { door: { zone: doorway, by: scanner, response: 250 mm/s } }
  stopping: { reaction time: 0.1 s, stopping time: 0.3 s, stopping distance: 200 mm }
  contact surfaces: { jaw: { on: gripper, area: 1 cm^2 } }
`;
  const cell = load(text);
  expect(cell.production).toMatchObject({
    stops: new Map([["tool-change", { every: 14400, time: { min: 300, max: 600 } }]]),
    costs: {
      investment: new Map([["investment", { low: 90000, likely: 90000, high: 90000 }]]),
      savingPerYear: { low: 32000, likely: 32000, high: 32000 },
      interest: { low: 0.08, likely: 0.08, high: 0.08 },
    },
  });
  expect(cell.guarding).toEqual({
    people: new Map([["loader", { place: "loading-side", approachSpeed: 1.6, body: ["hand"] }]]),
    zones: new Map([["door", { zone: "doorway", by: "scanner", response: 0.25 }]]),
    stopping: { reactionTime: 0.1, stoppingTime: 0.3, stoppingDistance: 0.2 },
    contactSurfaces: new Map([["jaw", { on: "gripper", area: 1e-4 }]]),
  });
});
