import { describe, expect, it } from "vitest";
import { type GantryParts, gantryCell } from "../../../test/cells/gantry.ts";
import type { MeshData } from "../../clearance/index.ts";
import { checkCell } from "../check-cell.ts";
import { isPlanned } from "../mover.ts";
import type { CheckReport } from "../result.ts";
import { ClearanceMemory } from "./memory.ts";

function check(parts: GantryParts, memory?: ClearanceMemory) {
  const outcome = checkCell(gantryCell(parts), memory === undefined ? {} : { clearanceMemory: memory });
  if (!outcome.ok) throw new Error("cancelled");
  return outcome;
}

/** Findings about clearance, as "code where". */
const about = ({ findings }: CheckReport) =>
  findings
    .filter(({ code }) => /clearance|collision|contact|operator/.test(code))
    .map(({ code, where }) => `${code} ${where.replace("routines.", "")}`);
const messageOf = ({ findings }: CheckReport, code: string) => findings.find((f) => f.code === code)!;

const PART = `parts:
  block:
    shape: { box: [40, 40, 60 mm], at: [0, 0, 30 mm] }
    stages: { raw: 0.5 kg }
    grips: { top: { at: [0, 0, 50 mm], abc: [180, 0, 0 deg] } }
`;
const BALL = "{ ball: { sphere: { radius: 20 mm } } }";

describe("a wall 7 mm from the way of the tool", () => {
  const passing: GantryParts = {
    gripper: BALL,
    poses: { start: [0, -500, 0], end: [0, 700, 0] },
    main: "    - go: start\n    - go: end\n    - go: start",
    sections: `${PART}scene: { shapes: { knob: { sphere: { radius: 30 mm }, at: [57, 100, 0 mm] } } }`,
  };

  it("is found at its step and time, certified from below", () => {
    const { report, runs, arm } = check(passing);
    const { clearance } = report;
    expect(clearance!.pair).toEqual(["gripper.ball", "knob"]);
    expect(clearance!.step).toBe("main[1]");
    expect(clearance!.min_m).toBeGreaterThanOrEqual(0.007 - 1e-9);
    expect(clearance!.min_m).toBeLessThan(0.0072);
    expect(clearance!.certified_m).toBeLessThanOrEqual(0.007);
    expect(clearance!.certified_m).toBeGreaterThan(0.0067);
    expect(clearance!.required_m).toBe(0.01);
    // At the middle of the way past the knob: y is 100 mm there.
    const { outcome } = runs.get("block")!.nominal.moves[1]!;
    if (!outcome.ok || !isPlanned(outcome.motion)) throw new Error("the motion was not planned");
    const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
    outcome.motion.motion.sample(clearance!.time_s!, state);
    expect(state.q[1]).toBeGreaterThan(0.09);
    expect(state.q[1]).toBeLessThan(0.11);
    expect(clearance!.q[1]).toBeCloseTo(state.q[1]!, 9);
    expect(clearance!.points[0][0]).toBeGreaterThan(0.0195);
    expect(clearance!.points[1][0]).toBeLessThan(0.0275);
    expect(arm.n).toBe(3);
    expect(about(report)).toEqual(["clearance-below-required main[1]", "clearance-below-required main[2]"]);
    expect(messageOf(report, "clearance-below-required").message).toMatch(
      /^gripper\.ball comes within 7\.\d mm of knob where 10\.0 mm are wanted, \d\.\d\d s into the motion to end \(block\)$/,
    );
    expect(report.verdict).toBe("feasible");
  });

  it("is enough where the cell or the step asks for less", () => {
    expect(about(check({ ...passing, motion: "{ clearance: 6 mm }" }).report)).toEqual([]);
    const main = "    - go: start\n    - go: { to: end, clearance: 5 mm }\n    - go: start";
    expect(about(check({ ...passing, main }).report)).toEqual(["clearance-below-required main[2]"]);
  });

  it("is told as not certified where it is exactly what is wanted", () => {
    const main = "    - go: start\n    - go: { to: end, clearance: 7 mm }";
    const { report } = check({ ...passing, main });
    expect(about(report)).toEqual(["clearance-not-certified main[1]"]);
    expect(about(check({ ...passing, main: main.replace("7 mm", "6.98 mm") }).report)).toEqual([]);
  });

  it("is measured once for all checks with one memory, with the same answer", () => {
    const memory = new ClearanceMemory();
    const first = check(passing, memory);
    expect(first.clearance.work.answers).toBeGreaterThan(0);
    const motionsAnew = check(passing, memory);
    expect(motionsAnew.report).toEqual(first.report);
    expect(check(passing).report).toEqual(first.report);
  });

  it("is told however far away, when nothing is nearer", () => {
    const sections = passing.sections!.replace("[57, 100", "[1057, 100");
    const { report } = check({ ...passing, sections });
    expect(report.clearance!.min_m).toBeGreaterThanOrEqual(1.007 - 1e-9);
    expect(report.clearance!.min_m).toBeLessThan(1.0072);
  });
});

