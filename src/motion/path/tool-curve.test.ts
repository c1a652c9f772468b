import { describe, expect, test } from "vitest";
import { mulberry32, randomDirection, randomPose } from "../../../test/arms/random.ts";
import {
  angleBetween,
  compose,
  distanceBetween,
  identityPose,
  poseFromAbc,
  rotationAbout,
  translation,
} from "../../math/pose.ts";
import { arcCurve } from "./arc-curve.ts";
import { cornerCurve, turnByVector } from "./corner-curve.ts";
import { lineCurve, type ToolCurve, TURN_METRES, turnBetween } from "./tool-curve.ts";
import { createToolPoint, poseOfPoint, type ToolPoint } from "./tool-rates.ts";

const random = mulberry32(23);

const at = (curve: ToolCurve, s: number): ToolPoint => {
  const point = createToolPoint();
  curve.evaluate(s, point);
  return point;
};

/** Every derivative of a curve against central differences of the one before it. */
function expectDerivatives(curve: ToolCurve, s: number, h: number, tolerance: number) {
  const before = at(curve, s - h);
  const here = at(curve, s);
  const after = at(curve, s + h);
  const close = (a: number, b: number, what: string) =>
    expect(Math.abs(a - b), `${what} at ${s}: ${a} and ${b}`).toBeLessThan(tolerance * (1 + Math.abs(b)));
  for (let k = 0; k < 3; k++) {
    const slope = (f: (p: ToolPoint) => number) => (f(after) - f(before)) / (2 * h);
    close(
      slope((p) => p.p[k]!),
      here.p1[k]!,
      "p1",
    );
    close(
      slope((p) => p.p1[k]!),
      here.p2[k]!,
      "p2",
    );
    close(
      slope((p) => p.p2[k]!),
      here.p3[k]!,
      "p3",
    );
    close(
      slope((p) => p.w[k]!),
      here.w1[k]!,
      "w1",
    );
    close(
      slope((p) => p.w1[k]!),
      here.w2[k]!,
      "w2",
    );
    for (let c = 0; c < 3; c++) {
      const [x, y, z] = [here.r[c]!, here.r[3 + c]!, here.r[6 + c]!];
      const [wx, wy, wz] = [here.w[0]!, here.w[1]!, here.w[2]!];
      close(
        slope((p) => p.r[3 * k + c]!),
        [wy * z - wz * y, wz * x - wx * z, wx * y - wy * x][k]!,
        "r",
      );
    }
  }
}

describe("turnBetween", () => {
  test("finds axis and angle of a known turn, small, ordinary and nearly half", () => {
    for (const angle of [1e-9, 1e-4, 0.5, 2, 3, Math.PI - 1e-7]) {
      for (let round = 0; round < 20; round++) {
        const direction = randomDirection(random);
        const a = randomPose(random, 1);
        const b = compose(rotationAbout(direction, angle), a);
        const axis = new Float64Array(3);
        expect(Math.abs(turnBetween(a, b, axis) - angle)).toBeLessThan(3e-15);
        for (let k = 0; k < 3; k++) expect(Math.abs(axis[k]! - direction[k]!) * angle).toBeLessThan(1e-14);
      }
    }
  });
  test("half a turn has an axis of its own choice that does the turn", () => {
    for (const direction of [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
      [-1, 0, 0],
      [0.6, -0.8, 0],
      [-0.6, 0, 0.8],
    ]) {
      const b = rotationAbout(direction, Math.PI);
      const axis = new Float64Array(3);
      const angle = turnBetween(identityPose(), b, axis);
      expect(angle).toBeCloseTo(Math.PI, 12);
      expect(angleBetween(rotationAbout(axis, angle), b)).toBeLessThan(1e-7);
    }
  });
  test("no turn", () => {
    expect(turnBetween(identityPose(), identityPose(), new Float64Array(3))).toBe(0);
  });
});

