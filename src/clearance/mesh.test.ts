/** Meshes: what the report says of good and bad ones, distances against all triangles one by one, and the inside. */
import { describe, expect, test } from "vitest";
import { mulberry32, randomPose } from "../../test/arms/random.ts";
import { ring } from "../../test/clearance/bench-scene.ts";
import { bumpyBall, convexKinds, randomSample } from "../../test/clearance/random-bodies.ts";
import { compose, identityPose, type Pose, translation } from "../math/pose.ts";
import { type Body, boxBody, distance, hullBody, inspectMesh, meshBody, newDistance, sphereBody } from "./index.ts";
import { enclosed } from "./mesh-inside.ts";

const cube = {
  vertices: Float64Array.from([0, 1, 2, 3, 4, 5, 6, 7].flatMap((i) => [i & 1, (i >> 1) & 1, (i >> 2) & 1])),
  indices: Uint32Array.from(
    [
      [0, 2, 1],
      [1, 2, 3],
      [4, 5, 6],
      [5, 7, 6],
      [0, 1, 4],
      [1, 5, 4],
      [2, 6, 3],
      [3, 6, 7],
      [0, 4, 2],
      [2, 4, 6],
      [1, 3, 5],
      [3, 7, 5],
    ].flat(),
  ),
};

describe("report", () => {
  test("a closed cube is a solid of its volume, also when every triangle brings its own vertices", () => {
    const report = inspectMesh(cube.vertices, cube.indices);
    expect(report).toEqual({
      triangles: 12,
      openEdges: 0,
      crowdedEdges: 0,
      disagreeingEdges: 0,
      degenerateTriangles: 0,
      inverted: false,
      volume: expect.closeTo(1, 14),
      size: [1, 1, 1],
      unitDoubt: undefined,
      closed: true,
      turnedOver: 0,
      solid: true,
    });
    const loose = Float64Array.from([...cube.indices].flatMap((i) => [...cube.vertices.subarray(3 * i, 3 * i + 3)]));
    const inTurn = Uint32Array.from(cube.indices, (_, i) => i);
    expect(inspectMesh(loose, inTurn)).toEqual(report);
  });

  test("each fault is named and keeps the mesh from being a solid", () => {
    const missing = inspectMesh(cube.vertices, cube.indices.subarray(3));
    expect(missing).toMatchObject({ openEdges: 3, solid: false, volume: undefined });
    const turned = cube.indices.slice();
    turned.set([0, 1, 2]);
    expect(inspectMesh(cube.vertices, turned)).toMatchObject({ disagreeingEdges: 3, solid: false });
    const inward = cube.indices.slice().reverse();
    expect(inspectMesh(cube.vertices, inward)).toMatchObject({ inverted: true, solid: false });
    const doubled = Uint32Array.from([...cube.indices, 0, 2, 1]);
    expect(inspectMesh(cube.vertices, doubled)).toMatchObject({ crowdedEdges: 3, solid: false });
    const needle = Uint32Array.from([...cube.indices, 5, 5, 7]);
    expect(inspectMesh(cube.vertices, needle)).toMatchObject({ degenerateTriangles: 1, solid: true });
    const inMillimetres = cube.vertices.map((v) => 250 * v);
    expect(inspectMesh(inMillimetres, cube.indices).unitDoubt).toBe("too large");
    const inKilometres = cube.vertices.map((v) => v / 1000);
    expect(inspectMesh(inKilometres, cube.indices).unitDoubt).toBe("too small");
  });

  test("arrays that are no mesh are the caller's fault", () => {
    expect(() => meshBody(cube.vertices, Uint32Array.of(0, 1, 8), false)).toThrow("indices[2] must be below 8, got 8");
    expect(() => meshBody(cube.vertices, Uint32Array.of(), false)).toThrow("at least one");
    const broken = cube.vertices.slice();
    broken[4] = Number.NaN;
    expect(() => inspectMesh(broken, cube.indices)).toThrow("vertices[4] must be finite");
  });
});

/** Least distance over the triangles taken one by one as hulls. */
function slowly(
  mesh: { vertices: Float64Array; indices: Uint32Array },
  pose: Pose,
  other: readonly Body[],
  otherPose: Pose,
): number {
  const out = newDistance();
  let least = Number.POSITIVE_INFINITY;
  for (const triangle of triangleHulls(mesh))
    for (const body of other) least = Math.min(least, distance(triangle, pose, body, otherPose, out));
  return least;
}

function triangleHulls({ vertices: v, indices }: { vertices: Float64Array; indices: Uint32Array }): Body[] {
  const corner = (i: number) => [v[3 * i]!, v[3 * i + 1]!, v[3 * i + 2]!] as const;
  return Array.from({ length: indices.length / 3 }, (_, t) =>
    hullBody([corner(indices[3 * t]!), corner(indices[3 * t + 1]!), corner(indices[3 * t + 2]!)]),
  );
}

function randomMesh(random: () => number) {
  const { points, triangles } = bumpyBall(4, random, 0.2);
  return { vertices: Float64Array.from(points.flat()), indices: Uint32Array.from(triangles.flat()) };
}