describe("a wall from a mesh file", () => {
  /** A box as triangles, in mm: 100 long along y; without its lid when `open`. */
  const wall = (open: boolean): MeshData => {
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [k & 1 ? 20 : 0, k & 2 ? 150 : 50, k & 4 ? 100 : -100]);
    const faces = [
      [0, 2, 3, 1],
      [4, 5, 7, 6],
      [0, 1, 5, 4],
      [2, 6, 7, 3],
      [0, 4, 6, 2],
      [1, 3, 7, 5],
    ].slice(open ? 1 : 0);
    return {
      vertices: Float64Array.from(corners.flat()),
      indices: Uint32Array.from(faces.flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!])),
    };
  };
  const cell = gantryCell({
    gripper: BALL,
    poses: { home: [0, -500, 0], end: [0, 700, 0] },
    main: "    - go: end",
    sections: `${PART}scene: { shapes: { wall: { mesh: wall.stl, at: [27, 0, 0 mm] } } }`,
  });
  const checked = (meshes?: (file: string) => MeshData | undefined) => {
    const outcome = checkCell(cell, meshes === undefined ? {} : { meshes });
    if (!outcome.ok) throw new Error("cancelled");
    return outcome.report;
  };

  it("counts as the solid that it is", () => {
    const { clearance, findings } = checked((file) => (file === "wall.stl" ? wall(false) : undefined));
    expect(clearance!.pair).toEqual(["gripper.ball", "wall"]);
    expect(clearance!.min_m).toBeGreaterThanOrEqual(0.007 - 1e-9);
    expect(clearance!.min_m).toBeLessThan(0.0072);
    expect(findings.map(({ code }) => code)).not.toContain("mesh-open");
  });

  it("is told as open where it encloses nothing, and by name where it is not read", () => {
    const open = checked(() => wall(true));
    expect(open.findings.find(({ code }) => code === "mesh-open")!.where).toBe("scene.shapes.wall");
    expect(open.clearance!.min_m).toBeLessThan(0.0072);
    const unread = checked();
    expect(unread.clearance).toBeNull();
    expect(messageOf(unread, "clearance-not-computed").message).toContain("mesh files are not read: wall");
  });
});

it("says why when there is nothing to compare", () => {
  const { report } = check({ gripper: BALL, poses: {}, main: "    - go: home", sections: PART });
  expect(report.clearance).toBeNull();
  expect(about(report)).toEqual(["clearance-not-computed "]);
});

it("leaves out what is larger than any cell, and says so", () => {
  const { report } = check({
    gripper: BALL,
    poses: { end: [0, 500, 0] },
    main: "    - go: end",
    sections: `${PART}scene: { shapes: { knob: { sphere: { radius: 30 mm }, at: [57, 100, 0 mm] }, hall: { box: [60000, 1, 1 m] } } }`,
  });
  expect(report.clearance!.pair[1]).toBe("knob");
  expect(report.clearance!.notConsidered).toEqual(["hall: it is too large to be followed"]);
  expect(messageOf(report, "shape-too-large").severity).toBe("warning");
});

it("can be cancelled", () => {
  let asked = 0;
  const cell = gantryCell({
    gripper: BALL,
    poses: { end: [0, 500, 0] },
    main: "    - go: end\n    - go: home",
    sections: `${PART}scene: { shapes: { knob: { sphere: { radius: 30 mm }, at: [57, 100, 0 mm] } } }`,
  });
  const told: string[] = [];
  const whole = checkCell(cell, { onProgress: (share, doing) => told.push(`${doing} ${share <= 1}`) });
  expect(whole.ok).toBe(true);
  expect(told).toContain("clearance true");
  expect(told.every((line) => line.endsWith("true"))).toBe(true);
  checkCell(cell, { cancelled: () => asked++ < 0 });
  const last = asked;
  asked = 0;
  expect(checkCell(cell, { cancelled: () => ++asked >= last })).toEqual({ ok: false, reason: "cancelled" });
});

