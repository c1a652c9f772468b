import { describe, expect, test } from "vitest";
import { audit, toolPoses } from "../../test/arms/audit.ts";
import { describeDh } from "../../test/arms/describe.ts";
import { mulberry32, randomDirection } from "../../test/arms/random.ts";
import { sevenJoints } from "../../test/arms/seven.ts";
import { benchTcp, limitedPuma, offsetWrist, withLimits } from "../../test/arms/tending.ts";
import { buildArm, createDynamics, forwardKinematics } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import { ContractError } from "../math/contract-error.ts";
import {
  angleBetween,
  compose,
  distanceBetween,
  identityPose,
  type Pose,
  rotationAbout,
  translation,
} from "../math/pose.ts";
import { createPlanner, planMotion } from "./plan.ts";
import type { Motion, MotionOutcome, MotionRequest, Segment, SegmentSpeed, ToolLimits } from "./types.ts";

const free = Number.POSITIVE_INFINITY;
const rad = Math.PI / 180;
const unlimited: ToolLimits = { speed: free, acceleration: free, jerk: free, turnSpeed: free, turnAcceleration: free };
const full: SegmentSpeed = { fraction: 1, toolSpeed: free, toolAcceleration: free, constant: false };

const offset = buildArm(offsetWrist());
const puma = buildArm(limitedPuma());
/** TCP at (0.9, 0, 0.3) looking along x. */
const reaching = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708);

const poseAt = (arm: Arm, q: Float64Array): Pose => compose(forwardKinematics(arm, q, identityPose()), benchTcp);
const shifted = (from: Pose, x: number, y: number, z: number): Pose => compose(translation(x, y, z), from);
const joint = (to: Float64Array, blend = 0, speed = full): Segment => ({ kind: "joint", to, blend, speed });
const line = (to: Pose, blend = 0, speed = full): Segment => ({ kind: "line", to, blend, speed });
const arc = (via: Pose, to: Pose, blend = 0, speed = full): Segment => ({ kind: "arc", via, to, blend, speed });

function request(
  arm: Arm,
  start: Float64Array,
  segments: Segment[],
  changes: Partial<MotionRequest> = {},
): MotionRequest {
  const common = { tool: unlimited, payload: undefined, gravity: [0, 0, -9.81] as const, lineStep: 0.005 };
  return { arm, start, segments, flangeFromTcp: benchTcp, ...common, ...changes };
}
function motionOf(outcome: MotionOutcome): Motion {
  if (!outcome.ok) throw new Error(`${outcome.failure.kind}: ${outcome.failure.message}`);
  return outcome.motion;
}
const stateAt = (motion: Motion, time: number) => {
  const n = motion.end.length;
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  motion.sample(time, state);
  return state;
};

