/** Routes found by us and by OMPL, each judged by the other. See README.md. */
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { buildOmpl } from "../../../bench/build-ompl.ts";
import { median } from "../../../bench/median.ts";
import { createSweptScene, straightMotion } from "../../../src/clearance/index.ts";
import { proveNoWay } from "../../../src/route/ball-proof.ts";
import { proveBand } from "../../../src/route/band-proof.ts";
import { EdgeCheck } from "../../../src/route/edge-check.ts";
import { createRouter, type RouteScene } from "../../../src/route/index.ts";
import { standScene } from "../../../src/route/standing-scene.ts";
import { mulberry32 } from "../../arms/random.ts";
import { millProblem } from "../../clearance/mill-scene.ts";
import { benchProblem, pathLength, randomState, stateDistance, withinLimits } from "../../clearance/route-problem.ts";
import { fclLeast, omplFirstTouch, omplPlans, type Path, type PlanQuery, type PlanRun } from "./run.ts";

const SEEDS = 8;
const QUERIES = 40;
const OMPL_RUNS = 50;
const OMPL_SEED = 4242;
/** Longest run of OMPL for a random query, s; it needs a few milliseconds where it finds a route at all. */
const LIMIT = 0.3;
/** Distances and cells that a proof may look at. */
const PROOF = 100_000;
/** Steps of OMPL's validator and of FCL's distances, rad. */
const FINE = 0.001;
const COARSE = 0.005;
/** Routes of OMPL that touch so lightly, or pass so near, that samples and certificate may answer differently; none was seen. */
const MOST_UNDECIDED = 1;
/** m */
const TOLERANCE = 1e-6;

const build = buildOmpl(
  fileURLToPath(new URL("ompl.cpp", import.meta.url)),
  fileURLToPath(new URL("build", import.meta.url)),
);
const inCi = process.env["CI"] === "true";
const note = build.ok ? "" : ` (skipped: ${build.reason})`;

function program(): string {
  if (!build.ok) throw new Error(`OMPL is required in CI: ${build.reason}`);
  return build.binary;
}

/** Whether swept clearance certifies every edge of a path. */
function certifier({ arm, bodies, pairs, margin }: RouteScene): (path: Path) => boolean {
  const moves = ([i, j]: readonly [number, number]) => bodies[i]!.frame >= 0 || bodies[j]!.frame >= 0;
  const swept = createSweptScene(arm, bodies, [], pairs.filter(moves));
  return (path) => path.slice(1).every((to, k) => swept.clear(straightMotion(path[k]!, to), margin));
}

/** Whether the router, asked in vain, would prove that there is no way. Proofs are tried whatever a search would find. */
function provesNone(scene: RouteScene, start: Float64Array, goal: Float64Array): boolean {
  const standing = standScene(scene);
  const { state } = new EdgeCheck(standing);
  const work = { count: 0, most: PROOF };
  if (proveBand(standing, state, start, [goal], work) !== undefined) return true;
  return proveNoWay(standing, state, start, [goal], work) !== undefined;
}

/** Starts and goals that are clear while FCL finds the straight edge between them closed. */
function blockedQueries(scene: RouteScene, random: () => number): PlanQuery[] {
  const distance = stateDistance(scene);
  const free = Array.from({ length: 12 * QUERIES }, () => randomState(scene, random)).filter(
    (q) => distance(q) > 0.001,
  );
  const ends = Array.from({ length: Math.floor(free.length / 2) }, (_, k) => [free[2 * k]!, free[2 * k + 1]!]);
  const closed = omplFirstTouch(program(), scene, ends, 0.01);
  return ends
    .filter((_, k) => closed[k] !== undefined)
    .slice(0, QUERIES)
    .map(([start, goal]) => ({ start: start!, goal: goal!, runs: 1, limit: LIMIT }));
}

