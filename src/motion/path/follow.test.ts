import { describe, expect, test } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { mulberry32, randomDirection } from "../../../test/arms/random.ts";
import { sevenJoints } from "../../../test/arms/seven.ts";
import { benchTcp, limitedPuma, offsetWrist } from "../../../test/arms/tending.ts";
import { buildArm, forwardKinematics } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import { compose, identityPose, type Pose, rotationAbout, translation } from "../../math/pose.ts";
import { arcCurve } from "./arc-curve.ts";
import { createFollower, type Followed } from "./follow.ts";
import { lineCurve, type ToolCurve } from "./tool-curve.ts";
import { createToolPoint, createToolRates } from "./tool-rates.ts";

const random = mulberry32(31);

function setUp(arm: Arm, flangeFromTcp: Pose) {
  const tool = createToolRates(arm);
  tool.setTool(flangeFromTcp);
  const follower = createFollower(arm, tool);
  const poseAt = (q: Float64Array) => compose(forwardKinematics(arm, q, identityPose()), flangeFromTcp);
  const options = { step: 0.05, fastest: new Float64Array(arm.n).fill(500) };
  return { tool, follower, poseAt, options };
}

/** Largest distance (m), angle (rad) and relative error of each derivative of the followed tool from the curve. */
function deviation(curve: ToolCurve, followed: Followed, tool: ReturnType<typeof createToolRates>, n: number) {
  const [q, q1, q2, q3] = [0, 0, 0, 0].map(() => new Float64Array(n));
  const is = createToolPoint();
  const should = createToolPoint();
  const worst = { p: 0, r: 0, first: 0, second: 0, third: 0, bend: 1 };
  for (let k = 0; k <= 500; k++) {
    const s = (followed.reached * k) / 500;
    followed.curve!.evaluate(s, q!, q1!, q2!, q3!);
    tool.place(q!, is);
    tool.rates(q1!, q2!, q3!, is);
    curve.evaluate(s, should);
    const apart = (key: "p" | "p1" | "p2" | "p3" | "r" | "w" | "w1" | "w2") =>
      Math.max(...Array.from(is[key], (v, i) => Math.abs(v - should[key][i]!)));
    worst.bend = Math.max(worst.bend, ...q2!.map(Math.abs));
    worst.p = Math.max(worst.p, apart("p"));
    worst.r = Math.max(worst.r, apart("r"));
    worst.first = Math.max(worst.first, apart("p1"), apart("w"));
    worst.second = Math.max(worst.second, apart("p2"), apart("w1"));
    worst.third = Math.max(worst.third, apart("p3"), apart("w2"));
  }
  return worst;
}

describe.each([
  ["offset wrist", buildArm(offsetWrist())],
  ["Puma", buildArm(limitedPuma())],
])("%s", (_, arm) => {
  test("the tool stays on random lines and arcs to 1e-9, derivatives of the joints are exact", () => {
    const { tool, follower, poseAt, options } = setUp(arm, benchTcp);
    let followedAll = 0;
    for (let round = 0; round < 200; round++) {
      const q = Float64Array.from({ length: 6 }, () => 4 * random() - 2);
      const from = poseAt(q);
      const shift = randomDirection(random).map((v) => 0.25 * v) as [number, number, number];
      const to = compose(compose(translation(...shift), from), rotationAbout(randomDirection(random), 0.8 * random()));
      let curve = lineCurve(from, to);
      if (round % 2) {
        const arc = arcCurve(from, compose(translation(0.1, 0.05 * random(), 0.1), from), to);
        if (arc.ok) curve = arc.curve;
      }
      const followed = follower.follow(curve, q, options);
      if (followed.curve === undefined) continue;
      if (followed.stop === undefined) followedAll++;
      const worst = deviation(curve, followed, tool, 6);
      expect(worst.p).toBeLessThan(1e-9);
      expect(worst.r).toBeLessThan(1e-9);
      if (followed.stop !== undefined) continue;
      expect(worst.first).toBeLessThan(3e-6);
      expect(worst.second / worst.bend).toBeLessThan(2e-5);
    }
    expect(followedAll).toBeGreaterThan(80);
  });

  test("derivatives at the start are those of the joints: difference quotients of separately solved joints", () => {
    const { follower, poseAt, options } = setUp(arm, benchTcp);
    const q = Float64Array.of(0.3, -1.2, 1.1, 0.4, 0.9, -0.2);
    const curve = lineCurve(poseAt(q), compose(translation(0.1, -0.05, 0.08), poseAt(q)));
    const followed = follower.follow(curve, q, options);
    const [x, x1, x2, x3] = [0, 0, 0, 0].map(() => new Float64Array(6));
    const at = (s: number) => {
      followed.curve!.evaluate(s, x!, x1!, x2!, x3!);
      return [x!, x1!, x2!, x3!].map((v) => Float64Array.from(v));
    };
    const h = 1e-4;
    const s = 0.4 * curve.length;
    const [before, here, after] = [at(s - h), at(s), at(s + h)];
    for (let d = 0; d < 3; d++)
      for (let i = 0; i < 6; i++) {
        const slope = (after[d]![i]! - before[d]![i]!) / (2 * h);
        expect(Math.abs(slope - here[d + 1]![i]!)).toBeLessThan(1e-4 * (1 + Math.abs(slope)));
      }
  });
});