describe("lineCurve", () => {
  test("is straight, at unit speed, and turns in proportion about one axis", () => {
    for (let round = 0; round < 30; round++) {
      const from = randomPose(random, 1);
      const to = compose(
        compose(translation(2 * random(), random(), 1), from),
        rotationAbout(randomDirection(random), 2 * random()),
      );
      const curve = lineCurve(from, to);
      const total = angleBetween(from, to);
      expect(distanceBetween(poseOfPoint(at(curve, curve.length)), to)).toBeLessThan(1e-14);
      expect(angleBetween(poseOfPoint(at(curve, curve.length)), to)).toBeLessThan(1e-7);
      for (const u of [0.2, 0.5, 0.9]) {
        const point = at(curve, u * curve.length);
        const pose = poseOfPoint(point);
        expect(Math.hypot(...point.p1)).toBeCloseTo(curve.travel, 12);
        for (const k of [3, 7, 11]) expect(Math.abs(pose[k]! - (from[k]! * (1 - u) + to[k]! * u))).toBeLessThan(1e-15);
        expect(angleBetween(from, pose)).toBeCloseTo(u * total, 10);
        expect(angleBetween(pose, to)).toBeCloseTo((1 - u) * total, 10);
      }
      expectDerivatives(curve, 0.4 * curve.length, 1e-5, 1e-7);
    }
  });
  test("turning on the spot has a length of its own", () => {
    const curve = lineCurve(identityPose(), rotationAbout([0, 0, 1], 1.5));
    expect(curve.length).toBeCloseTo(1.5 * TURN_METRES, 14);
    expect(curve.travel).toBe(0);
    expect(at(curve, curve.length / 2).w[2]).toBeCloseTo(1 / TURN_METRES, 12);
  });
});

describe("arcCurve", () => {
  const point = (x: number, y: number, z: number) => translation(x, y, z);
  test("quarter and three-quarter circle by hand", () => {
    const r = 0.3;
    const short = arcCurve(point(r, 0, 0), point(r * Math.SQRT1_2, r * Math.SQRT1_2, 0), point(0, r, 0));
    const long = arcCurve(point(r, 0, 0), point(-r, 0, 0), point(0, r, 0));
    if (!short.ok || !long.ok) throw new Error("an arc was refused");
    expect(short.curve.length).toBeCloseTo((r * Math.PI) / 2, 14);
    // The long way passes (0, -r, 0) at a third of its length.
    expect(long.curve.length).toBeCloseTo((r * 3 * Math.PI) / 2, 14);
    const third = at(long.curve, long.curve.length / 3);
    expect(third.p[0]).toBeCloseTo(0, 14);
    expect(third.p[1]).toBeCloseTo(-r, 14);
  });
  test("passes through its three points, round about one centre, at unit speed", () => {
    for (let round = 0; round < 30; round++) {
      const from = randomPose(random, 1);
      const via = randomPose(random, 1);
      const to = randomPose(random, 1);
      const arc = arcCurve(from, via, to);
      if (!arc.ok) throw new Error(arc.message);
      const { curve } = arc;
      expect(arc.straight).toBe(false);
      expect(distanceBetween(poseOfPoint(at(curve, 0)), from)).toBeLessThan(1e-12);
      expect(distanceBetween(poseOfPoint(at(curve, curve.length)), to)).toBeLessThan(1e-11);
      let nearest = Number.POSITIVE_INFINITY;
      for (let k = 0; k <= 2000; k++)
        nearest = Math.min(nearest, distanceBetween(poseOfPoint(at(curve, (curve.length * k) / 2000)), via));
      expect(nearest).toBeLessThan(curve.length / 2000);
      const middle = at(curve, 0.37 * curve.length);
      const radius = curve.travel ** 2 / Math.hypot(...middle.p2);
      const centre = [0, 1, 2].map((k) => middle.p[k]! + (middle.p2[k]! / Math.hypot(...middle.p2)) * radius);
      for (const pose of [from, via, to])
        expect(Math.hypot(pose[3]! - centre[0]!, pose[7]! - centre[1]!, pose[11]! - centre[2]!)).toBeCloseTo(radius, 9);
      expectDerivatives(curve, 0.6 * curve.length, 1e-5, 1e-5);
    }
  });
  test("points on a line: run as a line when the point to pass is between, refused otherwise", () => {
    const straight = arcCurve(point(0, 0, 0), point(0.1, 0, 0), point(0.3, 0, 0));
    expect(straight.ok && straight.straight && straight.curve.length).toBeCloseTo(0.3, 14);
    const beyond = arcCurve(point(0, 0, 0), point(0.35, 0, 0), point(0.3, 0, 0));
    expect(!beyond.ok && beyond.message).toContain("50.0 mm beyond the end");
    const before = arcCurve(point(0, 0, 0), point(-0.02, 0, 0), point(0.3, 0, 0));
    expect(!before.ok && before.message).toContain("20.0 mm before the start");
  });
  test("coincident points are refused", () => {
    const circle = arcCurve(point(0, 0, 0), point(0.1, 0, 0), point(0, 0, 0));
    expect(!circle.ok && circle.mend).toContain("two arcs");
    const same = arcCurve(point(0, 0, 0), point(0, 0, 0), point(0.1, 0, 0));
    expect(!same.ok && same.message).toContain("start");
  });
});

