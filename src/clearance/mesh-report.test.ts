import { describe, expect, it } from "vitest";
import { boxMesh, sphereMesh, together, torusMesh, turnedOver, volumeOf } from "../../test/meshes/shapes.ts";
import { identityPose, translation } from "../math/pose.ts";
import { boxBody, meshBody, sphereBody } from "./body.ts";
import { distance, newDistance } from "./distance.ts";
import type { MeshData } from "./mesh-library.ts";
import { solidMesh } from "./mesh-report.ts";

const look = ({ vertices, indices }: MeshData) => solidMesh(vertices, indices);
const cube = boxMesh([1, 1, 1]);
/** The mesh with the given triangles turned over. */
const mixed = ({ vertices, indices }: MeshData, ...triangles: number[]): MeshData => {
  const out = indices.slice();
  for (const t of triangles) {
    out[3 * t] = indices[3 * t + 1]!;
    out[3 * t + 1] = indices[3 * t]!;
  }
  return { vertices, indices: out };
};
const without = ({ vertices, indices }: MeshData, t: number): MeshData => ({
  vertices,
  indices: indices.filter((_, i) => Math.floor(i / 3) !== t),
});
/** Signed distance of a small ball at a place from the prepared mesh. */
function ballAt(mesh: MeshData, x: number, y: number, z: number): number {
  const { report, indices } = look(mesh);
  const body = meshBody(mesh.vertices, indices, report.closed);
  return distance(sphereBody(0.01), translation(x, y, z), body, identityPose(), newDistance());
}

describe("what makes a solid", () => {
  it("a mesh that is right stays as it is", () => {
    for (const mesh of [cube, sphereMesh(1, 2), torusMesh(1, 0.3, 20, 12)]) {
      const { report, indices } = look(mesh);
      expect(report).toMatchObject({ closed: true, solid: true, turnedOver: 0, inverted: false });
      expect(report.volume).toBeCloseTo(volumeOf(mesh), 12);
      expect(indices).toBe(mesh.indices);
    }
  });

  it("one that faces inwards is turned over as a whole", () => {
    const { report, indices } = look(turnedOver(cube));
    expect(report).toMatchObject({ closed: true, solid: false, inverted: true, turnedOver: 12 });
    expect(volumeOf({ vertices: cube.vertices, indices })).toBeCloseTo(1, 12);
    expect(ballAt(turnedOver(cube), 0, 0, 0)).toBeCloseTo(-0.51, 12);
  });

  it("triangles that disagree with their neighbours are turned over, whichever they are", () => {
    for (const bad of [[0], [3, 7], [0, 1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]]) {
      const { report, indices } = look(mixed(cube, ...bad));
      expect(report).toMatchObject({ closed: true, solid: false, turnedOver: bad.length });
      expect(report.disagreeingEdges).toBeGreaterThan(0);
      expect(volumeOf({ vertices: cube.vertices, indices })).toBeCloseTo(1, 12);
    }
  });

  it("an open mesh counts as its surface, inside and out", () => {
    const open = without(cube, 5);
    expect(look(open).report).toMatchObject({ closed: false, openEdges: 3, turnedOver: 0, volume: undefined });
    expect(ballAt(open, 0, 0, 0)).toBeCloseTo(0.49, 12);
    expect(ballAt(open, 0.505, 0, 0)).toBeLessThan(0);
  });

  it("a fin on an edge makes no solid; two cubes that share an edge do", () => {
    const fin: MeshData = {
      vertices: Float64Array.from([...cube.vertices, 2, 2, 2]),
      indices: Uint32Array.from([...cube.indices, 3, 7, 8]),
    };
    expect(look(fin).report).toMatchObject({ closed: false, crowdedEdges: 1, openEdges: 2 });
    const touching = together(cube, boxMesh([1, 1, 1], [1, 1, 0]));
    expect(look(touching).report).toMatchObject({ closed: true, crowdedEdges: 1, solid: false });
    expect(ballAt(touching, 1, 1, 0)).toBeCloseTo(-0.51, 12);
    expect(look(turnedOver(touching)).report).toMatchObject({ closed: true, turnedOver: 24 });
  });

  it("a strip with one side only encloses nothing", () => {
    // Five triangles in a Möbius band over a pentagon's points, with its rim closed to a point outside: a projective plane.
    const n = 5;
    const points = Array.from({ length: n }, (_, i) => {
      const a = (2 * Math.PI * i) / n;
      return [Math.cos(a), Math.sin(a), 0.1 * Math.sin(2 * a)];
    });
    const band = Array.from({ length: n }, (_, i) => [i, (i + 1) % n, (i + 2) % n]);
    const cone = Array.from({ length: n }, (_, i) => [i, (i + 2) % n, n]);
    const mesh: MeshData = {
      vertices: Float64Array.from([...points.flat(), 0, 0, 2]),
      indices: Uint32Array.from([...band, ...cone].flat()),
    };
    expect(look(mesh).report).toMatchObject({ openEdges: 0, crowdedEdges: 0, closed: false });
  });
});

