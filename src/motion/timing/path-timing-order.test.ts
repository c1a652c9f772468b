/** Work arrays are used again from one motion to the next; nothing in them may leak into a result. */
import { expect, it } from "vitest";
import { blendedCorner, toolArc, wavyPath } from "../../../test/timing/paths.ts";
import { timePath } from "./path-timing.ts";
import type { PathLimits, TimedPath } from "./path-types.ts";

const INF = Number.POSITIVE_INFINITY;

it("a motion does not depend on those timed before it, to the last bit", () => {
  const problems: { path: TimedPath; limits: PathLimits }[] = [];
  for (let k = 0; k < 18; k++) {
    const path =
      k % 3 === 0
        ? wavyPath(1 + (k % 6), k + 300)
        : k % 3 === 1
          ? blendedCorner(0.02 + 0.01 * k)
          : toolArc(0.3, 0.5, k);
    const n = path.channels;
    const tool = (i: number): boolean => k % 3 === 2 && i >= 2;
    const fill = (value: number): Float64Array => Float64Array.from({ length: n }, (_, i) => (tool(i) ? INF : value));
    const group = { first: 2, size: 3, speed: 0.3, acceleration: 3, jerk: k % 2 ? 40 : INF, label: "tool" };
    const limits = { velocity: fill(2), acceleration: fill(8), jerk: fill(100), groups: k % 3 === 2 ? [group] : [] };
    problems.push({ path, limits });
  }
  const duration = ({ path, limits }: (typeof problems)[number]): number => {
    const result = timePath(path, limits);
    return result.ok ? result.duration : Number.NaN;
  };
  const there = problems.map(duration);
  const back = [...problems].reverse().map(duration).reverse();
  expect(there.every(Number.isFinite)).toBe(true);
  expect(back).toEqual(there);
});
