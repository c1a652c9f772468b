/** Least distance along whole motions, certified, against the least of the states sampled every millisecond. */
import { pathToFileURL } from "node:url";
import { linkFrames } from "../src/arm/index.ts";
import {
  createBodySet,
  createSweptScene,
  newDistance,
  type SweptMotion,
  straightMotion,
} from "../src/clearance/index.ts";
import { sceneStates } from "../test/clearance/bench-scene.ts";
import { benchProblem } from "../test/clearance/route-problem.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";

const MOTIONS = 100;
/** Share of the way from one random free state to the next. */
const SHARE = 0.25;
const TOLERANCE = 0.0005;
const SAMPLES = 1000;
const PASSES = 4;

let sink = 0;

/** Fastest of the passes over all motions, µs per motion. */
function fastest(motions: readonly SweptMotion[], work: (motion: SweptMotion) => number): number {
  let best = Number.POSITIVE_INFINITY;
  for (let pass = 0; pass < PASSES; pass++) {
    const start = performance.now();
    for (const motion of motions) sink += work(motion);
    best = Math.min(best, ((performance.now() - start) * 1000) / motions.length);
  }
  return best;
}

/** All lines of this benchmark. */
export async function run(): Promise<BenchLine[]> {
  const { scene } = benchProblem();
  const { arm, bodies } = scene;
  const pairs = scene.pairs.filter((pair) => pair.some((i) => bodies[i]!.frame >= 0));
  const swept = createSweptScene(arm, bodies, [], pairs);
  // The bench scene has its bodies on links only: the frames of the links will do.
  const set = createBodySet(bodies, arm.n, pairs);
  const links = new Float64Array(12 * (arm.n + 1)),
    carriers = links.subarray(12),
    q = new Float64Array(arm.n),
    out = newDistance();
  const stateOf = (motion: SweptMotion, time: number) => {
    motion.position(time, q);
    linkFrames(arm, q, links);
    set.place(carriers);
  };
  const sampled = (motion: SweptMotion) => {
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k <= SAMPLES; k++) {
      stateOf(motion, k / SAMPLES);
      least = Math.min(least, set.minimumDistance(out));
    }
    return least;
  };
  const sampledClear = (motion: SweptMotion) => {
    for (let k = 0; k <= SAMPLES; k++) {
      stateOf(motion, k / SAMPLES);
      if (set.collides()) return 0;
    }
    return 1;
  };

  // Straight motions of one second, each from a random free state towards the next, that keep clear of everything.
  const motions: SweptMotion[] = [];
  const free = sceneStates().filter((state) => {
    linkFrames(arm, state, links);
    set.place(carriers);
    return !set.collides();
  });
  for (let i = 0; motions.length < MOTIONS; i++) {
    const from = free[i]!,
      to = free[i + 1]!;
    const motion = straightMotion(
      from,
      from.map((v, k) => v + SHARE * (to[k]! - v)),
    );
    if (swept.clear(motion, 0)) motions.push(motion);
  }

  let states = 0,
    over = 0;
  for (const motion of motions) {
    const told = swept.minimum(motion, { tolerance: TOLERANCE });
    states += told.states;
    over = Math.max(over, sampled(motion) - told.upper);
  }
  const least = fastest(motions, (motion) => swept.minimum(motion, { tolerance: TOLERANCE }).lower);
  const clear = fastest(motions, (motion) => (swept.clear(motion, 0) ? 1 : 0));
  const note = `${(states / motions.length).toFixed(0)} states looked at in the mean; sampling tells up to ${(1000 * over).toFixed(2)} mm too much`;
  return [
    benchLine(
      `motion, least distance certified to 0.5 mm, ${pairs.length} pairs, 1 s, ${MOTIONS} motions`,
      least,
      fastest(motions, sampled),
      { ratio: 10 },
      note,
    ),
    benchLine(
      `motion, certified clear, ${pairs.length} pairs, 1 s, ${MOTIONS} motions`,
      clear,
      fastest(motions, sampledClear),
      { ratio: 10 },
      "the reference looks every millisecond and certifies nothing",
    ),
  ];
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  for (const line of await run()) console.log(formatBenchLine(line));
  if (Number.isNaN(sink)) process.exitCode = 1;
}
