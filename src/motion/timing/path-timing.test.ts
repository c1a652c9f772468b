import { describe, expect, it } from "vitest";
import { blendedCorner, quarterCircle, reversed, straightPath, toolArc, wavyPath } from "../../../test/timing/paths.ts";
import { doubleS } from "./double-s.ts";
import { timePath } from "./path-timing.ts";
import type { PathLimits, PathState, PathTiming, PathTorque, TimedPath } from "./path-types.ts";
import { PathUse } from "./path-use.ts";
import { reachabilityLaw } from "./reachability-law.ts";

const INF = Number.POSITIVE_INFINITY;
const f = (...values: number[]): Float64Array => Float64Array.from(values);
const all = (n: number, value: number): Float64Array => new Float64Array(n).fill(value);

/** Share of a limit that may be exceeded, by the contract. */
const KEPT = 1 + 1e-6;

function timing(path: TimedPath, limits: PathLimits): PathTiming {
  const result = timePath(path, limits);
  if (!result.ok) throw new Error(JSON.stringify(result));
  return result;
}

interface Watch {
  /** Largest share of any limit. */
  readonly use: number;
  /** Largest mismatch between s and the integral of its derivatives, relative to the length. */
  readonly drift: number;
}

/** Samples at twice 1 kHz at least; fails unless the motion starts and ends at rest at the two ends of the path. */
function watch(path: TimedPath, limits: PathLimits, result: PathTiming): Watch {
  const use = new PathUse(path, limits);
  const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
  const before: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
  const count = Math.max(2000, Math.ceil(result.duration * 2000));
  const step = result.duration / count;
  let most = 0;
  let drift = 0;
  for (let i = 0; i <= count; i++) {
    result.sample(step * i, state);
    use.load(state.s, 1);
    use.measure(state.sd, state.sdd, state.sddd);
    most = Math.max(most, use.use);
    if (i > 0) {
      // Hermite rule: exact for cubics, so s, ṡ and s̈ must belong together.
      const moved = (step / 2) * (state.sd + before.sd) - (step * step * (state.sdd - before.sdd)) / 12;
      drift = Math.max(drift, Math.abs(state.s - before.s - moved) / path.length);
    } else {
      expect(Math.abs(state.s)).toBeLessThan(1e-12 * path.length);
      expect(Math.abs(state.sd)).toBeLessThan(1e-9 * path.length);
    }
    Object.assign(before, state);
  }
  expect(Math.abs(state.s - path.length)).toBeLessThan(1e-9 * path.length);
  expect(Math.abs(state.sd)).toBeLessThan(1e-6 * path.length);
  return { use: most, drift };
}

const jointLimits = (n: number): PathLimits => ({
  velocity: all(n, 2),
  acceleration: all(n, 8),
  jerk: all(n, 100),
  groups: [],
});

const gravity = (rows: number): PathTorque => ({
  rows,
  limit: all(rows, 30),
  coefficients(s, a, b, c) {
    for (let i = 0; i < rows; i++) {
      a[i] = 2 + Math.sin(3 * s + i);
      b[i] = 1 + Math.cos(2 * s + i);
      c[i] = 12 * Math.sin(s + i);
    }
  },
});

