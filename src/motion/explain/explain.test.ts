import { describe, expect, test } from "vitest";
import { mulberry32, randomDirection } from "../../../test/arms/random.ts";
import { benchTcp, limitedPuma, offsetWrist } from "../../../test/arms/tending.ts";
import { buildArm, createInverse, forwardKinematics, withinLimits } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import {
  compose,
  distanceBetween,
  identityPose,
  invert,
  type Pose,
  rotationAbout,
  translation,
} from "../../math/pose.ts";
import { createPlanner } from "../plan.ts";
import type { MotionFailure, Segment } from "../types.ts";

const free = Number.POSITIVE_INFINITY;
const rad = Math.PI / 180;
const speed = { fraction: 1, toolSpeed: 0.25, toolAcceleration: free, constant: false };
const tool = { speed: free, acceleration: free, jerk: free, turnSpeed: free, turnAcceleration: free };

function setUp(arm: Arm, flangeFromTcp: Pose) {
  const planner = createPlanner(arm);
  const poseAt = (q: Float64Array) => compose(forwardKinematics(arm, q, identityPose()), flangeFromTcp);
  const plan = (start: Float64Array, ...segments: Segment[]) =>
    planner.plan({
      arm,
      start,
      segments,
      flangeFromTcp,
      tool,
      payload: undefined,
      gravity: [0, 0, -9.81],
      lineStep: 0.005,
    });
  const fails = (start: Float64Array, ...segments: Segment[]): MotionFailure => {
    const outcome = plan(start, ...segments);
    if (outcome.ok) throw new Error(`the motion was planned: ${outcome.motion.duration} s`);
    return outcome.failure;
  };
  return { poseAt, plan, fails };
}

const line = (to: Pose): Segment => ({ kind: "line", to, speed, blend: 0 });
const joint = (to: Float64Array): Segment => ({ kind: "joint", to, speed, blend: 0 });
/** The joint values quoted in a sentence, rad. */
const quoted = (text: string): Float64Array => {
  const list = /\(([-\d.°, ]+)\)/.exec(text);
  if (list === null) throw new Error(`no joint values in "${text}"`);
  return Float64Array.from(list[1]!.split(","), (v) => Number.parseFloat(v) * rad);
};
const firstNumber = (text: string): number => Number.parseFloat(/-?\d+(\.\d+)?/.exec(text)![0]);

