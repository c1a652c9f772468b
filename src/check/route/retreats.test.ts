/** Ways out of places, on cells whose arm moves along x, y and z. */
import { describe, expect, it } from "vitest";
import { type GantryParts, gantryCell } from "../../../test/cells/gantry.ts";
import { buildArm } from "../../arm/index.ts";
import { simulate } from "../../cycle/index.ts";
import { checkCell } from "../check-cell.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder } from "../clearance/moving-scene.ts";
import { createMover } from "../mover.ts";
import { offsetText, placeWords, retreatsFor, simplest, visitsOf } from "./retreats.ts";

/** A chuck in a box that is open on top only, 240 mm deep; the part stands up in it. */
const CELL: GantryParts = {
  gripper: "{ jaws: { box: [60, 60, 20 mm], at: [0, 0, 10 mm] } }",
  poses: { home: [0, -600, 400] },
  main: `    - go: { to: tray, offset: [0, 0, 100 mm] }
    - go: { to: tray, by: line }
    - hold: { gripper: gripper, from: tray }
    - dwell: 0.3 s
    - go: { to: tray, offset: [0, 0, 200 mm], by: line }
    - go: { to: lathe.chuck, offset: [0, 0, 300 mm] }
    - go: { to: lathe.chuck, by: line }
    - free: { gripper: gripper, into: lathe.chuck }
    - dwell: 0.3 s
    - go: home`,
  sections: `parts:
  block:
    shape: { box: [40, 40, 60 mm], at: [0, 0, 30 mm] }
    stages: { raw: 0.5 kg }
    grips: { top: { at: [0, 0, 60 mm], abc: [180, 0, 0 deg] } }
scene:
  frames: { lathe: { at: [500, 300, 0 mm] } }
  trays:
    tray: { in: world, at: [-300, 300, 0 mm], rows: 1, columns: 1, pitch: [100, 100 mm], order: rows, start: block, rests on: [shelf] }
  shapes: { shelf: { box: [200, 200, 10 mm], at: [-300, 300, -5 mm] } }
machines:
  lathe:
    frame: lathe
    shapes:
      front: { box: [300, 10, 240 mm], at: [0, -145, 120 mm] }
      back: { box: [300, 10, 240 mm], at: [0, 145, 120 mm] }
      left: { box: [10, 300, 240 mm], at: [-145, 0, 120 mm] }
      right: { box: [10, 300, 240 mm], at: [145, 0, 120 mm] }
    devices:
      chuck:
        positions: [open, closed]
        command: { level: door-open, on: closed, off: open }
        time: 0.1 s
        clamps: closed
        force: 900 N
        holds: { at: [0, 0, 50 mm] }
        shapes: { body: { box: [80, 80, 50 mm], at: [0, 0, 25 mm] } }
`,
};

