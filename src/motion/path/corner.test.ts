import { describe, expect, test } from "vitest";
import { mulberry32, randomDirection } from "../../../test/arms/random.ts";
import { sevenJoints } from "../../../test/arms/seven.ts";
import { benchTcp, limitedPuma, offsetWrist, withLimits } from "../../../test/arms/tending.ts";
import { buildArm, forwardKinematics } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import { compose, distanceBetween, identityPose, type Pose, rotationAbout, translation } from "../../math/pose.ts";
import type { Segment } from "../types.ts";
import { createCornerBuilder } from "./corner.ts";
import { createFollower } from "./follow.ts";
import { createJointLimitCheck } from "./joint-limits.ts";
import { createLegBuilder, type Leg } from "./leg.ts";
import { createToolRates } from "./tool-rates.ts";

const STEP = 0.005;
const seven = buildArm(
  withLimits(
    sevenJoints(),
    Array.from({ length: 7 }, () => ({ range: 3, velocity: 2, acceleration: 10, jerk: 100, torque: 100 })),
  ),
);

function setUp(arm: Arm) {
  const tool = createToolRates(arm);
  tool.setTool(benchTcp);
  const limits = createJointLimitCheck(arm);
  const legs = createLegBuilder(arm, tool, createFollower(arm, tool), limits);
  const corners = createCornerBuilder(arm, tool, legs, limits);
  const poseAt = (q: Float64Array): Pose => compose(forwardKinematics(arm, q, identityPose()), benchTcp);
  const leg = (q: Float64Array, segment: Segment): Leg | undefined => {
    const built = legs.build(segment, 0, q, poseAt(q), STEP);
    return built.ok ? built.leg : undefined;
  };
  return { corners, poseAt, leg };
}

const speed = { fraction: 1, toolSpeed: 1, toolAcceleration: 1, constant: false };

describe.each([
  ["offset wrist", buildArm(offsetWrist()), Float64Array.of(0.2, -2.2, -1.4, 0.4, 1.4, 0.5)],
  ["Puma", buildArm(limitedPuma()), Float64Array.of(0.3, -0.6, 0.5, 0.5, 0.7, -0.2)],
  ["seven joints", seven, Float64Array.of(0.3, 0.6, -0.4, -1.5, 0.5, 0.9, 0.2)],
])("%s", (_, arm, start) => {
  test("corners of every mix join with three derivatives, inside the radius", () => {
    const { n } = arm;
    const { corners, poseAt, leg } = setUp(arm);
    const random = mulberry32(41);
    const seen = new Set<string>();
    const state = () =>
      [0, 1, 2, 3].map(() => new Float64Array(n)) as [Float64Array, Float64Array, Float64Array, Float64Array];
    const segment = (q: Float64Array): Segment => {
      const from = poseAt(q);
      const shift = () => randomDirection(random).map((v) => 0.1 * v) as [number, number, number];
      const to = compose(
        compose(translation(...shift()), from),
        rotationAbout(randomDirection(random), 0.3 * random()),
      );
      const kind = random();
      if (kind < 0.4) return { kind: "joint", to: q.map((v) => v + 0.5 * (random() - 0.5)), blend: 0, speed };
      if (kind < 0.7) return { kind: "line", to, blend: 0, speed };
      return { kind: "arc", via: compose(translation(...shift()), from), to, blend: 0, speed };
    };
    for (let round = 0; round < 60; round++) {
      const one = segment(start);
      const a = leg(start, one);
      if (a === undefined) continue;
      const two = segment(a.endQ);
      const b = leg(a.endQ, two);
      if (b === undefined) continue;
      const radius = 0.005 + 0.04 * random();
      const { corner } = corners.build(a, b, radius, STEP);
      if (corner === undefined) continue;
      seen.add(`${one.kind}-${two.kind}`);
      const { reach } = corner;
      expect(corner.radius).toBeLessThanOrEqual(radius * (1 + 1e-9));
      expect(reach).toBeLessThanOrEqual(Math.min(a.length, b.length) / 2 + 1e-12);
      for (const [s, neighbour, at] of [
        [0, a, a.length - reach],
        [2 * reach, b, reach],
      ] as const) {
        const mine = state();
        const theirs = state();
        corner.joints.evaluate(s, ...mine);
        neighbour.joints!.evaluate(at, ...theirs);
        for (let d = 0; d < 4; d++) {
          const size = Math.max(...theirs[d]!.map(Math.abs), 1 / reach ** d);
          for (let i = 0; i < n; i++)
            expect(Math.abs(mine[d]![i]! - theirs[d]![i]!) / size, `derivative ${d}, round ${round}`).toBeLessThan(
              [1e-8, 1e-6, 1e-5, 1e-3][d]!,
            );
        }
      }
      let nearest = Number.POSITIVE_INFINITY;
      const [q, x1, x2, x3] = state();
      for (let k = 0; k <= 200; k++) {
        corner.joints.evaluate((2 * reach * k) / 200, q, x1, x2, x3);
        const d = distanceBetween(poseAt(q), a.corner);
        expect(d).toBeLessThanOrEqual(radius * (1 + 1e-6) + 1e-9);
        nearest = Math.min(nearest, d);
      }
      corner.joints.evaluate(corner.nearest, q, x1, x2, x3);
      expect(distanceBetween(poseAt(q), a.corner)).toBeLessThanOrEqual(nearest + 1e-9);
    }
    expect(seen.size, [...seen].join()).toBeGreaterThanOrEqual(8);
  });
});

test("a corner at a joint limit is rounded inside the limits", () => {
  const base = buildArm(offsetWrist());
  const q = Float64Array.of(0.2, -2.2, -1.4, 0.4, 1.4, 0.5);
  // Joint 1 runs up to its limit, which it reaches at the corner and keeps from there on.
  const arm: Arm = { ...base, max: base.max.map((v, i) => (i === 0 ? 0.5 : v)) };
  const { corners, leg } = setUp(arm);
  const corner = Float64Array.from(q);
  corner[0] = 0.5;
  const on = Float64Array.from(corner);
  on[1] = -2;
  const a = leg(q, { kind: "joint", to: corner, blend: 0.05, speed })!;
  const b = leg(corner, { kind: "joint", to: on, blend: 0, speed })!;
  const built = corners.build(a, b, 0.05, STEP);
  expect(built.corner).toBeDefined();
  const [x, x1, x2, x3] = [0, 1, 2, 3].map(() => new Float64Array(6)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  for (let k = 0; k <= 100; k++) {
    built.corner!.joints.evaluate((2 * built.corner!.reach * k) / 100, x, x1, x2, x3);
    expect(x[0]).toBeLessThanOrEqual(0.5 + 1e-9);
  }
});
