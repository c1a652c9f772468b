import { describe, expect, test } from "vitest";
import { exampleCell } from "../../test/cells/texts.ts";
import type { Axis } from "./axes.ts";
import { floorMap, mapStudy } from "./floor-map.ts";
import { rowLine, rowOf } from "./lines.ts";
import type { StudyRow } from "./run-study.ts";
import type { Study } from "./study.ts";
import { summarise, toCheck } from "./summary.ts";
import { varyCell } from "./vary-cell.ts";
import { changeSentence, layoutText, objectiveText } from "./words.ts";

const baseAxis = (along: "x" | "y" | "turn", values: readonly number[]): Axis => ({
  name: `base ${along}`,
  change: { kind: "base", along },
  values,
  continuous: false,
});

const study: Study = {
  title: "test",
  axes: [baseAxis("x", [-0.1, 0, 0.1]), baseAxis("turn", [0, 0.5])],
  sampling: { kind: "grid" },
  objectives: ["cycle time", "arm clearance", "torque share"],
  leastClearance: undefined,
  stand: undefined,
  checks: 3,
  variants: undefined,
};

const row = (
  layout: number,
  values: readonly number[],
  cycle: number,
  clearance: number,
  over: Partial<StudyRow> = {},
): StudyRow => ({
  layout,
  values: Float64Array.from(values),
  verdict: "works",
  unreachable: 0,
  targets: 4,
  cycle_s: cycle,
  clearance_m: clearance,
  armClearance_m: clearance,
  clearancePair: undefined,
  clearanceStep: undefined,
  jointMargin_rad: 1,
  manipulability: 1,
  torqueShare: Number.NaN,
  ...over,
});

const n = Number.NaN;
const rows = [
  row(0, [n, n], 10, 0.02),
  row(1, [-0.1, n], 9, 0.01),
  row(2, [0, n], 10, 0.02),
  row(3, [0.1, n], 12, 0.03),
  row(4, [n, 0], 10, 0.02),
  row(5, [n, 0.5], 9, 0.01),
  row(6, [-0.1, 0], 9, 0.01),
  row(7, [-0.1, 0.5], 8, 0.001),
  row(8, [0, 0], 10, 0.02),
  row(9, [0, 0.5], 20, 0.02),
  row(10, [0.1, 0], 5, 0.5, { verdict: "collides" }),
  row(11, [0.1, 0.5], n, n, { verdict: "out of reach", unreachable: 2 }),
];

describe("summary", () => {
  test("the front without what does not work, alike layouts once, by the one that changes least", () => {
    const summary = summarise(study, rows, 6);
    expect(summary.counts).toEqual({ works: 10, "out of reach": 1, "line not followed": 0, torque: 0, collides: 1 });
    // Nothing is known of torques.
    expect(summary.objectives).toEqual(["cycle time", "arm clearance"]);
    expect(summary.front.map(({ layout }) => layout).sort((a, b) => a - b)).toEqual([0, 1, 3, 7]);
    // Moved by -100 mm and turned by 0.5 rad come to the same.
    expect(summary.alike.get(1)).toBe(1);
    expect(summary.best.map(({ objective, row: best }) => [objective, best.layout])).toEqual([
      ["cycle time", 7],
      ["arm clearance", 3],
    ]);
    expect(summary.single.map(({ objective, axis, row: best }) => [objective, axis, best.layout])).toEqual([
      ["cycle time", 0, 1],
      ["arm clearance", 0, 3],
    ]);
    expect(toCheck(summary, study)).toHaveLength(3);
    expect(toCheck(summary, study)).toEqual(expect.arrayContaining([3, 7]));
  });

  test("a least clearance keeps layouts off the front", () => {
    const summary = summarise({ ...study, leastClearance: 0.015 }, rows, 6);
    expect(summary.tooClose).toBe(4);
    expect(summary.front.map(({ layout }) => layout).sort((a, b) => a - b)).toEqual([0, 3]);
  });

  test("nothing that works", () => {
    const summary = summarise(study, [rows[11]!], 1);
    expect(summary).toMatchObject({ front: [], best: [], single: [], objectives: [] });
    expect(toCheck(summary, study)).toEqual([]);
  });
});

test("a row as a line comes back as it was", () => {
  for (const one of rows) expect(rowOf(study, rowLine(study, one))).toEqual(one);
});

test("layouts and figures in words", () => {
  expect(layoutText(study, [0.06, -0.5])).toBe("base x +60 mm, base turn -28.65°");
  expect(layoutText(study, [0, n])).toBe("as it is");
  expect(changeSentence(study.axes[0]!, -0.1)).toBe("Moving the base by -100 mm in x");
  expect(objectiveText("torque share", 0.473)).toBe("47 %");
  expect(objectiveText("arm clearance", n)).toBe("not known");
});

