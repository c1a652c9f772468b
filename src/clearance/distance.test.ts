/**
 * Distances proved by themselves: the witness points give an upper bound, the plane normal to them a lower one, both by
 * descriptions of the bodies that the kernels do not use. Where both agree the distance is exact, whatever the method.
 */
import { describe, expect, test } from "vitest";
import { mulberry32, randomDirection, randomPose } from "../../test/arms/random.ts";
import {
  convexKinds,
  type Kind,
  outsideBy,
  randomPlace,
  randomSample,
  reachAlong,
  type Sample,
} from "../../test/clearance/random-bodies.ts";
import { hullTriangles } from "../cell/convex-hull.ts";
import { compose, identityPose, type Pose, translation } from "../math/pose.ts";
import { boxBody, capsuleBody, cylinderBody, distance, hullBody, newDistance, sphereBody } from "./index.ts";

/** m; bodies are up to about 1 m. */
const EXACT = 1e-11;
/** Cylinders with boxes, cylinders and hulls: the search for a curved rim ends here. */
const CURVED = 2e-10;

interface Pair {
  readonly a: Sample;
  readonly poseA: Pose;
  readonly b: Sample;
  readonly poseB: Pose;
}

const pairsOfKinds = convexKinds.flatMap((first, i) => convexKinds.slice(i).map((second) => [first, second] as const));

function drawPairs(first: Kind, second: Kind, count: number, seed: number, far = 0.6): Pair[] {
  const random = mulberry32(seed);
  const shapes = (kind: Kind) => Array.from({ length: 40 }, () => randomSample(kind, random));
  const as = shapes(first),
    bs = shapes(second);
  const pick = (list: Sample[]) => list[Math.floor(list.length * random())]!;
  return Array.from({ length: count }, () => {
    const reach = random() < 0.5 ? 0.15 : far;
    return { a: pick(as), poseA: randomPlace(random, reach), b: pick(bs), poseB: randomPlace(random, reach) };
  });
}

/** Overlap of A and B along n: how far B must go along n to be clear. */
const overlapAlong = ({ a, poseA, b, poseB }: Pair, n: readonly number[]) =>
  reachAlong(a, poseA, n) +
  reachAlong(
    b,
    poseB,
    n.map((v) => -v),
  );

describe.each(pairsOfKinds)("%s and %s", (first, second) => {
  const tolerance =
    [first, second].includes("cylinder") && ![first, second].some((k) => k === "sphere" || k === "capsule")
      ? CURVED
      : EXACT;
  const pairs = drawPairs(first, second, 1500, 7);
  const out = newDistance();

  test("witnesses lie on the bodies, realise the distance, and a plane proves that nothing is nearer", () => {
    let apart = 0;
    for (const pair of pairs) {
      const { a, poseA, b, poseB } = pair;
      const d = distance(a.body, poseA, b.body, poseB, out);
      const n = [...out.subarray(7, 10)];
      const pointA = [...out.subarray(1, 4)],
        pointB = [...out.subarray(4, 7)];
      expect(Math.hypot(...n)).toBeCloseTo(1, 12);
      expect(outsideBy(a, poseA, pointA)).toBeLessThan(tolerance);
      expect(outsideBy(b, poseB, pointB)).toBeLessThan(tolerance);
      // -overlap along the normal is a lower bound of a gap and, where negative, the depth that parts the bodies.
      expect(Math.abs(d + overlapAlong(pair, n))).toBeLessThan(tolerance);
      const miss = Math.hypot(...[0, 1, 2].map((k) => pointB[k]! - pointA[k]! - d * n[k]!));
      if (d > 0) {
        apart++;
        expect(miss).toBeLessThan(tolerance);
      } else expect(miss).toBeLessThan([first, second].includes("cylinder") ? 1e-6 : 1e-9);
    }
    expect(apart).toBeGreaterThan(pairs.length / 4);
    expect(apart).toBeLessThan(pairs.length);
  });

  test("no direction parts overlapping bodies by less than the depth", () => {
    const random = mulberry32(11);
    for (const pair of pairs) {
      const d = distance(pair.a.body, pair.poseA, pair.b.body, pair.poseB, out);
      if (d >= 0) continue;
      const n = [...out.subarray(7, 10)];
      for (let k = 0; k < 40; k++) {
        // Anywhere, and ever closer around the direction found.
        const spread = k < 10 ? Number.POSITIVE_INFINITY : 10 ** -(k / 8);
        const r = randomDirection(random);
        const m = spread === Number.POSITIVE_INFINITY ? r : r.map((v, i) => n[i]! + spread * v);
        const length = Math.hypot(...m);
        const along = m.map((v) => v / length);
        expect(overlapAlong(pair, along)).toBeGreaterThan(-d - tolerance);
      }
    }
  });

  test("the order of the bodies and a rigid motion of both change nothing but rounding", () => {
    const random = mulberry32(13);
    const other = newDistance();
    for (const { a, poseA, b, poseB } of pairs.slice(0, 500)) {
      const d = distance(a.body, poseA, b.body, poseB, out);
      expect(Math.abs(distance(b.body, poseB, a.body, poseA, other) - d)).toBeLessThan(tolerance);
      const motion = randomPose(random, 1);
      const moved = distance(a.body, compose(motion, poseA), b.body, compose(motion, poseB), other);
      expect(Math.abs(moved - d)).toBeLessThan(tolerance);
    }
  });
});

