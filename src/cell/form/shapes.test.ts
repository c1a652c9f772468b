import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { loadCell } from "../index.ts";

/** The small cell with another bed of the lathe; the rest of the bed's line stays. */
const withBed = (shape: string) =>
  loadCell(
    "cell.yaml",
    textSource({ "cell.yaml": smallLathe.replace(/bed: \{ box: \[900, 500, 400 mm\]/, `bed: { ${shape}`) }),
  );

function bed(shape: string) {
  const loaded = withBed(shape);
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  return loaded.value.machines.get("lathe")!.shapes.find(({ name }) => name === "bed")!.shape;
}

function issueOf(shape: string) {
  const loaded = withBed(shape);
  if (loaded.ok) throw new Error("was read");
  expect(loaded.issues.length).toBe(1);
  return loaded.issues[0]!;
}

describe("mesh shapes as written", () => {
  it.each([
    ["mesh: a.stl", "a.stl", 0.001, undefined],
    ["mesh: A.STL, scale: 1 in", "A.STL", 0.0254, undefined],
    ["mesh: parts/a.glb", "parts/a.glb", 1, undefined],
    ["mesh: parts/../a.gltf, scale: 1 mm", "a.gltf", 0.001, undefined],
    ["mesh: a.STEP", "a.STEP", 1, undefined],
    ["mesh: a.stp, fit: hull", "a.stp", 1, { kind: "hull" }],
    ["mesh: a.stl, fit: capsule", "a.stl", 0.001, { kind: "capsules", count: 1 }],
    ["mesh: a.stl, fit: 12 capsules", "a.stl", 0.001, { kind: "capsules", count: 12 }],
  ])("%s", (written, file, unit, fit) => {
    expect(bed(written)).toEqual({ kind: "mesh", file, scale: [unit, unit, unit], ...(fit && { fit }) });
  });

  it.each([
    ["mesh: a.stl, fit: 13 capsules", "unknown-word", /2 to 12 capsules/],
    ["mesh: a.stl, fit: 0 capsules", "unknown-word", /2 to 12 capsules/],
    ["mesh: a.stl, fit: capsules", "unknown-word", /2 to 12 capsules/],
    ["mesh: a.stl, fit: 2", "unknown-word", /hull, capsule/],
    ["mesh: a.stl, fit: [hull]", "unknown-word", /hull, capsule/],
    ["mesh: a.step, scale: 1 mm", "conflicting-keys", /states its unit/],
    ["mesh: a.stl, scale: 0 mm", "out-of-range", /0 mm/],
    ["sphere: { radius: 1 m }, fit: hull", "conflicting-keys", /mesh only/],
    ["mesh: ../a.stl", "outside", /folder of the cell/],
    ["mesh: /a.stl", "outside", /folder of the cell/],
  ])("%s is refused", (written, code, expected) => {
    expect(issueOf(written)).toMatchObject({ code, expected: expect.stringMatching(expected) });
  });
});
