/** That the scenes compared mean the same to FCL and to us, so that routes can be compared at all. See README.md. */
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { buildOmpl } from "../../../bench/build-ompl.ts";
import { mulberry32 } from "../../arms/random.ts";
import { millProblem } from "../../clearance/mill-scene.ts";
import { benchProblem, randomState, stateDistance } from "../../clearance/route-problem.ts";
import { fclLeast, fclTouches } from "./run.ts";

const STATES = 3000;
/** m */
const TOLERANCE = 1e-6;

const build = buildOmpl(
  fileURLToPath(new URL("ompl.cpp", import.meta.url)),
  fileURLToPath(new URL("build", import.meta.url)),
);
const inCi = process.env["CI"] === "true";
const note = build.ok ? "" : ` (skipped: ${build.reason})`;

test.skipIf(!build.ok && !inCi).each([benchProblem(), millProblem()])(
  `overlaps and distances of ${STATES} states of the $name scene agree with FCL${note}`,
  ({ scene, start, goal }) => {
    if (!build.ok) throw new Error(`OMPL is required in CI: ${build.reason}`);
    const random = mulberry32(20240611);
    const states = [start, goal, ...Array.from({ length: STATES }, () => randomState(scene, random))];
    const distance = stateDistance(scene);
    const touches = fclTouches(build.binary, scene, states);
    const least = fclLeast(
      build.binary,
      scene,
      states.map((q) => [q]),
      1,
    );
    let apart = 0;
    for (const [i, q] of states.entries()) {
      const d = distance(q);
      if (Math.abs(d) > TOLERANCE) expect(touches[i], `state ${i}, ours ${d}`).toBe(d < 0);
      if (d < 0 || touches[i]) continue;
      apart++;
      expect(Math.abs(d - least[i]!.least), `state ${i}, ours ${d}, FCL ${least[i]!.least}`).toBeLessThan(TOLERANCE);
    }
    expect(touches.slice(0, 2)).toEqual([false, false]);
    expect(apart).toBeGreaterThan(STATES / 4);
    expect(apart).toBeLessThan((9 * STATES) / 10);
  },
);