describe("joint-interpolated motion", () => {
  test("alone takes the textbook time of the joint that takes longest, and is straight in joint space", () => {
    // 90° under 180 °/s, 600 °/s², 6000 °/s³ rest to rest: 0.9 s (Biagiotti & Melchiorri 2008, ch. 3).
    const arm: Arm = {
      ...offset,
      velocity: new Float64Array(6).fill(180 * rad),
      acceleration: new Float64Array(6).fill(600 * rad),
      jerk: new Float64Array(6).fill(6000 * rad),
    };
    const to = Float64Array.from(reaching);
    to[2] = to[2]! + 90 * rad;
    to[4] = to[4]! - 60 * rad;
    const motion = motionOf(planMotion(request(arm, reaching, [joint(to)])));
    expect(motion.duration).toBeCloseTo(0.9, 12);
    expect(motion.segmentEnds).toEqual([motion.duration]);
    const { q } = stateAt(motion, 0.31);
    const share = (q[2]! - reaching[2]!) / (90 * rad);
    expect((q[4]! - reaching[4]!) / (-60 * rad)).toBeCloseTo(share, 12);
    expect(Array.from(motion.end)).toEqual(Array.from(to));
    expect(motion.limits.every((span) => span.joint === 2)).toBe(true);
    expect(motion.limits.map((span) => span.kind)).toEqual(
      ["jerk", "acceleration", "jerk", "velocity", "jerk", "acceleration", "jerk"], // 0.3 s of ramp, 0.1 s of jerk each
    );
  });
  test("at half the joint speed limit keeps to it", () => {
    const to = Float64Array.from(reaching, (v) => v + 1.5);
    const motion = motionOf(planMotion(request(offset, reaching, [joint(to, 0, { ...full, fraction: 0.5 })])));
    const use = audit(offset, motion, unlimited, benchTcp);
    expect(use.velocity).toBeCloseTo(0.5, 9);
    expect(use.acceleration).toBeLessThanOrEqual(1 + 1e-9);
  });
  test("slows down for a tool speed limit and keeps it", () => {
    const to = Float64Array.from(reaching);
    to[0] = to[0]! - 1.6;
    const quick = motionOf(planMotion(request(offset, reaching, [joint(to)])));
    const tool = { ...unlimited, speed: 1.2, acceleration: 6 };
    const slow = motionOf(planMotion(request(offset, reaching, [joint(to)], { tool })));
    expect(quick.peakToolSpeed).toBeGreaterThan(1.3);
    expect(slow.duration).toBeGreaterThan(quick.duration);
    const use = audit(offset, slow, tool, benchTcp);
    expect(use.toolSpeed).toBeLessThan(1 + 1e-6);
    expect(use.toolSpeed).toBeGreaterThan(0.98);
    expect(use.toolAcceleration).toBeLessThan(1 + 1e-3);
    expect(slow.peakToolSpeed).toBeCloseTo(use.toolSpeed * 1.2, 3);
    expect(slow.limits.some((span) => span.kind === "tool speed")).toBe(true);
  });
  test("peak speed and acceleration of the tool are those seen from outside", () => {
    const to = Float64Array.of(-1.4468, -2.1723, -1.6803, -0.8597, 1.5708, 0.124);
    const motion = motionOf(planMotion(request(offset, reaching, [joint(to)])));
    const use = audit(offset, motion, { ...unlimited, speed: 1, acceleration: 1 }, benchTcp);
    expect(motion.peakToolSpeed / use.toolSpeed).toBeCloseTo(1, 4);
    expect(motion.peakToolAcceleration / use.toolAcceleration).toBeCloseTo(1, 2);
  });
});

describe("drives", () => {
  const load: Payload = { mass: 5, centre: [0, 0, 0.1], inertia: [0.02, 0.02, 0.01, 0, 0, 0] };
  const gravity = [0, 0, -9.81] as const;
  const to = Float64Array.of(0.1895, -1.9, -1.5, 0.5705, 1.3813, 1.5708);
  const weak = (share: number): Arm => ({ ...offset, torque: offset.torque.map((t) => t * share) });
  test("that are weak lengthen a motion and are kept within their limits", () => {
    const strong = motionOf(planMotion(request(offset, reaching, [joint(to)], { payload: load })));
    expect(Math.max(...strong.torqueShare!)).toBeLessThan(1);
    const arm = weak(0.3);
    const slow = motionOf(planMotion(request(arm, reaching, [joint(to)], { payload: load })));
    expect(slow.duration).toBeGreaterThan(1.02 * strong.duration);
    const use = audit(arm, slow, unlimited, benchTcp, { payload: load, gravity });
    expect(use.torque).toBeLessThan(1 + 1e-3);
    expect(use.torque).toBeGreaterThan(0.9);
    expect(Math.max(...slow.torqueShare!)).toBeCloseTo(use.torque, 2);
    expect(slow.limits.some((span) => span.kind === "torque")).toBe(true);
  });
  test("that cannot hold the load fail, with the load they could hold", () => {
    const arm = weak(0.4);
    const heavy = { ...load, mass: 25 };
    const outcome = planMotion(request(arm, reaching, [joint(to)], { payload: heavy }));
    if (outcome.ok) throw new Error("planned");
    expect(outcome.failure).toMatchObject({ kind: "torque", segment: 0 });
    const mass = Number.parseFloat(/at most ([\d.]+) kg/.exec(outcome.failure.mend)?.[1] ?? "NaN");
    expect(mass).toBeGreaterThan(1);
    expect(mass).toBeLessThan(25);
    // The mass said is the largest with which no drive is overloaded at rest there.
    const q = placeAt(outcome.failure.fraction);
    const shares = (m: number) => {
      const torque = createDynamics(arm).gravityTorque(q, gravity, { ...load, mass: m }, new Float64Array(6));
      return Math.max(...torque.map((t, i) => Math.abs(t) / arm.torque[i]!));
    };
    expect(shares(mass)).toBeCloseTo(1, 2);
    expect(shares(25)).toBeGreaterThan(1);
  });
  const placeAt = (fraction: number) => Float64Array.from(reaching, (v, i) => v + fraction * (to[i]! - v));
  test("are not looked at without a load stated", () => {
    expect(motionOf(planMotion(request(offset, reaching, [joint(to)]))).torqueShare).toBeUndefined();
  });
});

