import { describe, expect, test } from "vitest";
import { mulberry32, randomDirection } from "../../../test/arms/random.ts";
import { benchTcp, limitedPuma, offsetWrist } from "../../../test/arms/tending.ts";
import { buildArm, forwardKinematics } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import { compose, identityPose, rotationAbout, translation } from "../../math/pose.ts";
import { createFollower } from "../path/follow.ts";
import { type JointCurve, straightJoints } from "../path/joint-curve.ts";
import { RunPath } from "../path/run-path.ts";
import { lineCurve, type ToolCurve } from "../path/tool-curve.ts";
import { createToolPoint, createToolRates } from "../path/tool-rates.ts";
import { type RunStretch, timePathRun } from "../time-path-run.ts";
import { sampleProfile } from "../timing/index.ts";
import type { SegmentSpeed, ToolLimits } from "../types.ts";
import { createAllowance } from "./allowance.ts";
import { rampLaw } from "./ramp-law.ts";
import { timeRampRun } from "./ramp-run.ts";

const free = Number.POSITIVE_INFINITY;
const rad = Math.PI / 180;
const full: SegmentSpeed = { fraction: 1, toolSpeed: free, toolAcceleration: free, constant: false };
const unlimited: ToolLimits = { speed: free, acceleration: free, jerk: free, turnSpeed: free, turnAcceleration: free };
const offset = buildArm(offsetWrist());
const puma = buildArm(limitedPuma());

function single(arm: Arm, joints: JointCurve, tool: ToolCurve | undefined, speed: SegmentSpeed) {
  const rates = createToolRates(arm);
  const piece = { joints, tool, from: 0, to: joints.length, segment: 0, corner: false };
  const path = new RunPath(arm.n, [piece], rates, benchTcp, createToolPoint());
  const stretch: RunStretch = { from: 0, to: path.length, steadyFrom: 0, steadyTo: path.length, speed };
  return { path, stretches: [stretch] };
}

test("on a straight line in joint space it is the double-S law: 90° under 180 °/s, 600 °/s², 6000 °/s³ in 0.9 s", () => {
  // Duration: Biagiotti & Melchiorri 2008, ch. 3.
  const arm: Arm = {
    ...offset,
    velocity: new Float64Array(6).fill(180 * rad),
    acceleration: new Float64Array(6).fill(600 * rad),
    jerk: new Float64Array(6).fill(6000 * rad),
  };
  const q = new Float64Array(6);
  const { path, stretches } = single(arm, straightJoints(q, [0, 0, 90 * rad, 0, 0, 0], 0.7), undefined, full);
  const found = rampLaw(path, createAllowance(arm, path, stretches, unlimited), [])!;
  expect(found.law.duration).toBeCloseTo(0.9, 4);
  expect(found.bound).toBeCloseTo(0.9, 6);
});

test("a level of fixed speed in between is kept, and reached and left by the shortest ramps", () => {
  const q = new Float64Array(6);
  const arm: Arm = {
    ...offset,
    velocity: new Float64Array(6).fill(2),
    acceleration: new Float64Array(6).fill(4),
    jerk: new Float64Array(6).fill(40),
  };
  const { path, stretches } = single(arm, straightJoints(q, [0, 0, 1, 0, 0, 0], 1), undefined, full);
  const level = { from: 0.4, to: 0.6, speed: 0.5, fixed: true };
  const { law } = rampLaw(path, createAllowance(arm, path, stretches, unlimited), [level])!;
  // By hand: over the 0.4 before the level the speed rises to a peak above 0.5 and falls to it; by symmetry the same after.
  const ramp = (change: number) => (change * 40 >= 16 ? change / 4 + 0.1 : 2 * Math.sqrt(change / 40));
  const way = (peak: number) => (peak / 2) * ramp(peak) + ((peak + 0.5) / 2) * ramp(peak - 0.5);
  let [low, high] = [0.5, 2];
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    if (way(middle) < 0.4) low = middle;
    else high = middle;
  }
  expect(law.duration).toBeCloseTo(2 * (ramp(low) + ramp(low - 0.5)) + 0.2 / 0.5, 5);
  const state = new Float64Array(4);
  for (let t = 0; t <= law.duration; t += 0.001) {
    sampleProfile(law, t, state);
    if (state[0]! > 0.4 + 1e-6 && state[0]! < 0.6 - 1e-6) expect(state[1]).toBeCloseTo(0.5, 9);
  }
});

