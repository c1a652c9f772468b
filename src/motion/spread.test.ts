import { describe, expect, test } from "vitest";
import { mulberry32, randomDirection } from "../../test/arms/random.ts";
import { benchTcp, limitedPuma, offsetWrist } from "../../test/arms/tending.ts";
import { buildArm, forwardKinematics } from "../arm/index.ts";
import { compose, identityPose, rotationAbout, translation } from "../math/pose.ts";
import { createPlanner } from "./plan.ts";
import { sweptMotionOf } from "./spread.ts";
import type { Motion, Segment } from "./types.ts";

const free = Number.POSITIVE_INFINITY;

/** Random intervals of a motion at 10 kHz. @returns the largest movement in them as a share of the bounds */
function checkSpread(motion: Motion, random: () => number, name: string): number {
  const n = motion.end.length;
  const swept = sweptMotionOf(motion);
  expect(swept.duration).toBe(motion.duration);
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  const q = new Float64Array(n),
    spread = new Float64Array(n);
  let closest = 0;
  for (let k = 0; k < 30; k++) {
    const half = 0.5 * motion.duration * 10 ** (-3 * random());
    const middle = half + (motion.duration - 2 * half) * random();
    const from = middle - half,
      to = middle + half;
    swept.position((from + to) / 2, q);
    swept.spread(from, to, spread);
    const count = Math.ceil(Math.min(2000, 10_000 * (to - from)));
    for (let i = 0; i <= count; i++) {
      motion.sample(from + ((to - from) * i) / count, state);
      for (let j = 0; j < n; j++) {
        const most = Math.abs(state.q[j]! - q[j]!);
        if (!(most <= spread[j]!))
          expect.fail(`${name}: joint ${j + 1} at ${from} to ${to} s: ${most} of ${spread[j]}`);
        if (spread[j]! > 1e-9) closest = Math.max(closest, most / spread[j]!);
      }
    }
  }
  return closest;
}

describe.each([
  ["offset-wrist arm", buildArm(offsetWrist()), 61],
  ["Puma 560", buildArm(limitedPuma()), 62],
] as const)("random chains of the %s", (_, arm, seed) => {
  test("joint values stay within their bounds, through stops, blends, lines and arcs", () => {
    const random = mulberry32(seed);
    const planner = createPlanner(arm);
    let planned = 0,
      blended = 0,
      closest = 0;
    for (let run = 0; planned < 25; run++) {
      const start = Float64Array.from({ length: 6 }, () => 2.4 * random() - 1.2);
      start[4] = 0.5 + 0.8 * random();
      const segments: Segment[] = [];
      let pose = compose(forwardKinematics(arm, start, identityPose()), benchTcp);
      for (let k = 0, count = 1 + Math.floor(4 * random()); k < count; k++) {
        const common = {
          blend: random() < 0.7 ? 0.05 * random() : 0,
          speed: { fraction: 0.4 + 0.6 * random(), toolSpeed: 0.2 + random(), toolAcceleration: free, constant: false },
        };
        if (k === 0 && random() < 0.5) {
          const to = start.map((v) => v + random() - 0.5);
          segments.push({ ...common, kind: "joint", to });
          pose = compose(forwardKinematics(arm, to, identityPose()), benchTcp);
          continue;
        }
        const [x, y, z] = randomDirection(random).map((v) => 0.12 * v) as [number, number, number];
        const to = compose(compose(translation(x, y, z), pose), rotationAbout(randomDirection(random), 0.3 * random()));
        const via = compose(translation(x / 2 + 0.03, y / 2, z / 2), pose);
        segments.push(random() < 0.3 ? { ...common, kind: "arc", via, to } : { ...common, kind: "line", to });
        pose = to;
      }
      const outcome = planner.plan({
        arm,
        start,
        segments,
        flangeFromTcp: benchTcp,
        tool: { speed: free, acceleration: free, jerk: free, turnSpeed: free, turnAcceleration: free },
        payload: undefined,
        gravity: [0, 0, -9.81],
        lineStep: 0.005,
      });
      if (!outcome.ok) continue;
      planned++;
      if (outcome.motion.blends!.some((radius) => radius > 0)) blended++;
      closest = Math.max(closest, checkSpread(outcome.motion, random, `run ${run}`));
    }
    expect(blended).toBeGreaterThan(3);
    expect(closest).toBeGreaterThan(0.999);
  });
});

test("a motion that does not move has no spread to speak of", () => {
  const arm = buildArm(offsetWrist());
  const start = Float64Array.of(0.1, -1.2, 1.1, 0.3, 0.9, 0);
  const outcome = createPlanner(arm).plan({
    arm,
    start,
    segments: [
      {
        kind: "joint",
        to: start,
        blend: 0,
        speed: { fraction: 1, toolSpeed: free, toolAcceleration: free, constant: false },
      },
    ],
    flangeFromTcp: benchTcp,
    tool: { speed: free, acceleration: free, jerk: free, turnSpeed: free, turnAcceleration: free },
    payload: undefined,
    gravity: [0, 0, -9.81],
    lineStep: 0.005,
  });
  if (!outcome.ok) throw new Error(outcome.failure.message);
  const swept = sweptMotionOf(outcome.motion);
  const q = new Float64Array(6),
    spread = new Float64Array(6);
  swept.position(0, q);
  swept.spread(0, 0, spread);
  expect([...q]).toEqual([...start]);
  expect(Math.max(...spread)).toBeLessThan(1e-11);
});
