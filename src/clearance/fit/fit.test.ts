import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { boxMesh, capsuleMesh, sphereMesh, together, torusMesh } from "../../../test/meshes/shapes.ts";
import { ContractError } from "../../math/contract-error.ts";
import { hullBody } from "../body.ts";
import type { MeshData } from "../mesh-library.ts";
import { type FittedCapsule, fitCapsule } from "./capsule.ts";
import { fitCapsules } from "./capsules.ts";
import { smallestCircle } from "./circle.ts";
import { hullAround } from "./hull-around.ts";

type Point = readonly [number, number, number];

/** How far a point stands out of a capsule, m; told from its frame, not by the code that fitted it. */
function outside({ radius, length, pointsFromCapsule: T }: FittedCapsule, [x, y, z]: Point): number {
  const d = [x - T[3]!, y - T[7]!, z - T[11]!];
  const inFrame = [0, 1, 2].map((k) => T[k]! * d[0]! + T[4 + k]! * d[1]! + T[8 + k]! * d[2]!);
  const beyond = Math.max(0, Math.abs(inFrame[2]!) - length / 2);
  return Math.hypot(inFrame[0]!, inFrame[1]!, beyond) - radius;
}

const outsideAll = (capsules: readonly FittedCapsule[], p: Point) => Math.min(...capsules.map((c) => outside(c, p)));

/** Points all over the triangles: corners, middles of edges and a grid of weights. */
function* surface({ vertices: v, indices }: MeshData, steps: number): Generator<Point> {
  for (let t = 0; t < indices.length; t += 3)
    for (let i = 0; i <= steps; i++)
      for (let j = 0; j <= steps - i; j++) {
        const w = [i / steps, j / steps, (steps - i - j) / steps];
        yield [0, 1, 2].map((k) =>
          w.reduce((sum, weight, c) => sum + weight * v[3 * indices[t + c]! + k]!, 0),
        ) as unknown as Point;
      }
}

function moved({ vertices, indices }: MeshData, seed: number): MeshData {
  const [a, b] = [Math.sin(seed) * 3, Math.cos(2 * seed) * 3];
  const out = vertices.slice();
  for (let i = 0; i < out.length; i += 3) {
    const [x, y, z] = [vertices[i]!, vertices[i + 1]!, vertices[i + 2]!];
    const y2 = Math.cos(a) * y - Math.sin(a) * z,
      z2 = Math.sin(a) * y + Math.cos(a) * z;
    out[i] = Math.cos(b) * x - Math.sin(b) * y2 + a;
    out[i + 1] = Math.sin(b) * x + Math.cos(b) * y2 - b;
    out[i + 2] = z2 + 0.3;
  }
  return { vertices: out, indices };
}

const capsulesOf = ({ vertices, indices }: MeshData, count: number) => fitCapsules(vertices, indices, count);
const total = (capsules: readonly FittedCapsule[]) => capsules.reduce((sum, { volume }) => sum + volume, 0);

describe("one capsule", () => {
  it("fitted to a capsule's mesh has its radius and length, wherever it lies", () => {
    for (const seed of [0, 1, 2, 3]) {
      const [fitted] = capsulesOf(moved(capsuleMesh(0.08, 0.5, 12, 32), seed), 1);
      expect(fitted!.radius).toBeCloseTo(0.08, 3);
      expect(fitted!.radius + fitted!.length / 2).toBeCloseTo(0.08 + 0.25, 3);
    }
  });

  it("around a sphere's mesh is a sphere, around a beam its exact best along the beam", () => {
    const [ball] = capsulesOf(sphereMesh(0.2, 3), 1);
    expect(ball!.radius).toBeCloseTo(0.2, 4);
    expect(ball!.length).toBeLessThan(1e-3);
    const [beam] = capsulesOf(moved(boxMesh([0.06, 0.08, 1]), 4), 1);
    expect(beam!.radius).toBeCloseTo(0.05, 3);
    // With that radius the end spheres' centres lie in the end faces.
    expect(Math.abs(beam!.length - 1)).toBeLessThan(0.01);
  });

  it("does not depend on the number of points: a fine mesh, of which few are looked at", () => {
    const fine = moved(capsuleMesh(0.08, 0.5, 40, 120), 1);
    const [fitted] = capsulesOf(fine, 1);
    for (const p of surface(fine, 1)) expect(outside(fitted!, p)).toBeLessThanOrEqual(1e-12);
    expect(fitted!.volume).toBeLessThan(Math.PI * 0.08 ** 2 * (0.5 + (4 / 3) * 0.08) * 1.002);
  });

  it("needs two different points", () => {
    expect(() => fitCapsule(Float64Array.of(1, 1, 1, 1, 1, 1))).toThrow(ContractError);
    const line = fitCapsule(Float64Array.of(0, 0, 0, 0, 2, 0));
    expect(line.length).toBeCloseTo(2, 9);
    expect(line.radius).toBeGreaterThan(0);
    expect(() => fitCapsules(boxMesh([1, 1, 1]).vertices, boxMesh([1, 1, 1]).indices, 13)).toThrow(/1 to 12/);
  });
});