describe("line", () => {
  const from = poseAt(offset, reaching);
  test("is straight to 1e-9 m and turns about one axis in proportion", () => {
    const to = compose(shifted(from, -0.2, 0.1, -0.05), rotationAbout([0.3, -0.5, 0.8], 0.7));
    const motion = motionOf(planMotion(request(offset, reaching, [line(to)])));
    const length = distanceBetween(from, to);
    const angle = angleBetween(from, to);
    for (const pose of toolPoses(offset, motion, benchTcp, 300)) {
      const share = distanceBetween(from, pose) / length;
      for (const k of [3, 7, 11])
        expect(Math.abs(pose[k]! - from[k]! - share * (to[k]! - from[k]!))).toBeLessThan(1e-9);
      expect(Math.abs(angleBetween(from, pose) - share * angle)).toBeLessThan(1e-7);
      expect(Math.abs(angleBetween(pose, to) - (1 - share) * angle)).toBeLessThan(1e-7);
    }
    expect(distanceBetween(poseAt(offset, motion.end), to)).toBeLessThan(1e-9);
  });
  test("keeps the tool speed and acceleration asked for", () => {
    const speed = { ...full, toolSpeed: 0.3, toolAcceleration: 2 };
    const motion = motionOf(planMotion(request(offset, reaching, [line(shifted(from, -0.25, 0, 0), 0, speed)])));
    const use = audit(offset, motion, { ...unlimited, speed: 0.3, acceleration: 2 }, benchTcp);
    expect(use.toolSpeed).toBeLessThan(1 + 1e-6);
    expect(use.toolSpeed).toBeGreaterThan(0.995);
    expect(use.toolAcceleration).toBeLessThan(1 + 1e-3);
    expect(motion.peakToolSpeed / 0.3).toBeCloseTo(use.toolSpeed, 3);
    expect(motion.peakToolAcceleration / 2).toBeCloseTo(use.toolAcceleration, 2);
    // Never below the time of the tool limits alone: D/V + V/A.
    expect(motion.duration).toBeGreaterThan(0.25 / 0.3 + 0.3 / 2 - 1e-9);
    expect(motion.duration).toBeLessThan(1.1 * (0.25 / 0.3 + 0.3 / 2));
  });
  test("of no length turns the tool on the spot", () => {
    const to = compose(from, rotationAbout([1, 0, 0], 0.4));
    const motion = motionOf(planMotion(request(offset, reaching, [line(to)])));
    for (const pose of toolPoses(offset, motion, benchTcp, 100)) expect(distanceBetween(pose, from)).toBeLessThan(1e-9);
    expect(angleBetween(poseAt(offset, motion.end), to)).toBeLessThan(1e-7);
    expect(motion.peakToolSpeed).toBeLessThan(1e-6);
  });
  test("to where the tool is takes no time", () => {
    const motion = motionOf(planMotion(request(offset, reaching, [line(from), joint(reaching)])));
    expect(motion.duration).toBe(0);
    expect(motion.segmentEnds).toEqual([0, 0]);
    expect(Array.from(stateAt(motion, 0).q)).toEqual(Array.from(reaching));
  });
  test("turns a joint past ±180° without a jump", () => {
    const start = Float64Array.from(reaching);
    start[5] = 170 * rad;
    const to = compose(poseAt(offset, start), rotationAbout([0, 0, 1], 100 * rad));
    const motion = motionOf(planMotion(request(offset, start, [line(to)])));
    expect(motion.end[5]! / rad).toBeCloseTo(270, 6);
  });
});

