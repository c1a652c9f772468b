/** A constant tool speed next to corners: wherever there is room for it, it is kept within every limit. */
import { expect, it } from "vitest";
import { blendedCorner } from "../../../test/timing/paths.ts";
import { timePath } from "./path-timing.ts";
import type { PathLimits, PathState } from "./path-types.ts";
import { PathUse } from "./path-use.ts";

const INF = Number.POSITIVE_INFINITY;

it("a constant speed after a rounded corner is not refused for a hair's breadth", () => {
  const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
  for (let k = 0; k <= 24; k++) {
    // The last one takes most of the room there is to slow down in.
    const tight = k === 24;
    const w = tight ? 0.054 : 0.02 + 0.01 * (k % 6);
    const path = blendedCorner(w);
    const constantSpeed = tight ? 0.58 : 0.08 + 0.015 * k;
    const limits: PathLimits = {
      velocity: Float64Array.of(2, 2),
      acceleration: Float64Array.of(8, 6),
      jerk: Float64Array.of(100, 80),
      groups: [
        {
          first: 0,
          size: 2,
          speed: 1.5,
          acceleration: tight ? 2 : 5,
          jerk: tight ? 40 : k % 2 ? 60 : INF,
          label: "tool",
        },
      ],
      ranges: [{ from: 0.5 + w, to: tight ? 0.89 : 0.8, constantSpeed }],
    };
    const result = timePath(path, limits);
    expect(result.ok, `problem ${k}: ${JSON.stringify(result)}`).toBe(true);
    if (!result.ok) continue;
    const use = new PathUse(path, limits);
    let most = 0;
    for (let i = 0; i <= 3000; i++) {
      result.sample((result.duration * i) / 3000, state);
      use.load(state.s, 1);
      use.measure(state.sd, state.sdd, state.sddd);
      if (!(use.use <= most)) most = use.use;
    }
    expect(most, `problem ${k}`).toBeLessThan(1 + 1e-6);
  }
});
