/** Shapes from mesh files as bodies, and what is said about them. */
import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { boxMesh, capsuleMesh, turnedOver } from "../../../test/meshes/shapes.ts";
import { type Cell, loadCell, type Shape } from "../../cell/index.ts";
import { distance, type MeshData, newDistance, sphereBody } from "../../clearance/index.ts";
import { compose, identityPose, translation } from "../../math/pose.ts";
import { cellBodies } from "./cell-bodies.ts";
import { prepareMesh } from "./mesh-body.ts";
import { meshFindings } from "./mesh-findings.ts";

type MeshShape = Extract<Shape, { kind: "mesh" }>;
const mm = [0.001, 0.001, 0.001] as const;
const shape = (more: Partial<MeshShape> = {}): MeshShape => ({ kind: "mesh", file: "a.stl", scale: mm, ...more });
const box = boxMesh([300, 400, 500]);
const open: MeshData = { ...box, indices: box.indices.slice(6) };

/** Distance of a ball of 10 mm radius at a place from all bodies of a shape. */
function gap(made: MeshShape, mesh: MeshData, x: number, y: number, z: number): number {
  const { bodies } = prepareMesh(made, mesh);
  return Math.min(
    ...bodies.map(({ body, shapeFromBody }) =>
      distance(sphereBody(0.01), translation(x, y, z), body, shapeFromBody, newDistance()),
    ),
  );
}

const findings = (mesh: MeshData, more: Partial<MeshShape> = {}) =>
  meshFindings("scene.a", prepareMesh(shape(more), mesh)).map(({ code, severity, message, mend }) => ({
    what: `${code} ${severity}`,
    text: `${message}. ${mend}`,
  }));

describe("bodies", () => {
  it("the mesh itself in metres, mirrored or not", () => {
    expect(gap(shape(), box, 0.25, 0, 0)).toBeCloseTo(0.09, 12);
    expect(gap(shape({ scale: [-0.001, 0.002, 0.001] }), box, 0, 0.5, 0)).toBeCloseTo(0.09, 12);
    expect(prepareMesh(shape({ scale: [-0.001, 0.001, 0.001] }), box).report).toMatchObject({
      solid: true,
      turnedOver: 0,
    });
    expect(gap(shape(), box, 0, 0, 0)).toBeLessThan(-0.1);
  });

  it("its hull, also of an open mesh", () => {
    const hull = shape({ fit: { kind: "hull" } });
    for (const mesh of [box, open]) {
      expect(gap(hull, mesh, 0.25, 0, 0)).toBeCloseTo(0.09, 12);
      expect(gap(hull, mesh, 0, 0, 0)).toBeLessThan(-0.1);
    }
    expect(prepareMesh(hull, box).fitted).toMatchObject({ count: 1, hullVolume: expect.closeTo(0.06, 12) });
  });

  it("capsules around it: never farther than the mesh", () => {
    const capsules = shape({ fit: { kind: "capsules", count: 3 } });
    for (let i = 0; i < 100; i++) {
      const at = [Math.sin(i), Math.sin(2.1 * i), Math.cos(3.7 * i)] as const;
      expect(gap(capsules, box, ...at)).toBeLessThanOrEqual(gap(shape(), box, ...at) + 1e-12);
    }
    const link = capsuleMesh(80, 500, 10, 24);
    const { bodies, fitted } = prepareMesh(capsules, link);
    expect(bodies.length).toBe(fitted!.count);
    expect(fitted!.volume).toBeLessThan(1.2 * fitted!.hullVolume);
  });

  it("are prepared once for the same scale and fit", () => {
    expect(prepareMesh(shape(), box)).toBe(prepareMesh(shape(), box));
    expect(prepareMesh(shape({ fit: { kind: "hull" } }), box)).not.toBe(prepareMesh(shape(), box));
  });
});