describe("several capsules", () => {
  it("follow an elbow, in less volume than one", () => {
    const elbow = together(boxMesh([1, 0.1, 0.1], [0.45, 0, 0]), boxMesh([0.1, 0.1, 1], [0, 0, 0.45]));
    const volumes = [1, 2, 3, 6].map((count) => total(capsulesOf(elbow, count)));
    for (let i = 1; i < volumes.length; i++) expect(volumes[i]!).toBeLessThanOrEqual(volumes[i - 1]! * (1 + 1e-9));
    expect(volumes[3]!).toBeLessThan(0.5 * volumes[0]!);
  });

  it("a straight beam gets one, however many are asked for", () => {
    expect(capsulesOf(boxMesh([0.06, 0.06, 1]), 5).length).toBe(1);
  });

  it("hold every point of every triangle, and the inside of a closed mesh", () => {
    const shapes = fc.record({
      kind: fc.constantFrom("elbow", "torus", "box", "two balls"),
      a: fc.double({ min: 0.05, max: 1, noNaN: true }),
      b: fc.double({ min: 0.05, max: 1, noNaN: true }),
      seed: fc.nat(1000),
      count: fc.integer({ min: 1, max: 6 }),
    });
    fc.assert(
      fc.property(shapes, ({ kind, a, b, seed, count }) => {
        const shape =
          kind === "elbow"
            ? together(boxMesh([a, 0.1, b / 2], [a / 2, 0, 0]), boxMesh([0.1, 0.2, b], [0, 0, b / 2]))
            : kind === "torus"
              ? torusMesh(a + b, b / 2, 12, 8)
              : kind === "box"
                ? boxMesh([a, b, 1])
                : together(sphereMesh(a, 1), moved(sphereMesh(b, 1), seed + 1));
        const mesh = moved(shape, seed);
        const capsules = capsulesOf(mesh, count);
        expect(capsules.length).toBeLessThanOrEqual(count);
        for (const p of surface(mesh, 6)) expect(outsideAll(capsules, p)).toBeLessThanOrEqual(1e-11);
        if (kind !== "box") return;
        const corner = (i: number) => [...mesh.vertices.subarray(3 * i, 3 * i + 3)];
        for (let i = 0; i < 300; i++) {
          const w = [0.618 * i, 0.755 * i, 0.57 * i].map((x) => x % 1);
          const p = [0, 1, 2].map(
            (k) =>
              corner(0)[k]! +
              w[0]! * (corner(1)[k]! - corner(0)[k]!) +
              w[1]! * (corner(2)[k]! - corner(0)[k]!) +
              w[2]! * (corner(4)[k]! - corner(0)[k]!),
          );
          expect(outsideAll(capsules, p as unknown as Point)).toBeLessThanOrEqual(1e-11);
        }
      }),
      { seed: 21, numRuns: 10 },
    );
  });
});

