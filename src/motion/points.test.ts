import { expect, test } from "vitest";
import { benchTcp, offsetWrist } from "../../test/arms/tending.ts";
import { buildArm, forwardKinematics } from "../arm/index.ts";
import { compose, distanceBetween, identityPose, translation } from "../math/pose.ts";
import { planMotion } from "./plan.ts";
import { createPointsTimer, type PointsSetting } from "./points.ts";
import type { SegmentSpeed } from "./types.ts";

const free = Number.POSITIVE_INFINITY;
const arm = buildArm(offsetWrist());
const q = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708);
const to = Float64Array.of(-0.4, -2.2, -1.5, 0.3, 1.5, 1);
const full: SegmentSpeed = { fraction: 1, toolSpeed: free, toolAcceleration: free, constant: false };
const setting: PointsSetting = {
  flangeFromTcp: benchTcp,
  tool: { speed: free, acceleration: free, jerk: free, turnSpeed: free, turnAcceleration: free },
  payload: undefined,
  gravity: [0, 0, -9.81],
  lineStep: 0.005,
  jointSpeed: full,
  lineSpeed: { ...full, toolSpeed: 0.25 },
  blend: 0,
  reference: q,
};
const timer = createPointsTimer(arm, setting);
const pose = compose(forwardKinematics(arm, q, identityPose()), benchTcp);
const beside = (x: number, y: number) => compose(translation(x, y, 0), pose);

test("joint points: the planner's own times, one after the other, and the joints that limit them", () => {
  const outcome = timer.time({ kind: "joint", points: [q, to, q] });
  if (!("motion" in outcome)) throw new Error("not timed");
  const { flangeFromTcp, tool, payload, gravity, lineStep } = setting;
  const segments = [{ kind: "joint" as const, to, blend: 0, speed: full }];
  const once = planMotion({ arm, start: q, segments, flangeFromTcp, tool, payload, gravity, lineStep });
  expect(outcome.motion.duration).toBeCloseTo(once.ok ? 2 * once.motion.duration : Number.NaN, 12);
  expect(outcome.limits.length).toBeGreaterThan(0);
  expect(outcome.limits.reduce((sum, limit) => sum + limit.share, 0)).toBeCloseTo(1, 9);
});

test("a line from a pose starts on the branch nearest to the reference, and is the line from joint values", () => {
  const from = timer.time({ kind: "line", points: [pose, beside(-0.2, 0)] });
  const same = timer.time({ kind: "line", points: [q, beside(-0.2, 0)] });
  if (!("motion" in from) || !("motion" in same)) throw new Error("not timed");
  expect(from.motion.duration).toBeCloseTo(same.motion.duration, 3);
  for (let i = 0; i < 6; i++) expect(from.motion.end[i]).toBeCloseTo(same.motion.end[i]!, 6);
});

test("arcs take their points by twos", () => {
  const points = [pose, beside(-0.05, 0.05), beside(-0.1, 0), beside(-0.15, -0.05), beside(-0.2, 0)];
  const outcome = timer.time({ kind: "arc", points });
  if (!("motion" in outcome)) throw new Error("not timed");
  expect(outcome.motion.segmentEnds).toHaveLength(2);
  const end = compose(forwardKinematics(arm, outcome.motion.end, identityPose()), benchTcp);
  expect(distanceBetween(end, beside(-0.2, 0))).toBeLessThan(1e-9);
});

test("points that are no motion are named with what is wrong", () => {
  const problem = (kind: "joint" | "line" | "arc", points: ArrayLike<number>[]) => {
    const outcome = timer.time({ kind, points });
    return "problem" in outcome ? outcome.problem : "";
  };
  expect(problem("joint", [q])).toBe('points must have at least 2 entries for "joint", got 1');
  expect(problem("arc", [pose, pose, pose, pose])).toContain("odd number");
  expect(problem("joint", [q, pose])).toBe("points[1] must have 6 numbers, got 16");
  expect(problem("line", [q, [1, 2]])).toBe("points[1] must have 6 or 16 numbers, got 2");
  expect(problem("joint", [q, Float64Array.from(q, () => Number.NaN)])).toBe(
    "points[1][0] must be a finite number, got NaN",
  );
  expect(problem("line", [q, new Float64Array(16).fill(1)])).toContain("points[1] must be a rigid transform");
  expect(problem("line", [translation(5, 0, 0), pose])).toContain("points[0] is a pose that the arm does not reach");
});

test("a motion that the arm cannot run comes back as its failure", () => {
  const outcome = timer.time({ kind: "line", points: [q, beside(0.6, 0)] });
  expect("failure" in outcome && outcome.failure.kind).toBe("out of reach");
});