/** Corners of a polytope's core, world. */
function corners(sample: Sample, pose: Pose): number[][] {
  const s = sample.sizes;
  const local: (readonly number[])[] =
    sample.kind === "convex"
      ? sample.points.map((p) => [...p])
      : sample.kind === "box"
        ? [0, 1, 2, 3, 4, 5, 6, 7].map((i) => [0, 1, 2].map((k) => (((i >> k) & 1) - 0.5) * s[k]!))
        : [
            [0, 0, s[1]! / 2],
            [0, 0, -s[1]! / 2],
          ];
  return local.map((p) =>
    [0, 4, 8].map((r) => pose[r]! * p[0]! + pose[r + 1]! * p[1]! + pose[r + 2]! * p[2]! + pose[r + 3]!),
  );
}

test.each([
  ["box", "box"],
  ["capsule", "box"],
  ["box", "convex"],
  ["capsule", "convex"],
  ["convex", "convex"],
] as const)("depth of %s in %s is that of the nearest face of the hull of all differences", (first, second) => {
  const out = newDistance();
  let compared = 0;
  for (const { a, poseA, b, poseB } of drawPairs(first, second, 300, 17, 0.05)) {
    const radius = first === "capsule" ? a.sizes[0]! : 0;
    const d = distance(a.body, poseA, b.body, poseB, out) + radius;
    if (d > -1e-6) continue;
    const differences = corners(a, poseA).flatMap((p) =>
      corners(b, poseB).map((q) => [p[0]! - q[0]!, p[1]! - q[1]!, p[2]! - q[2]!] as const),
    );
    const faces = hullTriangles(differences);
    if (faces === undefined) continue;
    let depth = Number.POSITIVE_INFINITY;
    for (const [i, j, k] of faces) {
      const p = differences[i]!,
        u = differences[j]!.map((v, c) => v - p[c]!) as number[],
        v = differences[k]!.map((w, c) => w - p[c]!) as number[];
      const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
      const length = Math.hypot(...n);
      if (length < 1e-10) continue;
      depth = Math.min(depth, (n[0]! * p[0] + n[1]! * p[1] + n[2]! * p[2]) / length);
    }
    expect(Math.abs(d + depth)).toBeLessThan(1e-9);
    compared++;
  }
  expect(compared).toBeGreaterThan(20);
});