describe("the hull around a mesh", () => {
  it("is exact for few corners: box and torus of few facets", () => {
    const box = hullAround(boxMesh([1, 2, 3]).vertices, boxMesh([1, 2, 3]).indices);
    expect(box).toMatchObject({ exact: true, volume: expect.closeTo(6, 12) });
    expect(box.points.length).toBe(8);
    const torus = torusMesh(1, 0.3, 24, 12);
    const around = hullAround(torus.vertices, torus.indices);
    expect(around.exact).toBe(true);
    expect(around.points.length).toBeLessThan(torus.vertices.length / 3);
  });

  it("holds a fine mesh in a polytope that is little larger", () => {
    const ball = moved(sphereMesh(0.5, 4), 2);
    const { exact, points, volume } = hullAround(ball.vertices, ball.indices);
    expect(exact).toBe(false);
    expect(volume).toBeGreaterThan((4 / 3) * Math.PI * 0.125 * 0.997);
    expect(volume).toBeLessThan((4 / 3) * Math.PI * 0.125 * 1.03);
    const body = hullBody(points);
    const [xs, ys, zs] = [0, 1, 2].map((k) => ball.vertices.filter((_, j) => j % 3 === k));
    // Farthest corner of the polytope along a direction is at least as far as any vertex.
    for (let i = 0; i < 400; i++) {
      const z = -1 + (2 * i + 1) / 400,
        a = 2.399963 * i,
        r = Math.sqrt(1 - z * z);
      const d = [r * Math.cos(a), r * Math.sin(a), z];
      const reach = (xs: ArrayLike<number>, ys: ArrayLike<number>, zs: ArrayLike<number>) => {
        let most = Number.NEGATIVE_INFINITY;
        for (let k = 0; k < xs.length; k++) most = Math.max(most, d[0]! * xs[k]! + d[1]! * ys[k]! + d[2]! * zs[k]!);
        return most;
      };
      expect(reach(body.xs, body.ys, body.zs)).toBeGreaterThanOrEqual(reach(xs!, ys!, zs!) - 1e-12);
    }
  });

  it("of a flat mesh is a flat box", () => {
    const flat = { vertices: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 2, 0), indices: Uint32Array.of(0, 1, 2) };
    const { volume, points } = hullAround(flat.vertices, flat.indices);
    expect(volume).toBe(0);
    for (const p of points) expect(Math.abs(p[2])).toBeLessThan(1e-12);
  });
});

it("the smallest circle is held by two or three of its points and holds all", () => {
  const points = fc.array(fc.tuple(fc.integer({ min: -9, max: 9 }), fc.integer({ min: -9, max: 9 })), {
    minLength: 1,
    maxLength: 30,
  });
  fc.assert(
    fc.property(points, (list) => {
      const xs = Float64Array.from(list, (p) => p[0]),
        ys = Float64Array.from(list, (p) => p[1]);
      const circle = smallestCircle(xs, ys, list.length, { x: 0, y: 0, radius: 0 });
      // The slow way: the least of all circles over pairs and triples that holds everything.
      let least = list.length === 1 ? 0 : Number.POSITIVE_INFINITY;
      const holds = (x: number, y: number, r: number) => list.every((p) => Math.hypot(p[0] - x, p[1] - y) <= r + 1e-9);
      for (const p of list)
        for (const q of list) {
          const r = Math.hypot(p[0] - q[0], p[1] - q[1]) / 2;
          if (holds((p[0] + q[0]) / 2, (p[1] + q[1]) / 2, r)) least = Math.min(least, r);
          for (const s of list) {
            const d = 2 * (p[0] * (q[1] - s[1]) + q[0] * (s[1] - p[1]) + s[0] * (p[1] - q[1]));
            if (d === 0) continue;
            const sq = (v: readonly number[]) => v[0]! ** 2 + v[1]! ** 2;
            const x = (sq(p) * (q[1] - s[1]) + sq(q) * (s[1] - p[1]) + sq(s) * (p[1] - q[1])) / d,
              y = (sq(p) * (s[0] - q[0]) + sq(q) * (p[0] - s[0]) + sq(s) * (q[0] - p[0])) / d;
            const radius = Math.hypot(p[0] - x, p[1] - y);
            if (radius < least && holds(x, y, radius)) least = radius;
          }
        }
      expect(circle.radius).toBeCloseTo(least, 8);
      expect(holds(circle.x, circle.y, circle.radius)).toBe(true);
    }),
    { seed: 4, numRuns: 150 },
  );
});