test("arc is round about its centre and keeps to its plane", () => {
  const from = poseAt(offset, reaching);
  const via = shifted(from, -0.08, 0.08, 0.03);
  const to = shifted(from, -0.2, 0, 0.05);
  const motion = motionOf(planMotion(request(offset, reaching, [arc(via, to)])));
  const points = toolPoses(offset, motion, benchTcp, 200).map((p) => [p[3]!, p[7]!, p[11]!] as const);
  // Centre from three points: equal distances, in their plane.
  const [a, b, c] = [from, via, to].map((p) => [p[3]!, p[7]!, p[11]!] as const) as [V, V, V];
  const centre = circumcentre(a, b, c);
  const radius = length(minus(a, centre));
  const normal = cross(minus(b, a), minus(c, a));
  for (const p of points) {
    expect(Math.abs(length(minus(p, centre)) - radius)).toBeLessThan(1e-9);
    expect(Math.abs(dot(minus(p, a), normal)) / length(normal)).toBeLessThan(1e-9);
  }
});

describe("blends", () => {
  const from = poseAt(offset, reaching);
  const [p1, p2, p3] = [shifted(from, -0.2, 0, 0), shifted(from, -0.2, 0.15, 0), shifted(from, -0.2, 0.15, -0.2)];

  test("lines: stopping at the corners adds up, blending is quicker and stays within the radius", () => {
    const planner = createPlanner(offset);
    const chain = (blend: number) =>
      motionOf(planner.plan(request(offset, reaching, [line(p1, blend), line(p2, blend), line(p3)])));
    const stopped = chain(0);
    const blended = chain(0.04);
    expect(blended.duration).toBeLessThan(stopped.duration - 0.1);
    expect(blended.blends).toEqual([expect.closeTo(0.04, 12), expect.closeTo(0.04, 12), 0]);
    for (const time of stopped.segmentEnds)
      expect(Math.max(...stateAt(stopped, time).qd.map(Math.abs))).toBeLessThan(1e-6);
    const corners = [from, p1, p2, p3].map((p) => [p[3]!, p[7]!, p[11]!] as const);
    for (const pose of toolPoses(offset, blended, benchTcp, 500)) {
      const p = [pose[3]!, pose[7]!, pose[11]!] as const;
      const onLine = Math.min(...[0, 1, 2].map((k) => distanceToSegment(p, corners[k]!, corners[k + 1]!)));
      const toCorner = Math.min(length(minus(p, corners[1]!)), length(minus(p, corners[2]!)));
      expect(onLine < 1e-9 || toCorner < 0.04 + 1e-9).toBe(true);
    }
    // The middle of each rounding by hand: |t_b - t_a| · 2r · 5/64 from the corner; the arm does not stop there.
    for (const [i, corner] of [p1, p2].entries()) {
      const time = blended.segmentEnds[i]!;
      const pose = toolPoses(offset, blended, benchTcp, 1, time, time)[0]!;
      expect(distanceBetween(pose, corner)).toBeCloseTo((Math.SQRT2 * 2 * 0.04 * 5) / 64, 5);
      expect(Math.max(...stateAt(blended, time).qd.map(Math.abs))).toBeGreaterThan(0.1);
    }
  });

  test("a radius larger than half the shorter segment is reduced to that, and said", () => {
    const motion = motionOf(planMotion(request(offset, reaching, [line(p1, 0.5), line(p2, 0.06), line(p3)])));
    expect(motion.blends![0]).toBeCloseTo(0.075, 9);
    expect(motion.blends![1]).toBeCloseTo(0.06, 9);
    expect(motion.notes).toEqual([expect.objectContaining({ kind: "blend reduced", segment: 0 })]);
    expect(motion.notes![0]!.message).toContain("from 500.0 mm to 75.0 mm");
  });

  test("any mix of joint, line and arc segments: within the radius, no jump in joint value, speed or acceleration", () => {
    const away = Float64Array.of(-0.6, -2.1, -1.7, -0.1, 1.5, 1.2);
    const q = motionOf(planMotion(request(offset, reaching, [line(p1)]))).end;
    const out = shifted(p2, 0.02, 0.1, -0.1);
    const chains: Segment[][] = [
      [line(p1, 0.05), joint(away)],
      [joint(q, 0.05), line(p2)],
      [joint(away, 0.08), joint(q)],
      [arc(shifted(from, -0.1, 0.06, 0), p1, 0.04), line(p2)],
      [line(p1, 0.04), arc(shifted(p1, 0.05, 0.08, -0.04), out, 0.03), joint(away)],
    ];
    for (const [index, segments] of chains.entries()) {
      const motion = motionOf(planMotion(request(offset, reaching, segments)));
      const use = audit(offset, motion, unlimited, benchTcp);
      expect(use.speedError, `chain ${index}`).toBeLessThan(1e-3);
      expect(use.accelerationError, `chain ${index}`).toBeLessThan(0.05);
      expect(Math.max(use.velocity, use.acceleration), `chain ${index}`).toBeLessThan(1 + 1e-6);
      expect(use.jerk, `chain ${index}`).toBeLessThan(1 + 2e-3);
      // At every corner the tool passes within the radius; it is away from the corner, so the corner is rounded.
      const ends = cornersOf(reaching, segments);
      for (let i = 0; i + 1 < segments.length; i++) {
        const radius = motion.blends![i]!;
        expect(radius, `chain ${index}`).toBeGreaterThan(0.01);
        const time = motion.segmentEnds[i]!;
        const pose = toolPoses(offset, motion, benchTcp, 1, time, time)[0]!;
        expect(distanceBetween(pose, ends[i]!)).toBeLessThan(radius);
        expect(Math.max(...stateAt(motion, time).qd.map(Math.abs)), `chain ${index}`).toBeGreaterThan(0.05);
      }
    }
  });

  test("where a segment turns on the spot the arm stops, and says so", () => {
    const turned = compose(p1, rotationAbout([1, 0, 0], 0.3));
    const motion = motionOf(planMotion(request(offset, reaching, [line(p1, 0.05), line(turned)])));
    expect(motion.blends).toEqual([0, 0]);
    expect(motion.notes![0]).toMatchObject({ kind: "blend left out", segment: 0 });
  });

  function cornersOf(start: Float64Array, segments: readonly Segment[]): Pose[] {
    let pose = poseAt(offset, start);
    return segments.map((segment) => {
      pose = segment.kind === "joint" ? poseAt(offset, segment.to) : segment.to;
      return pose;
    });
  }
});

