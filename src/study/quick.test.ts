import { describe, expect, test } from "vitest";
import { exampleCell, smallLathe, textSource } from "../../test/cells/texts.ts";
import { buildArm } from "../arm/index.ts";
import { type Cell, loadCell } from "../cell/index.ts";
import { checkCell, createMover } from "../check/index.ts";
import { simulate } from "../cycle/index.ts";
import { type Axis, layoutsOf } from "./axes.ts";
import { createStudyRun, type StudyRun } from "./run-study.ts";
import { type Study, USUAL_OBJECTIVES } from "./study.ts";
import { varyCell } from "./vary-cell.ts";

const baseAxis = (along: "x" | "y" | "turn" | "height", values: readonly number[], continuous = true): Axis => ({
  name: `base ${along}`,
  change: { kind: "base", along },
  values,
  continuous,
});

const studyOf = (axes: readonly Axis[], over: Partial<Study> = {}): Study => ({
  title: "test",
  axes,
  sampling: { kind: "grid" },
  objectives: USUAL_OBJECTIVES,
  leastClearance: undefined,
  stand: undefined,
  checks: 0,
  variants: undefined,
  ...over,
});

const steps = (from: number, to: number, count: number) =>
  Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));

/** Links of 400 and 300 mm in a plane, and a third joint that turns the flange: reach from 100 to 700 mm. */
const planar = `
cell: planar arm
arm:
  name: planar
  dh: standard
  joints:
    - { name: J1, a: 400 mm, alpha: 0 deg, d: 0 mm, range: [-360, 360 deg], speed: 180 deg/s, acceleration: 600 deg/s^2, jerk: 6000 deg/s^3 }
    - { name: J2, a: 300 mm, alpha: 0 deg, d: 0 mm, range: [-360, 360 deg], speed: 180 deg/s, acceleration: 600 deg/s^2, jerk: 6000 deg/s^3 }
    - { name: J3, a: 0 mm, alpha: 0 deg, d: 0 mm, range: [-720, 720 deg], speed: 180 deg/s, acceleration: 600 deg/s^2, jerk: 6000 deg/s^3 }
parts: { disc: { stages: { raw: { mass: 1 kg, centre: [0, 0, 0 mm] } }, grips: { rim: {} } } }
poses:
  home: { joints: [0, 60, 0 deg] }
  spot: { at: [500, 0, 0 mm] }
routines:
  main: [{ go: spot }, { go: home }]
`;

function cellFrom(text: string): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  return loaded.value;
}

const rowsOf = (run: StudyRun) => Array.from({ length: run.layouts.count }, (_, i) => run.row(i));

test("a planar arm reaches what lies between the difference and the sum of its links", () => {
  const cell = cellFrom(planar);
  const run = createStudyRun(cell, studyOf([baseAxis("x", steps(-0.3, 1.3, 9)), baseAxis("y", steps(-0.4, 0.4, 5))]));
  for (const { values, verdict, unreachable } of rowsOf(run).slice(run.layouts.firstOfSample)) {
    const distance = Math.hypot(0.5 - values[0]!, values[1]!);
    const near = Math.min(Math.abs(distance - 0.7), Math.abs(distance - 0.1)) < 1e-6;
    if (near) continue;
    const reached = distance > 0.1 && distance < 0.7;
    expect([distance, verdict, unreachable]).toEqual([distance, reached ? "works" : "out of reach", reached ? 0 : 1]);
  }
});

