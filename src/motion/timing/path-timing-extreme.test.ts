/** Limits many times smaller than any arm's: motions of hours and years are timed like others, finite and within limits. */
import { describe, expect, it } from "vitest";
import { blendedCorner, toolArc, wavyPath } from "../../../test/timing/paths.ts";
import { timePath } from "./path-timing.ts";
import type { PathLimits, PathState, PathTiming, TimedPath } from "./path-types.ts";
import { PathUse } from "./path-use.ts";

const INF = Number.POSITIVE_INFINITY;
const all = (n: number, value: number): Float64Array => new Float64Array(n).fill(value);

/** Times the path and fails unless the law is finite and keeps its limits at 4,000 moments. */
function timed(path: TimedPath, limits: PathLimits): PathTiming {
  const result = timePath(path, limits);
  if (!result.ok) throw new Error(JSON.stringify(result));
  expect(Number.isFinite(result.duration)).toBe(true);
  const use = new PathUse(path, limits);
  const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
  let most = 0;
  for (let i = 0; i <= 4000; i++) {
    result.sample((result.duration * i) / 4000, state);
    use.load(state.s, 1);
    use.measure(state.sd, state.sdd, state.sddd);
    // NaN must not pass for kept.
    if (!(use.use <= most)) most = use.use;
  }
  expect(most).toBeLessThan(1 + 1e-6);
  return result;
}

const joints = (n: number, v: number, a: number, j: number): PathLimits => ({
  velocity: all(n, v),
  acceleration: all(n, a),
  jerk: all(n, j),
  groups: [],
});

describe("very small limits", () => {
  it("speed: the time is inversely proportional to it, and near that of a path passed at the speed limit throughout", () => {
    for (const path of [wavyPath(3, 5), blendedCorner(0.1)]) {
      const n = path.channels;
      const slowest = timed(path, joints(n, 1e-3, 8, INF)).duration * 1e-3;
      for (const v of [1e-4, 1e-5, 1e-6, 1e-8, 1e-12]) {
        const time = timed(path, joints(n, v, 8, 100)).duration * v;
        expect(time / slowest).toBeGreaterThan(0.99);
        expect(time / slowest).toBeLessThan(1.03);
      }
    }
  });

  it("acceleration and jerk: the time grows with their square and cube roots", () => {
    const path = wavyPath(3, 5);
    const a = timed(path, joints(3, 2, 1e-4, 100)).duration * 1e-2;
    const j = timed(path, joints(3, 2, 8, 1e-3)).duration * 1e-1;
    for (const k of [1e-3, 1e-5]) {
      expect((timed(path, joints(3, 2, 1e-4 * k ** 2, 100)).duration * 1e-2 * k) / a).toBeCloseTo(1, 2);
      expect((timed(path, joints(3, 2, 8, 1e-3 * k ** 3)).duration * 1e-1 * k) / j).toBeCloseTo(1, 2);
    }
  });

  it("on one stretch of the path only", () => {
    const path = wavyPath(3, 5);
    const slow = (velocityScale: number): number =>
      timed(path, { ...joints(3, 2, 8, 100), ranges: [{ from: 0.3, to: 0.6, velocityScale }] }).duration *
      velocityScale;
    const first = slow(1e-2);
    for (const scale of [1e-3, 1e-4, 1e-5, 1e-7, 1e-9]) {
      expect(slow(scale) / first).toBeGreaterThan(0.8);
      expect(slow(scale) / first).toBeLessThan(1.1);
    }
  });

  it("of the tool's acceleration next to ordinary joint limits", () => {
    const path = toolArc(0.3, 0.5, 7);
    const tool = (acceleration: number): PathLimits => ({
      velocity: Float64Array.of(2, 2, INF, INF, INF),
      acceleration: Float64Array.of(8, 8, INF, INF, INF),
      jerk: Float64Array.of(100, 100, INF, INF, INF),
      groups: [{ first: 2, size: 3, speed: 0.3, acceleration, jerk: INF, label: "tool" }],
    });
    const first = timed(path, tool(1e-4)).duration * 1e-2;
    for (const k of [1e-2, 1e-4]) {
      expect((timed(path, tool(1e-4 * k ** 2)).duration * 1e-2 * k) / first).toBeCloseTo(1, 2);
    }
  });
});
