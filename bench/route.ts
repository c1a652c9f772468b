/** Routes into two machines against OMPL's planner and simplification in the same run, and whether memory stays flat. */
import { pathToFileURL } from "node:url";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import { createSweptScene, newDistance, straightMotion } from "../src/clearance/index.ts";
import { createRouter, type RouteOutcome, type Router } from "../src/route/index.ts";
import { sceneFrames, sceneSet, sceneStates } from "../test/clearance/bench-scene.ts";
import { millProblem } from "../test/clearance/mill-scene.ts";
import { benchProblem, type RouteProblem, withinLimits } from "../test/clearance/route-problem.ts";
import { omplFirstTouch, omplPlans, type Path, type PlanRun } from "../test/reference/ompl/run.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { buildOmpl } from "./build-ompl.ts";
import { median } from "./median.ts";

const RUNS = 50;
/** Routes by other seeds before ours are timed: the compiler of the JavaScript engine has then seen the program. */
const WARM_UP = 20;
/** Turns of OMPL and ours one after the other; the better median of each counts. */
const TURNS = 3;
const OMPL_SEED = 4242;
/** Longest run of OMPL, s. */
const LIMIT = 10;
/** Steps of the later checks, rad: of OMPL's paths and of ours. */
const RECHECK_THEIRS = 0.001;
const RECHECK_OURS = 0.0005;

const CHECKS = 1_000_000;
const PLANS = 200;
/** MB that may be more after them than before. */
const FLAT = 0.5;

/** Whether every edge of a path is certified by the floor of swept clearance, which shares no code of its bounds with the planner. */
function certifier({ scene }: RouteProblem): (path: Path) => boolean {
  const moves = ([i, j]: readonly [number, number]) => scene.bodies[i]!.frame >= 0 || scene.bodies[j]!.frame >= 0;
  const swept = createSweptScene(scene.arm, scene.bodies, [], scene.pairs.filter(moves));
  return (path) => path.slice(1).every((to, k) => swept.clear(straightMotion(path[k]!, to), scene.margin));
}

function ourRuns(router: Router, { start, goal }: RouteProblem, firstSeed: number, runs: number) {
  return Array.from({ length: runs }, (_, k): { outcome: RouteOutcome; us: number } => {
    const before = performance.now();
    const outcome = router.find({ start, goals: [goal], seed: firstSeed + k });
    return { outcome, us: (performance.now() - before) * 1000 };
  });
}

interface Figures {
  /** Median time of one route, µs. */
  readonly us: number;
  /** Infinity for each run that found none. */
  readonly lengths: readonly number[];
  readonly paths: readonly Path[];
  readonly note: string;
}

/** Both series in turns. */
function measure(problem: RouteProblem, binary: string | undefined): { ours: Figures; theirs: Figures | undefined } {
  const { scene, start, goal } = problem;
  const router = createRouter(scene);
  ourRuns(router, problem, 1000, WARM_UP);
  let ours: Figures | undefined, theirs: Figures | undefined;
  for (let turn = 0; turn < TURNS; turn++) {
    if (binary !== undefined) {
      const runs = omplPlans(binary, scene, OMPL_SEED, [{ start, goal, runs: RUNS, limit: LIMIT }])[0]!;
      const us = median(runs.map(({ plan, simplify }) => (plan + simplify) * 1e6));
      const ms = (part: (run: PlanRun) => number) => `${(median(runs.map(part)) * 1000).toFixed(1)} ms`;
      if (theirs === undefined || us < theirs.us)
        theirs = {
          us,
          lengths: runs.map(({ length }) => length ?? Number.POSITIVE_INFINITY),
          paths: runs.flatMap(({ path }) => (path === undefined ? [] : [path])),
          note: `plan ${ms(({ plan }) => plan)}, simplification ${ms(({ simplify }) => simplify)}`,
        };
    }
    const runs = ourRuns(router, problem, 0, RUNS);
    const us = median(runs.map((run) => run.us));
    if (ours === undefined || us < ours.us)
      ours = {
        us,
        lengths: runs.map(({ outcome }) => (outcome.ok ? outcome.length : Number.POSITIVE_INFINITY)),
        paths: runs.flatMap(({ outcome }) => (outcome.ok ? [outcome.path] : [])),
        note: `ours at most ${(Math.max(...runs.map((run) => run.us)) / 1000).toFixed(1)} ms`,
      };
  }
  return { ours: ours!, theirs };
}

