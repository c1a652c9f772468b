import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { identityPose, poseFromAbc, translation } from "../math/pose.ts";
import { hullTriangles } from "./convex-hull.ts";
import { impossible, principalMoments } from "./form/mass.ts";
import { bodyOfShape, inertiaOfShapes } from "./shape-inertia.ts";
import type { Shape } from "./shapes.ts";

const corners = (x: number, y: number, z: number): [number, number, number][] =>
  [-1, 1].flatMap((i) =>
    [-1, 1].flatMap((j) => [-1, 1].map((k): [number, number, number] => [(i * x) / 2, (j * y) / 2, (k * z) / 2])),
  );

describe("bodies of even density 1", () => {
  it("gives a box its textbook inertia, m (b² + c²) / 12", () => {
    const body = bodyOfShape({ kind: "box", size: [1, 2, 3] })!;
    expect(body.mass).toBeCloseTo(6, 14);
    expect(body.tensor.slice(0, 3)).toEqual([6.5, 5, 2.5]);
  });

  it("gives a cylinder m r² / 2 along and m (3 r² + h²) / 12 across", () => {
    const body = bodyOfShape({ kind: "cylinder", radius: 2, length: 3 })!;
    expect(body.mass).toBeCloseTo(12 * Math.PI, 12);
    expect(body.tensor[2]).toBeCloseTo(24 * Math.PI, 12);
    expect(body.tensor[0]).toBeCloseTo(21 * Math.PI, 12);
  });

  // The capsule against a sum over thin discs, and as a sphere when its length goes to nothing.
  it("agrees with a sum over discs for a capsule", () => {
    const [r, h] = [0.3, 0.8];
    const body = bodyOfShape({ kind: "capsule", radius: r, length: h })!;
    const n = 200_000;
    let [mass, along, across] = [0, 0, 0];
    for (let i = 0; i < n; i++) {
      const z = (h / 2 + r) * (2 * ((i + 0.5) / n) - 1);
      const out = Math.max(0, Math.abs(z) - h / 2);
      const square = r * r - out * out;
      const slice = (Math.PI * square * (h + 2 * r)) / n;
      mass += slice;
      along += (slice * square) / 2;
      across += slice * (square / 4 + z * z);
    }
    expect(body.mass).toBeCloseTo(mass, 7);
    expect(body.tensor[2]).toBeCloseTo(along, 7);
    expect(body.tensor[0]).toBeCloseTo(across, 7);
    const sphere = bodyOfShape({ kind: "sphere", radius: r })!;
    bodyOfShape({ kind: "capsule", radius: r, length: 0 })!.tensor.forEach((entry, k) => {
      expect(entry).toBeCloseTo(sphere.tensor[k]!, 14);
    });
  });

  it("takes the hull of a box's corners, and of points inside it, as the box, wherever it stands", () => {
    const box = bodyOfShape({ kind: "box", size: [0.4, 0.6, 1.1] })!;
    const points = [...corners(0.4, 0.6, 1.1), [0, 0, 0], [0.1, 0.2, 0.3], [0.2, 0.3, 0]] as [number, number, number][];
    const moved = points.map(([x, y, z]): [number, number, number] => [x + 5, y - 2, z + 1]);
    const hull = bodyOfShape({ kind: "convex", points: moved })!;
    expect(hull.mass).toBeCloseTo(box.mass, 10);
    expect(hull.centre.map((c) => Number(c.toFixed(9)))).toEqual([5, -2, 1]);
    hull.tensor.forEach((entry, k) => {
      expect(entry).toBeCloseTo(box.tensor[k]!, 8);
    });
  });

  it("gives a corner tetrahedron its volume 1/6 and centre 1/4", () => {
    const body = bodyOfShape({
      kind: "convex",
      points: [
        [0, 0, 0],
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
    })!;
    expect(body.mass).toBeCloseTo(1 / 6, 14);
    expect(body.centre[0]).toBeCloseTo(0.25, 14);
    // ∫ x² over the unit corner tetrahedron is 1/60; about the centre 1/60 - (1/6)(1/4)² = 1/160, two of which make Ixx.
    expect(body.tensor[0]).toBeCloseTo(2 / 160, 14);
  });

  it("has no body for flat hulls and meshes", () => {
    expect(
      bodyOfShape({
        kind: "convex",
        points: [
          [0, 0, 0],
          [1, 0, 0],
          [0, 1, 0],
          [1, 1, 0],
        ],
      }),
    ).toBeUndefined();
    expect(bodyOfShape({ kind: "mesh", file: "a.stl", scale: [1, 1, 1] })).toBeUndefined();
    expect(inertiaOfShapes([], 3)).toBeUndefined();
  });
});

it("spreads a mass over shapes as if they were one piece", () => {
  const half: Shape = { kind: "box", size: [1, 1, 1] };
  const whole = inertiaOfShapes(
    [
      { name: "a", ownerFromShape: translation(0.5, 0, 0), shape: half },
      { name: "b", ownerFromShape: translation(-0.5, 0, 0), shape: half },
    ],
    12,
  )!;
  const box = inertiaOfShapes(
    [{ name: "a", ownerFromShape: identityPose(), shape: { kind: "box", size: [2, 1, 1] } }],
    12,
  )!;
  whole.tensor.forEach((entry, k) => {
    expect(entry).toBeCloseTo(box.tensor[k]!, 12);
  });
});

it("encloses random points by the hull: closed, volume at most the box, every point inside", () => {
  const unit = fc.double({ min: -1, max: 1, noNaN: true });
  fc.assert(
    fc.property(fc.array(fc.tuple(unit, unit, unit), { minLength: 4, maxLength: 40 }), (points) => {
      const triangles = hullTriangles(points);
      if (triangles === undefined) return;
      const edges = new Set(triangles.flatMap(([a, b, c]) => [`${a},${b}`, `${b},${c}`, `${c},${a}`]));
      for (const edge of edges) expect(edges.has(edge.split(",").reverse().join(","))).toBe(true);
      const body = bodyOfShape({ kind: "convex", points });
      if (body) expect(body.mass).toBeLessThanOrEqual(8 + 1e-9);
    }),
    { seed: 3, numRuns: 200 },
  );
});

describe("inertia that a body can have", () => {
  it("finds the principal moments of a turned tensor", () => {
    // Ten random turns of diag(1, 2, 2.5): the eigenvalues do not change.
    for (let i = 1; i <= 10; i++) {
      const body = {
        name: "a",
        ownerFromShape: poseFromAbc([0, 0, 0], i, 2 * i, 3 * i),
        shape: { kind: "box", size: [0.1, 0.2, 0.3] } as Shape,
      };
      const [low, middle, high] = principalMoments(inertiaOfShapes([body], 12)!.tensor);
      expect(low).toBeCloseTo(0.05, 12);
      expect(middle).toBeCloseTo(0.1, 12);
      expect(high).toBeCloseTo(0.13, 12);
    }
  });

  it("accepts every box, and refuses negative moments and one moment above the sum of the others", () => {
    expect(impossible([1, 1, 2, 0, 0, 0])).toBeUndefined();
    expect(impossible([1, 1, 2.6, 0, 0, 0])).toMatch(/exceeds/);
    expect(impossible([1, 1, -1, 0, 0, 0])).toMatch(/negative/);
    expect(impossible([1, 1, 1, 2, 0, 0])).toMatch(/negative/);
    expect(impossible([0, 0, 0, 0, 0, 0])).toBeUndefined();
    // Not all stated, as in published arm data: only the axis that can be felt.
    expect(impossible([0, 0.35, 0, 0, 0, 0])).toBeUndefined();
    // Link 3 of the Puma 560 set of Corke & Armstrong-Helouvry (ICRA 1994), from memory: a tenth above the sum.
    expect(impossible([0.066, 0.086, 0.0125, 0, 0, 0])).toBeUndefined();
    const edge = fc.double({ min: 0.001, max: 2, noNaN: true });
    fc.assert(
      fc.property(edge, edge, edge, (x, y, z) => {
        expect(impossible(bodyOfShape({ kind: "box", size: [x, y, z] })!.tensor)).toBeUndefined();
      }),
      { seed: 4, numRuns: 200 },
    );
  });
});
