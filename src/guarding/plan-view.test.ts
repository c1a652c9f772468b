import fc from "fast-check";
import { expect, it } from "vitest";
import { poseFromAbc } from "../math/pose.ts";
import { convexOutline, entryShare, outlineOf, type Point2 } from "./plan-view.ts";

const square: Point2[] = [
  [1, -1],
  [3, -1],
  [3, 1],
  [1, 1],
];

it("tells where a straight way enters an outline", () => {
  expect(entryShare([0, 0], [4, 0], square)).toBeCloseTo(0.25, 12);
  expect(entryShare([0, 0], [0.9, 0], square)).toBeUndefined();
  expect(entryShare([2, 0], [9, 9], square)).toBe(0);
  expect(entryShare([0, 2], [4, 2], square)).toBeUndefined();
});

it("agrees with points tried along the way", () => {
  const at = fc.integer({ min: -500, max: 500 }).map((hundredths) => hundredths / 100);
  const size = fc.integer({ min: 30, max: 300 }).map((hundredths) => hundredths / 100);
  const point = fc.tuple(at, at);
  fc.assert(
    fc.property(point, point, point, size, size, fc.integer({ min: 3, max: 9 }), (from, to, middle, a, b, corners) => {
      fc.pre(Math.hypot(to[0] - from[0], to[1] - from[1]) > 0.1);
      const outline = convexOutline(
        Array.from({ length: corners }, (_, k): Point2 => {
          const angle = (2 * Math.PI * k) / corners;
          return [middle[0] + a * Math.cos(angle), middle[1] + b * Math.sin(angle)];
        }),
      );
      const share = entryShare(from, to, outline);
      const tried = Array.from({ length: 2001 }, (_, k) => k / 2000).find((s) =>
        inside([from[0] + s * (to[0] - from[0]), from[1] + s * (to[1] - from[1])], outline),
      );
      if (tried !== undefined) {
        expect(share).toBeDefined();
        expect(share!).toBeLessThanOrEqual(tried + 1e-9);
        expect(tried - share!).toBeLessThanOrEqual(1 / 2000 + 1e-6);
      }
    }),
    { seed: 2010, numRuns: 200 },
  );
});

const cross = (a: Point2, b: Point2, p: Point2) => (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
const inside = (p: Point2, outline: readonly Point2[]) =>
  outline.every((a, i) => cross(a, outline[(i + 1) % outline.length]!, p) >= 0);
const area = (outline: readonly Point2[]) =>
  outline.reduce((sum, a, i) => {
    const b = outline[(i + 1) % outline.length]!;
    return sum + (a[0] * b[1] - b[0] * a[1]) / 2;
  }, 0);

it("outlines shapes from above, turned or not; a mesh has none", () => {
  const turned = poseFromAbc([0, 0, 0], 0, 0, Math.PI / 4);
  const box = outlineOf({ name: "a", ownerFromShape: turned, shape: { kind: "box", size: [2, 2, 1] } })!;
  expect(area(box)).toBeCloseTo(4, 9);
  expect(Math.max(...box.map(([x]) => x))).toBeCloseTo(Math.SQRT2, 9);
  const lying = poseFromAbc([1, 0, 0], 0, Math.PI / 2, 0);
  const capsule = outlineOf({
    name: "b",
    ownerFromShape: lying,
    shape: { kind: "capsule", radius: 0.1, length: 1 },
  })!;
  // From above: a rectangle of 1 by 0.2 with half circles, drawn around it.
  expect(area(capsule)).toBeGreaterThan(0.2 + Math.PI * 0.01 - 1e-9);
  expect(area(capsule)).toBeLessThan(1.02 * (0.2 + Math.PI * 0.01));
  const mesh = { kind: "mesh", file: "x.stl", scale: [1, 1, 1] } as const;
  expect(outlineOf({ name: "c", ownerFromShape: turned, shape: mesh })).toBeUndefined();
});