function problemLines(problem: RouteProblem, binary: string | undefined, reason: string | undefined): BenchLine[] {
  const { scene, name } = problem;
  const { ours, theirs } = measure(problem, binary);
  const isCertified = certifier(problem);
  const judge = ({ paths }: Figures, step: number) => {
    const touches = binary === undefined ? [] : omplFirstTouch(binary, scene, paths, step);
    const isBad = (path: Path, k: number) =>
      touches[k] !== undefined || !isCertified(path) || !withinLimits(scene, path);
    return {
      touching: touches.filter((spot) => spot !== undefined).length,
      faults: RUNS - paths.length + paths.filter(isBad).length,
    };
  };
  const mine = judge(ours, RECHECK_OURS),
    others = theirs && judge(theirs, RECHECK_THEIRS);
  const longest = `ours at most ${Math.max(...ours.lengths).toFixed(2)}`;
  return [
    benchLine(
      `route into the ${name}, median of ${RUNS} seeds`,
      ours.us,
      theirs?.us,
      { ratio: 1 },
      theirs ? `${ours.note}; OMPL ${theirs.note}` : reason,
    ),
    benchLine(
      `its length, median, against the best of OMPL's ${RUNS}`,
      median(ours.lengths),
      theirs && Math.min(...theirs.lengths),
      { ratio: 1 },
      theirs ? `${longest}; OMPL median ${median(theirs.lengths).toFixed(2)}` : longest,
      "rad",
    ),
    benchLine(
      `of ${RUNS} not found, not certified or touching`,
      mine.faults,
      others?.faults,
      { most: 0 },
      others
        ? `FCL, looking every ${RECHECK_OURS} and ${RECHECK_THEIRS} rad, finds touching: ours ${mine.touching}, OMPL ${others.touching}`
        : reason,
      "routes",
    ),
  ];
}

/** Bytes in use after everything that nobody needs is gone. */
function memory(collect: () => void): number {
  for (let k = 0; k < 4; k++) collect();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return heapUsed + arrayBuffers;
}

function memoryLine(): BenchLine {
  setFlagsFromString("--expose-gc");
  const collect = runInNewContext("gc") as () => void;
  const set = sceneSet(),
    states = sceneStates(),
    frames = new Float64Array(84),
    out = newDistance(),
    problem = benchProblem(),
    router = createRouter(problem.scene);
  let sum = 0;
  const work = (checks: number, plans: number) => {
    for (let k = 0; k < checks; k++) {
      set.place(sceneFrames(states[k % states.length]!, frames));
      sum += set.collides() ? 1 : set.minimumDistance(out);
    }
    for (const { outcome } of ourRuns(router, problem, 0, plans)) sum += outcome.states;
  };
  work(CHECKS / 20, PLANS / 10);
  const before = memory(collect);
  work(CHECKS, PLANS);
  const grown = (memory(collect) - before) / 1e6;
  if (Number.isNaN(sum)) throw new Error("a distance was not a number");
  return benchLine(
    `memory grown by 1 million state checks and ${PLANS} routes`,
    Math.max(0, grown),
    undefined,
    { most: FLAT },
    `${(before / 1e6).toFixed(1)} MB before, ${grown.toFixed(3)} MB more after`,
    "MB",
  );
}

/** All lines of this benchmark. */
export function run(): BenchLine[] {
  const ompl = buildOmpl(new URL("../test/reference/ompl/ompl.cpp", import.meta.url).pathname);
  const [binary, reason] = ompl.ok ? [ompl.binary, undefined] : [undefined, ompl.reason];
  return [...[benchProblem(), millProblem()].flatMap((problem) => problemLines(problem, binary, reason)), memoryLine()];
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href)
  for (const line of run()) console.log(formatBenchLine(line));
