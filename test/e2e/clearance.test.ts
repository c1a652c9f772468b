/** `clearance`: JSON Lines through the built program, what is left out, bad lines and unusable cells. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { boxMesh } from "../meshes/shapes.ts";
import { glb, gltfOf } from "../meshes/write-gltf.ts";
import { stepBox } from "../meshes/write-step.ts";
import { binaryStl } from "../meshes/write-stl.ts";
import { root, run } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");
const text = readFileSync(CELL, "utf8");

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-clearance-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function cellOf(name: string, contents: string): string {
  const path = join(folder, name);
  writeFileSync(path, contents);
  return path;
}

/** Joint values of the pose "home", and of one whose gripper stands in the closed door. */
const HOME = [0, Math.PI / 2, 0, 0, -Math.PI / 2, 0];
const DOOR = [1.57, 1, -0.6, 0, -1.2, 0];
const lines = (records: readonly object[]) => records.map((r) => `${JSON.stringify(r)}\n`).join("");
const answers = (out: string) =>
  out
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line) as Record<string, unknown>);

it("answers with the least distance and its pair, in order, negative where bodies overlap", async () => {
  const { stdout, stderr, status } = await run(["clearance", CELL], {
    input: lines([
      { id: "home", q: HOME },
      { id: 2, q: DOOR },
    ]),
  });
  expect(status).toBe(0);
  expect(stderr).not.toContain("not considered");
  const [home, door] = answers(stdout);
  expect(home).toEqual({ id: "home", clearance_m: expect.closeTo(0.23069, 5), pair: ["J2.upper-arm", "table-top"] });
  expect(door).toEqual({ id: 2, clearance_m: expect.closeTo(-0.01941, 5), pair: ["gripper.body", "lathe.door.panel"] });
});

it("tells the overlap of a ball around the flange with the arm's own base, by hand", async () => {
  // Nothing but the foot (radius 110 mm, top at 200 mm) and a ball of 500 mm radius about the flange; the rest is far away.
  const simple = text
    .replace(/^ {4}J2: .*$/m, "    J2: { mass: 9 kg, centre: [-225, 0, 60 mm], inertia: [0.03, 0.19, 0.19 kg m^2] }")
    .replace(/^ {8}body: .*$/m, "        ball: { sphere: { radius: 500 mm }, at: [0, 0, 0 mm] }")
    .replace(/^ {8}jaws: .*\n/m, "")
    .replace(/^ {6}bed: .*$/m, "      bed: { box: [10, 10, 10 mm], at: [0, 0, 9000 mm] }")
    .replace(/^ {2}fence: .*\n/m, "")
    .replace(/^ {4}table-top: .*$/m, "    table-top: { box: [10, 10, 10 mm], in: table, at: [0, 0, 9000 mm] }")
    .replace("moves: { closed: { at: [0, 0, 0 mm] }", "moves: { closed: { at: [0, 0, 9000 mm] }");
  const { stdout, stderr, status } = await run(["clearance", cellOf("simple.yaml", simple)], {
    input: lines([{ id: 1, q: HOME }]),
  });
  expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
  const [answer] = answers(stdout);
  // Flange at home: 400 (d1) + 450 (a2) + 35 (a3) - 80 mm (d6) high, 420 mm (d4) out along x.
  const x = 0.42,
    z = 0.4 + 0.45 + 0.035 - 0.08;
  expect(answer!["pair"]).toEqual(["base.foot", "gripper.ball"]);
  expect(answer!["clearance_m"]).toBeCloseTo(Math.hypot(x - 0.11, z - 0.2) - 0.5, 9);
});

