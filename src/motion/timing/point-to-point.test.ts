import { describe, expect, it } from "vitest";
import { leastLoad } from "../../../test/timing/brute-force.ts";
import { seeded } from "../../../test/timing/random.ts";
import { moveOfTime, nextReachableTime, prepareAxis } from "./axis-move.ts";
import { doubleS } from "./double-s.ts";
import type { AxisLimits } from "./limits.ts";
import { type AxisState, axisMotion, straightJointMotion, synchronisedMotion } from "./point-to-point.ts";
import { type Profile, sampleProfile } from "./profile.ts";

const state = new Float64Array(4);

interface Case {
  readonly start: AxisState;
  readonly end: AxisState;
  readonly limits: AxisLimits;
}

/** Admissible random problems. */
function cases(seed: number, count: number): Case[] {
  const random = seeded(seed);
  const out: Case[] = [];
  while (out.length < count) {
    const limits = { velocity: 0.2 + 3 * random(), acceleration: 0.2 + 3 * random(), jerk: 0.2 + 8 * random() };
    const any = (): AxisState => ({
      p: 4 * random() - 2,
      v: limits.velocity * (2 * random() - 1),
      a: limits.acceleration * (2 * random() - 1),
    });
    const next = { start: any(), end: any(), limits };
    const { start, end } = next;
    // Both ends must be fit to come from and to go on from, so that the cases can be turned round.
    if (axisMotion(start, end, limits).ok && axisMotion(end, start, limits).ok && axisMotion(start, start, limits).ok) {
      out.push(next);
    }
  }
  return out;
}

function expectKept(profile: Profile, { start, end, limits }: Case): void {
  sampleProfile(profile, 0, state);
  const miss = Math.max(
    Math.abs(state[0]! - start.p),
    Math.abs(state[1]! - start.v),
    Math.abs(state[2]! - start.a),
    Math.abs(profile.end[0]! - end.p),
    Math.abs(profile.end[1]! - end.v),
    Math.abs(profile.end[2]! - end.a),
  );
  if (!(miss < 1e-8)) expect.fail(`an end state is missed by ${miss}: ${JSON.stringify({ start, end, limits })}`);
  for (let i = 0; i <= 60; i++) {
    sampleProfile(profile, (profile.duration * i) / 60, state);
    if (
      Math.abs(state[1]!) > limits.velocity * (1 + 1e-9) ||
      Math.abs(state[2]!) > limits.acceleration * (1 + 1e-9) ||
      Math.abs(state[3]!) > limits.jerk * (1 + 1e-12)
    ) {
      expect.fail(`limits exceeded at ${i}/60: ${state.join(" ")} under ${JSON.stringify(limits)}`);
    }
  }
}

const solve = (c: Case): Profile => {
  const motion = axisMotion(c.start, c.end, c.limits);
  if (!motion.ok) throw new Error(JSON.stringify(motion.refusal));
  return motion.profile;
};

