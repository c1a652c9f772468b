/** The one long comparison: path timing against a slow independent optimiser. */
import { describe, expect, it } from "vitest";
import { bestTimeAlong } from "../../../test/timing/brute-force.ts";
import { wavyPath } from "../../../test/timing/paths.ts";
import { timePath } from "./path-timing.ts";

describe("against the best of 100 jerk steps in time", () => {
  it.each([
    ["wave 1", wavyPath(2, 2)],
    ["wave 2", wavyPath(2, 3)],
  ])("%s: within 2 %", (_, path) => {
    const velocity = Float64Array.of(1, 1);
    const acceleration = Float64Array.of(4, 4);
    const jerk = Float64Array.of(30, 30);
    const result = timePath(path, { velocity, acceleration, jerk, groups: [] });
    if (!result.ok) throw new Error(result.reason);
    const best = bestTimeAlong(path, velocity, acceleration, jerk, 100);
    expect(result.duration).toBeLessThan(1.02 * best);
    // The optimiser keeps the limits at its grid points only, which lets it come out a little short.
    expect(result.duration).toBeGreaterThan(0.99 * best);
  });
});