describe("closed form", () => {
  it("straight joint path: the double S of the tightest joint, exactly", () => {
    const path = straightPath([1, -0.5, 0], 2);
    const limits = { velocity: f(1, 0.3, 1), acceleration: f(2, 2, 1e-3), jerk: f(20, 40, 1e-3), groups: [] };
    const result = timing(path, limits);
    expect(result.method).toBe("closed form");
    expect(result.duration).toBeCloseTo(doubleS(0, 2, 0, 0, 0.6, 2, 20).duration, 12);
    expect(watch(path, limits, result).use).toBeLessThan(1 + 1e-9);
    // A range over the whole path changes the limits, not the method.
    const half = timing(path, { ...limits, ranges: [{ from: 0, to: 2, velocityScale: 0.5 }] });
    expect(half.method).toBe("closed form");
    expect(half.duration).toBeCloseTo(doubleS(0, 2, 0, 0, 0.3, 2, 20).duration, 12);
  });

  it("tool line whose tool limits bind while the joints follow with room", () => {
    const path = toolArc(1e9, 0.3, 3);
    const limits: PathLimits = {
      velocity: f(9, 9, INF, INF, INF),
      acceleration: f(90, 90, INF, INF, INF),
      jerk: f(2000, 2000, INF, INF, INF),
      groups: [{ first: 2, size: 3, speed: 0.25, acceleration: 1, jerk: 20, label: "tool" }],
    };
    const line: TimedPath = {
      ...path,
      evaluate(s, c, c1, c2, c3) {
        path.evaluate(s, c, c1, c2, c3);
        c1.set([0.6, 0.8, 0], 2);
        c2.fill(0, 2);
        c3.fill(0, 2);
      },
    };
    const result = timing(line, limits);
    expect(result.method).toBe("closed form");
    expect(result.duration).toBeCloseTo(0.3 / 0.25 + 0.25 / 1 + 1 / 20, 12);
    expect(watch(line, limits, result).use).toBeLessThan(KEPT);
    // The same line with slow joints needs more time and another method.
    const slow = { ...limits, velocity: f(0.05, 0.05, INF, INF, INF) };
    const slower = timing(line, slow);
    expect(slower.method).toBe("re-timed");
    expect(slower.duration).toBeGreaterThan(result.duration);
    expect(watch(line, slow, slower).use).toBeLessThan(KEPT);
  });

  it("without jerk limits a straight path gets the trapezoid", () => {
    const limits = { velocity: f(0.5, 0.5), acceleration: f(1, 0.2), jerk: all(2, INF), groups: [] };
    expect(timing(straightPath([1, 0.5], 1), limits).duration).toBeCloseTo(3.25, 12);
  });
});