describe.each([
  ["offset-wrist arm", offset, 5],
  ["Puma", puma, 6],
])("random chains of the %s", (_, arm, seed) => {
  test("exceed no limit at 1 kHz, and their rates are true derivatives", () => {
    const random = mulberry32(seed);
    const planner = createPlanner(arm);
    const tool = { speed: 1.2, acceleration: 8, jerk: 150, turnSpeed: 3, turnAcceleration: 30 };
    let planned = 0;
    for (let round = 0; planned < 25; round++) {
      expect(round).toBeLessThan(200);
      const start = Float64Array.from({ length: 6 }, () => 2.4 * random() - 1.2);
      start[4] = (arm === puma ? 0.5 : 1) + 0.8 * random();
      const segments: Segment[] = [];
      let q = start;
      for (let k = 0, count = 1 + Math.floor(3 * random()); k < count; k++) {
        const blend = random() < 0.7 ? 0.08 * random() : 0;
        const speed = { ...full, fraction: 0.4 + 0.6 * random(), toolSpeed: 0.2 + random() };
        const pose = poseAt(arm, q);
        const kind = random();
        if (kind < 0.4 || k > 0) {
          q = Float64Array.from(q, (v) => v + random() - 0.5);
          segments.push(joint(q, blend, speed));
          continue;
        }
        const [x, y, z] = randomDirection(random).map((v) => 0.15 * v) as [number, number, number];
        const to = compose(shifted(pose, x, y, z), rotationAbout(randomDirection(random), 0.4 * random()));
        segments.push(
          kind < 0.8
            ? line(to, blend, speed)
            : arc(shifted(pose, x / 2 + 0.03, y / 2 - 0.02, z / 2 + 0.03), to, blend, speed),
        );
      }
      const outcome = planner.plan(request(arm, start, segments, { tool }));
      if (!outcome.ok) continue;
      planned++;
      const { motion } = outcome;
      const use = audit(arm, motion, tool, benchTcp);
      const where = `seed ${seed}, round ${round}`;
      expect(use.velocity, where).toBeLessThan(1 + 1e-6);
      expect(use.acceleration, where).toBeLessThan(1 + 1e-6);
      expect(use.jerk, where).toBeLessThan(1 + 2e-3);
      expect(use.toolSpeed, where).toBeLessThan(1 + 1e-6);
      expect(use.toolAcceleration, where).toBeLessThan(1 + 2e-3);
      expect(use.turnSpeed, where).toBeLessThan(1 + 1e-6);
      expect(use.speedError, where).toBeLessThan(1e-3);
      expect(use.accelerationError, where).toBeLessThan(0.05);
      expect(Array.from(stateAt(motion, 0).q)).toEqual(Array.from(start));
      expect(Math.max(...stateAt(motion, 1e9).q.map((v, i) => Math.abs(v - motion.end[i]!)))).toBeLessThan(1e-12);
      for (const time of [0, motion.duration])
        expect(Math.max(...stateAt(motion, time).qd.map(Math.abs))).toBeLessThan(1e-6);
      const ends = motion.segmentEnds;
      expect(ends).toHaveLength(segments.length);
      for (let i = 1; i < ends.length; i++) expect(ends[i]).toBeGreaterThanOrEqual(ends[i - 1]!);
      expect(ends.at(-1)).toBe(motion.duration);
    }
  });
});

