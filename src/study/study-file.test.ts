import { describe, expect, test } from "vitest";
import { exampleCell } from "../../test/cells/texts.ts";
import { layoutsOf, radicalInverse } from "./axes.ts";
import { baseAxisFrom, loadStudy } from "./study-file.ts";

const cell = exampleCell("lathe");

const good = `
study: where the arm and the trays stand
note: first try
vary:
  base:
    x: { from: -200 mm, to: 200 mm, count: 5 }
    turn: "-30 to 30 deg, 3"
  trays:
    finished: { y: [0, 50, 100 mm], order: [rows, columns] }
  tcp:
    gripper: { z: "-5 to 15 mm, 3" }
sample: { halton: 40, seed: 7 }
compare by: [cycle time, arm clearance]
least clearance: 8 mm
stand: [pedestal]
checks: 2
parts: [short]
`;

test("everything a study file can say", () => {
  const loaded = loadStudy(good, "study.yaml", cell);
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const { axes, ...rest } = loaded.value;
  expect(axes.map(({ name }) => name)).toEqual([
    "base x",
    "base turn",
    "finished y",
    "finished order",
    "gripper tcp z",
  ]);
  expect(axes[0]!.values).toEqual([-0.2, -0.1, 0, 0.1, 0.2]);
  expect(axes[1]!.values.map((v) => Math.round((v * 180) / Math.PI))).toEqual([-30, 0, 30]);
  expect(axes[2]).toMatchObject({ values: [0, 0.05, 0.1], continuous: false });
  expect(axes[3]).toMatchObject({ values: [0, 1], words: ["rows", "columns"] });
  expect(rest).toEqual({
    title: "where the arm and the trays stand",
    sampling: { kind: "halton", count: 40, seed: 7 },
    objectives: ["cycle time", "arm clearance"],
    leastClearance: 0.008,
    stand: ["pedestal"],
    checks: 2,
    variants: ["short"],
  });
});

describe("planted errors", () => {
  const study = (vary: string, more = "") => `study: s\nvary:\n${vary}\n${more}`;
  test.each([
    ["not YAML", "study: [", "syntax", 1],
    ["nothing", "", "wrong-type", 1],
    ["no name", 'vary: { base: { x: "-1 to 1 mm, 3" } }', "missing-key", 1],
    ["nothing varied", "study: s\nvary: {}", "nothing-varied", 2],
    ["an axis mistyped", study('  base: { xx: "-1 to 1 mm, 3" }'), "unknown-key", 3],
    ["no unit", study('  base: { x: "-1 to 1, 3" }'), "missing-unit", 3],
    ["a length for an angle", study('  base: { turn: "-1 to 1 mm, 3" }'), "wrong-unit", 3],
    ["the wrong way round", study('  base: { x: "5 to 1 mm, 3" }'), "range-order", 3],
    ["one value of a range", study('  base: { x: "1 to 5 mm, 1" }'), "out-of-range", 3],
    ["no count", study("  base: { x: { from: -1 mm, to: 1 mm } }"), "missing-key", 3],
    ["an empty list", study("  base: { x: [] }"), "wrong-length", 3],
    ["a value twice", study("  base: { x: [1, 2, 1 mm] }"), "duplicate-value", 3],
    ["another tray", study('  trays: { raw-shrot: { x: "-1 to 1 mm, 3" } }'), "missing-tray", 3],
    ["a chuck is no tray", study('  trays: { lathe.chuck: { x: "-1 to 1 mm, 3" } }'), "missing-tray", 3],
    ["another gripper", study('  tcp: { grip: { z: "-1 to 1 mm, 3" } }'), "missing-gripper", 3],
    ["another order", study("  trays: { finished: { order: [rows, coloumns] } }"), "unknown-word", 3],
    ["another grip", study("  grips: { short: [end, side] }"), "missing-grip", 3],
    ["a word twice", study("  grips: { short: [end, end] }"), "duplicate-value", 3],
    ["another shape", study('  base: { x: "-1 to 1 mm, 3" }', "stand: [pedestall]"), "missing-shape", 4],
    ["another objective", study('  base: { x: "-1 to 1 mm, 3" }', "compare by: [speed]"), "unknown-word", 4],
    ["two samples", study('  base: { x: "-1 to 1 mm, 3" }', "sample: { random: 3, halton: 3 }"), "conflicting-keys", 4],
    ["a grid with a count", study('  base: { x: "-1 to 1 mm, 3" }', "sample: gird"), "unknown-word", 4],
    [
      "too many layouts",
      study('  base: { x: "-1 to 1 mm, 1000", y: "-1 to 1 mm, 1000", turn: "-1 to 1 deg, 10" }'),
      "too-many-layouts",
      3,
    ],
  ])("%s", (_, text, code, line) => {
    const loaded = loadStudy(text, "study.yaml", cell);
    if (loaded.ok) throw new Error("read without an issue");
    expect(loaded.issues.map((issue) => [issue.code, issue.place.file, issue.place.line])).toContainEqual([
      code,
      "study.yaml",
      line,
    ]);
    for (const { found, expected, mend } of loaded.issues)
      for (const words of [found, expected, mend]) expect(words).not.toBe("");
  });

  test("all of them at once, in the order of the file", () => {
    const text = study('  base: { x: "1 mm" }\n  tcp: { grip: {} }', "checks: many\nparts: [shrot]");
    const loaded = loadStudy(text, "study.yaml", cell);
    expect(!loaded.ok && loaded.issues.map(({ code }) => code)).toEqual([
      "wrong-type",
      "missing-gripper",
      "not-a-number",
      "missing-part",
    ]);
  });

  test("an option's issue names the option", () => {
    const read = baseAxisFrom("-1 to 1, 3", "--base-x", "x");
    expect(!read.ok && read.issues[0]).toMatchObject({ code: "missing-unit", place: { file: "--base-x", line: 1 } });
  });
});