describe("by hand", () => {
  const out = newDistance();
  const at = (x: number, y: number, z: number) => translation(x, y, z);
  const here = identityPose();

  test("spheres, capsules, boxes and cylinders along an axis", () => {
    expect(distance(sphereBody(0.1), here, sphereBody(0.2), at(1, 0, 0), out)).toBeCloseTo(0.7, 15);
    expect([...out.subarray(1, 7)]).toEqual([0.1, 0, 0, 0.8, 0, 0]);
    expect(distance(capsuleBody(0.1, 1), here, capsuleBody(0.1, 1), at(0.5, 0, 1.5), out)).toBeCloseTo(
      Math.SQRT1_2 - 0.2,
      15,
    );
    expect(distance(capsuleBody(0.1, 1), here, capsuleBody(0.1, 1), at(0.5, 0, 0.3), out)).toBeCloseTo(0.3, 15);
    expect(distance(boxBody([1, 1, 1]), here, boxBody([1, 1, 1]), at(2, 0, 0), out)).toBeCloseTo(1, 15);
    expect(distance(boxBody([1, 1, 1]), here, boxBody([1, 1, 1]), at(0.75, 0.1, 0), out)).toBeCloseTo(-0.25, 15);
    expect(distance(boxBody([2, 2, 2]), here, sphereBody(0.1), at(0.7, 0.2, 0), out)).toBeCloseTo(-0.4, 15);
    expect(distance(cylinderBody(1, 1), here, sphereBody(0.1), at(4, 0, 4.5), out)).toBeCloseTo(4.9, 15);
    expect(distance(cylinderBody(1, 4), here, cylinderBody(0.5, 1), at(1.2, 0, 0.3), out)).toBeCloseTo(-0.3, 11);
    expect(distance(cylinderBody(1, 1), here, cylinderBody(0.5, 1), at(3, 4, 1), out)).toBeCloseTo(3.5, 11);
  });

  test("bodies in the very same place have a depth", () => {
    expect(distance(sphereBody(0.1), here, sphereBody(0.1), here, out)).toBeCloseTo(-0.2, 15);
    expect(distance(capsuleBody(0.1, 1), here, capsuleBody(0.2, 1), here, out)).toBeCloseTo(-0.3, 15);
    expect(distance(boxBody([1, 2, 3]), here, boxBody([1, 2, 3]), here, out)).toBeCloseTo(-1, 14);
    expect(distance(cylinderBody(1, 1), here, cylinderBody(1, 1), here, out)).toBeCloseTo(-1, 12);
    expect(distance(boxBody([1, 2, 3]), here, cylinderBody(0.5, 1), here, out)).toBeCloseTo(-1, 11);
  });

  test("a flat hull is a body without inside", () => {
    const square = hullBody([
      [0, 0, 0],
      [1, 0, 0],
      [1, 1, 0],
      [0, 1, 0],
    ]);
    expect(distance(square, here, sphereBody(0.1), at(0.5, 0.5, 1), out)).toBeCloseTo(0.9, 14);
    expect(distance(square, here, sphereBody(0.1), at(0.5, 0.5, 0), out)).toBeCloseTo(-0.1, 14);
    expect(distance(square, here, square, at(0.5, 0.5, 0), out)).toBeCloseTo(0, 14);
    expect(distance(square, here, boxBody([1, 1, 1]), at(0.5, 0.5, 0.2), out)).toBeCloseTo(-0.3, 13);
  });

  test("nearly parallel long capsules keep all digits", () => {
    for (const tilt of [1e-3, 1e-6, 1e-8, 1e-10, 1e-13]) {
      const pose = at(0.25, 0, 0);
      pose.set([1, 0, 0], 0);
      pose.set([0, Math.cos(tilt), -Math.sin(tilt)], 4);
      pose.set([0, Math.sin(tilt), Math.cos(tilt)], 8);
      expect(Math.abs(distance(capsuleBody(0.1, 2), here, capsuleBody(0.1, 2), pose, out) - 0.05)).toBeLessThan(1e-15);
    }
  });
});

test("a body without size is refused", () => {
  expect(() => boxBody([1, 0, 1])).toThrow("boxBody: size[1] must be finite and above 0 m, got 0");
  expect(() => sphereBody(Number.NaN)).toThrow("radius");
  expect(() => capsuleBody(0.1, -1)).toThrow("length");
  expect(() => cylinderBody(0.1, Number.POSITIVE_INFINITY)).toThrow("length");
  expect(() => hullBody([])).toThrow("at least one point");
});