describe("one axis between any states", () => {
  it("ends exactly and keeps every limit on 10,000 random problems", () => {
    for (const c of cases(21, 10_000)) expectKept(solve(c), c);
  });

  it("agrees with the double S where both apply", () => {
    const random = seeded(22);
    for (let k = 0; k < 2000; k++) {
      const [V, A, J] = [0.2 + 3 * random(), 0.2 + 3 * random(), 0.2 + 8 * random()];
      const [v0, v1] = [V * (2 * random() - 1), V * (2 * random() - 1)];
      const p1 = 6 * random() - 3;
      const limits = { velocity: V, acceleration: A, jerk: J };
      const own = solve({ start: { p: 0, v: v0, a: 0 }, end: { p: p1, v: v1, a: 0 }, limits }).duration;
      expect(Math.abs(own - doubleS(0, p1, v0, v1, V, A, J).duration)).toBeLessThan(1e-9);
    }
  });

  it("is the optimum found by a linear program over the jerk: shorter times are impossible, slightly longer ones are not", () => {
    for (const { start, end, limits } of cases(23, 5)) {
      const { duration } = solve({ start, end, limits });
      const ends = { p0: start.p, v0: start.v, a0: start.a, p1: end.p, v1: end.v, a1: end.a };
      for (const share of [0.5, 0.8, 0.99]) expect(leastLoad(ends, limits, share * duration)).toBeGreaterThan(1);
      // The program's grid of 40 jerks costs it up to 1.5 % of load at the optimum.
      expect(leastLoad(ends, limits, duration)).toBeGreaterThan(0.9999);
      expect(leastLoad(ends, limits, duration)).toBeLessThan(1.015);
    }
  });

  it("looks the same backwards in time and mirrored", () => {
    for (const c of cases(24, 500)) {
      const there = solve(c).duration;
      const { start, end, limits } = c;
      const back = solve({
        start: { p: end.p, v: -end.v, a: end.a },
        end: { p: start.p, v: -start.v, a: start.a },
        limits,
      }).duration;
      const mirrored = solve({
        start: { p: -start.p, v: -start.v, a: -start.a },
        end: { p: -end.p, v: -end.v, a: -end.a },
        limits,
      }).duration;
      expect(Math.abs(back - there)).toBeLessThan(1e-8 * (1 + there));
      expect(Math.abs(mirrored - there)).toBeLessThan(1e-9 * (1 + there));
    }
  });

  it("scales: lengths by k, and speeds, accelerations, jerks by k, k², k³ with time by 1/k", () => {
    for (const c of cases(25, 300)) {
      const there = solve(c).duration;
      const k = 2.5;
      const scale = (s: AxisState, f: readonly [number, number, number]): AxisState => ({
        p: s.p * f[0],
        v: s.v * f[1],
        a: s.a * f[2],
      });
      const { velocity, acceleration, jerk } = c.limits;
      const longer = { velocity: velocity * k, acceleration: acceleration * k, jerk: jerk * k };
      const faster = { velocity: velocity * k, acceleration: acceleration * k ** 2, jerk: jerk * k ** 3 };
      const stretched = solve({ start: scale(c.start, [k, k, k]), end: scale(c.end, [k, k, k]), limits: longer });
      const hurried = solve({ start: scale(c.start, [1, k, k * k]), end: scale(c.end, [1, k, k * k]), limits: faster });
      expect(Math.abs(stretched.duration - there)).toBeLessThan(1e-8 * (1 + there));
      expect(Math.abs(hurried.duration - there / k)).toBeLessThan(1e-8 * (1 + there));
    }
  });

  it("never takes longer when a limit is raised", () => {
    for (const c of cases(26, 500)) {
      const there = solve(c).duration;
      for (const key of ["velocity", "acceleration", "jerk"] as const) {
        const raised = solve({ ...c, limits: { ...c.limits, [key]: c.limits[key] * 1.3 } });
        expect(raised.duration).toBeLessThanOrEqual(there * (1 + 1e-9));
      }
    }
  });

  it("treats infinite speed and acceleration limits as limits that are never met", () => {
    for (const c of cases(27, 200)) {
      const wide = { velocity: 1e6, acceleration: 1e6, jerk: c.limits.jerk };
      const open = { velocity: Number.POSITIVE_INFINITY, acceleration: Number.POSITIVE_INFINITY, jerk: c.limits.jerk };
      const profile = solve({ ...c, limits: open });
      expect(Math.abs(profile.duration - solve({ ...c, limits: wide }).duration)).toBeLessThan(1e-7);
      expectKept(profile, { ...c, limits: open });
    }
  });

  it("refuses states outside the limits, and those that cannot help leaving them", () => {
    const limits = { velocity: 1, acceleration: 1, jerk: 1 };
    const rest = { p: 0, v: 0, a: 0 };
    expect(axisMotion({ p: 0, v: 1.1, a: 0 }, rest, limits)).toEqual({
      ok: false,
      refusal: { end: "start", what: "velocity", value: 1.1, limit: 1 },
    });
    expect(axisMotion({ p: 0, v: 0.9, a: 0.8 }, rest, limits)).toMatchObject({
      refusal: { end: "start", what: "unavoidable velocity" },
    });
    expect(axisMotion(rest, { p: 1, v: 0.9, a: -0.8 }, limits)).toMatchObject({
      refusal: { end: "end", what: "unavoidable velocity" },
    });
    expect(axisMotion(rest, { p: 1, v: 0, a: -2 }, limits)).toMatchObject({ refusal: { what: "acceleration" } });
    expect(() => axisMotion(rest, rest, { ...limits, jerk: Number.POSITIVE_INFINITY })).toThrow("jerk must be finite");
  });

  it("is optimal on every part of itself", () => {
    const random = seeded(28);
    for (const c of cases(29, 3000)) {
      const whole = solve(c);
      const from = whole.duration * random();
      const to = from + (whole.duration - from) * (0.05 + 0.95 * random());
      const at = (time: number): AxisState => {
        sampleProfile(whole, time, state);
        return { p: state[0]!, v: state[1]!, a: state[2]! };
      };
      const part = solve({ start: at(from), end: at(to), limits: c.limits });
      if (Math.abs(part.duration - (to - from)) > 1e-6) {
        expect.fail(`${part.duration} instead of ${to - from} from ${from}: ${JSON.stringify(c)}`);
      }
    }
  });

  it("takes no time where nothing is to be done", () => {
    const limits = { velocity: 1, acceleration: 1, jerk: 1 };
    expect(solve({ start: { p: 2, v: 0.3, a: 0.1 }, end: { p: 2, v: 0.3, a: 0.1 }, limits }).duration).toBe(0);
  });
});