describe("arms of other than six joints", () => {
  const turning = { velocity: 3, acceleration: 15, jerk: 200, torque: free };
  const limitsOf = (ranges: readonly number[]) => ranges.map((range) => ({ range, ...turning }));
  const seen = (arm: Arm, motion: Motion, to: Pose) => {
    const use = audit(arm, motion, unlimited, benchTcp);
    expect(Math.max(use.velocity, use.acceleration)).toBeLessThan(1 + 1e-6);
    expect(use.jerk).toBeLessThan(1 + 2e-3);
    expect(distanceBetween(poseAt(arm, motion.end), to)).toBeLessThan(1e-9);
    expect(angleBetween(poseAt(arm, motion.end), to)).toBeLessThan(1e-7);
  };
  // Two links in the plane, a slide down, a turn of the tool: it can do whatever keeps the tool upright.
  const four = buildArm(
    withLimits(
      describeDh("four", [
        { a: 0.4, alpha: 0, d: 0.3 },
        { a: 0.3, alpha: Math.PI, d: 0 },
        { a: 0, alpha: 0, d: 0, kind: "prismatic" },
        { a: 0, alpha: 0, d: 0 },
      ]),
      limitsOf([2.5, 2.5, 0.3, 6]),
    ),
  );
  const start = Float64Array.of(0.4, 0.9, 0.1, 0.3);

  test("four joints run a line and a turn that keep the tool upright, rounded into a joint motion", () => {
    const to = compose(shifted(poseAt(four, start), -0.1, 0.1, -0.05), rotationAbout([0, 0, 1], 0.5));
    seen(four, motionOf(planMotion(request(four, start, [line(to)]))), to);
    const home = Float64Array.of(0, 1, 0.05, 0);
    const motion = motionOf(planMotion(request(four, start, [line(to, 0.03), joint(home)])));
    expect(motion.blends![0]).toBeCloseTo(0.03, 6);
    seen(four, motion, poseAt(four, home));
  });
  test("four joints cannot tilt the tool, and say that", () => {
    const to = compose(shifted(poseAt(four, start), -0.1, 0.1, 0), rotationAbout([1, 0, 0], 0.2));
    const outcome = planMotion(request(four, start, [line(to)]));
    if (outcome.ok) throw new Error("planned");
    expect(outcome.failure.kind).toBe("no solution");
    expect(outcome.failure.message).toContain("cannot keep the orientation");
    expect(outcome.failure.mend).toMatch(/misses by [\d.]+ mm and [\d.]+°/);
  });
  test("seven joints run lines and arcs, rounded", () => {
    const arm = buildArm(withLimits(sevenJoints(), limitsOf([3, 2, 3, 2, 3, 2, 3])));
    const q = Float64Array.of(0.3, 0.6, -0.4, -1.5, 0.5, 0.9, 0.2);
    const from = poseAt(arm, q);
    const [one, two] = [shifted(from, -0.1, 0, 0), shifted(from, -0.1, 0.1, 0.05)];
    const motion = motionOf(planMotion(request(arm, q, [line(one, 0.02), arc(shifted(from, -0.1, 0.06, 0), two)])));
    expect(motion.blends![0]).toBeGreaterThan(0.015);
    seen(arm, motion, two);
  });
});