it("takes a box from an STL file for the box it is, and refuses a cell whose mesh files are wrong", async () => {
  const bed = (shape: string) => text.replace("bed: { box: [900, 500, 400 mm]", `bed: { ${shape}`);
  const input = lines([
    { q: HOME },
    { q: DOOR },
    { q: [1.4, 0.9, -0.5, 0, -1.2, 0] },
    { q: [1.5, 0.2, 0.4, 0, -1, 0] },
  ]);
  writeFileSync(join(folder, "bed.stl"), binaryStl(boxMesh([900, 500, 400])));
  const [as, box] = await Promise.all([
    run(["clearance", cellOf("meshed.yaml", bed("mesh: bed.stl"))], { input }),
    run(["clearance", CELL], { input }),
  ]);
  expect(as.stderr).toBe(box.stderr);
  for (const [i, answer] of answers(as.stdout).entries()) {
    const expected = answers(box.stdout)[i]!;
    // The last one overlaps the bed, where a mesh tells less than the whole depth.
    if (i === 3) {
      expect(expected["pair"]).toEqual(["gripper.body", "lathe.bed"]);
      expect(answer["clearance_m"]).toBeLessThan(0);
      expect(answer["clearance_m"]).toBeGreaterThanOrEqual(expected["clearance_m"] as number);
      continue;
    }
    expect(answer["pair"]).toEqual(expected["pair"]);
    expect(answer["clearance_m"]).toBeCloseTo(expected["clearance_m"] as number, 6);
  }

  const missing = await run(["clearance", cellOf("missing.yaml", bed("mesh: no.stl"))], { input });
  expect(missing.status).toBe(2);
  expect(missing.stderr).toMatch(
    /missing\.yaml:\d+:\d+: machines\.lathe\.shapes\.bed\.mesh: found no\.stl \(there is no such file\)/,
  );
  writeFileSync(join(folder, "cut.stl"), binaryStl(boxMesh([900, 500, 400])).subarray(0, 200));
  const cut = await run(["clearance", cellOf("cut.yaml", bed("mesh: cut.stl"))], { input });
  expect(cut.status).toBe(2);
  expect(cut.stderr).toMatch(/cut\.stl:1:1: machines\.lathe\.shapes\.bed\.mesh: found 200 bytes, room for 2 triangles/);
});

it("reads STEP and glTF in the program, fits capsules, and says what is wrong with a mesh in every answer", async () => {
  const bed = (shape: string) => text.replace("bed: { box: [900, 500, 400 mm]", `bed: { ${shape}`);
  const input = lines([{ q: HOME }, { q: DOOR }]);
  writeFileSync(join(folder, "bed.step"), stepBox([900, 500, 400], "mm"));
  writeFileSync(join(folder, "bed.glb"), await glb(gltfOf(boxMesh([0.9, 0.5, 0.4]))));
  const open = boxMesh([900, 500, 400]);
  writeFileSync(join(folder, "open.stl"), binaryStl({ ...open, indices: open.indices.slice(3) }));
  const of = (name: string, shape: string) => run(["clearance", cellOf(name, bed(shape))], { input });
  const [box, step, gltf, fitted, hollow] = await Promise.all([
    run(["clearance", CELL], { input }),
    of("step.yaml", "mesh: bed.step"),
    of("gltf.yaml", "mesh: bed.glb"),
    of("fitted.yaml", "mesh: bed.glb, fit: 2 capsules"),
    of("hollow.yaml", "mesh: open.stl"),
  ]);
  for (const { status } of [step, gltf, fitted, hollow]) expect(status).toBe(0);
  // The STEP box has its corner at the origin, so only the other answers are the box's.
  expect(answers(step.stdout).length).toBe(2);
  const clearances = (out: string) => answers(out).map((answer) => answer["clearance_m"] as number);
  for (const [i, clearance] of clearances(gltf.stdout).entries())
    expect(clearance).toBeCloseTo(clearances(box.stdout)[i]!, 6);
  for (const [i, clearance] of clearances(fitted.stdout).entries())
    expect(clearance).toBeLessThanOrEqual(clearances(box.stdout)[i]! + 1e-9);
  expect(hollow.stderr).toContain("the mesh of lathe.bed encloses no space (3 edges with one triangle only)");
  for (const answer of answers(hollow.stdout))
    expect(answer["messages"]).toEqual([expect.stringContaining("lathe.bed encloses no space")]);
});

it("marks bad lines in their place and ends with status 2", async () => {
  const { stdout, status } = await run(["clearance", CELL], {
    input: `{"id":1,"q":[0,0]}\nnothing\n${lines([{ id: 3, q: HOME }])}`,
  });
  expect(status).toBe(2);
  const [short, broken, good] = answers(stdout);
  expect(short!["error"]).toContain("line 1: found q with 2 entries; expected 6 numbers");
  expect(broken!["error"]).toContain("not JSON");
  expect(good!["clearance_m"]).toBeGreaterThan(0);
});

it("gives one document with --json", async () => {
  const { stdout } = await run(["clearance", CELL, "--json"], { input: lines([{ id: 1, q: HOME }]) });
  const document = JSON.parse(stdout) as { schemaVersion: number; results: { id: number }[] };
  expect(document.schemaVersion).toBe(1);
  expect(document.results.map(({ id }) => id)).toEqual([1]);
});

it("says when a cell has nothing to compare", async () => {
  const bare = text
    .replace(/ {6}shapes:\n {8}body: .*\n {8}jaws: .*\n/, "")
    .replace(/, shapes: \{ upper-arm: .*$/m, " }");
  const { stdout, stderr, status } = await run(["clearance", cellOf("bare.yaml", bare)], { input: "" });
  expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
  expect(stderr).toContain("the cell states no shapes of moving links or tool");
});