describe("Puma, flange as tool (wrist centre and flange coincide)", () => {
  const arm = buildArm(limitedPuma());
  const { poseAt, plan, fails } = setUp(arm, identityPose());
  const start = Float64Array.of(0.3, -0.6, 0.4, 0.5, 0.7, -0.2);
  // Farthest wrist centre: links a2 and sqrt(a3² + d4²) stretched, offset d3 to the side.
  const reach = Math.hypot(0.4318 + Math.hypot(0.0203, 0.4318), 0.15005);

  test("a line out of the reach fails where it leaves the sphere, by hand", () => {
    const from = poseAt(start);
    const p = [from[3]!, from[7]!, from[11]!] as const;
    const d = [0.7, 0.3, 0.2] as const;
    const a = d[0] ** 2 + d[1] ** 2 + d[2] ** 2;
    const b = p[0] * d[0] + p[1] * d[1] + p[2] * d[2];
    const c = p[0] ** 2 + p[1] ** 2 + p[2] ** 2 - reach ** 2;
    const fraction = (-b + Math.sqrt(b * b - a * c)) / a;
    const failure = fails(start, joint(start), line(compose(translation(...d), from)));
    expect(failure.kind).toBe("out of reach");
    expect(failure.segment).toBe(1);
    expect(failure.fraction).toBeCloseTo(fraction, 6);
    expect(failure.baseFromTcp![3]).toBeCloseTo(p[0] + fraction * d[0], 6);
    // The nearest reachable end lies on the ray to the shoulder.
    const miss = Math.hypot(p[0] + d[0], p[1] + d[1], p[2] + d[2]) - reach;
    expect(failure.mend).toContain("to the nearest point in reach");
    expect(firstNumber(failure.mend)).toBeCloseTo(1000 * miss, 1);
  });

  test("a line through the wrist singularity fails there, by hand, named", () => {
    // Arm in the vertical plane (q4 = q6 = 0): joint 5 vanishes where q2 + q3 takes the value at which the forearm points
    // along the tool; the elbow is then at the wrist minus the forearm, on the circle of radius a2 about the shoulder.
    const q = Float64Array.of(0, 0.6, 0.1, 0, -0.4, 0);
    const from = poseAt(q);
    const p = [from[3]!, from[11]!] as const;
    const forearm = 0.6 + 0.1 - 0.4;
    const aligned = poseAt(Float64Array.of(0, 0.6, forearm - 0.6, 0, 0, 0));
    const f = [aligned[3]! - 0.4318 * Math.cos(0.6), aligned[11]! - 0.4318 * Math.sin(0.6)] as const;
    const d = [0.1, 0.3] as const;
    const e = [p[0] - f[0], p[1] - f[1]] as const;
    const a = d[0] ** 2 + d[1] ** 2;
    const b = e[0] * d[0] + e[1] * d[1];
    const c = e[0] ** 2 + e[1] ** 2 - 0.4318 ** 2;
    const roots = [-1, 1].map((sign) => (-b + sign * Math.sqrt(b * b - a * c)) / a).filter((x) => x > 0 && x < 1);
    expect(roots).toHaveLength(1);
    const failure = fails(q, line(compose(translation(d[0], 0, d[1]), from)));
    expect(failure.kind).toBe("singularity");
    expect(failure.message).toContain("wrist singularity");
    expect(failure.fraction).toBeCloseTo(roots[0]!, 5);
  });

  test("a line close to the wrist singularity says which joint would have to turn how fast", () => {
    const q = Float64Array.of(0, 0.6, 0.1, 0, -0.4, 0);
    const from = poseAt(q);
    const end = compose(translation(0.1, 0, 0.3), from);
    // The same line 0.2 mrad of tool tilt beside the singular direction.
    const tilt = rotationAbout([1, 0, 0], 2e-4);
    const beside = compose(poseAt(q), tilt);
    const solved = withinLimits(arm, createInverse(arm).solve(beside, createInverse(arm).result()), {
      allTurns: false,
    });
    const near = solved.reduce((x, y) => (apart(x, q) < apart(y, q) ? x : y));
    const failure = fails(near, line(compose(end, tilt)));
    expect(failure.kind).toBe("singularity");
    expect(failure.message).toMatch(/wrist singularity at [\d.]+ %/);
    expect(failure.message).toMatch(
      /joint J[46] would have to turn at \d+ °\/s to keep the tool at 250 mm\/s; its limit is 250 °\/s/,
    );
    expect([3, 5]).toContain(failure.joint);
  });

  test("a joint limit on a line is met where the hand computation says; the other turn is offered and runs", () => {
    // Turning the tool by 170° about its own axis turns joint 6 alone: from 150° to 320°, past its limit of 266°.
    const q = Float64Array.from(start);
    q[5] = 150 * rad;
    const to = compose(poseAt(q), rotationAbout([0, 0, 1], 170 * rad));
    const failure = fails(q, line(to));
    expect(failure).toMatchObject({ kind: "joint limit", joint: 5, segment: 0 });
    expect(failure.fraction).toBeCloseTo((266 - 150) / 170, 9);
    expect(failure.message).toContain("54.0° more");
    const other = quoted(failure.mend);
    expect(other[5]! / rad).toBeCloseTo(150 - 360, 1);
    expect(failure.mend).toMatch(/^Start the line with joints/);
    expect(plan(other, line(to)).ok).toBe(true);
  });

  test("a joint motion past a limit: fraction, excess, and the same pose inside the limits", () => {
    const to = Float64Array.from(start);
    to[0] = 200 * rad;
    const failure = fails(start, joint(to));
    expect(failure).toMatchObject({ kind: "joint limit", joint: 0 });
    expect(failure.fraction).toBeCloseTo((160 * rad - start[0]!) / (200 * rad - start[0]!), 9);
    expect(failure.message).toContain("40.0° beyond its limit of 160.0°");
    const same = poseAt(quoted(failure.mend));
    const wanted = poseAt(to);
    for (let i = 0; i < 12; i++) expect(same[i]).toBeCloseTo(wanted[i]!, 2);
  });

  test("a start outside the limits is said at once", () => {
    const q = Float64Array.from(start);
    q[4] = 101 * rad;
    const failure = fails(q, line(compose(translation(0, 0, 0.01), poseAt(q))));
    expect(failure).toMatchObject({ kind: "joint limit", joint: 4, fraction: 0 });
  });
});