describe("a door that slides across the way", () => {
  // Closed across the way at y 0; open 400 mm aside. The ball goes through it along y.
  const door = (main: string): GantryParts => ({
    gripper: BALL,
    poses: { home: [0, -300, 0], within: [0, 0, 0], behind: [0, 300, 0] },
    main,
    sections: `${PART}scene: { frames: { lathe: { at: [0, 0, 0 mm] } } }
machines:
  lathe:
    frame: lathe
    devices:
      door:
        command: { level: door-open, on: open, off: closed }
        time: 1 to 2 s
        feedback: { open: door-is-open, closed: door-is-closed }
        shapes: { panel: { box: [300, 10, 300 mm] } }
        moves: { closed: {}, open: { at: [400, 0, 0 mm] } }
`,
  });
  const open = "    - go: home\n    - drive: { door-open: on }\n";
  const wait = "    - await: { signal: door-is-open, limit: 5 s }\n";

  it("is hit when nothing waits for it, anywhere between its positions", () => {
    const { report } = check(door(`${open}    - go: behind\n`));
    expect(about(report)).toEqual(["collision main[2]"]);
    expect(report.clearance!.device).toMatchObject({ name: "lathe.door", from: "closed", to: "open" });
    const { message, mend } = messageOf(report, "collision");
    expect(message).toMatch(/^gripper\.ball and lathe\.door\.panel overlap by 2(4\.[89]|5\.0) mm, .* with lathe\.door/);
    // 400 mm aside, 150 mm of panel and 20 mm of ball: 230 mm.
    expect(mend).toBe("Await door-is-open before this step: with lathe.door open the distance is more than 100.0 mm.");
  });

  it("is clear once it has been awaited, or surely passed by", () => {
    expect(about(check(door(`${open}${wait}    - go: behind\n`)).report)).toEqual([]);
    expect(about(check(door(`${open}    - dwell: 2 s\n    - go: behind\n`)).report)).toEqual([]);
    expect(about(check(door(`${open}    - dwell: 1.9 s\n    - go: behind\n`)).report)).toEqual(["collision main[3]"]);
  });

  it("is hit when it closes while the arm stands in it", () => {
    const there = `${open}${wait}    - go: within\n`;
    expect(about(check(door(there)).report)).toEqual([]);
    const { report } = check(
      door(
        `${there}    - drive: { door-open: off }\n    - await: { signal: door-is-closed, limit: 5 s }\n    - drive: { door-open: on }\n${wait}`,
      ),
    );
    expect(about(report)).toEqual(["collision main[3]"]);
    expect(messageOf(report, "collision").message).toContain("while the arm stands there");
  });
});

