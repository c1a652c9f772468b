import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { smallLathe } from "../../test/cells/texts.ts";
import { boxMesh } from "../../test/meshes/shapes.ts";
import { encoded, gltfAndBin, gltfOf } from "../../test/meshes/write-gltf.ts";
import { stepBox } from "../../test/meshes/write-step.ts";
import { asciiStl, binaryStl } from "../../test/meshes/write-stl.ts";
import { cellMeshes } from "../check/index.ts";
import { loadCellFile } from "./cell-file.ts";
import { UnusableInput } from "./exit-status.ts";
import { loadMeshFiles, readMeshFiles } from "./mesh-files.ts";

let home: string, entry: string;
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), "millhand-"));
  mkdirSync(join(home, "cell", "meshes"), { recursive: true });
  entry = join(home, "cell", "cell.yaml");
});
afterEach(() => rmSync(home, { recursive: true, force: true }));

const put = (name: string, contents: Uint8Array | string) => writeFileSync(join(home, "cell", name), contents);

/** The small cell with the lathe's bed, and further shapes of its, as meshes. */
function cellWith(...shapes: readonly string[]) {
  const meshes = shapes.map((shape, i) => `      mesh${i}: { ${shape} }\n`).join("");
  put("cell.yaml", smallLathe.replace(/^ {6}bed: .*\n/m, meshes));
  return loadCellFile(entry);
}

const box = boxMesh([100, 50, 20]);

describe("reading the mesh files of a cell", () => {
  it("reads every kind, each file once, with its usual unit", async () => {
    put("meshes/a.STL", binaryStl(box));
    put("meshes/text.stl", asciiStl(box));
    const { gltf, bin, name } = await gltfAndBin(gltfOf(boxMesh([0.1, 0.05, 0.02])));
    put("meshes/b.gltf", encoded(gltf));
    put(`meshes/${name}`, bin);
    put("c.step", stepBox([100, 50, 20], "mm"));
    const cell = cellWith(
      "mesh: meshes/a.STL",
      "mesh: meshes/text.stl, scale: 1 in",
      "mesh: meshes/b.gltf",
      "mesh: c.step, fit: hull",
      "mesh: ./meshes/a.STL, fit: 2 capsules",
    );
    expect(cellMeshes(cell).map(({ path, shape }) => [path.join("."), shape.file, shape.scale[0], shape.fit])).toEqual([
      ["machines.lathe.shapes.mesh0", "meshes/a.STL", 0.001, undefined],
      ["machines.lathe.shapes.mesh1", "meshes/text.stl", 0.0254, undefined],
      ["machines.lathe.shapes.mesh2", "meshes/b.gltf", 1, undefined],
      ["machines.lathe.shapes.mesh3", "c.step", 1, { kind: "hull" }],
      ["machines.lathe.shapes.mesh4", "meshes/a.STL", 0.001, { kind: "capsules", count: 2 }],
    ]);
    const { library, issues } = await readMeshFiles(cell, entry);
    expect(issues).toEqual([]);
    for (const file of ["meshes/a.STL", "meshes/text.stl", "meshes/b.gltf", "c.step"])
      expect(library(file)!.indices.length).toBe(36);
    expect(library("other.stl")).toBeUndefined();
  });

  it("reports every file that cannot be used, at the shape that names it or in the file", async () => {
    put("meshes/cut.stl", binaryStl(box).subarray(0, 100));
    put("meshes/bad.stl", "solid x\nfacet nrmal");
    put("meshes/drawing.dwg", "");
    mkdirSync(join(home, "cell", "folder.stl"));
    writeFileSync(join(home, "secret.stl"), binaryStl(box));
    symlinkSync(join(home, "secret.stl"), join(home, "cell", "link.stl"));
    const { gltf } = await gltfAndBin(gltfOf(box));
    put("meshes/out.gltf", encoded({ ...gltf, buffers: [{ byteLength: 1, uri: "../../secret.stl" }] }));
    const cell = cellWith(
      "mesh: no.stl",
      "mesh: meshes/cut.stl",
      "mesh: meshes/bad.stl",
      "mesh: meshes/drawing.dwg",
      "mesh: folder.stl",
      "mesh: link.stl",
      "mesh: meshes/out.gltf",
    );
    const { issues } = await readMeshFiles(cell, entry);
    const line = (i: number) => cell.locate(["machines", "lathe", "shapes", `mesh${i}`]).line;
    expect(issues.map(({ code, path, place }) => [code, path, place.file.slice(home.length + 6), place.line])).toEqual([
      ["missing-file", "machines.lathe.shapes.mesh0.mesh", "cell.yaml", line(0)],
      ["mesh-truncated", "machines.lathe.shapes.mesh1.mesh", "meshes/cut.stl", 1],
      ["mesh-syntax", "machines.lathe.shapes.mesh2.mesh", "meshes/bad.stl", 2],
      ["mesh-format", "machines.lathe.shapes.mesh3.mesh", "cell.yaml", line(3)],
      ["unreadable-file", "machines.lathe.shapes.mesh4.mesh", "cell.yaml", line(4)],
      ["outside", "machines.lathe.shapes.mesh5.mesh", "cell.yaml", line(5)],
      ["outside", "machines.lathe.shapes.mesh6.mesh", "meshes/out.gltf", 1],
    ]);
    await expect(loadMeshFiles(cell, entry)).rejects.toThrow(UnusableInput);
    await expect(loadMeshFiles(cell, entry)).rejects.toThrow(/7 issues/);
  });

  it("reads the meshes of a URDF file beside it, and says how to mend names of packages", async () => {
    mkdirSync(join(home, "cell", "arm", "meshes"), { recursive: true });
    const joint = (i: number) =>
      `<joint name="J${i}" type="revolute"><parent link="l${i - 1}"/><child link="l${i}"/><origin xyz="0 0 0.2"/><axis xyz="0 1 0"/><limit lower="-2" upper="2" velocity="3" effort="50"/></joint>`;
    const urdf = (file: string) =>
      `<robot name="r">${[0, 1, 2, 3].map((i) => `<link name="l${i}"><collision><geometry><mesh filename="${file}" scale="0.001 0.001 0.001"/></geometry></collision></link>`).join("")}${[1, 2, 3].map(joint).join("")}</robot>`;
    const text = `cell: a\narm: { urdf: arm/arm.urdf, limits: { J1: { speed: 1 rad/s } } }\nposes: { home: { joints: [0, 0, 0 deg] } }\nroutines: { main: [{ dwell: 1 s }] }\n`;
    put("cell.yaml", text);
    put("arm/arm.urdf", urdf("meshes/link.stl"));
    put("arm/meshes/link.stl", binaryStl(box));
    const good = await readMeshFiles(loadCellFile(entry), entry);
    expect(good.issues).toEqual([]);
    expect(good.library("arm/meshes/link.stl")!.indices.length).toBe(36);

    put("arm/arm.urdf", urdf("package://r/meshes/link.stl"));
    const { issues } = await readMeshFiles(loadCellFile(entry), entry);
    expect(issues).toEqual([
      expect.objectContaining({
        code: "outside",
        found: "package://r/meshes/link.stl",
        place: expect.objectContaining({ file: entry, line: 2 }),
        mend: expect.stringContaining("without package://"),
      }),
    ]);
  });
});