describe("re-timed", () => {
  it("keeps every limit at 2 kHz on random paths of six joints with torque, and s, ṡ, s̈ belong together", () => {
    for (let seed = 1; seed <= 12; seed++) {
      const path = wavyPath(6, seed);
      const limits = { ...jointLimits(6), torque: gravity(6) };
      const result = timing(path, limits);
      const { use, drift } = watch(path, limits, result);
      expect(use).toBeLessThan(KEPT);
      expect(use).toBeGreaterThan(0.995);
      expect(drift).toBeLessThan(1e-8);
    }
  });

  it("keeps norm limits of tool speed, acceleration and jerk around a blended corner with breaks", () => {
    for (const w of [0.2, 0.05, 0.01]) {
      const path = blendedCorner(w);
      const limits: PathLimits = {
        velocity: all(2, INF),
        acceleration: all(2, INF),
        jerk: all(2, INF),
        groups: [{ first: 0, size: 2, speed: 1, acceleration: 5, jerk: 60, label: "tool" }],
      };
      const result = timing(path, limits);
      expect(watch(path, limits, result).use).toBeLessThan(KEPT);
    }
  });

  it("is never faster than the law without jerk limits and comes near it as the jerk limits grow", () => {
    for (let seed = 41; seed <= 46; seed++) {
      const path = wavyPath(3, seed);
      const second = reachabilityLaw(new PathUse(path, { ...jointLimits(3), jerk: all(3, INF) }), [], 2000);
      if (!second.ok) throw new Error("no law");
      const bound = second.law.duration;
      let last = INF;
      for (const jerk of [30, 300, 3000, 1e5]) {
        const { duration } = timing(path, { ...jointLimits(3), jerk: all(3, jerk) });
        expect(duration).toBeGreaterThan(bound * 0.9995);
        expect(duration).toBeLessThan(last * 1.003);
        last = duration;
      }
      expect(last / bound).toBeLessThan(1.02);
    }
  });

  it("needs as long backwards as forwards", () => {
    for (let seed = 51; seed <= 56; seed++) {
      const path = wavyPath(3, seed);
      const there = timing(path, jointLimits(3)).duration;
      const back = timing(reversed(path), jointLimits(3)).duration;
      expect(Math.abs(back / there - 1)).toBeLessThan(6e-3);
    }
  });

  it("scales: limits times k, k², k³ take 1/k of the time; paths twice as long at twice the limits the same time", () => {
    const k = 3;
    for (let seed = 61; seed <= 64; seed++) {
      const path = wavyPath(3, seed);
      const base = timing(path, jointLimits(3)).duration;
      const fast = {
        velocity: all(3, 2 * k),
        acceleration: all(3, 8 * k ** 2),
        jerk: all(3, 100 * k ** 3),
        groups: [],
      };
      expect(timing(path, fast).duration * k).toBeCloseTo(base, 4);
      const double: TimedPath = {
        ...path,
        evaluate(s, c, c1, c2, c3) {
          path.evaluate(s, c, c1, c2, c3);
          for (const array of [c, c1, c2, c3]) for (let i = 0; i < 3; i++) array[i] = array[i]! * 2;
        },
      };
      const wide = { velocity: all(3, 4), acceleration: all(3, 16), jerk: all(3, 200), groups: [] };
      expect(timing(double, wide).duration).toBeCloseTo(base, 4);
    }
  });

  it("takes no longer, within its accuracy, when a limit is raised", () => {
    for (let seed = 71; seed <= 74; seed++) {
      const path = wavyPath(3, seed);
      const base = timing(path, jointLimits(3)).duration;
      for (const key of ["velocity", "acceleration", "jerk"] as const) {
        const raised = { ...jointLimits(3), [key]: jointLimits(3)[key].map((v) => v * 1.5) };
        expect(timing(path, raised).duration).toBeLessThan(base * 1.006);
      }
    }
  });

  it("equals the double S on a straight path when it may not use the closed form", () => {
    // A second channel that hardly bends hides the straightness.
    const path: TimedPath = {
      channels: 2,
      length: 1,
      breaks: [],
      evaluate(s, c, c1, c2, c3) {
        c.set([s, 1e-6 * s * s]);
        c1.set([1, 2e-6 * s]);
        c2.set([0, 2e-6]);
        c3.fill(0);
      },
    };
    for (const [v, a, j] of [
      [1, 1, 1],
      [0.5, 2, 20],
      [0.1, 5, 100],
      [10, 2, 20],
      [0.5, 10, 1000],
    ] as const) {
      // A slower stretch that is no slower rules out the closed form.
      const nothing = { from: 0.9, to: 1, velocityScale: 1 - 1e-12 };
      const limits = {
        velocity: f(v, v),
        acceleration: f(a, a),
        jerk: f(j, j),
        groups: [],
        ranges: [nothing],
      };
      const result = timing(path, limits);
      const exact = doubleS(0, 1, 0, 0, v, a, j).duration;
      expect(result.method).toBe("re-timed");
      expect(result.duration / exact).toBeGreaterThan(1 - 1e-6);
      expect(result.duration / exact).toBeLessThan(1.01);
    }
  });

  it("gets through a place where holding still takes 99.9 % of a torque limit", () => {
    const torque: PathTorque = {
      rows: 1,
      limit: f(10),
      coefficients(s, a, b, c) {
        a[0] = 3 + s;
        b[0] = 1;
        c[0] = 9.99 * Math.sin(3 * s + 0.2);
      },
    };
    const path = wavyPath(3, 81);
    const limits = { ...jointLimits(3), torque };
    const result = timing(path, limits);
    expect(watch(path, limits, result).use).toBeLessThan(KEPT);
    const second = reachabilityLaw(new PathUse(path, { ...limits, jerk: all(3, INF) }), [], 2000);
    if (!second.ok) throw new Error("no law");
    expect(result.duration / second.law.duration).toBeLessThan(1.06);
  });

  it("works from very short to very stiff", () => {
    for (const length of [1e-6, 1e-3, 0.1]) {
      const path = wavyPath(3, 91, length);
      expect(watch(path, jointLimits(3), timing(path, jointLimits(3))).use).toBeLessThan(KEPT);
    }
    for (const jerk of [1, 1e4, 1e6]) {
      const path = wavyPath(3, 92);
      const limits = { ...jointLimits(3), jerk: all(3, jerk) };
      expect(watch(path, limits, timing(path, limits)).use).toBeLessThan(KEPT);
    }
  });

  it("slower stretches are kept to their borders", () => {
    const path = wavyPath(3, 93);
    const limits = {
      ...jointLimits(3),
      ranges: [
        { from: 0, to: 0.3 },
        { from: 0.3, to: 0.6, velocityScale: 0.2 },
      ],
    };
    const result = timing(path, limits);
    expect(watch(path, limits, result).use).toBeLessThan(KEPT);
    const inside = result.timeAt(0.6) - result.timeAt(0.3);
    const open = timing(path, jointLimits(3));
    expect(inside).toBeGreaterThan(3 * (open.timeAt(0.6) - open.timeAt(0.3)));
  });

  it("timeAt is the inverse of s(t)", () => {
    for (const result of [
      timing(wavyPath(3, 94), jointLimits(3)),
      timing(straightPath([1, 0.5], 1), jointLimits(2)),
      timing(quarterCircle(0.3), { ...jointLimits(2), jerk: all(2, INF) }),
    ]) {
      const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
      for (let i = 1; i < 100; i++) {
        const t = (result.duration * i) / 100;
        result.sample(t, state);
        expect(result.timeAt(state.s)).toBeCloseTo(t, 7);
      }
    }
  });

  it("names what limits the motion nearly all the time", () => {
    const limits = { ...jointLimits(6), torque: gravity(6) };
    const result = timing(wavyPath(6, 5), limits);
    let covered = 0;
    let last = 0;
    for (const span of result.limits) {
      expect(span.from).toBeGreaterThanOrEqual(last);
      expect(span.to).toBeGreaterThan(span.from);
      last = span.to;
      covered += span.to - span.from;
    }
    expect(covered / result.duration).toBeGreaterThan(0.8);
    expect(new Set(result.limits.map((span) => span.kind)).size).toBeGreaterThan(1);
    // A straight move names its phases in order.
    const straight = timing(straightPath([1], 1), { velocity: f(0.5), acceleration: f(2), jerk: f(20), groups: [] });
    expect(straight.limits.map((span) => span.kind)).toEqual([
      "jerk",
      "acceleration",
      "jerk",
      "velocity",
      "jerk",
      "acceleration",
      "jerk",
    ]);
  });
});

