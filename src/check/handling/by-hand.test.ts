/** A part of 1 kg carried by three slides at 4 m/s²: every load can be told by hand. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { gantryCell } from "../../../test/cells/gantry.ts";
import { buildArm } from "../../arm/index.ts";
import type { Cell, Gripper, Part } from "../../cell/index.ts";
import { simulate } from "../../cycle/index.ts";
import { createMover } from "../mover.ts";
import { gripReports } from "./grip-report.ts";
import { surveyGrips } from "./grip-survey.ts";
import { sizeHandling } from "./index.ts";

const G = 9.80665;

function carried(poses: Readonly<Record<string, readonly [number, number, number]>>, facts = ""): Cell {
  return gantryCell({
    gripper: `{}\n      force: 200 N\n      friction: 0.2${facts}`,
    poses,
    sections: `
parts:
  block:
    stages: { raw: { mass: 1 kg, centre: [0, 0, 50 mm], inertia: [0.001, 0.001, 0.001 kg m^2] } }
    grips: { top: { abc: [180, 0, 0 deg], width: 30 mm } }
scene:
  nests: { nest: { start: block } }
`,
    main: ["    - hold: nest", "    - dwell: 0.5 s", ...Object.keys(poses).map((pose) => `    - go: ${pose}`)].join(
      "\n",
    ),
  });
}

function sizingOf(cell: Cell) {
  const arm = buildArm(cell.arm);
  const run = simulate(cell, createMover(cell, arm), { variant: "block", pace: "nominal" });
  const [grip] = gripReports(cell, surveyGrips(cell, arm, [run]));
  return { grip: grip!, arm, run };
}

// S = 2, µ = 0.2, two jaws along world x.
describe("force per jaw", () => {
  it.each([
    ["up", [0, 0, 1000], (2 * (G + 4)) / (2 * 0.2)],
    ["along the jaws", [1000, 0, 0], (2 * G) / (2 * 0.2)],
    ["across the jaws", [0, 1000, 0], (2 * Math.hypot(G, 4)) / (2 * 0.2)],
  ] as const)("of a motion %s", (_, to, expected) => {
    const { grip } = sizingOf(carried({ there: to }));
    expect(grip.needed_N).toBeCloseTo(expected, 6);
    expect(grip.acceleration_mps2).toBeCloseTo(4, 9);
    expect(grip.sizing.motion.step).toBe("main[2]");
  });

  it("counts the load along the jaws where friction is no matter", () => {
    const { grip } = sizingOf(carried({ there: [1000, 0, 0] }, "\n      oily friction: 0.01"));
    const form = sizingOf(formFit(carried({ there: [1000, 0, 0] })));
    expect(form.grip.needed_N).toBeCloseTo((2 * 4) / 2, 6);
    expect(form.grip.sizing.motion.decides).toBe("load along the jaws");
    // In its first stage the part is dry: the oily value changes nothing.
    expect(grip.needed_N).toBeCloseTo((2 * G) / (2 * 0.2), 6);
  });

  it("of a stop on the way down, where it adds to gravity, and on the way up, where it does not", () => {
    const stop = (z: number) => sizingOf(carried({ there: [0, 0, z] })).grip.sizing.stop!;
    expect(stop(-1000).needed_N).toBeCloseTo((2 * (G + 4)) / (2 * 0.2), 6);
    // Upwards it relieves the grip; what is left is the weight at rest.
    expect(stop(1000).needed_N).toBeCloseTo((2 * G) / (2 * 0.2), 6);
  });
});

describe("moment on a jaw", () => {
  it("is half of lever times load across; from the guides the lever is longer", () => {
    const { jawMoment } = sizingOf(carried({ there: [0, 1000, 0] })).grip.sizing;
    expect(jawMoment.value_Nm).toBeCloseTo((0.05 * 4) / 2, 9);
    expect(jawMoment.turning_Nm).toBeCloseTo(0.05 * 4, 9);
    expect(jawMoment.lever_m).toBeCloseTo(0.05, 12);
    // The gripper points down and its guides are 80 mm above the tool centre point: the part's centre, 50 mm above it, is 30 mm below.
    const long = sizingOf(carried({ there: [0, 1000, 0] }, "\n      finger length: 80 mm")).grip.sizing.jawMoment;
    expect(long.lever_m).toBeCloseTo(0.03, 12);
    expect(long.value_Nm).toBeCloseTo((0.03 * 4) / 2, 9);
    expect(long.leverFrom).toBe("jaw guides");
  });
});

/** The same with its part held by form. */
function formFit(cell: Cell): Cell {
  const part = cell.parts.get("block")!;
  const grips = new Map([...part.grips].map(([name, grip]) => [name, { ...grip, way: "form" as const }]));
  return { ...cell, parts: new Map([["block", { ...part, grips }]]) };
}

describe("whatever is stated", () => {
  const cell = carried({ there: [300, 400, -500] });
  const { arm, run } = sizingOf(cell);
  const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: undefined });
  const size = (min: number, max: number) => fc.double({ min, max, noNaN: true });
  const gripper = fc.record({
    jaws: fc.integer({ min: 1, max: 12 }),
    force: maybe(size(1e-6, 1e6)),
    friction: maybe(size(1e-6, 5)),
    oilyFriction: maybe(size(1e-6, 5)),
    stroke: maybe(size(1e-6, 1)),
    opening: maybe(size(1e-6, 1)),
    jawMoment: maybe(size(1e-6, 100)),
    fingerLength: maybe(size(0, 1)),
    vAngle: maybe(size(0.2, 2.9)),
  });
  const grip = fc.record({
    width: maybe(size(1e-6, 1)),
    friction: maybe(size(1e-6, 5)),
    way: fc.constantFrom("friction" as const, "form" as const),
    side: maybe(fc.constantFrom("outside" as const, "inside" as const)),
  });

  it("figures are finite or said to be unknown, and nothing is thrown", () => {
    fc.assert(
      fc.property(gripper, grip, maybe(size(1, 20)), (jaws, held, safetyFactor) => {
        const part = cell.parts.get("block")!;
        const changed: Cell = {
          ...cell,
          tool: {
            ...cell.tool,
            grippers: new Map([["gripper", clean({ ...cell.tool.grippers.get("gripper")!, ...jaws }) as Gripper]]),
          },
          parts: new Map([
            ["block", { ...part, grips: new Map([["top", clean({ ...part.grips.get("top")!, ...held })]]) } as Part],
          ]),
          handling: { ...(safetyFactor === undefined ? {} : { safetyFactor }), deviations: new Map(), fits: new Map() },
        };
        const { grip: reports } = sizeHandling(changed, arm, [run]);
        expect(reports).toHaveLength(1);
        finite(reports);
        const { sizing, needed_N } = reports[0]!;
        const known = held.way === "form" || held.friction !== undefined || jaws.friction !== undefined;
        expect(needed_N === null).toBe(!known);
        if (sizing.stop?.needed_N != null) expect(sizing.stop.needed_N).toBeGreaterThanOrEqual(0);
      }),
      { seed: 5, numRuns: 60 },
    );
  });
});

/** Without its undefined entries. */
const clean = <T extends object>(object: T): T =>
  Object.fromEntries(Object.entries(object).filter(([, value]) => value !== undefined)) as T;

function finite(value: unknown): void {
  if (typeof value === "number") expect(Number.isFinite(value)).toBe(true);
  else if (typeof value === "object" && value !== null) for (const inner of Object.values(value)) finite(inner);
}