describe("the quick look against the full check", () => {
  const cell = cellFrom(smallLathe);
  const study = studyOf([baseAxis("turn", [-0.3, 0.3]), baseAxis("x", [-0.12, 0.12]), baseAxis("y", [-0.1, 0.08])], {
    sampling: { kind: "halton", count: 5, seed: 5 },
  });
  const run = createStudyRun(cell, study);

  test("the present layout has the period of its check, to rounding", () => {
    const row = run.row(0);
    const outcome = checkCell(cell);
    if (!outcome.ok) throw new Error(outcome.reason);
    expect(row.verdict).toBe("works");
    expect(row.cycle_s).toBeCloseTo(outcome.report.cycle!.period_s, 5);
    // Sampled, and without the parts in the trays: not below what is certified with them for the whole of the motions.
    expect(row.clearance_m).toBeGreaterThanOrEqual(outcome.report.clearance!.min_m - 1e-9);
    expect(row.armClearance_m).toBeGreaterThanOrEqual(row.clearance_m);
  });

  test("sampled layouts: the same are reachable, torque and period come near", () => {
    const { layouts } = run;
    let compared = 0;
    for (let i = layouts.firstOfSample; i < layouts.count; i++) {
      const row = run.row(i);
      const full = run.check(i)!;
      const moves = full.errors.filter((error) =>
        /^(joint-limit|out-of-reach|branch-change|no-solution|singularity)/.test(error),
      );
      expect([i, moves.length > 0]).toEqual([i, row.verdict === "out of reach" || row.verdict === "line not followed"]);
      if (moves.length > 0 || Number.isNaN(full.cycle_s)) continue;
      compared++;
      expect(Math.abs(row.cycle_s - full.cycle_s)).toBeLessThan(0.01 * full.cycle_s);
      expect(Math.abs(row.torqueShare - full.torqueShare)).toBeLessThan(0.1);
    }
    expect(compared).toBeGreaterThan(2);
  });
});

test("rows do not depend on what was asked before", () => {
  const cell = cellFrom(smallLathe);
  const study = studyOf([baseAxis("x", [-0.1, 0.1]), baseAxis("height", [-0.05, 0.05])], {
    sampling: { kind: "random", count: 6, seed: 2 },
  });
  const forward = rowsOf(createStudyRun(cell, study));
  const other = createStudyRun(cell, study);
  const backward = Array.from(forward, (_, i) => other.row(forward.length - 1 - i)).reverse();
  expect(backward).toEqual(forward);
});

test("a raised base takes its stand along, which keeps its foot", () => {
  const cell = exampleCell("lathe");
  const study = studyOf([baseAxis("height", [0.1, 0.2], false)]);
  const raised = varyCell(cell, study, layoutsOf(study.axes, study.sampling).at(1));
  const stand = raised.scene.shapes.find(({ name }) => name === "pedestal")!;
  expect(raised.worldFromBase[11]! - cell.worldFromBase[11]!).toBeCloseTo(0.1, 12);
  expect(stand.shape).toMatchObject({ kind: "box", size: [0.26, 0.26, 0.9] });
  expect(stand.ownerFromShape[11]! - 0.45).toBeCloseTo(0, 12);
});

test.each(["mill", "two-lathes"])("%s works where it stands, with the period of its simulation", (name) => {
  const cell = exampleCell(name);
  const variant = [...cell.parts.keys()][0]!;
  const run = createStudyRun(cell, studyOf([baseAxis("x", [0.1], false)], { variants: [variant] }));
  const row = run.row(0);
  const { period } = simulate(cell, createMover(cell, buildArm(cell.arm)), { variant, pace: "nominal" });
  // The mill's lines pass near a wrist singularity, where joints turn far in a short way.
  expect(row.verdict).toBe("works");
  expect(row.cycle_s).toBeCloseTo(period, 5);
});

test("a stand that would stand in a table collides, one beside it does not", () => {
  // The pedestal reaches 130 mm to either side, the table begins 270 mm away.
  const run = createStudyRun(
    exampleCell("lathe"),
    studyOf([baseAxis("y", [-0.135, -0.145], false)], { variants: ["short"] }),
  );
  expect(run.row(1)).not.toMatchObject({ clearancePair: ["pedestal", "raw-table"] });
  expect(run.row(2)).toMatchObject({
    verdict: "collides",
    clearancePair: ["pedestal", "raw-table"],
    clearanceStep: undefined,
  });
  expect(run.row(2).clearance_m).toBeCloseTo(-0.005, 6);
});