describe.each([
  ["offset-wrist arm", offset],
  ["Puma", puma],
])("random lines of the %s", (_, arm) => {
  test("no limit is exceeded, and what is accepted is at most 1.5 % longer than the numerical optimum", () => {
    const random = mulberry32(19);
    const tool = createToolRates(arm);
    tool.setTool(benchTcp);
    const follower = createFollower(arm, tool);
    const toolLimits = { speed: 1.5, acceleration: 10, jerk: 120, turnSpeed: 5, turnAcceleration: 35 };
    let accepted = 0;
    for (let round = 0; accepted < 20; round++) {
      expect(round).toBeLessThan(300);
      const q = Float64Array.from({ length: 6 }, () => 2.4 * random() - 1.2);
      q[4] = 0.6 + 0.6 * random();
      const from = compose(forwardKinematics(arm, q, identityPose()), benchTcp);
      const [x, y, z] = randomDirection(random).map((v) => (0.05 + 0.2 * random()) * v) as [number, number, number];
      const to = compose(compose(translation(x, y, z), from), rotationAbout(randomDirection(random), 0.2 * random()));
      const curve = lineCurve(from, to);
      const followed = follower.follow(curve, q, { step: 0.04, fastest: new Float64Array(6).fill(500) });
      if (followed.stop !== undefined) continue;
      const speed = { ...full, toolSpeed: 0.1 + 0.3 * random(), toolAcceleration: 2.5 };
      const { path, stretches } = single(arm, followed.curve!, curve, speed);
      const run = timeRampRun(arm, path, stretches, toolLimits);
      if (run === undefined) continue;
      accepted++;
      const allowance = createAllowance(arm, path, stretches, toolLimits);
      const state = new Float64Array(4);
      for (let k = 0; k <= 500; k++) {
        run.at((run.duration * k) / 500, state);
        allowance.load(Math.min(path.length, Math.max(0, state[0]!)));
        expect(allowance.need(state[1]!, state[2]!, state[3]!), `round ${round}, ${k}`).toBeLessThan(1 + 2e-6);
      }
      const exact = timePathRun(arm, path, stretches, toolLimits, undefined);
      if (!exact.ok) throw new Error(exact.failure.reason);
      expect(run.duration / exact.run.duration, `round ${round}`).toBeLessThan(1.015);
      // Every moment has its limit, and it is nearly used up at some moment of its span.
      expect(run.limits[0]!.from).toBe(0);
      expect(run.limits.at(-1)!.to).toBeCloseTo(run.duration, 12);
      for (const span of run.limits) {
        let most = 0;
        for (let k = 0; k <= 20; k++) {
          run.at(span.from + ((span.to - span.from) * k) / 20, state);
          allowance.load(Math.min(path.length, Math.max(0, state[0]!)));
          most = Math.max(most, allowance.most(state[1]!, state[2]!, state[3]!).use);
        }
        expect(most, `round ${round}, ${span.kind}`).toBeGreaterThan(0.8);
      }
    }
  });
});

test("what is allowed is the most that uses no limit up: found by bisection of the need", () => {
  const random = mulberry32(4);
  const tool = createToolRates(puma);
  tool.setTool(benchTcp);
  const q = Float64Array.of(0.3, -0.6, 0.5, 0.5, 0.7, -0.2);
  const from = compose(forwardKinematics(puma, q, identityPose()), benchTcp);
  const curve = lineCurve(from, compose(translation(0.1, 0.1, -0.1), compose(from, rotationAbout([1, 0, 1], 0.8))));
  const followed = createFollower(puma, tool).follow(curve, q, { step: 0.04, fastest: new Float64Array(6).fill(500) });
  const limits = { speed: 0.8, acceleration: 4, jerk: 40, turnSpeed: 2, turnAcceleration: 12 };
  const { path, stretches } = single(puma, followed.curve!, curve, { ...full, fraction: 0.7 });
  const allowance = createAllowance(puma, path, stretches, limits);
  const edge = (f: (x: number) => boolean) => {
    let [low, high] = [0, 1e4];
    for (let k = 0; k < 80; k++) {
      const middle = (low + high) / 2;
      if (f(middle)) low = middle;
      else high = middle;
    }
    return low;
  };
  for (let round = 0; round < 50; round++) {
    allowance.load(path.length * random());
    const speed = allowance.speed();
    const steady = allowance.steadySpeed();
    expect(edge((v) => allowance.need(v, 0, 0) <= 1)).toBeCloseTo(steady, 6);
    expect(speed).toBeGreaterThanOrEqual(steady);
    const v = 0.3 * steady * random();
    for (const sign of [1, -1]) {
      const a = allowance.acceleration(v, sign);
      const still = edge((x) => x <= a && allowance.need(v, sign * x, 0) <= 1);
      // Jerk limits bear on s̈ as well; the acceleration alone never allows less.
      expect(still).toBeLessThanOrEqual(a * (1 + 1e-9));
      expect(allowance.most(v, sign * a, 0).use).toBeGreaterThan(1 - 1e-9);
      const held = 0.2 * a;
      const j = allowance.jerk(v, held, sign);
      expect(edge((x) => allowance.need(v, held, sign * x) <= 1)).toBeCloseTo(j, 4);
    }
  }
});
