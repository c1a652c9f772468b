/** The certified least distance along straight edges against FCL's distances at dense samples of them. See README.md. */
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { buildOmpl } from "../../../bench/build-ompl.ts";
import { createSweptScene, straightMotion } from "../../../src/clearance/index.ts";
import { mulberry32 } from "../../arms/random.ts";
import { millProblem } from "../../clearance/mill-scene.ts";
import { benchProblem, between, randomState, stateDistance } from "../../clearance/route-problem.ts";
import { fclLeast } from "./run.ts";

const EDGES = 200;
/** Share of the way from one random state to another that an edge goes. */
const LONGEST = 0.4;
/** Step of FCL's samples, rad. */
const STEP = 0.004;
/** Wanted closeness of the bounds, and what FCL and we may differ by at one state, m. */
const WANTED = 1e-4;
const TOLERANCE = 1e-6;

const build = buildOmpl(
  fileURLToPath(new URL("ompl.cpp", import.meta.url)),
  fileURLToPath(new URL("build", import.meta.url)),
);
const inCi = process.env["CI"] === "true";
const note = build.ok ? "" : ` (skipped: ${build.reason})`;

test.skipIf(!build.ok && !inCi).each([benchProblem(), millProblem()])(
  `the bounds of ${EDGES} edges of the $name scene hold FCL's least distance over samples${note}`,
  ({ scene: whole }) => {
    if (!build.ok) throw new Error(`OMPL is required in CI: ${build.reason}`);
    const { arm, bodies } = whole;
    const pairs = whole.pairs.filter(([i, j]) => bodies[i]!.frame >= 0 || bodies[j]!.frame >= 0);
    const scene = { ...whole, pairs };
    const swept = createSweptScene(arm, bodies, [], pairs);
    const random = mulberry32(20240611);
    const distance = stateDistance(scene);
    const edges: [Float64Array, Float64Array][] = [];
    while (edges.length < EDGES) {
      const from = randomState(scene, random);
      const to = between(from, randomState(scene, random), LONGEST * random());
      if (distance(from) > 0) edges.push([from, to]);
    }
    const sampled = fclLeast(build.binary, scene, edges, STEP);
    const found = edges.map(([from, to]) => swept.minimum(straightMotion(from, to), { tolerance: WANTED }));
    const there = edges.map(([from, to], k) => [between(from, to, found[k]!.time)]);
    const atTime = fclLeast(build.binary, scene, there, 1);
    let apart = 0,
      overlapping = 0;
    for (const [k, { lower, upper }] of found.entries()) {
      const least = sampled[k]!.least;
      const label = `edge ${k}: ${lower} to ${upper}, FCL ${least}`;
      if (least >= 0) expect(lower, label).toBeLessThan(least + TOLERANCE);
      if (upper > TOLERANCE) {
        apart++;
        expect(upper - lower, label).toBeLessThanOrEqual(WANTED);
        expect(upper, label).toBeLessThan(least + WANTED + TOLERANCE);
        expect(Math.abs(upper - atTime[k]!.least), label).toBeLessThan(TOLERANCE);
      } else if (upper < -TOLERANCE) {
        overlapping++;
        expect(atTime[k]!.least, label).toBe(-1);
      }
    }
    expect(apart).toBeGreaterThan(EDGES / 3);
    expect(overlapping).toBeGreaterThan(EDGES / 20);
  },
);
