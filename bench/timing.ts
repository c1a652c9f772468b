/**
 * Timing laws on their own: point-to-point of six joints, the law without jerk limits on 1,000 grid points of a 1 m line,
 * and jerk-limited re-timing. The line is that of the offset-wrist arm of the bench scene, its joints followed before the
 * clock starts; torque coefficients are computed inside the measured time. Wall-clock medians.
 */
import { pathToFileURL } from "node:url";
import { buildArm, createDynamics, forwardKinematics } from "../src/arm/index.ts";
import { compose, identityPose, translation } from "../src/math/pose.ts";
import { createFollower } from "../src/motion/path/follow.ts";
import { lineCurve } from "../src/motion/path/tool-curve.ts";
import { createToolRates } from "../src/motion/path/tool-rates.ts";
import {
  type AxisState,
  type PathLimits,
  type PathTorque,
  straightJointMotion,
  synchronisedMotion,
  type TimedPath,
  timePath,
} from "../src/motion/timing/index.ts";
import { benchTcp, offsetWrist } from "../test/arms/tending.ts";
import { wavyPath } from "../test/timing/paths.ts";
import { seeded } from "../test/timing/random.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { medianTime } from "./median.ts";

const free = Number.POSITIVE_INFINITY;

/** Line of the tool point along -x with torque rows of a 3 kg load; s in m. */
function armLine(length: number): { path: TimedPath; torque: PathTorque } {
  const arm = buildArm(offsetWrist());
  const tool = createToolRates(arm);
  tool.setTool(benchTcp);
  // From in front of the base aside, then across in front of it.
  const away = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708);
  const ahead = compose(forwardKinematics(arm, away, identityPose()), benchTcp);
  const from = compose(translation(-0.45, -0.5, 0), ahead);
  const to = compose(translation(-0.45, length - 0.5, 0), ahead);
  const follower = createFollower(arm, tool);
  const options = { step: 0.02, fastest: new Float64Array(6).fill(500) };
  const start = follower.follow(lineCurve(ahead, from), away, options).end.slice();
  const { curve: joints, stop } = follower.follow(lineCurve(from, to), start, options);
  if (joints === undefined || stop !== undefined) throw new Error(`the line is not followed to its end: ${stop}`);
  const dynamics = createDynamics(arm);
  const [q, q1, q2, q3, none] = Array.from({ length: 5 }, () => new Float64Array(6)) as Float64Array[];
  const payload = { mass: 3, centre: [0, 0, 0.1], inertia: [0.01, 0.01, 0.01, 0, 0, 0] } as const;
  const weightless = [0, 0, 0] as const;
  return {
    path: {
      channels: 6,
      length,
      breaks: [],
      evaluate: (s, c, c1, c2, c3) => joints.evaluate(s, c, c1, c2, c3),
    },
    torque: {
      rows: 6,
      limit: arm.torque.map((limit) => Math.min(limit, 150)),
      coefficients(s, a, b, c) {
        joints.evaluate(s, q!, q1!, q2!, q3!);
        dynamics.torque(q!, none!, q1!, weightless, payload, a);
        dynamics.torque(q!, q1!, q2!, weightless, payload, b);
        dynamics.torque(q!, none!, none!, [0, 0, -9.81], payload, c);
      },
    },
  };
}

export async function run(): Promise<BenchLine[]> {
  const time = (work: () => void, batches: number, perBatch: number) => {
    medianTime(work, 5, perBatch);
    return medianTime(work, batches, perBatch);
  };
  const random = seeded(7);
  const lots = Array.from({ length: 64 }, () => Array.from({ length: 6 }, () => 4 * random() - 2));
  const [v, a, j] = [3, 12, 150].map((limit) => new Array<number>(6).fill(limit)) as [number[], number[], number[]];
  let next = 0;
  const straight = () => straightJointMotion(lots[next++ & 63]!, lots[next & 63]!, v, a, j);
  const limits = v.map((velocity, i) => ({ velocity, acceleration: a[i]!, jerk: j[i]! }));
  const rest = lots.map((q) => q.map((p): AxisState => ({ p, v: 0, a: 0 })));
  const moving = lots.map((q) => q.map((p): AxisState => ({ p, v: 2 * random() - 1, a: 4 * random() - 2 })));
  const between = (from: AxisState[][], to: AxisState[][]) => () => {
    const motion = synchronisedMotion(from[next++ & 63]!, to[next & 63]!, limits);
    if (!motion.ok) throw new Error("refused");
  };
  const all = (limit: number): Float64Array => new Float64Array(6).fill(limit);
  const plan = (path: TimedPath, along: PathLimits) => () => {
    const timing = timePath(path, along);
    if (!timing.ok) throw new Error(timing.reason);
  };
  const long = armLine(1);
  const short = armLine(0.3);
  const second = { velocity: all(3), acceleration: all(12), jerk: all(free), groups: [], torque: long.torque };
  const third = { velocity: all(3), acceleration: all(12), jerk: all(150), groups: [], torque: short.torque };
  const wave = { velocity: all(2), acceleration: all(8), jerk: all(100), groups: [] };
  return [
    benchLine("6 joints point to point, straight in joint space", time(straight, 25, 2000), undefined, { us: 20 }),
    benchLine("6 joints point to point, each on its own law", time(between(rest, rest), 25, 400), undefined, {
      us: 20,
    }),
    benchLine("6 joints between moving states", time(between(moving, moving), 25, 200), undefined, { us: 100 }),
    benchLine("1 m line, 1,000 grid points, 6 joints + torque", time(plan(long.path, second), 25, 4), undefined, {
      us: 5000,
    }),
    benchLine("300 mm line re-timed, 6 joints + torque, jerk", time(plan(short.path, third), 25, 4), undefined, {
      us: 5000,
    }),
    benchLine("wavy path of 6 joints re-timed, jerk", time(plan(wavyPath(6, 5), wave), 25, 4), undefined, { us: 5000 }),
  ];
}

if (import.meta.url === pathToFileURL(process.argv[1]!).href)
  for (const line of await run()) console.log(formatBenchLine(line));