describe("offset-wrist arm", () => {
  const arm = buildArm(offsetWrist());
  const { poseAt, plan, fails } = setUp(arm, benchTcp);

  test("a line through the column of axis 1 fails where the wrist comes nearer than the shoulder offset, by hand", () => {
    // Tool along +x: the point where axes 5 and 6 meet lies 0.09 + 0.12 m behind the TCP and 0.13 m from axis 1's plane at least.
    const q = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708);
    const from = poseAt(q);
    const w = [from[3]! - 0.21 * from[2]!, from[7]! - 0.21 * from[6]!] as const;
    const d = -0.9;
    const fraction = (Math.sqrt(0.13 ** 2 - w[1] ** 2) - w[0]) / d;
    const failure = fails(q, line(compose(translation(d, 0, 0), from)));
    expect(failure.kind).toBe("out of reach");
    expect(failure.fraction).toBeCloseTo(fraction, 6);
    expect(failure.mend).toContain("joint-interpolated motion");
    // What is offered reaches the end.
    const end = poseAt(quoted(failure.mend));
    expect(end[3]).toBeCloseTo(from[3]! + d, 2);
  });

  test("a branch that ends while another goes on is called so, and the branch offered runs", () => {
    const random = mulberry32(5);
    const inverse = createInverse(arm);
    let seen = 0;
    const offered = { starts: 0, joints: 0 };
    for (let round = 0; round < 400 && seen < 8; round++) {
      const q = Float64Array.from({ length: 6 }, () => 4 * random() - 2);
      const from = poseAt(q);
      const d = randomDirection(random).map((v) => 0.4 * v) as [number, number, number];
      const to = compose(translation(...d), from);
      const outcome = plan(q, joint(q), line(to));
      if (outcome.ok || outcome.failure.kind !== "branch change") continue;
      seen++;
      const { failure } = outcome;
      // Just beyond the end of the branch there are solutions, none of them near the followed joints.
      const at = (f: number) => compose(translation(d[0] * f, d[1] * f, d[2] * f), from);
      const followed = quoted(failure.message);
      const beyond = inverse.solve(
        compose(at(Math.min(1, failure.fraction + 0.0015)), invert(benchTcp)),
        inverse.result(),
      );
      expect(beyond.exact).toBe(true);
      for (let row = 0; row < beyond.count; row++)
        expect(wrapped(beyond.q.subarray(6 * row, 6 * row + 6), followed)).toBeGreaterThan(0.1);
      if (failure.mend.startsWith("Start the line")) {
        offered.starts++;
        const start = quoted(failure.mend);
        expect(wrapped(start, q)).toBeGreaterThan(0.01);
        const again = plan(start, line(to));
        expect(again.ok, again.ok ? "" : `${again.failure.message} // ${failure.mend} // ${failure.message}`).toBe(
          true,
        );
      }
      if (failure.mend.includes("A joint-interpolated motion")) {
        offered.joints++;
        const reached = poseAt(quoted(failure.mend.slice(failure.mend.indexOf("A joint"))));
        expect(distanceBetween(reached, to)).toBeLessThan(5e-3);
      }
    }
    expect(seen).toBe(8);
    expect(Math.min(offered.starts, offered.joints)).toBeGreaterThan(0);
  });
});

test("where only another turn of the tool helps, one that runs is offered", () => {
  // Joint 6 turns the tool about its own axis and reaches ±178° only: from 150°, 100° more is too much. The other joints have
  // 30° of room each, so that there is no other branch.
  const q = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 150 * rad);
  const range = (sign: number) => q.map((v, i) => (i === 5 ? sign * 178 * rad : v + sign * 30 * rad));
  const { poseAt, plan, fails } = setUp({ ...buildArm(offsetWrist()), min: range(-1), max: range(1) }, benchTcp);
  const to = compose(poseAt(q), rotationAbout([0, 0, 1], 100 * rad));
  const failure = fails(q, line(to));
  expect(failure).toMatchObject({ kind: "joint limit", joint: 5 });
  expect(failure.fraction).toBeCloseTo(28 / 100, 9);
  const turn = /turned by (-?\d+)° about its own axis (at the end|all along)/.exec(failure.mend)!;
  const about = rotationAbout([0, 0, 1], Number(turn[1]) * rad);
  const start = turn[2] === "at the end" ? q : quoted(failure.mend);
  expect(plan(start, line(compose(to, about))).ok).toBe(true);
});

test("arcs that are no arcs", () => {
  const arm = buildArm(offsetWrist());
  const { poseAt, fails } = setUp(arm, benchTcp);
  const q = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708);
  const from = poseAt(q);
  const at = (x: number): Pose => compose(translation(-x, 0, 0), from);
  const failure = fails(q, { kind: "arc", via: at(0.2), to: at(0.1), speed, blend: 0 });
  expect(failure).toMatchObject({ kind: "bad arc", segment: 0, fraction: 0 });
  expect(failure.message).toContain("100.0 mm beyond the end");
});

function apart(x: Float64Array, y: Float64Array): number {
  return Math.max(...x.map((v, i) => Math.abs(v - y[i]!)));
}

/** Largest joint difference, full turns not counted. */
function wrapped(x: Float64Array, y: Float64Array): number {
  return Math.max(...x.map((v, i) => Math.abs(Math.atan2(Math.sin(v - y[i]!), Math.cos(v - y[i]!)))));
}