describe("the ways of a routine into and out of a box that is open on top", () => {
  const cell = gantryCell(CELL);
  const arm = buildArm(cell.arm);
  const run = simulate(cell, createMover(cell, arm), { variant: "block", pace: "nominal" });
  const memory = new ClearanceMemory();
  const builder = createSceneBuilder(cell, arm, undefined, memory);
  const visits = visitsOf(cell, run, ({ holder }) => holder === "lathe.chuck");

  it("are one in with the part and one out without", () => {
    expect(visits.map((v) => `${v.step.id} ${v.way} ${placeWords(cell, v)} ${[...v.moment.held.keys()]}`)).toEqual([
      "main[7] approach lathe.chuck gripper",
      "main[7] retreat lathe.chuck ",
    ]);
  });

  it("lead straight up, as far as the part or the jaws must to be clear of chuck and box", () => {
    // With the part: its foot stands at 50 mm, on the chuck; without: the jaws come down 110 mm above the frame, on top of the part.
    const strokes = visits.map((visit) =>
      retreatsFor(cell, arm, builder, memory, visit, 0.005).map(({ outOf, margin, ways }) => {
        const best = simplest(ways)!;
        expect(best.offset[0]).toBeCloseTo(0, 12);
        expect(best.offset[1]).toBeCloseTo(0, 12);
        expect(best.retreat.clearance).toBeGreaterThanOrEqual(0.005);
        // To a millimetre.
        return { outOf, margin, beyond: Math.floor(1000 * best.offset[2] + 1e-9) };
      }),
    );
    // 20 mm beyond.
    expect(strokes).toEqual([
      [
        { outOf: "lathe.chuck", margin: 0.005, beyond: 20 },
        { outOf: "lathe", margin: 0.005, beyond: 210 },
      ],
      [
        { outOf: "lathe.chuck", margin: 0.005, beyond: 20 },
        { outOf: "lathe", margin: 0.005, beyond: 150 },
      ],
    ]);
  });

  it("are none where more room is asked for than the box has; the place itself is told where it is too tight", () => {
    const [approach] = visits;
    const wide = retreatsFor(cell, arm, builder, memory, approach!, 0.11);
    expect(wide.map(({ margin }) => margin)).toEqual([0, 0]);
    expect(wide[0]!.ways.length).toBeGreaterThan(0);
  });

  it("are found once for one memory", () => {
    const first = retreatsFor(cell, arm, builder, memory, visits[0]!, 0.005);
    const again = retreatsFor(cell, arm, builder, memory, visits[0]!, 0.005);
    expect(again.map(({ ways }) => ways.map(({ retreat }) => retreat))).toEqual(
      first.map(({ ways }) => ways.map(({ retreat }) => retreat)),
    );
    expect(again[0]!.ways[0]!.retreat).toBe(first[0]!.ways[0]!.retreat);
  });
});

it("is what a collision on the way out of a machine is mended with, and that mends it", () => {
  const checked = (cell: GantryParts) => {
    const outcome = checkCell(gantryCell({ ...cell, motion: "{ clearance: 5 mm }" }));
    if (!outcome.ok) throw new Error("cancelled");
    return outcome.report.findings.filter(({ code }) => /collision|clearance-below/.test(code));
  };
  const [collision, ...others] = checked(CELL);
  expect(others).toEqual([]);
  expect(collision).toMatchObject({ code: "collision", where: "routines.main[9]" });
  const mend =
    /^Withdraw by a line first: `(go: \{ to: lathe\.chuck, offset: \[0, 0, [\d.]+ mm\], by: line \})` keeps \d+(?:\.\d)? mm and is clear of lathe \(tried at lathe\.chuck\)\./;
  const [, up] = mend.exec(collision!.mend) ?? [];
  expect(up, collision!.mend).toBeDefined();
  expect(checked({ ...CELL, main: CELL.main.replace("- go: home", `- ${up}\n    - go: home`) })).toEqual([]);
});

it("is what a route that begins too near to something is mended with, and that mends it", () => {
  const noRoute = (more: string) => {
    const main = CELL.main.replace("- go: home", `${more}- go: { to: home, route: find, clearance: 115 mm }`);
    const outcome = checkCell(gantryCell({ ...CELL, main, motion: "{ clearance: 5 mm }" }));
    if (!outcome.ok) throw new Error("cancelled");
    return outcome.report.findings.filter(({ code }) => /no-route|collision|clearance-/.test(code));
  };
  const [none, ...others] = noRoute("");
  expect(others).toEqual([]);
  expect(none).toMatchObject({ code: "no-route", where: "routines.main[9]" });
  expect(none!.message).toMatch(
    /^no route to home: where it begins, gripper\.jaws and lathe\.\w+ are \d+\.\d mm apart; 115 mm are wanted$/,
  );
  const [, step] =
    /^Withdraw by a line first, and find the route from there: `(.*?)` touches nothing/.exec(none!.mend) ?? [];
  expect(step, none!.mend).toMatch(/^go: \{ to: lathe\.chuck, offset: \[0, 0, \d+(?:\.\d)? mm\], by: line \}$/);
  expect(noRoute(`- ${step}\n    `)).toEqual([]);
});

it("writes offsets as the cell file has them", () => {
  expect(offsetText([0, -0.0000001, 0.14])).toBe("[0, 0, 140 mm]");
  expect(offsetText([0.01234, -0.5, 1e-9])).toBe("[12.3, -500, 0 mm]");
});