describe("motions of a given time", () => {
  it("finds the gap of an axis that arrives too fast to wait", () => {
    // From full speed to full speed 0.1 ahead: 0.1 s, or brake, return and come again.
    const limits = { velocity: 1, acceleration: 1, jerk: 10 };
    const prepared = prepareAxis({ p0: 0, v0: 1, a0: 0, p1: 0.1, v1: 1, a1: 0 }, limits);
    if (!prepared.ok) throw new Error("refused");
    expect(nextReachableTime(prepared.move, 0).time).toBeCloseTo(0.1, 9);
    const later = nextReachableTime(prepared.move, 0.2).time;
    expect(later).toBeGreaterThan(3);
    // The linear program sees the gap too.
    const ends = { p0: 0, v0: 1, a0: 0, p1: 0.1, v1: 1, a1: 0 };
    expect(leastLoad(ends, limits, 1)).toBeGreaterThan(1.05);
    expect(leastLoad(ends, limits, 0.98 * later)).toBeGreaterThan(1);
    expect(leastLoad(ends, limits, 1.03 * later)).toBeLessThan(1.01);
  });

  it("gives a motion within the limits for every reachable time", () => {
    for (const c of cases(31, 1000)) {
      const { start, end, limits } = c;
      const prepared = prepareAxis({ p0: start.p, v0: start.v, a0: start.a, p1: end.p, v1: end.v, a1: end.a }, limits);
      if (!prepared.ok) throw new Error("refused");
      const least = nextReachableTime(prepared.move, 0).time;
      for (const factor of [1.01, 1.3, 2, 7]) {
        const reach = nextReachableTime(prepared.move, factor * least);
        expect(reach.time).toBeGreaterThanOrEqual(factor * least);
        const profile = moveOfTime(prepared.move, reach);
        expect(Math.abs(profile.duration - reach.time)).toBeLessThan(1e-9 * (1 + reach.time));
        expectKept(profile, c);
      }
    }
  });

  it("brings all axes to their ends at one time, the least that all can take", () => {
    const all = cases(32, 1500);
    for (let k = 0; k + 3 <= all.length; k += 3) {
      const group = all.slice(k, k + 3);
      const motion = synchronisedMotion(
        group.map((c) => c.start),
        group.map((c) => c.end),
        group.map((c) => c.limits),
      );
      if (!motion.ok) throw new Error("refused");
      motion.profiles.forEach((profile, i) => {
        expect(Math.abs(profile.duration - motion.duration)).toBeLessThan(1e-9 * (1 + motion.duration));
        expectKept(profile, group[i]!);
      });
      const alone = group.map((c) => solve(c).duration);
      expect(motion.duration).toBeGreaterThanOrEqual(Math.max(...alone) * (1 - 1e-12));
    }
  });

  it("from rest to rest the slowest axis takes its least time and the others theirs, all within their limits", () => {
    const random = seeded(33);
    for (let k = 0; k < 300; k++) {
      const group = Array.from({ length: 4 }, (_, i): Case => {
        const limits = { velocity: 0.2 + 3 * random(), acceleration: 0.2 + 3 * random(), jerk: 0.2 + 20 * random() };
        const rest = (p: number): AxisState => ({ p, v: 0, a: 0 });
        return { start: rest(4 * random() - 2), end: rest(i === 3 ? 0 : 4 * random() - 2), limits };
      });
      const motion = synchronisedMotion(
        group.map((c) => c.start),
        group.map((c) => c.end),
        group.map((c) => c.limits),
      );
      if (!motion.ok) throw new Error("refused");
      const alone = group.map((c) => solve(c).duration);
      expect(Math.abs(motion.duration - Math.max(...alone))).toBeLessThan(1e-9 * motion.duration);
      motion.profiles.forEach((profile, i) => {
        expect(Math.abs(profile.duration - motion.duration)).toBeLessThan(1e-9 * motion.duration);
        expectKept(profile, group[i]!);
      });
    }
  });

  it("names the axis that cannot take part", () => {
    const limits = { velocity: 1, acceleration: 1, jerk: 1 };
    const rest = { p: 0, v: 0, a: 0 };
    const motion = synchronisedMotion([rest, { p: 0, v: 2, a: 0 }], [rest, rest], [limits, limits]);
    expect(motion).toMatchObject({ ok: false, axis: 1, refusal: { end: "start", what: "velocity" } });
  });
});

