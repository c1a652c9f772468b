/** `study`: the same results from any number of threads, after being stopped or killed, and files that do not fit refused. */
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ended, root, run, start } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-study-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const file = (name: string) => join(folder, name);
const text = (name: string) => readFileSync(file(name), "utf8");
const AXES = ["--base-x", "-60 to 60 mm, 7", "--base-y", "-40 to 40 mm, 5", "--base-turn", "-10 to 10 deg, 3"];
const whole = ["study", CELL, ...AXES, "--checks", "1"];
/** Present, 15 changed alone, 105 of the grid. */
const LAYOUTS = 121;

/** Waits until a file has so many lines. */
async function lines(name: string, count: number): Promise<void> {
  for (;;) {
    if (existsSync(file(name)) && text(name).split("\n").length > count) return;
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

describe("results", () => {
  let uninterrupted = "";
  beforeAll(async () => {
    const { status, stderr } = await run([...whole, "--threads", "1", "--results", file("one.jsonl")]);
    expect([stderr, status]).toEqual(["", 0]);
    uninterrupted = text("one.jsonl");
  });

  it("has a header, every layout in order and the full checks", () => {
    const records = uninterrupted
      .trimEnd()
      .split("\n")
      .map((line) => JSON.parse(line) as Record<string, unknown>);
    expect(records[0]).toMatchObject({ schemaVersion: 1, layouts: LAYOUTS, axes: ["base turn", "base x", "base y"] });
    expect(records.slice(1, LAYOUTS + 1).map(({ layout }) => layout)).toEqual(
      Array.from({ length: LAYOUTS }, (_, i) => i),
    );
    expect(records.slice(LAYOUTS + 1)).toHaveLength(1);
    expect(records.at(-1)).toHaveProperty("checked");
    expect(records.filter(({ verdict }) => verdict === "works").length).toBeGreaterThan(5);
  });

  it.each([2, 3])("are the same from %d threads", async (threads) => {
    const name = `threads-${threads}.jsonl`;
    const { status } = await run([...whole, "--threads", `${threads}`, "--results", file(name)]);
    expect(status).toBe(0);
    expect(text(name)).toBe(uninterrupted);
  });

  it.each(["SIGINT", "SIGKILL"] as const)("go on byte for byte after %s", async (signal) => {
    const name = `${signal}.jsonl`;
    const child = start([...whole, "--threads", "2", "--results", file(name)]);
    const end = ended(child);
    await lines(name, 20);
    child.kill(signal);
    const { status, stderr } = await end;
    expect(status).toBe(signal === "SIGINT" ? 3 : null);
    const kept = text(name);
    expect(kept.length).toBeLessThan(uninterrupted.length);
    if (signal === "SIGINT") expect(stderr).toContain(`go on with --resume ${file(name)}`);
    const resumed = await run([...whole, "--threads", "2", "--resume", file(name)]);
    expect([resumed.stderr, resumed.status]).toEqual(["", 0]);
    expect(text(name)).toBe(uninterrupted);
  });

  it("go on from a file cut in the middle of a line, of the header too", async () => {
    for (const [k, share] of [0.4, 0.999].entries()) {
      writeFileSync(file(`cut-${k}.jsonl`), uninterrupted.slice(0, Math.floor(share * uninterrupted.length)));
      const { status } = await run([...whole, "--resume", file(`cut-${k}.jsonl`)]);
      expect(status).toBe(0);
      expect(text(`cut-${k}.jsonl`)).toBe(uninterrupted);
    }
    writeFileSync(file("cut-head.jsonl"), uninterrupted.slice(0, 30));
    const { status, stderr } = await run([...whole, "--resume", file("cut-head.jsonl")]);
    expect(status).toBe(2);
    expect(stderr).toContain("no results of a study");
  });

  it("of another study are refused and left alone, and so is a file that is there already", async () => {
    const other = await run(["study", CELL, "--base-x", "-60 to 60 mm, 5", "--resume", file("one.jsonl")]);
    expect(other.status).toBe(2);
    expect(other.stderr).toMatch(/results of another study.*begin anew with --results/);
    const again = await run([...whole, "--results", file("one.jsonl")]);
    expect(again.status).toBe(2);
    expect(again.stderr).toContain(`--resume ${file("one.jsonl")}`);
    expect(text("one.jsonl")).toBe(uninterrupted);
  });
});

it("prints one JSON document, writes a table and maps, and the cell of a layout", async () => {
  const { status, stdout, stderr } = await run([
    ...["study", CELL, "--base-x", "-60 to 60 mm, 3", "--base-y", "-40 to 40 mm, 3", "--checks", "0", "--json"],
    ...["--csv", file("all.csv"), "--map-steps", "5"],
    ...["--reach-map", file("reach.svg"), "--clearance-map", file("clearance.json")],
    ...["--layout", "1", "--write-cell", file("moved")],
  ]);
  expect([stderr, status]).toEqual(["", 0]);
  const document = JSON.parse(stdout);
  expect(document).toMatchObject({ schemaVersion: 1, layouts: 16, present: { layout: 0, changes: {} } });
  expect(document.front.length).toBeGreaterThan(0);
  expect(document.taken).toMatchObject({ layout: 1, changes: [{ path: expect.stringMatching(/^arm\.mount/) }] });
  const reference = readFileSync(join(root, "docs", "reference", "study-json.md"), "utf8");
  const keys = [document, document.present, ...document.taken.changes].flatMap((part) => Object.keys(part));
  expect(keys.filter((key) => !reference.includes(`\`${key}`))).toEqual([]);
  const table = text("all.csv").split("\r\n");
  expect(table[0]).toMatch(/^layout,base x \(m\),base y \(m\),verdict,/);
  expect(table).toHaveLength(18);
  expect(text("reach.svg")).toMatch(/^<svg[\s\S]*<\/svg>\s*$/);
  const map = JSON.parse(text("clearance.json"));
  expect(map).toMatchObject({ nx: 5, ny: 5 });
  expect(map.values).toHaveLength(5);

  // The written cell is the layout: its own present layout has the figures that the study gave.
  const written = await run([
    "study",
    join(file("moved"), "small-lathe.yaml"),
    "--base-x",
    "-1 to 1 mm, 2",
    "--checks",
    "0",
    "--json",
  ]);
  const moved = JSON.parse(written.stdout).present;
  const [line] = table.filter((row) => row.startsWith("1,"));
  expect(line).toContain(`,${moved.verdict},`);
  expect(line).toContain(`,${moved.jointMargin_rad},`);
});

describe("what cannot be used", () => {
  it.each([
    [["study", CELL], "nothing to vary"],
    [["study", CELL, "--base-x", "-60 to 60, 5"], "--base-x:1:1: found -60, 60; expected"],
    [["study", CELL, "--base-x", "far"], "--base-x:1:1"],
    [["study", CELL, "--base-x", "-60 to 60 mm, 3", "--threads", "0"], "Expected a whole number from 1 to 64"],
    [["study", CELL, "--base-x", "-60 to 60 mm, 3", "--layout", "99"], "there is no layout 99"],
    [["study", CELL, "--base-x", "-60 to 60 mm, 3", "--write-cell", "x"], "--write-cell needs --layout"],
    [["study", CELL, "--base-x", "-60 to 60 mm, 3", "--reach-map", "map.gif"], "ends in .svg, .png, .json or .csv"],
    [["study", CELL, "--study", "none.yaml"], "cannot read none.yaml"],
    [["study", CELL, "--random", "5", "--halton", "5", "--base-x", "-1 to 1 mm, 2"], "cannot be used with"],
  ])("%j", async (args, message) => {
    const { status, stderr, stdout } = await run(args);
    expect(stderr).toContain(message);
    expect([status, stdout]).toEqual([2, ""]);
  });

  it("a study file, with file, line and mend", async () => {
    writeFileSync(file("study.yaml"), 'study: s\nvary:\n  trays: { raw-tary: { x: "-1 to 1 mm, 3" } }\n');
    const { status, stderr } = await run(["study", CELL, "--study", file("study.yaml")]);
    expect(status).toBe(2);
    expect(stderr).toContain(`${file("study.yaml")}:3:12: `);
    expect(stderr).toContain("Did you mean raw-tray?");
  });

  it("a study in which no layout will do ends with status 1 and says so", async () => {
    writeFileSync(
      file("far.yaml"),
      'study: s\nvary:\n  base: { x: "-1 to 1 mm, 2" }\nleast clearance: 3 m\ncompare by: [clearance]\n',
    );
    const { status, stdout } = await run(["study", CELL, "--study", file("far.yaml")]);
    expect(status).toBe(1);
    expect(stdout).toContain("Every layout that works has less than 3000.0 mm of clearance.");
  });
});