describe("constant tool speed", () => {
  const tool = (ranges: PathLimits["ranges"]): PathLimits => ({
    velocity: f(2, 2, INF, INF, INF),
    acceleration: f(8, 8, INF, INF, INF),
    jerk: f(100, 100, INF, INF, INF),
    groups: [{ first: 2, size: 3, speed: 0.3, acceleration: 3, jerk: 40, label: "tool" }],
    ...(ranges ? { ranges } : {}),
  });

  it("is kept exactly on its stretch, all limits are kept, and the motion is smooth where it begins and ends", () => {
    const path = toolArc(0.3, 0.5, 7);
    for (const [speed, from, to] of [
      [0.1, 0.1, 0.3],
      [0.25, 0.1, 0.4],
      [0.02, 0.1, 0.12],
    ] as const) {
      const limits = tool([{ from, to, constantSpeed: speed }]);
      const result = timing(path, limits);
      expect(watch(path, limits, result).use).toBeLessThan(KEPT);
      expect(result.timeAt(to) - result.timeAt(from)).toBeCloseTo((to - from) / speed, 9);
      const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
      for (const border of [from, to]) {
        for (const side of [-1e-6, 1e-6]) {
          result.sample(result.timeAt(border) + side, state);
          expect(state.sd).toBeCloseTo(speed, 5);
          expect(Math.abs(state.sdd)).toBeLessThan(1e-3);
        }
      }
    }
  });

  it("holds also where the path parameter is not the tool's arc length", () => {
    // s runs unevenly: p = s + 0.3 s².
    const path: TimedPath = {
      channels: 1,
      length: 1,
      breaks: [],
      evaluate(s, c, c1, c2, c3) {
        c[0] = s + 0.3 * s * s;
        c1[0] = 1 + 0.6 * s;
        c2[0] = 0.6;
        c3[0] = 0;
      },
    };
    const limits: PathLimits = {
      velocity: f(2),
      acceleration: f(4),
      jerk: f(60),
      groups: [{ first: 0, size: 1, speed: 2, acceleration: 4, jerk: 60, label: "tool" }],
      ranges: [{ from: 0.3, to: 0.7, constantSpeed: 0.4 }],
    };
    const result = timing(path, limits);
    const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
    for (let i = 1; i < 50; i++) {
      result.sample(result.timeAt(0.3) + ((result.timeAt(0.7) - result.timeAt(0.3)) * i) / 50, state);
      expect((1 + 0.6 * state.s) * state.sd).toBeCloseTo(0.4, 9);
    }
    expect(watch(path, limits, result).use).toBeLessThan(KEPT);
  });

  it("is kept without jerk limits too", () => {
    const path = toolArc(0.3, 0.5, 7);
    const soft = tool([{ from: 0.1, to: 0.3, constantSpeed: 0.1 }]);
    const limits = { ...soft, jerk: all(5, INF), groups: soft.groups.map((group) => ({ ...group, jerk: INF })) };
    const result = timing(path, limits);
    expect(result.method).toBe("reachability");
    const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
    for (let i = 1; i < 50; i++) {
      result.sample(result.timeAt(0.1) + (2 * i) / 50, state);
      expect(state.sd).toBeCloseTo(0.1, 9);
    }
    expect(result.duration).toBeLessThan(timing(path, soft).duration);
  });

  it("says what is in the way", () => {
    const path = toolArc(0.3, 0.5, 7);
    const fails = (speed: number, from: number, to: number) =>
      timePath(path, tool([{ from, to, constantSpeed: speed }]));
    // Faster than the tool may go.
    expect(fails(1, 0.1, 0.4)).toMatchObject({
      ok: false,
      reason: "constant speed",
      s: 0.1,
      limit: { kind: "velocity", group: 0 },
    });
    // No room to speed up; at rest at the start; at rest at the end.
    expect(fails(0.25, 0.005, 0.4)).toMatchObject({ ok: false, reason: "constant speed", s: 0.005 });
    expect(fails(0.1, 0, 0.4)).toMatchObject({ ok: false, reason: "constant speed", s: 0 });
    expect(fails(0.1, 0.1, 0.5)).toMatchObject({ ok: false, reason: "constant speed", s: 0.5 });
    // Two speeds cannot meet.
    const meeting = tool([
      { from: 0.1, to: 0.2, constantSpeed: 0.1 },
      { from: 0.2, to: 0.3, constantSpeed: 0.2 },
    ]);
    expect(timePath(path, meeting)).toMatchObject({ ok: false, reason: "constant speed", s: 0.2 });
  });
});

