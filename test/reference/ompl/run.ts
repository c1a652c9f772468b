/** Asks the program of ompl.cpp. */
import { spawnSync } from "node:child_process";
import type { RouteScene } from "../../../src/route/types.ts";
import { sceneText } from "./scene-text.ts";

export type Path = readonly Float64Array[];

export interface PlanRun {
  readonly found: boolean;
  /** s */
  readonly plan: number;
  readonly simplify: number;
  /** Euclidean, rad; undefined like the path when none was found. */
  readonly length?: number;
  readonly path?: Path;
}

export interface PlanQuery {
  readonly start: Float64Array;
  readonly goal: Float64Array;
  readonly runs: number;
  /** Longest time of one run, s. */
  readonly limit: number;
}

/** Where along a path: number of the edge, and share of it. */
export interface Spot {
  readonly edge: number;
  readonly share: number;
}

/** OMPL checks the edges that it tries every so many rad. */
const CHECK_STEP = 0.02;

/** RRTConnect and simplification: for each query its runs. All draw from one series of random numbers, by the seed. */
export function omplPlans(binary: string, scene: RouteScene, seed: number, queries: readonly PlanQuery[]): PlanRun[][] {
  const commands = queries.map(
    ({ start, goal, runs, limit }) => `plan ${runs} ${limit} ${CHECK_STEP} ${start.join(" ")} ${goal.join(" ")}\n`,
  );
  const lines = ask(binary, scene, [`seed ${seed}\n`, ...commands]) as {
    found: boolean;
    plan_s: number;
    simplify_s: number;
    length?: number;
    path?: number[][];
  }[];
  const runs = lines.map(
    ({ found, plan_s, simplify_s, length, path }): PlanRun => ({
      found,
      plan: plan_s,
      simplify: simplify_s,
      ...(length !== undefined && { length }),
      ...(path !== undefined && { path: path.map((q) => Float64Array.from(q)) }),
    }),
  );
  return queries.map((query) => runs.splice(0, query.runs));
}

/** Whether any pair of bodies overlaps in each state, by FCL. */
export function fclTouches(binary: string, scene: RouteScene, states: readonly Float64Array[]): boolean[] {
  const [answer] = ask(binary, scene, [`states ${states.length}\n`, ...states.map((q) => `${q.join(" ")}\n`)]);
  return (answer as number[]).map((hit) => hit === 1);
}

/** Where OMPL's motion validator, looking every `step` rad, first finds each path not clear; undefined where it does not. */
export function omplFirstTouch(
  binary: string,
  scene: RouteScene,
  paths: readonly Path[],
  step: number,
): (Spot | undefined)[] {
  const answer = ask(binary, scene, [`paths ${step} ${paths.length}\n`, ...paths.map(pathText)]);
  return (answer as (Spot | null)[]).map((spot) => spot ?? undefined);
}

/** FCL's least distance, m (-1: overlap), over samples at most `step` rad apart along each path, and where. */
export function fclLeast(
  binary: string,
  scene: RouteScene,
  paths: readonly Path[],
  step: number,
): (Spot & { readonly least: number })[] {
  const answer = ask(binary, scene, [`least ${step} ${paths.length}\n`, ...paths.map(pathText)]);
  return answer as (Spot & { least: number })[];
}

const pathText = (path: Path) => `${path.length} ${path.map((q) => q.join(" ")).join(" ")}\n`;

function ask(binary: string, scene: RouteScene, commands: readonly string[]): unknown[] {
  const input = sceneText(scene) + commands.join("");
  const run = spawnSync(binary, { input, encoding: "utf8", maxBuffer: 1 << 28 });
  if (run.status !== 0) throw new Error(`the OMPL program failed (${run.status}, ${run.signal}): ${run.stderr}`);
  return run.stdout
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line));
}