describe("straight line in joint space", () => {
  const radians = (values: readonly number[]): number[] => values.map((v) => (v * Math.PI) / 180);
  const zero = new Array<number>(6).fill(0);
  const far = new Array<number>(6).fill(Number.POSITIVE_INFINITY);
  const target = radians([60, 45, 90, 120, 30, 180]);
  const velocity = radians([180, 180, 200, 300, 300, 400]);
  const acceleration = radians([600, 500, 700, 1200, 1200, 1600]);

  it("six joints without jerk limit take 0.735714 s, the time of the slowest joint", () => {
    // Check values: alone 0.633333, 0.6, 0.735714, 0.65, 0.316228, 0.7 s (trapezoid formulas, worked by hand).
    expect(straightJointMotion(zero, target, velocity, acceleration, far).duration).toBeCloseTo(0.735714, 6);
  });

  it("moves every joint by its share under its own limits", () => {
    const jerk = radians([6000, 5000, 7000, 12000, 12000, 16000]);
    const { law, duration } = straightJointMotion(zero, target, velocity, acceleration, jerk);
    expect(law.end[0]).toBeCloseTo(1, 12);
    let closest = 0;
    for (let i = 0; i <= 1000; i++) {
      sampleProfile(law, (duration * i) / 1000, state);
      target.forEach((d, joint) => {
        const use = Math.max(
          Math.abs(state[1]! * d) / velocity[joint]!,
          Math.abs(state[2]! * d) / acceleration[joint]!,
          Math.abs(state[3]! * d) / jerk[joint]!,
        );
        expect(use).toBeLessThan(1 + 1e-9);
        closest = Math.max(closest, use);
      });
    }
    expect(closest).toBeGreaterThan(1 - 1e-9);
  });

  it("does not move where start and end agree", () => {
    const { law, duration } = straightJointMotion(target, target, velocity, acceleration, far);
    expect(duration).toBe(0);
    sampleProfile(law, 0, state);
    expect(state[0]).toBe(1);
  });
});