describe("turnByVector", () => {
  test("turns by the length of the vector about it, derivatives by difference quotients", () => {
    for (const size of [1e-6, 0.3, 1.5, 3]) {
      const coefficients = Array.from({ length: 4 }, () => randomDirection(random).map((v) => v * size));
      const curve: ToolCurve = {
        length: 1,
        travel: 1,
        straight: false,
        evaluate(s, out) {
          const row = (f: (k: number) => number) => Float64Array.of(f(0), f(1), f(2));
          const [a, b, c, d] = coefficients as [number[], number[], number[], number[]];
          turnByVector(
            row((k) => a[k]! + s * (b[k]! + s * (c[k]! + s * d[k]!))),
            row((k) => b[k]! + s * (2 * c[k]! + s * 3 * d[k]!)),
            row((k) => 2 * c[k]! + 6 * s * d[k]!),
            row((k) => 6 * d[k]!),
            Float64Array.of(0, -1, 0, 1, 0, 0, 0, 0, 1),
            out,
          );
        },
      };
      expectDerivatives(curve, 0, 1e-5, 1e-6);
      const start = poseFromAbc([0, 0, 0], 0, 0, Math.PI / 2);
      const turned = compose(rotationAbout(coefficients[0]!, size), start);
      expect(angleBetween(poseOfPoint(at(curve, 0)), turned)).toBeLessThan(2e-8);
    }
  });
});

describe("cornerCurve", () => {
  test("between lines: the highest point of a right angle by hand, inside the triangle, three derivatives join", () => {
    const a = lineCurve(translation(-1, 0, 0), identityPose());
    const b = lineCurve(identityPose(), translation(0, 1, 0));
    const reach = 0.2;
    const corner = cornerCurve(a, b, identityPose(), reach);
    // Middle: C + (t_b - t_a)·∫σ, ∫ of the quintic step over its first half being 5/64 of the whole length 2·reach.
    const middle = at(corner, reach);
    expect(middle.p[0]).toBeCloseTo((-2 * reach * 5) / 64, 14);
    expect(middle.p[1]).toBeCloseTo((2 * reach * 5) / 64, 14);
    for (let k = 0; k <= 100; k++) {
      const p = at(corner, (2 * reach * k) / 100).p;
      expect(p[0]).toBeLessThanOrEqual(1e-15);
      expect(p[1]).toBeGreaterThanOrEqual(-1e-15);
      expect(p[1]! - p[0]!).toBeLessThanOrEqual(reach + 1e-13);
    }
  });
  test("between arcs and lines with turning: value and three derivatives join, rates are true derivatives", () => {
    for (let round = 0; round < 20; round++) {
      const start = randomPose(random, 1);
      const corner = randomPose(random, 1);
      const end = randomPose(random, 1);
      const arc = arcCurve(start, randomPose(random, 1), corner);
      if (!arc.ok) throw new Error(arc.message);
      const [a, b] =
        round % 2 ? [arc.curve, lineCurve(corner, end)] : [lineCurve(start, corner), lineCurve(corner, end)];
      const reach = 0.3 * Math.min(a.length, b.length);
      const curve = cornerCurve(a, b, corner, reach);
      for (const [mine, theirs] of [
        [at(curve, 0), at(a, a.length - reach)],
        [at(curve, 2 * reach), at(b, reach)],
      ] as const) {
        for (const key of ["p", "p1", "p2", "p3", "r", "w", "w1", "w2"] as const)
          for (let k = 0; k < mine[key].length; k++) {
            const scale = 1 + Math.abs(theirs[key][k]!) + 1 / reach ** 3;
            expect(Math.abs(mine[key][k]! - theirs[key][k]!) / scale, `${key} round ${round}`).toBeLessThan(1e-9);
          }
      }
      expectDerivatives(curve, 0.7 * reach, 1e-5, 1e-3);
    }
  });
});