test("joints keep their turn past ±180°", () => {
  const arm = buildArm(offsetWrist());
  const { follower, poseAt, options } = setUp(arm, benchTcp);
  // Joint 6 alone turns the tool about its own axis: by 300° in two lines of 150°.
  let q: Float64Array = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 2);
  for (let k = 0; k < 2; k++) {
    const from = poseAt(q);
    const to = compose(from, rotationAbout([0, 0, 1], (150 * Math.PI) / 180));
    q = follower.follow(lineCurve(from, to), q, options).end;
  }
  expect(q[5]).toBeCloseTo(2 + (300 * Math.PI) / 180, 9);
  for (const [i, v] of [0.1895, -2.5194, -1.1927, 0.5705, 1.3813].entries()) expect(q[i]).toBeCloseTo(v, 9);
});

describe("planar arm of three joints, links 0.5, 0.5, 0.2", () => {
  const arm = buildArm(
    describeDh("planar", [
      { a: 0.5, alpha: 0, d: 0 },
      { a: 0.5, alpha: 0, d: 0 },
      { a: 0.2, alpha: 0, d: 0 },
    ]),
  );
  const { tool, follower, poseAt, options } = setUp(arm, identityPose());
  // Wrist at (0.6, 0), last link along x: elbow at 0.3, 0.4 below.
  const elbow = Math.atan2(-0.4, 0.3);
  const start = Float64Array.of(elbow, -2 * elbow, elbow);

  test("follows a line in its plane with the orientation kept", () => {
    expect(poseAt(start)[3]).toBeCloseTo(0.8, 12);
    const curve = lineCurve(poseAt(start), compose(translation(0.1, 0.3, 0), poseAt(start)));
    const followed = follower.follow(curve, start, options);
    expect(followed.stop).toBeUndefined();
    const worst = deviation(curve, followed, tool, 3);
    expect(worst.p).toBeLessThan(1e-9);
    expect(worst.r).toBeLessThan(1e-9);
  });
  test("loses the line where the wrist is stretched out, by hand at half of it", () => {
    const curve = lineCurve(poseAt(start), compose(translation(0.8, 0, 0), poseAt(start)));
    const followed = follower.follow(curve, start, options);
    expect(followed.stop).toBeDefined();
    expect(followed.reached / curve.length).toBeCloseTo(0.5, 4);
  });
  test("cannot turn the tool out of its plane", () => {
    const to = compose(compose(translation(0.1, 0, 0), poseAt(start)), rotationAbout([1, 0, 0], 0.3));
    const followed = follower.follow(lineCurve(poseAt(start), to), start, options);
    expect(followed.stop).toBe("orientation");
    expect(followed.reached).toBeLessThan(1e-5);
  });
});

test("seven joints: the redundancy held is orthogonal to the motion and the tool keeps the line", () => {
  const arm = buildArm(sevenJoints());
  const { tool, follower, poseAt, options } = setUp(arm, identityPose());
  const q = Float64Array.of(0.3, 0.6, -0.4, -1.3, 0.5, 0.9, 0.2);
  const hold = new Float64Array(7);
  expect(follower.redundancy(q, hold)).toBe(true);
  const j = new Float64Array(42);
  tool.place(q, createToolPoint());
  tool.jacobian(j);
  for (let r = 0; r < 6; r++)
    expect(Math.abs(hold.reduce((sum, v, k) => sum + v * j[7 * r + k]!, 0))).toBeLessThan(1e-12);
  const curve = lineCurve(poseAt(q), compose(translation(-0.1, 0.1, 0.05), poseAt(q)));
  const followed = follower.follow(curve, q, { ...options, hold });
  expect(followed.stop).toBeUndefined();
  const worst = deviation(curve, followed, tool, 7);
  expect(worst.p).toBeLessThan(1e-9);
  expect(worst.first).toBeLessThan(1e-6);
  const drift = hold.reduce((sum, v, k) => sum + v * (followed.end[k]! - q[k]!), 0);
  expect(Math.abs(drift)).toBeLessThan(1e-9);
});