describe("several parts", () => {
  const hollow = (inner: MeshData) => together(boxMesh([4, 4, 4]), inner);

  it("a part that faces inwards inside another is a cavity; one that faces outwards is filled", () => {
    const cavity = hollow(turnedOver(boxMesh([2, 2, 2])));
    expect(look(cavity).report).toMatchObject({
      closed: true,
      solid: true,
      turnedOver: 0,
      volume: expect.closeTo(56, 9),
    });
    expect(ballAt(cavity, 0, 0, 0)).toBeCloseTo(0.99, 12);
    expect(ballAt(cavity, 1.5, 0, 0)).toBeLessThan(0);
    expect(ballAt(hollow(boxMesh([2, 2, 2])), 0, 0, 0)).toBeLessThan(0);
    expect(look(turnedOver(cavity)).report).toMatchObject({ closed: true, turnedOver: 24 });
    expect(ballAt(turnedOver(cavity), 0, 0, 0)).toBeCloseTo(0.99, 12);
  });

  it("a part that faces inwards beside others is turned over", () => {
    const beside = together(cube, turnedOver(boxMesh([1, 1, 1], [3, 0, 0])));
    expect(look(beside).report).toMatchObject({ closed: true, turnedOver: 12 });
    for (const x of [0, 3]) expect(ballAt(beside, x, 0, 0)).toBeCloseTo(-0.51, 12);
  });

  it("where parts overlap is inside, as it is where one of them is", () => {
    const overlapping = together(cube, boxMesh([1, 1, 1], [0.5, 0, 0]));
    expect(look(overlapping).report.closed).toBe(true);
    for (const x of [-0.25, 0.25, 0.75]) expect(ballAt(overlapping, x, 0.1, 0.05)).toBeLessThan(0);
    const inwards = together(cube, turnedOver(boxMesh([1, 1, 1], [0.5, 0, 0])));
    for (const x of [-0.25, 0.25, 0.75]) expect(ballAt(inwards, x, 0.1, 0.05)).toBeLessThan(0);
  });
});

describe("distances of a mesh box", () => {
  it("are those of the box", () => {
    const size = [0.3, 0.5, 0.7] as const;
    const mesh = boxMesh(size);
    const asMesh = meshBody(mesh.vertices, mesh.indices, true),
      box = boxBody(size),
      ball = sphereBody(0.05);
    const out = newDistance();
    let apart = 0;
    for (let i = 0; i < 500; i++) {
      const at = translation(Math.sin(i) * 0.3, Math.sin(2.3 * i) * 0.4, Math.cos(1.7 * i) * 0.5);
      const expected = distance(box, identityPose(), ball, at, out);
      const got = distance(asMesh, identityPose(), ball, at, out);
      if (expected > 0) {
        apart++;
        expect(got).toBeCloseTo(expected, 12);
      } else expect(got).toBeLessThanOrEqual(0);
    }
    expect(apart).toBeGreaterThan(150);
    expect(apart).toBeLessThan(450);
  });
});