describe("layouts", () => {
  const axes = [
    { name: "base x", change: { kind: "base", along: "x" }, values: [-1, 0, 2], continuous: true },
    { name: "base y", change: { kind: "base", along: "y" }, values: [5, 6], continuous: false },
  ] as const;
  const all = (sampling: Parameters<typeof layoutsOf>[1]) => {
    const layouts = layoutsOf(axes, sampling);
    return Array.from({ length: layouts.count }, (_, i) => Array.from(layouts.at(i)));
  };

  test("the present one, each axis alone, then the grid with the last axis fastest", () => {
    const n = Number.NaN;
    expect(all({ kind: "grid" })).toEqual([
      [n, n],
      [-1, n],
      [0, n],
      [2, n],
      [n, 5],
      [n, 6],
      [-1, 5],
      [-1, 6],
      [0, 5],
      [0, 6],
      [2, 5],
      [2, 6],
    ]);
  });

  test("Halton: the first points in bases 2 and 3", () => {
    expect([1, 2, 3, 4].map((k) => radicalInverse(2, k))).toEqual([1 / 2, 1 / 4, 3 / 4, 1 / 8]);
    expect(radicalInverse(3, 5)).toBeCloseTo(2 / 3 + 1 / 9, 12);
  });

  test.each(["random", "halton"] as const)(
    "%s: inside the ranges, spread over them, more points go on with the same",
    (kind) => {
      const few = all({ kind, count: 50, seed: 3 }).slice(6);
      const many = all({ kind, count: 400, seed: 3 }).slice(6);
      const others = all({ kind, count: 50, seed: 4 }).slice(6);
      expect(many.slice(0, 50)).toEqual(few);
      expect(others).not.toEqual(few);
      for (const [x, y] of many) {
        expect(x).toBeGreaterThanOrEqual(-1);
        expect(x).toBeLessThanOrEqual(2);
        expect([5, 6]).toContain(y);
      }
      const mean = (k: number) => many.reduce((sum, row) => sum + row[k]!, 0) / many.length;
      expect(mean(0)).toBeGreaterThan(0.35);
      expect(mean(0)).toBeLessThan(0.65);
      expect(mean(1)).toBeGreaterThan(5.4);
      expect(mean(1)).toBeLessThan(5.6);
    },
  );
});
