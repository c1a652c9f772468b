/** Random paths of several kinds under random limits of every kind: whatever comes out keeps every limit. */
import { describe, expect, it } from "vitest";
import { blendedCorner, toolArc, wavyPath } from "../../../test/timing/paths.ts";
import { seeded } from "../../../test/timing/random.ts";
import { timePath } from "./path-timing.ts";
import type { PathGroup, PathLimits, PathRange, PathState, PathTorque, TimedPath } from "./path-types.ts";
import { PathUse } from "./path-use.ts";

const INF = Number.POSITIVE_INFINITY;

function problem(random: () => number, index: number): { path: TimedPath; limits: PathLimits } {
  const kind = Math.floor(random() * 3);
  const channels = 1 + Math.floor(random() * 6);
  const length = kind === 0 ? 10 ** (random() * 3 - 2) : kind === 2 ? 0.2 + random() : 1;
  const path =
    kind === 0
      ? wavyPath(channels, index + 1000, length)
      : kind === 1
        ? blendedCorner(10 ** (-2 + 1.6 * random()))
        : toolArc(0.1 + random(), length, index + 5);
  const tool = (i: number): boolean => kind === 2 && i >= 2;
  const fill = (value: () => number): Float64Array =>
    Float64Array.from({ length: path.channels }, (_, i) => (tool(i) ? INF : value()));
  const groups: PathGroup[] = [];
  if (kind === 2) {
    const jerk = random() < 0.5 ? INF : 10 + 100 * random();
    groups.push({ first: 2, size: 3, speed: 0.1 + random(), acceleration: 0.5 + 4 * random(), jerk, label: "tool" });
  }
  const share = random();
  const waves = (random() * 5) / length;
  const torque: PathTorque = {
    rows: 2,
    limit: Float64Array.of(10, 20),
    coefficients(s, a, b, c) {
      a.set([1 + Math.sin(waves * s), 2]);
      b.set([Math.cos(waves * s), 1]);
      c.set([9.9 * share * Math.sin(waves * s + index), 12 * Math.cos(waves * s)]);
    },
  };
  const from = (0.1 + 0.6 * random()) * length;
  const range: PathRange = {
    from,
    to: from + 0.2 * length,
    velocityScale: 0.1 + 0.9 * random(),
    ...(kind === 2 && random() < 0.5 ? { constantSpeed: 0.02 + 0.2 * random() } : {}),
  };
  return {
    path,
    limits: {
      velocity: fill(() => 0.3 + 4 * random()),
      acceleration: fill(() => 1 + 15 * random()),
      jerk: fill(() => 10 ** (1 + 2.5 * random())),
      groups,
      ...(random() < 0.5 ? { torque } : {}),
      ...(random() < 0.3 ? { ranges: [range] } : {}),
    },
  };
}

describe("random paths and limits", () => {
  it("no limit is exceeded at 1 kHz by more than 1e-6 of it", () => {
    const random = seeded(17);
    const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
    let timed = 0;
    for (let k = 0; k < 120; k++) {
      const { path, limits } = problem(random, k);
      const result = timePath(path, limits);
      if (!result.ok) {
        // Only a constant speed may be too much to ask of these.
        expect(result.reason, `problem ${k}`).toBe("constant speed");
        continue;
      }
      timed++;
      const use = new PathUse(path, limits);
      const count = Math.min(20_000, Math.max(1000, Math.ceil(result.duration * 1000)));
      let most = 0;
      for (let i = 0; i <= count; i++) {
        result.sample((result.duration * i) / count, state);
        use.load(state.s, 1);
        use.measure(state.sd, state.sdd, state.sddd);
        // NaN must not pass for kept.
        if (!(use.use <= most)) most = use.use;
      }
      expect(most, `problem ${k}`).toBeLessThan(1 + 1e-6);
      expect(most, `problem ${k}`).toBeGreaterThan(0.98);
    }
    expect(timed).toBeGreaterThan(100);
  });
});