describe("in a cell", () => {
  const cell = (): Cell => {
    const text = smallLathe.replace(/bed: \{ box: \[[^\]]*\]/, "bed: { mesh: bed.stl, fit: 2 capsules");
    const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
    if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
    return loaded.value;
  };

  it("every capsule stands where the shape does; without the file it is named", () => {
    const elbow: MeshData = capsuleMesh(80, 500, 4, 8);
    const { bodies, read, meshes } = cellBodies(cell(), (file) => (file === "bed.stl" ? elbow : undefined));
    expect(meshes).toEqual([]);
    expect(read).toMatchObject([{ name: "lathe.bed", file: "bed.stl", path: ["machines", "lathe", "shapes", "bed"] }]);
    const made = prepareMesh(shape({ file: "bed.stl", fit: { kind: "capsules", count: 2 } }), elbow).bodies;
    const bed = bodies.filter(({ name }) => name === "lathe.bed");
    const whole = cellBodies(cell(), () => boxMesh([1, 1, 1])).bodies.find(({ name }) => name === "lathe.bed")!;
    expect(bed.length).toBe(made.length);
    expect(whole.frame).toBe(bed[0]!.frame);
    const machine = cell().machines.get("lathe")!;
    const placed = machine.shapes.find(({ name }) => name === "bed")!;
    expect(bed[0]!.frameFromBody).not.toEqual(compose(placed.ownerFromShape, identityPose()));
    expect(cellBodies(cell()).meshes).toEqual(["lathe.bed"]);
  });
});

describe("what is said", () => {
  it("nothing about a mesh that is right", () => {
    expect(findings(box)).toEqual([]);
  });

  it("open, unless something is fitted around it", () => {
    expect(findings(open)).toEqual([
      {
        what: "mesh-open warning",
        text: expect.stringMatching(
          /^the mesh of scene\.a encloses no space \(4 edges with one triangle only\).*state fit: hull/,
        ),
      },
    ]);
    expect(findings(open, { fit: { kind: "hull" } })).toEqual([]);
    expect(findings({ vertices: box.vertices, indices: box.indices.slice(0, 6) })[0]!.text).toContain("4 edges");
  });

  it("inverted", () => {
    expect(findings(turnedOver(box))).toEqual([
      { what: "mesh-inverted caution", text: expect.stringContaining("12 of the 12 triangles") },
    ]);
  });

  it("triangles without area", () => {
    const flat = { vertices: box.vertices, indices: Uint32Array.from([...box.indices, 0, 0, 1]) };
    expect(findings(flat)).toEqual([
      { what: "mesh-degenerate caution", text: expect.stringContaining("1 of the 13 triangles") },
    ]);
  });

  it.each([
    [
      "in metres, read as millimetres",
      boxMesh([0.3, 0.4, 0.5]),
      mm,
      "0.3 × 0.4 × 0.5 mm, which is too small",
      "1 m, which makes it 500 mm",
    ],
    [
      "in millimetres, read as metres",
      box,
      [1, 1, 1],
      "300000 × 400000 × 500000 mm, which is too large",
      "1 mm, which makes it 500 mm",
    ],
    ["in micrometres", boxMesh([3e5, 4e5, 5e5]), mm, "too large", "0.001 mm, which makes it 500 mm"],
    ["of no unit that would fit", boxMesh([1e8, 1e8, 1e8]), mm, "too large", "Check the file"],
  ] as const)("a unit that is probably wrong: %s", (_, mesh, scale, message, mend) => {
    const [doubt] = findings(mesh, { scale });
    expect(doubt!.what).toBe("mesh-unit warning");
    expect(doubt!.text).toContain(message);
    expect(doubt!.text).toContain(mend);
  });

  it("capsules much larger than the hull", () => {
    const plate = boxMesh([500, 500, 10]);
    expect(findings(plate, { fit: { kind: "capsules", count: 1 } })).toEqual([
      {
        what: "mesh-fit-loose caution",
        text: expect.stringMatching(/the capsule around scene\.a takes? .* l, its convex hull 2\.5 l/),
      },
    ]);
  });
});
