import { describe, expect, it } from "vitest";
import type { SceneBody } from "../../check/clearance/scene.ts";
import { translation } from "../../math/pose.ts";
import { facetModel } from "./facets.ts";
import { simplifiedMesh } from "./mesh-simplify.ts";
import { renderSceneSvg } from "./scene-svg.ts";

const fine = { tolerance: 0.0005, sides: 12, triangles: 2000 };

const bodyOf = (shape: SceneBody["shape"], x = 0): SceneBody => ({
  name: "b",
  group: "machine",
  shape,
  worldFromBody: translation(x, 0, 0.6),
});

/** Volume that outward facets enclose, m³. */
function volume(shape: SceneBody["shape"]): number {
  const { facets } = facetModel([bodyOf(shape)], fine);
  let sum = 0;
  for (const { nx, ny, nz, d, points } of facets) {
    let [ax, ay, az] = [0, 0, 0];
    for (let i = 0; i < points.length; i += 3) {
      const j = (i + 3) % points.length;
      ax += points[i + 1]! * points[j + 2]! - points[i + 2]! * points[j + 1]!;
      ay += points[i + 2]! * points[j]! - points[i]! * points[j + 2]!;
      az += points[i]! * points[j + 1]! - points[i + 1]! * points[j]!;
    }
    sum += (d * (ax * nx + ay * ny + az * nz)) / 6;
  }
  return sum;
}

/** A ring of nu times nv squares, radii 0.3 and 0.12 m. */
function ring(nu: number, nv: number): Extract<SceneBody["shape"], { kind: "triangles" }> {
  const vertices = new Float64Array(3 * nu * nv);
  const indices = new Uint32Array(6 * nu * nv);
  const at = (i: number, j: number) => (i % nu) * nv + (j % nv);
  for (let i = 0; i < nu; i++)
    for (let j = 0; j < nv; j++) {
      const a = (2 * Math.PI * i) / nu,
        b = (2 * Math.PI * j) / nv,
        r = 0.3 + 0.12 * Math.cos(b);
      vertices.set([r * Math.cos(a), r * Math.sin(a), 0.12 * Math.sin(b)], 3 * at(i, j));
      indices.set([at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j), at(i + 1, j + 1), at(i, j + 1)], 6 * at(i, j));
    }
  return { kind: "triangles", vertices, indices };
}

describe("shapes as facets", () => {
  it.each<[string, SceneBody["shape"], number]>([
    ["box", { kind: "box", size: [0.1, 0.2, 0.3] }, 0.006],
    ["cylinder", { kind: "cylinder", radius: 0.1, length: 0.5 }, Math.PI * 0.005],
    ["capsule", { kind: "capsule", radius: 0.1, length: 0.5 }, Math.PI * 0.005 + (4 / 3) * Math.PI * 0.001],
    ["sphere", { kind: "sphere", radius: 0.1 }, (4 / 3) * Math.PI * 0.001],
    ["ring", ring(40, 20), 2 * Math.PI ** 2 * 0.3 * 0.12 ** 2],
    [
      "hull",
      {
        kind: "convex",
        points: [
          [0, 0, 0],
          [0.3, 0, 0],
          [0, 0.3, 0],
          [0, 0, 0.3],
          [0.05, 0.05, 0.05],
        ],
      },
      0.3 ** 3 / 6,
    ],
  ])("of a %s are closed, turned outward and within the tolerance", (_, shape, expected) => {
    const { edges, closed } = facetModel([bodyOf(shape)], fine);
    expect(closed).toEqual([true]);
    expect(edges.every(({ right }) => right >= 0)).toBe(true);
    const ratio = volume(shape) / expected;
    // Chords 0.5 mm inside of a radius of 100 mm lose about 1 % along each round direction.
    expect(ratio).toBeGreaterThan(0.97);
    expect(ratio).toBeLessThan(1 + 1e-9);
  });

  it("of flat and degenerate shapes are what is left of them", () => {
    const flat = facetModel(
      [
        bodyOf({
          kind: "convex",
          points: [
            [0, 0, 0],
            [1, 0, 0.5],
            [1, 1, 0.5],
            [0, 1, 0],
            [0.5, 0.5, 0.25],
          ],
        }),
      ],
      fine,
    );
    expect(flat.facets.map(({ points }) => points.length / 3)).toEqual([4]);
    const line: SceneBody["shape"] = {
      kind: "convex",
      points: [
        [0, 0, 0],
        [1, 0, 0],
        [2, 0, 0],
      ],
    };
    expect(facetModel([bodyOf(line)], fine).facets).toEqual([]);
    expect(facetModel([bodyOf({ kind: "convex", points: [[0, 0, 0]] })], fine).facets).toEqual([]);
  });
});

describe("large meshes", () => {
  const big = ring(320, 100);

  it("are reduced to what can be drawn, without leaving their place", () => {
    const { vertices, indices, coarsened } = simplifiedMesh(big.vertices, big.indices, 1000);
    expect(coarsened).toBe(true);
    expect(indices.length / 3).toBeLessThanOrEqual(1000);
    expect(indices.length / 3).toBeGreaterThan(300);
    for (let i = 0; i < vertices.length; i += 3) {
      const off = Math.hypot(Math.hypot(vertices[i]!, vertices[i + 1]!) - 0.3, vertices[i + 2]!) - 0.12;
      expect(Math.abs(off)).toBeLessThan(0.02);
    }
  });

  it("keep their points while there are few enough", () => {
    const small = ring(12, 8);
    const { indices, coarsened, closed } = simplifiedMesh(small.vertices, small.indices, 1000);
    expect([indices.length, coarsened, closed]).toEqual([small.indices.length, false, true]);
  });

  it("make no large file, and the detail shows them as they are", () => {
    const jaw = bodyOf({ kind: "box", size: [0.1, 0.1, 0.1] }, 0.48);
    const scene = {
      bodies: [bodyOf(big), jaw],
      pair: [0, 1],
      witness: { a: [0.42, 0, 0.6], b: [0.43, 0, 0.6], distance: 0.01 },
    } as const;
    const text = renderSceneSvg(scene, { title: "ring" });
    expect(text.length).toBeLessThan(1_500_000);
    expect(text).not.toMatch(/NaN|Infinity|undefined/);
  });
});

describe("odd scenes", () => {
  it.each<[string, readonly SceneBody[]]>([
    ["nothing", []],
    ["one point", [bodyOf({ kind: "convex", points: [[0, 0, 0]] })]],
    ["a body of no size", [bodyOf({ kind: "sphere", radius: 0 })]],
    ["two bodies in one place", [bodyOf({ kind: "box", size: [1, 1, 1] }), bodyOf({ kind: "box", size: [1, 1, 1] })]],
    [
      "a mesh without triangles",
      [bodyOf({ kind: "triangles", vertices: new Float64Array(3), indices: new Uint32Array(0) })],
    ],
  ])("are drawn: %s", (_, bodies) => {
    const pair =
      bodies.length === 2 ? ({ pair: [0, 1], witness: { a: [0, 0, 0.6], b: [0, 0, 0.6], distance: -1 } } as const) : {};
    expect(renderSceneSvg({ bodies, ...pair }, { title: "odd" })).not.toMatch(/NaN|Infinity|undefined/);
  });
});