test("the nearest singularity is the one passed: joint 5 of the Puma through zero", () => {
  const start = Float64Array.of(0.3, 0.4, -0.8, 0.2, 0.6, 0);
  const to = Float64Array.of(0.3, 0.4, -0.8, 0.2, -0.6, 0);
  const motion = motionOf(planMotion(request(puma, start, [joint(to)])));
  expect(motion.nearestSingularity!.kind).toBe("wrist");
  expect(motion.nearestSingularity!.measure).toBeLessThan(1e-9);
  expect(motion.nearestSingularity!.time).toBeCloseTo(motion.duration / 2, 9);
});

describe("constant tool speed", () => {
  const from = poseAt(offset, reaching);
  const [p1, p2, p3] = [shifted(from, -0.1, 0, 0), shifted(from, -0.1, 0.15, 0), shifted(from, -0.2, 0.15, 0)];
  const steady: SegmentSpeed = { ...full, toolSpeed: 0.1, constant: true };
  test("needs neighbours to reach it in, and says how long", () => {
    const tool = { ...unlimited, acceleration: 2 };
    const outcome = planMotion(request(offset, reaching, [line(p1, 0, steady)], { tool }));
    if (outcome.ok) throw new Error("planned");
    expect(outcome.failure).toMatchObject({ kind: "speed not constant", segment: 0, fraction: 0 });
    // v²/(2a) = 2.5 mm
    expect(outcome.failure.mend).toContain("at least 3 mm");
  });
  test("that is too fast for its roundings fails, and the speed offered instead can be kept", () => {
    const chain = (toolSpeed: number) => {
      const segments = [line(p1, 0.01), line(p2, 0.01, { ...steady, toolSpeed }), line(p3)];
      return planMotion(request(offset, reaching, segments));
    };
    const outcome = chain(0.4);
    if (outcome.ok) throw new Error("planned");
    expect(outcome.failure).toMatchObject({ kind: "speed not constant", segment: 1 });
    const offered = Number.parseFloat(/to (\d+) mm\/s: that can be kept/.exec(outcome.failure.mend)![1]!);
    expect(offered).toBeLessThan(400);
    expect(chain(offered / 1000).ok).toBe(true);
  });
  test("is kept along the whole segment between its roundings", () => {
    const segments = [line(p1, 0.02), line(p2, 0.02, steady), line(p3)];
    const motion = motionOf(planMotion(request(offset, reaching, segments)));
    const poses = toolPoses(offset, motion, benchTcp, 2000);
    const h = motion.duration / 2000;
    let seen = 0;
    for (let k = 1; k < 2000; k++) {
      const y = poses[k]![7]! - from[7]!;
      if (Math.abs(poses[k]![3]! - from[3]! + 0.1) > 1e-7 || y < 0.021 || y > 0.129) continue;
      seen++;
      expect(distanceBetween(poses[k + 1]!, poses[k - 1]!) / (2 * h)).toBeCloseTo(0.1, 6);
    }
    expect(seen).toBeGreaterThan(100);
  });
});

