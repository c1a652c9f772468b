import { describe, expect, it } from "vitest";
import { quarterCircle, straightPath, wavyPath } from "../../../test/timing/paths.ts";
import type { PathLimits, TimedPath } from "./path-types.ts";
import { PathUse } from "./path-use.ts";
import { reachabilityLaw } from "./reachability-law.ts";

const INF = Number.POSITIVE_INFINITY;
const f = (...values: number[]): Float64Array => Float64Array.from(values);
const free = (n: number): Float64Array => new Float64Array(n).fill(INF);

function law(path: TimedPath, limits: PathLimits, intervals: number) {
  const found = reachabilityLaw(new PathUse(path, limits), path.breaks, intervals);
  if (!found.ok) throw new Error(`no law at ${found.s}`);
  return found.law;
}

describe("reachability analysis", () => {
  // Check values: a backward-forward sweep on 4,000 steps and a linear program on 800, which agree to 2e-6 s.
  it.each([
    [0.2, 2, INF, 0.806156],
    [0.2, 2, 0.35, 0.983122],
    [0.3, 1.5, 0.4, 1.327327],
  ])("quarter circle of radius %d m, %d m/s² and %d m/s per axis takes %d s", (radius, a, v, duration) => {
    const limits = { velocity: f(v, v), acceleration: f(a, a), jerk: free(2), groups: [] };
    const coarse = law(quarterCircle(radius), limits, 1000).duration;
    const fine = law(quarterCircle(radius), limits, 2000).duration;
    const finest = law(quarterCircle(radius), limits, 4000).duration;
    // The grid error is of first order: half the step, half the error.
    expect(coarse).toBeGreaterThan(duration - 2e-6);
    expect(coarse - duration).toBeLessThan(3e-4 * duration);
    expect(2 * finest - fine).toBeCloseTo(duration, 4);
    expect(fine - finest).toBeLessThan(0.7 * (coarse - fine));
  });

  it("straight two-axis path takes 3.25 s", () => {
    // q = (1, 0.5)s, v (0.5, 0.5), a (1, 0.2), s 0..1: trapezoid under ṡ <= 0.5, s̈ <= 0.4.
    const limits = { velocity: f(0.5, 0.5), acceleration: f(1, 0.2), jerk: free(2), groups: [] };
    expect(law(straightPath([1, 0.5], 1), limits, 1000).duration).toBeCloseTo(3.25, 4);
  });

  it("halving the grid changes the duration less each time, over random paths", () => {
    const limits = { velocity: f(2, 2, 2), acceleration: f(8, 8, 8), jerk: free(3), groups: [] };
    for (let seed = 1; seed <= 10; seed++) {
      const times = [250, 500, 1000].map((n) => law(wavyPath(3, seed), limits, n).duration);
      expect(Math.abs(times[2]! - times[1]!)).toBeLessThan(0.8 * Math.abs(times[1]! - times[0]!) + 1e-6);
      expect(Math.abs(times[2]! - times[1]!)).toBeLessThan(2e-3);
    }
  });

  it("keeps every limit between the grid points as well, torque and norms included", () => {
    const path = wavyPath(6, 77);
    const limits: PathLimits = {
      velocity: f(2, 2, 2, 3, 3, 3),
      acceleration: f(8, 8, 8, INF, INF, INF),
      jerk: free(6),
      groups: [{ first: 3, size: 3, speed: 2.5, acceleration: 9, jerk: INF, label: "tool" }],
      torque: {
        rows: 2,
        limit: f(20, 25),
        coefficients(s, a, b, c) {
          a.set([2 + Math.sin(3 * s), 1 + Math.cos(s)]);
          b.set([Math.cos(2 * s), 0.5]);
          c.set([10 * Math.sin(4 * s), 8]);
        },
      },
    };
    const use = new PathUse(path, limits);
    const found = law(path, limits, 500);
    const state = { s: 0, sd: 0, sdd: 0, sddd: 0 };
    let most = 0;
    const seen = new Set<number>();
    for (let i = 0; i < 5000; i++) {
      found.sample((found.duration * (i + 0.5)) / 5000, state);
      use.load(state.s, 1);
      use.measure(state.sd, state.sdd, 0);
      most = Math.max(most, use.use);
      if (use.use > 0.99) seen.add(use.useId);
    }
    expect(most).toBeLessThan(1 + 1e-4);
    // Several different limits take turns.
    expect(seen.size).toBeGreaterThanOrEqual(3);
  });

  it("does not chatter at zero-inertia points", () => {
    // On the quarter circle each axis has c1 = 0 at one end; on the wave each channel turns somewhere.
    const limits = { velocity: free(2), acceleration: f(2, 2), jerk: free(2), groups: [] };
    for (const path of [quarterCircle(0.2), wavyPath(2, 5), wavyPath(2, 6), wavyPath(2, 7)]) {
      const { u } = law(path, limits, 1000);
      const span = Math.max(...u) - Math.min(...u);
      let flips = 0;
      for (let k = 2; k < u.length; k++) {
        const now = u[k]! - u[k - 1]!;
        const before = u[k - 1]! - u[k - 2]!;
        if (now * before < 0 && Math.min(Math.abs(now), Math.abs(before)) > 0.02 * span) flips++;
      }
      expect(flips).toBeLessThan(3);
    }
  });

  it("is never slower when a limit is raised and never faster than the speed limits alone", () => {
    for (let seed = 20; seed < 30; seed++) {
      const path = wavyPath(3, seed);
      const make = (v: number, a: number): number =>
        law(path, { velocity: f(v, v, v), acceleration: f(a, a, a), jerk: free(3), groups: [] }, 500).duration;
      const base = make(2, 8);
      expect(make(2.4, 8)).toBeLessThanOrEqual(base * (1 + 1e-6));
      expect(make(2, 10)).toBeLessThanOrEqual(base * (1 + 1e-6));
      expect(make(4, 32)).toBeCloseTo(base / 2, 6);
    }
  });

  it("names the place where the torque at rest allows no motion", () => {
    const path = straightPath([1], 1);
    const limits: PathLimits = {
      velocity: f(1),
      acceleration: f(1),
      jerk: free(1),
      groups: [],
      torque: {
        rows: 1,
        limit: f(10),
        coefficients(s, a, b, c) {
          a[0] = 1;
          b[0] = 0;
          c[0] = 30 * s;
        },
      },
    };
    // Up to s = 1/3 the load can be held, up to 2/3 a braking motion could still be imagined, beyond not.
    const found = reachabilityLaw(new PathUse(path, limits), [], 300);
    expect(found.ok).toBe(false);
  });
});