describe("what cannot be timed", () => {
  it("torque at rest beyond the limit", () => {
    const torque: PathTorque = {
      rows: 2,
      limit: f(10, 10),
      coefficients(s, a, b, c) {
        a.fill(1);
        b.fill(0);
        c.set([5, 20 * s]);
      },
    };
    const result = timePath(wavyPath(2, 1), { ...jointLimits(2), torque });
    expect(result).toMatchObject({ ok: false, reason: "torque at rest", limit: { kind: "torque", row: 1 } });
    if (!result.ok) expect(result.s).toBeCloseTo(0.5, 1);
  });

  it("a bump of the torque at rest between the places of the first scan", () => {
    for (const width of [0.02, 0.006]) {
      const torque: PathTorque = {
        rows: 1,
        limit: f(10),
        coefficients(s, a, b, c) {
          a[0] = 1;
          b[0] = 0;
          c[0] = 12 * Math.exp(-(((s - 0.517) / width) ** 2));
        },
      };
      const result = timePath(wavyPath(2, 1), { ...jointLimits(2), torque });
      expect(result).toMatchObject({ ok: false, reason: "torque at rest", limit: { kind: "torque", row: 0 } });
      if (!result.ok) expect(result.s).toBeCloseTo(0.517, 2);
    }
  });

  it("motion without any acceleration or jerk limit", () => {
    const limits = { velocity: all(2, 1), acceleration: all(2, INF), jerk: all(2, INF), groups: [] };
    expect(timePath(wavyPath(2, 1), limits)).toMatchObject({ ok: false, reason: "no acceleration limit" });
  });

  it("a caller's mistakes", () => {
    const path = wavyPath(2, 1);
    expect(() => timePath({ ...path, length: 0 }, jointLimits(2))).toThrow(
      "path.length must be finite and above 0, got 0",
    );
    expect(() => timePath(path, { ...jointLimits(2), jerk: f(1, -1) })).toThrow(
      "limits.jerk[1] must be above 0, got -1",
    );
    const broken: TimedPath = {
      ...path,
      evaluate: (_, ...arrays) => {
        for (const array of arrays) array.fill(Number.NaN);
      },
    };
    expect(() => timePath(broken, jointLimits(2))).toThrow("path.evaluate must give finite derivatives");
    expect(() => timePath(path, jointLimits(3))).toThrow("3 entries for 2 channels");
    expect(() =>
      timePath(path, {
        ...jointLimits(2),
        ranges: [
          { from: 0.5, to: 1 },
          { from: 0, to: 0.5 },
        ],
      }),
    ).toThrow("ranges must ascend");
  });
});
