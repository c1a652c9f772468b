/** Worked subproblems (check values recomputed outside this project) and properties against brute force. */
import { expect, test } from "vitest";
import { rotationAbout } from "../../src/math/pose.ts";
import { mulberry32, randomDirection } from "./random.ts";
import { linearAngle, turnOnto, turnsOnto, turnToDistance, turnToPlane } from "./subproblems.ts";

const z = [0, 0, 1];
const right = Math.PI / 2;
const out = new Float64Array(4);
type V = readonly number[];
const turn = (h: V, q: number, v: V): number[] => {
  const r = rotationAbout(h, q);
  return [0, 4, 8].map((k) => r[k]! * v[0]! + r[k + 1]! * v[1]! + r[k + 2]! * v[2]!);
};
const distance = (a: V, b: V) => Math.hypot(a[0]! - b[0]!, a[1]! - b[1]!, a[2]! - b[2]!);
const grid = Array.from({ length: 721 }, (_, i) => (i * Math.PI) / 360 - Math.PI);

test("subproblem 1 about z from x to y is 90°", () => {
  expect(turnOnto(z, [1, 0, 0], [0, 1, 0], out)).toBe(1);
  expect(out[0]).toBeCloseTo(right, 15);
});

test("subproblem 3: distance √5 is ±90°, distance 1 is 0 twice over, distance 4 is out of reach", () => {
  expect(turnToDistance(z, [1, 0, 0], [2, 0, 0], Math.sqrt(5), out)).toBe(2);
  expect([out[0]!, out[1]!].sort((a, b) => a - b)).toEqual([expect.closeTo(-right, 14), expect.closeTo(right, 14)]);
  expect(turnToDistance(z, [1, 0, 0], [2, 0, 0], 1, out)).toBe(1);
  expect(out[0]).toBeCloseTo(0, 12);
  expect(turnToDistance(z, [1, 0, 0], [2, 0, 0], 4, out)).toBe(0);
  expect(Math.abs(out[0]!)).toBeCloseTo(Math.PI, 12);
});

test("planar two-link arm, links 1 and 1: (1, 1), (2, 0) and (2.1, 0)", () => {
  const elbow = (x: number, y: number): [number, number[]] => {
    // |R(z, q2)·x + x| = |target|: distance of the turned second link from the reversed first.
    const count = turnToDistance(z, [1, 0, 0], [-1, 0, 0], Math.hypot(x, y), out);
    return [count, Array.from(out.subarray(0, Math.max(1, count))).sort((a, b) => a - b)];
  };
  expect(elbow(1, 1)).toEqual([2, [expect.closeTo(-right, 14), expect.closeTo(right, 14)]]);
  expect(elbow(2, 0)).toEqual([1, [expect.closeTo(0, 12)]]);
  expect(elbow(2.1, 0)).toEqual([0, [expect.closeTo(0, 12)]]);
});

test("random instances made from a known angle return it, and every solution fits", () => {
  const random = mulberry32(21);
  for (let t = 0; t < 300; t++) {
    const h = randomDirection(random),
      k = randomDirection(random),
      p = randomDirection(random).map((x) => x * (0.2 + random())),
      c = randomDirection(random).map((x) => x * (0.2 + random()));
    const q = Math.PI * (2 * random() - 1),
      q2 = Math.PI * (2 * random() - 1);
    expect(turnOnto(h, p, turn(h, q, p), out)).toBe(1);
    expect(Math.abs(Math.sin((out[0]! - q) / 2))).toBeLessThan(1e-10);

    const far = distance(turn(h, q, p), c);
    const nd = turnToDistance(h, p, c, far, out);
    expect(Array.from(out.subarray(0, nd)).some((a) => Math.abs(Math.sin((a - q) / 2)) < 1e-6)).toBe(true);
    for (let i = 0; i < nd; i++) expect(distance(turn(h, out[i]!, p), c)).toBeCloseTo(far, 12);

    const height = turn(h, q, p).reduce((sum, x, i) => sum + x * k[i]!, 0);
    const np = turnToPlane(h, p, k, height, out);
    expect(Array.from(out.subarray(0, np)).some((a) => Math.abs(Math.sin((a - q) / 2)) < 1e-6)).toBe(true);

    const goal = turn(h, q, turn(k, q2, p));
    const n2 = turnsOnto(h, k, p, goal, out);
    let hit = false;
    for (let i = 0; i < n2; i++) {
      expect(distance(turn(h, out[2 * i]!, turn(k, out[2 * i + 1]!, p)), goal)).toBeLessThan(1e-7);
      hit ||= Math.abs(Math.sin((out[2 * i]! - q) / 2)) + Math.abs(Math.sin((out[2 * i + 1]! - q2) / 2)) < 1e-5;
    }
    expect(hit).toBe(true);
  }
});

test("without a solution the angle is the least-squares one: no angle of a half-degree grid does better", () => {
  const random = mulberry32(22);
  let outside = 0;
  for (let t = 0; t < 60; t++) {
    const h = randomDirection(random),
      k = randomDirection(random),
      p = randomDirection(random),
      g = randomDirection(random).map((x) => 1.3 * x);
    expect(turnOnto(h, p, g, out)).toBe(0);
    let error = distance(turn(h, out[0]!, p), g);
    expect(Math.min(...grid.map((q) => distance(turn(h, q, p), g)))).toBeGreaterThan(error - 1e-12);

    if (turnToPlane(h, p, k, 0.9, out) === 0) {
      outside++;
      const miss = (q: number) => Math.abs(turn(h, q, p).reduce((sum, x, i) => sum + x * k[i]!, 0) - 0.9);
      error = miss(out[0]!);
      expect(Math.min(...grid.map(miss))).toBeGreaterThan(error - 1e-12);
    }
    if (turnsOnto(h, k, p, g, out) === 0) {
      error = distance(turn(h, out[0]!, turn(k, out[1]!, p)), g);
      const coarse = grid.filter((_, i) => i % 12 === 0);
      const least = coarse.map((b) => {
        const mid = turn(k, b, p);
        return Math.min(...coarse.map((a) => distance(turn(h, a, mid), g)));
      });
      expect(Math.min(...least)).toBeGreaterThan(error - 1e-9);
    }
  }
  expect(outside).toBeGreaterThan(10);
});

test("linear angle: nothing to turn", () => {
  expect(linearAngle(0, 0, 0, out)).toBe(1);
  expect(linearAngle(0, 0, 1, out)).toBe(0);
});
