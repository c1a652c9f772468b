/** `plan`: routes through the built program, found, proved closed, given up and refused. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { root, run } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");
const HOME = [0, Math.PI / 2, 0, 0, -Math.PI / 2, 0];
/** Left and right of a post, and with the gripper in the closed door. */
const LEFT = [0.9, 0.9, -0.6, 0, -1.2, 0];
const RIGHT = [-0.9, 0.9, -0.6, 0, -1.2, 0];
const DOOR = [1.57, 1, -0.6, 0, -1.2, 0];

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-plan-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const lines = (records: readonly object[]) => records.map((r) => `${JSON.stringify(r)}\n`).join("");
const answers = (out: string) =>
  out
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line) as Record<string, unknown>);

/** The small cell with a post in front of the arm. */
function withPost(): string {
  const path = join(folder, "post.yaml");
  const text = readFileSync(CELL, "utf8").replace(
    /^( {4}table-top: .*)$/m,
    "$1\n    post: { cylinder: { diameter: 80 mm, length: 450 mm }, in: world, at: [320, 0, 225 mm] }",
  );
  writeFileSync(path, text);
  return path;
}

it("answers with corners, length, time and clearance; every state along the corners is clear as `clearance` tells", async () => {
  const cell = withPost();
  const asked = await run(["plan", cell, "--margin", "10 mm"], {
    input: lines([
      { id: "round", start: LEFT, goal: RIGHT, seed: 3 },
      { id: "again", start: LEFT, goal: RIGHT, seed: 3 },
      { id: 7, start: LEFT, goal: LEFT },
    ]),
  });
  expect({ stderr: asked.stderr, status: asked.status }).toEqual({ stderr: "", status: 0 });
  const [round, again, none] = answers(asked.stdout);
  expect(again).toEqual({ ...round, id: "again" });
  expect(none).toMatchObject({ id: 7, found: true, path: [LEFT, LEFT], length_rad: 0, time_s: 0 });
  const path = round!["path"] as number[][];
  expect(round!["found"]).toBe(true);
  expect(path.length).toBeGreaterThan(2);
  expect([path[0], path.at(-1)]).toEqual([LEFT, RIGHT]);
  const steps = path.slice(1).map((q, k) => Math.hypot(...q.map((v, i) => v - path[k]![i]!)));
  const length = steps.reduce((a, b) => a + b, 0);
  expect(round!["length_rad"]).toBeCloseTo(length, 9);
  expect(length).toBeGreaterThan(1.8);
  expect(round!["time_s"]).toBeGreaterThan(0.5);
  expect(round!["clearance_m"]).toBeGreaterThanOrEqual(0.01);
  const states = path.slice(1).flatMap((q, k) =>
    Array.from({ length: 40 }, (_, s) => ({
      q: q.map((v, i) => path[k]![i]! + ((s + 1) / 40) * (v - path[k]![i]!)),
    })),
  );
  const measured = await run(["clearance", cell], { input: lines(states) });
  const least = Math.min(...answers(measured.stdout).map((a) => a["clearance_m"] as number));
  expect(least).toBeGreaterThanOrEqual(round!["clearance_m"] as number);
});

it("tells what cannot be, with the pair, and that it is certain", async () => {
  const { stdout, status } = await run(["plan", CELL], {
    input: lines([
      { id: 1, start: HOME, goal: DOOR },
      { id: 2, start: HOME, goal: [9, 1, 0, 0, 0, 0] },
    ]),
  });
  expect(status).toBe(0);
  const [door, far] = answers(stdout);
  expect(door).toMatchObject({ found: false, path: [], length_rad: null, reason: "goal not clear", proven: true });
  expect(door!["pair"]).toEqual(["gripper.body", "lathe.door.panel"]);
  expect(door!["message"]).toMatch(/^goal: two bodies are -19\.41 mm apart/);
  expect(far).toMatchObject({ found: false, reason: "goal outside limits", proven: true });
});

it("gives up when the budget is spent, and says that this proves nothing", async () => {
  const { stdout } = await run(["plan", withPost(), "--states", "30"], {
    input: lines([{ id: 1, start: LEFT, goal: RIGHT, seed: 3 }]),
  });
  expect(answers(stdout)[0]).toMatchObject({ found: false, reason: "not found", proven: false });
});

it("gives straight ways out of a place as steps of the cell file, as text and as a document", async () => {
  const asText = await run(["plan", CELL, "--retreat-from", "raw-tray"]);
  expect({ stderr: asText.stderr, status: asText.status }).toEqual({ stderr: "", status: 0 });
  expect(asText.stdout).toMatch(/^pick\[3\] hold: way in to raw-tray, place 1, empty \(short\)$/m);
  expect(asText.stdout).toMatch(/^pick\[3\] hold: way out of raw-tray, place 1, short in gripper \(short\)$/m);
  const asked = await run(["plan", CELL, "--retreat-from", "raw-tray", "--margin", "2 mm", "--json"]);
  const { schemaVersion, holder, visits } = JSON.parse(asked.stdout);
  expect({ schemaVersion, holder }).toEqual({ schemaVersion: 1, holder: "raw-tray" });
  expect(visits.map((visit: { way: string }) => visit.way)).toEqual(["approach", "retreat"]);
  for (const { way, clearOf } of visits) {
    expect(clearOf).toHaveLength(1);
    const [{ of, ways }] = clearOf;
    expect(of).toBe("raw-tray");
    expect(ways.length).toBeGreaterThan(0);
    for (const { step, offset_m, stroke_m, clearance_m, q } of ways) {
      expect(step).toMatch(
        way === "retreat"
          ? /^go: \{ to: raw-tray, offset: \[.* mm\], by: line \}$/
          : /^go: \{ to: raw-tray, offset: \[.* mm\] \}$/,
      );
      expect(Math.hypot(...offset_m)).toBeCloseTo(stroke_m, 9);
      expect(clearance_m).toBeGreaterThanOrEqual(0.002);
      expect(q).toHaveLength(6);
    }
  }
  const unknown = await run(["plan", CELL, "--retreat-from", "raw-tary"]);
  expect(unknown.status).toBe(2);
  expect(unknown.stderr).toContain("--retreat-from: found raw-tary; expected one of raw-tray, finished-tray");
  const part = await run(["plan", CELL, "--retreat-from", "raw-tray", "--variant", "shorter"]);
  expect(part.stderr).toContain("--variant: found shorter; expected one of short, long");
});

it("refuses bad lines by number and bad options by name", async () => {
  const bad = await run(["plan", CELL], {
    input: lines([{ start: HOME }, { start: HOME, goal: [0] }, { start: HOME, goal: HOME, seed: 1.5 }]),
  });
  expect(bad.status).toBe(2);
  expect(bad.stderr.trimEnd().split("\n")).toEqual([
    'millhand: line 1: found goal: nothing; expected "goal" with 6 numbers (joint values of 6 joints, rad)',
    "millhand: line 2: found goal with 1 entries; expected 6 numbers (joint values of 6 joints, rad)",
    "millhand: line 3: found seed: 1.5; expected a whole number, or none",
  ]);
  for (const margin of ["10", "-1 mm", "3 deg", "much"]) {
    const refused = await run(["plan", CELL, "--margin", margin]);
    expect({ margin, status: refused.status }).toEqual({ margin, status: 2 });
    expect(refused.stderr).toContain("a length with its unit");
  }
});
