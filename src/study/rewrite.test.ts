import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { exampleCell, smallLathe } from "../../test/cells/texts.ts";
import { type Cell, loadCell } from "../cell/index.ts";
import type { Axis } from "./axes.ts";
import { rewriteCell } from "./rewrite.ts";
import { type Study, USUAL_OBJECTIVES } from "./study.ts";
import { varyCell } from "./vary-cell.ts";

const change = (axis: Axis["change"], words?: readonly string[]): Axis => ({
  name: JSON.stringify(axis),
  change: axis,
  values: [0, 1],
  continuous: false,
  ...(words === undefined ? {} : { words }),
});

const studyOf = (axes: readonly Axis[]): Study => ({
  title: "test",
  axes,
  sampling: { kind: "grid" },
  objectives: USUAL_OBJECTIVES,
  leastClearance: undefined,
  stand: undefined,
  checks: 0,
  variants: undefined,
});

const textsOf = (example: string): Map<string, string> => {
  const folder = new URL(`../../examples/${example}/`, import.meta.url);
  return new Map(
    readdirSync(folder)
      .filter((name) => name.endsWith(".yaml"))
      .map((name) => [name, readFileSync(new URL(name, folder), "utf8")]),
  );
};

/** The cell as the rewritten texts load. */
function reloaded(texts: ReadonlyMap<string, string>): Cell {
  const loaded = loadCell("cell.yaml", {
    read: (name) => (texts.has(name) ? { text: texts.get(name)! } : { problem: "missing", detail: "" }),
  });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  return loaded.value;
}

const lathe = exampleCell("lathe");
const texts = textsOf("lathe");

describe("a layout written into the files of a cell", () => {
  test("the base moved, turned and raised with its stand; comments and everything else stay", () => {
    const study = studyOf([
      change({ kind: "base", along: "x" }),
      change({ kind: "base", along: "y" }),
      change({ kind: "base", along: "height" }),
      change({ kind: "base", along: "turn" }),
    ]);
    const values = Float64Array.of(0.06, -0.0315, 0.1, Math.PI / 6);
    const out = rewriteCell(lathe, study, values, texts, "cell.yaml");
    if (!out.ok) throw new Error(out.reason);
    expect(out.changes.map(({ file, path, to }) => `${file} ${path} ${to}`)).toEqual([
      "arm.yaml arm.mount.at at: [60, -31.5, 100 mm]",
      "arm.yaml arm.mount.abc abc: [0, 0, 30 deg]",
      "cell.yaml scene.shapes.pedestal.at [60, -31.5, 450 mm]",
      "cell.yaml scene.shapes.pedestal.abc abc: [0, 0, 30 deg]",
      "cell.yaml scene.shapes.pedestal.box [260, 260, 900 mm]",
    ]);
    expect(out.texts.get("arm.yaml")).toBe(
      texts
        .get("arm.yaml")!
        .replace("mount: { in: pedestal }", "mount: { in: pedestal, at: [60, -31.5, 100 mm], abc: [0, 0, 30 deg] }"),
    );
    for (const { file, line, from } of out.changes)
      expect(texts.get(file)!.split("\n")[line - 1]).toContain(from.split("\n")[0]);
    const cell = reloaded(out.texts);
    const wanted = varyCell(lathe, study, values);
    cell.worldFromBase.forEach((v, i) => {
      expect(v).toBeCloseTo(wanted.worldFromBase[i]!, 7);
    });
  });

  test("a tray moved, turned and served otherwise, and a tool centre point shifted", () => {
    const study = studyOf([
      change({ kind: "tray", holder: "finished", along: "x" }),
      change({ kind: "tray", holder: "finished", along: "turn" }),
      change({ kind: "order", holder: "raw-short" }, ["rows", "columns back and forth"]),
      change({ kind: "tcp", gripper: "gripper", along: "z" }),
    ]);
    const values = Float64Array.of(0.02, 0.1, 1, 0.004);
    const out = rewriteCell(lathe, study, values, texts, "cell.yaml");
    if (!out.ok) throw new Error(out.reason);
    const cell = reloaded(out.texts);
    const wanted = varyCell(lathe, study, values);
    for (const name of ["finished", "raw-short"])
      cell.holders.get(name)!.places.forEach(({ worldFromPlace }, k) => {
        const there = wanted.holders.get(name)!.places[k]!.worldFromPlace;
        worldFromPlace.forEach((v, i) => {
          expect(v).toBeCloseTo(there[i]!, 7);
        });
      });
    expect(cell.tool.grippers.get("gripper")!.flangeFromTcp[11]).toBeCloseTo(0.149, 9);
    expect(cell.holders.get("raw-short")!.places[1]!.worldFromPlace).not.toEqual(
      lathe.holders.get("raw-short")!.places[1]!.worldFromPlace,
    );
  });

  test("a cell in one file, with keys on lines of their own", () => {
    const one = new Map([["cell.yaml", smallLathe]]);
    const cell = reloaded(one);
    const study = studyOf([change({ kind: "base", along: "y" })]);
    const out = rewriteCell(cell, study, Float64Array.of(-0.05), one, "cell.yaml");
    if (!out.ok) throw new Error(out.reason);
    expect(reloaded(out.texts).worldFromBase[7]! - cell.worldFromBase[7]!).toBeCloseTo(-0.05, 9);
  });

  test("nothing changed leaves the texts alone", () => {
    const out = rewriteCell(
      lathe,
      studyOf([change({ kind: "base", along: "x" })]),
      Float64Array.of(Number.NaN),
      texts,
      "cell.yaml",
    );
    expect(out).toMatchObject({ ok: true, changes: [] });
    expect(out.ok && [...out.texts]).toEqual([...texts]);
  });

  test("refused: another grip, and a place that is an alias", () => {
    const grip = studyOf([change({ kind: "grip", part: "short" }, ["end"])]);
    expect(rewriteCell(lathe, grip, Float64Array.of(0), texts, "cell.yaml")).toMatchObject({
      ok: false,
      reason: expect.stringContaining("change the steps of the routines"),
    });
    const aliased = new Map(texts);
    aliased.set(
      "cell.yaml",
      texts.get("cell.yaml")!.replace(/finished: (\{ in: table.*\})/, "finished: &place $1\n    spare: *place"),
    );
    const cell = reloaded(aliased);
    const study = studyOf([change({ kind: "tray", holder: "spare", along: "x" })]);
    expect(rewriteCell(cell, study, Float64Array.of(0.1), aliased, "cell.yaml")).toMatchObject({
      ok: false,
      reason: expect.stringContaining("by hand"),
    });
  });
});