describe("a part in a tray", () => {
  const tray = (gripper: string, more: { rests?: string; pick?: string; place?: string } = {}): GantryParts => ({
    gripper,
    poses: { home: [0, 0, 300], above: [0, 0, 300], at: [0, 0, 50], beside: [0, 500, 300] },
    main: `    - go: above
    - go: ${more.pick ?? "at"}
    - hold: tray
    - dwell: 0.2 s
    - go: above
    - go: beside
    - go: above
    - go: at
    - free: tray
    - dwell: 0.2 s
    - go: above`,
    sections: `${PART}scene:
  shapes: { table: { box: [400, 400, 20 mm], at: [0, 0, -10 mm] } }
  trays: { tray: { at: [${more.place ?? "0, 0, 0"} mm], rows: 1, columns: 2, pitch: [80, 80 mm], start: block${more.rests ?? ", rests on: [table]"} } }
`,
  });
  /** Two jaws beside a part 40 mm wide, the inner faces 20 mm from the middle. */
  const jaws = (thickness: number) =>
    `{ left: { box: [${thickness}, 20, 40 mm], at: [${20 + thickness / 2}, 0, 0 mm] }, right: { box: [${thickness}, 20, 40 mm], at: [${-20 - thickness / 2}, 0, 0 mm] } }`;

  it("is touched by its jaws and by what it rests on without a word", () => {
    expect(about(check(tray(jaws(25))).report)).toEqual([]);
  });

  it("is told where nobody says that it rests there", () => {
    const { report } = check(tray(jaws(25), { rests: "" }));
    expect(about(report)).toEqual(["collision main[4]", "collision main[7]"]);
    const { message, mend } = messageOf(report, "collision");
    expect(message).toMatch(/^block in gripper and table touch, /);
    expect(mend).toContain("rests on: [table]");
  });

  it("may touch what the step names, and nothing else", () => {
    const parts = tray(jaws(25), { rests: "" });
    const main = parts.main
      .replace("    - go: above\n    - go: beside", "    - go: { to: above, may touch: [table] }\n    - go: beside")
      .replace("    - go: at\n    - free", "    - go: { to: at, may touch: [table] }\n    - free");
    expect(about(check({ ...parts, main }).report)).toEqual([]);
  });

  it("is in the way of jaws that are too wide for its neighbour", () => {
    // The neighbour's face is 60 mm from the middle: jaws of 38 mm reach to 58 mm, of 45 mm to 65 mm.
    const close = check(tray(jaws(38))).report;
    expect(new Set(about(close))).toEqual(
      new Set(["main[1]", "main[4]", "main[7]", "main[10]"].map((step) => `clearance-below-required ${step}`)),
    );
    expect(messageOf(close, "clearance-below-required").message).toMatch(
      /^gripper\.left comes within 2\.\d mm of block in tray, place 2 /,
    );
    const hit = check(tray(jaws(45))).report;
    expect(new Set(about(hit))).toEqual(
      new Set(["main[1]", "main[4]", "main[7]", "main[10]"].map((step) => `collision ${step}`)),
    );
    expect(hit.verdict).toBe("not feasible");
  });

  it("is told when grip or place do not agree with the shapes", () => {
    // The place is 4 mm aside of where the gripper closes: one jaw is 4 mm deep in the part.
    const { report } = check(tray(jaws(25), { place: "4, 0, 0" }));
    expect(about(report)).toContain("contact-too-deep main[1]");
    expect(messageOf(report, "contact-too-deep").severity).toBe("caution");
    expect(messageOf(report, "contact-too-deep").message).toMatch(/overlap by 4\.\d mm|overlap by 3\.9 mm/);
  });
});

it("knows the part in the gripper: the bare gripper passes under a beam, the part does not pass over a sill", () => {
  // The part hangs 50 mm below the gripper's middle, the gripper itself 20 mm.
  const main = (held: boolean) =>
    `    - go: at\n${held ? "    - hold: tray\n    - dwell: 0.2 s\n" : ""}    - go: above\n    - go: across\n`;
  const parts = (held: boolean): GantryParts => ({
    gripper: "{ body: { box: [60, 60, 40 mm] } }",
    poses: { home: [0, 0, 300], at: [0, 0, 50], above: [0, 0, 300], across: [0, 800, 300] },
    main: main(held),
    sections: `${PART}scene:
  shapes: { sill: { box: [400, 20, 20 mm], at: [0, 400, 255 mm] } }
  nests: { tray: { start: block } }
`,
  });
  // The gripper's underside is at 280 mm and the sill's top at 265 mm; the part's underside is at 250 mm.
  expect(about(check(parts(false)).report).filter((f) => !f.includes("contact"))).toEqual([
    "collision main[0]",
    "collision main[1]",
  ]);
  const { report } = check(parts(true));
  expect(about(report)).toContain("collision main[4]");
  expect(report.findings.find((f) => f.where.endsWith("main[4]") && f.code === "collision")!.message).toMatch(
    /^block in gripper and sill overlap by 15\.\d mm/,
  );
});

it("tells when the arm comes to where a person stands, as a caution only", () => {
  const { report } = check({
    gripper: BALL,
    poses: { end: [0, 1000, 1000] },
    main: "    - go: end",
    sections: `${PART}scene: { shapes: { floor: { box: [4000, 4000, 20 mm], at: [0, 0, -200 mm] } }, operator places: { loading: { at: [0, 1000, 0 mm] } } }`,
  });
  expect(about(report)).toEqual(["near-operator-place main[0]"]);
  expect(report.verdict).toBe("feasible");
  expect(report.clearance!.pair).toEqual(["gripper.ball", "floor"]);
});