test.each(convexKinds)("the hierarchy leaves out nothing: mesh and %s against all triangles", (kind) => {
  const random = mulberry32(5);
  const out = newDistance();
  let apart = 0;
  for (let i = 0; i < 60; i++) {
    const mesh = randomMesh(random);
    const sample = randomSample(kind, random);
    const pose = randomPose(random, 0.5),
      other = randomPose(random, 0.5);
    const d = distance(meshBody(mesh.vertices, mesh.indices, false), pose, sample.body, other, out);
    expect(Math.abs(d - slowly(mesh, pose, [sample.body], other))).toBeLessThan(1e-10);
    const gap = Math.hypot(out[4]! - out[1]!, out[5]! - out[2]!, out[6]! - out[3]!);
    if (d > 0) {
      apart++;
      expect(Math.abs(gap - d)).toBeLessThan(1e-10);
    }
  }
  expect(apart).toBeGreaterThan(10);
});

test("the hierarchy leaves out nothing: mesh and mesh against all pairs of triangles", () => {
  const random = mulberry32(6);
  const out = newDistance();
  for (let i = 0; i < 12; i++) {
    const a = randomMesh(random),
      b = randomMesh(random);
    const pose = randomPose(random, 0.4),
      other = randomPose(random, 0.4);
    const d = distance(
      meshBody(a.vertices, a.indices, false),
      pose,
      meshBody(b.vertices, b.indices, false),
      other,
      out,
    );
    expect(Math.abs(d - slowly(a, pose, triangleHulls(b), other))).toBeLessThan(1e-12);
  }
});

describe("inside", () => {
  const out = newDistance();
  const here = identityPose();
  const solid = meshBody(cube.vertices, cube.indices, true);
  const hollow = meshBody(cube.vertices, cube.indices, false);

  test("a body inside a solid overlaps it, inside a surface it does not", () => {
    const at = translation(0.5, 0.5, 0.4);
    expect(distance(solid, here, sphereBody(0.1), at, out)).toBeCloseTo(-0.5, 14);
    expect(distance(hollow, here, sphereBody(0.1), at, out)).toBeCloseTo(0.3, 14);
    expect(distance(boxBody([0.2, 0.2, 0.2]), at, solid, here, out)).toBeCloseTo(-0.3, 14);
    expect(distance(solid, here, sphereBody(0.1), translation(0.5, 0.5, -0.4), out)).toBeCloseTo(0.3, 14);
  });

  test("a mesh inside a mesh, either way round, and with one of two separate parts inside", () => {
    const small = cube.vertices.map((v) => 0.2 * v + 0.3);
    const inner = meshBody(small, cube.indices, false);
    expect(distance(solid, here, inner, here, out)).toBeCloseTo(-0.3, 14);
    expect(distance(inner, here, solid, here, out)).toBeCloseTo(-0.3, 14);
    expect(distance(hollow, here, inner, here, out)).toBeCloseTo(0.3, 14);
    const away = cube.vertices.map((v) => 0.2 * v + 5);
    const two = meshBody(
      Float64Array.from([...away, ...small]),
      Uint32Array.from([...cube.indices, ...cube.indices.map((i) => i + 8)]),
      true,
    );
    expect(distance(solid, here, two, here, out)).toBeCloseTo(-0.3, 14);
  });

  test("points against the closed form of a torus, through every kind of grazing ray", () => {
    const { vertices, indices } = ring(50, 20);
    const tree = meshBody(vertices, indices, true).mesh!;
    const random = mulberry32(3);
    let inside = 0;
    for (let i = 0; i < 4000; i++) {
      const p = [1.25 + 0.12 * (random() - 0.5), 0.4 * (random() - 0.5), 0.3 + 0.4 * (random() - 0.5)] as const;
      const off = Math.hypot(p[0] - 1.25, Math.hypot(p[1], p[2] - 0.3) - 0.12);
      // Between the ring and the polygons inscribed in it the answer may be either.
      if (off > 0.0435 && off < 0.0451) continue;
      expect(enclosed(tree, ...p)).toBe(off < 0.0443);
      if (off < 0.0443) inside++;
    }
    expect(inside).toBeGreaterThan(500);
    const box = meshBody(cube.vertices, cube.indices, true).mesh!;
    for (let i = 0; i < 200; i++) {
      // Points from which some rays run into edges and corners exactly.
      const corner = [0, 1, 2].map((k) => cube.vertices[3 * (i % 8) + k]!);
      const ray = [
        [0.5377, 0.2161, 0.8149],
        [-0.3119, 0.8623, 0.3989],
        [0.7393, -0.5571, -0.3781],
      ][i % 3]!;
      const s = 0.05 + 0.6 * random();
      const [x, y, z] = corner.map((c, k) => c - s * ray[k]!) as [number, number, number];
      const truth = [x, y, z].every((v) => v > 0 && v < 1);
      expect(enclosed(box, x, y, z)).toBe(truth);
    }
  });

  test("a rigid motion of both changes nothing but rounding", () => {
    const random = mulberry32(8);
    for (let i = 0; i < 100; i++) {
      const pose = randomPose(random, 0.5),
        motion = randomPose(random, 1),
        sample = randomSample(convexKinds[i % 5]!, random);
      const d = distance(solid, here, sample.body, pose, out);
      expect(distance(solid, motion, sample.body, compose(motion, pose), out)).toBeCloseTo(d, 10);
    }
  });
});