describe.skipIf(!build.ok && !inCi).each([benchProblem(), millProblem()])(`$name scene${note}`, (problem) => {
  const { scene, start, goal } = problem;

  const label = `what ${SEEDS} seeds find is clear by OMPL's validator every ${FINE} rad and keeps %d m by FCL`;
  test.each([0, 0.005])(label, (margin) => {
    expect(omplFirstTouch(program(), scene, [[start, goal]], FINE)[0], "the straight edge").toBeDefined();
    const router = createRouter({ ...scene, margin });
    const found = Array.from({ length: SEEDS }, (_, seed) => {
      const outcome = router.find({ start, goals: [goal], seed });
      if (!outcome.ok) throw new Error(`seed ${seed}: ${outcome.message}`);
      return outcome;
    });
    const paths = found.map(({ path }) => path);
    expect(omplFirstTouch(program(), scene, paths, FINE)).toEqual(paths.map(() => undefined));
    const least = fclLeast(program(), scene, paths, COARSE);
    for (const [seed, { path, clearance, length }] of found.entries()) {
      expect([path[0], path.at(-1)], `seed ${seed}`).toEqual([start, goal]);
      expect(withinLimits(scene, path), `seed ${seed}`).toBe(true);
      expect(clearance, `seed ${seed}`).toBeGreaterThanOrEqual(margin);
      expect(least[seed]!.least, `seed ${seed}`).toBeGreaterThan(clearance - TOLERANCE);
      expect(Math.abs(length - pathLength(path)), `seed ${seed}`).toBeLessThan(1e-9);
    }
  });

  test(`a route is found for each of ${QUERIES} random queries that OMPL answers, in the median no longer than OMPL's`, () => {
    const queries = blockedQueries(scene, mulberry32(20240611));
    expect(queries.length).toBe(QUERIES);
    const theirs = omplPlans(program(), scene, OMPL_SEED, queries).map(([run]) => run!);
    const router = createRouter(scene);
    const paths: Path[] = [],
      ratios: number[] = [];
    let proved = 0;
    for (const [k, { found, length }] of theirs.entries()) {
      const query = queries[k]!;
      const isProved = provesNone(scene, query.start, query.goal);
      if (isProved) proved++;
      if (!found) continue;
      expect(isProved, `query ${k} held to have no way`).toBe(false);
      const outcome = router.find({ start: query.start, goals: [query.goal], seed: k });
      if (!outcome.ok) throw new Error(`query ${k}: ${outcome.message}`);
      expect(withinLimits(scene, outcome.path), `query ${k}`).toBe(true);
      paths.push(outcome.path);
      ratios.push(outcome.length / length!);
    }
    expect(paths.length).toBeGreaterThan(QUERIES / 4);
    expect(omplFirstTouch(program(), scene, paths, FINE)).toEqual(paths.map(() => undefined));
    expect(median(ratios)).toBeLessThan(1);
    if (process.env["SHOW_WORST"])
      process.stderr.write(
        `${problem.name}: ${paths.length} found, ${proved} proved to have no way, longest ratio ${Math.max(...ratios)}\n`,
      );
  });

  test(`none of OMPL's ${OMPL_RUNS} routes is certified where its own validator finds it closed every ${FINE} rad`, () => {
    const [runs] = omplPlans(program(), scene, OMPL_SEED, [{ start, goal, runs: OMPL_RUNS, limit: 10 }]) as [PlanRun[]];
    const paths = runs.flatMap(({ path }) => (path === undefined ? [] : [path]));
    const isCertified = certifier(scene);
    const certified = paths.map(isCertified);
    const closed = omplFirstTouch(program(), scene, paths, FINE).map((spot) => spot !== undefined);
    expect(certified.filter((clear, k) => clear && closed[k])).toEqual([]);
    // Both answers occur: OMPL looks every 0.02 rad only.
    expect(closed.filter(Boolean).length).toBeGreaterThan(0);
    expect(certified.filter((clear, k) => !clear && !closed[k]).length).toBeLessThanOrEqual(MOST_UNDECIDED);
  });
});