test("malformed requests are the caller's bug", () => {
  const good = request(offset, reaching, [joint(reaching)]);
  const bad: [Partial<MotionRequest>, string][] = [
    [{ segments: [] }, "segments must not be empty"],
    [{ start: new Float64Array(5) }, "start must have 6 numbers, got 5"],
    [{ start: Float64Array.from(reaching, () => Number.NaN) }, "start[0] must be finite, got NaN"],
    [{ segments: [line(new Float64Array(16).fill(1))] }, "segments[0].to must be a rigid transform"],
    [{ lineStep: 0 }, "lineStep must be above 0, got 0"],
    [{ segments: [joint(reaching, -1)] }, "blend must be finite and not below 0 m, got -1"],
    [{ segments: [joint(reaching, 0, { ...full, fraction: 0 })] }, "fraction must be in (0, 1], got 0"],
    [{ segments: [joint(reaching, 0, { ...full, constant: true })] }, "must be finite where it is to be constant"],
  ];
  for (const [change, words] of bad) {
    expect(() => planMotion({ ...good, ...change })).toThrow(ContractError);
    expect(() => planMotion({ ...good, ...change })).toThrow(words);
  }
});

type V = readonly [number, number, number];
const minus = (a: V, b: V): V => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: V, b: V): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const length = (a: V): number => Math.sqrt(dot(a, a));
const cross = (a: V, b: V): V => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

/** Centre of the circle through three points, by their barycentric weights a²(b² + c² - a²). */
function circumcentre(a: V, b: V, c: V): V {
  const [x, y, z] = [dot(minus(b, c), minus(b, c)), dot(minus(c, a), minus(c, a)), dot(minus(a, b), minus(a, b))];
  const weights = [x * (y + z - x), y * (z + x - y), z * (x + y - z)] as const;
  const sum = weights[0] + weights[1] + weights[2];
  return [0, 1, 2].map((k) => (weights[0] * a[k]! + weights[1] * b[k]! + weights[2] * c[k]!) / sum) as unknown as V;
}

function distanceToSegment(p: V, a: V, b: V): number {
  const d = minus(b, a);
  const share = Math.min(1, Math.max(0, dot(minus(p, a), d) / dot(d, d)));
  return length(minus(p, [a[0] + share * d[0], a[1] + share * d[1], a[2] + share * d[2]]));
}