describe("maps", () => {
  test("values stand where the base is, rows along x, footprints in world axes", () => {
    const cell = exampleCell("lathe");
    const mapped = mapStudy({ ...study, axes: [baseAxis("x", [-0.2, 0.4]), baseAxis("y", [0, 0.1])] }, 3);
    expect(mapped.axes.map(({ values }) => values)).toEqual([
      [-0.2, expect.closeTo(0.1, 12), 0.4],
      [0, 0.05, 0.1],
    ]);
    const nine = Array.from({ length: 9 }, (_, k) =>
      row(k, [Math.floor(k / 3), k % 3], 1, k / 100, { unreachable: k % 3 }),
    );
    const reach = floorMap(cell, mapped, nine, "reach");
    expect(reach).toMatchObject({ nx: 3, ny: 3, x0: -0.2, y0: 0, scale: 100 });
    expect(reach.dx).toBeCloseTo(0.3, 12);
    expect([...reach.values]).toEqual([1, 1, 1, 0.75, 0.75, 0.75, 0.5, 0.5, 0.5]);
    expect([...floorMap(cell, mapped, nine, "clearance").values]).toEqual([
      0, 0.03, 0.06, 0.01, 0.04, 0.07, 0.02, 0.05, 0.08,
    ]);
    const pedestal = reach.outlines.find(({ name }) => name === "pedestal")!;
    expect(pedestal.closed).toBe(true);
    expect(new Set(pedestal.points.map(([x, y]) => `${x.toFixed(3)},${y.toFixed(3)}`))).toEqual(
      new Set(["0.130,0.130", "-0.130,0.130", "-0.130,-0.130", "0.130,-0.130"]),
    );
    expect(reach.marks[0]).toEqual({ name: "base", x: 0, y: 0 });
  });
});

describe("what a layout changes in a cell", () => {
  const cell = exampleCell("two-lathes");
  const places = (holder: string, from = cell) =>
    from.holders.get(holder)!.places.map(({ worldFromPlace: t }) => [t[3], t[7]]);
  const tray = [...cell.holders.values()].find(({ kind, places: all }) => kind === "tray" && all.length > 3)!;

  test("another order serves the same places", () => {
    const axis: Axis = {
      name: "order",
      change: { kind: "order", holder: tray.name },
      values: [0, 1],
      words: ["columns", "rows back and forth"],
      continuous: false,
    };
    const now = places(tray.name);
    for (const word of [0, 1]) {
      const other = places(tray.name, varyCell(cell, { ...study, axes: [axis] }, Float64Array.of(word)));
      expect(other).not.toEqual(now);
      expect([...other].sort()).toEqual([...now].sort());
      expect(other[0]).toEqual(now[0]);
    }
  });

  test("two grippers that change roles keep names and signals; twice is as before", () => {
    const [a, b] = [...cell.tool.grippers.keys()] as [string, string];
    const axis: Axis = {
      name: "gripper",
      change: { kind: "gripper", gripper: a },
      values: [0, 1],
      words: [a, b],
      continuous: false,
    };
    const swapped = varyCell(cell, { ...study, axes: [axis] }, Float64Array.of(1));
    expect(swapped.tool.grippers.get(a)!.flangeFromTcp).toEqual(cell.tool.grippers.get(b)!.flangeFromTcp);
    expect(swapped.tool.grippers.get(a)!.device.command).toEqual(cell.tool.grippers.get(a)!.device.command);
    const back = varyCell(swapped, { ...study, axes: [axis] }, Float64Array.of(1));
    expect(back.tool.grippers).toEqual(cell.tool.grippers);
    expect(varyCell(cell, { ...study, axes: [axis] }, Float64Array.of(0)).tool.grippers).toEqual(cell.tool.grippers);
  });

  test("a tray moved and turned about its own origin", () => {
    const axes: Axis[] = (["x", "y", "turn"] as const).map((along) => ({
      name: along,
      change: { kind: "tray", holder: tray.name, along },
      values: [0.1],
      continuous: false,
    }));
    const before = places(tray.name);
    const after = places(tray.name, varyCell(cell, { ...study, axes }, Float64Array.of(0.1, -0.2, Math.PI / 2)));
    expect(after[0]).toEqual([expect.closeTo(before[0]![0]! + 0.1, 12), expect.closeTo(before[0]![1]! - 0.2, 12)]);
    const [dx, dy] = [before[1]![0]! - before[0]![0]!, before[1]![1]! - before[0]![1]!];
    expect(after[1]![0]! - after[0]![0]!).toBeCloseTo(-dy, 12);
    expect(after[1]![1]! - after[0]![1]!).toBeCloseTo(dx, 12);
  });
});
