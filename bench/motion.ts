/**
 * Planning of whole motions of the offset-wrist arm of the bench scene: following, checks, timing, tool speed and torque along
 * the way, singularity meter left out (it is read on demand). Wall-clock medians.
 */
import { pathToFileURL } from "node:url";
import { buildArm, forwardKinematics } from "../src/arm/index.ts";
import { compose, identityPose, translation } from "../src/math/pose.ts";
import { createPlanner, type MotionRequest, type Segment } from "../src/motion/index.ts";
import { createFollower } from "../src/motion/path/follow.ts";
import { lineCurve } from "../src/motion/path/tool-curve.ts";
import { createToolRates } from "../src/motion/path/tool-rates.ts";
import { benchTcp, offsetWrist } from "../test/arms/tending.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { medianTime } from "./median.ts";

const arm = buildArm(offsetWrist());
const start = Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708);
const away = Float64Array.of(-1.4468, -2.1723, -1.6803, -0.8597, 1.5708, 0.124);
const from = compose(forwardKinematics(arm, start, identityPose()), benchTcp);
const at = (x: number, y: number, z: number) => compose(translation(x, y, z), from);
const free = Number.POSITIVE_INFINITY;
const full = { fraction: 1, toolSpeed: free, toolAcceleration: free, constant: false };
const careful = { ...full, toolSpeed: 0.5, toolAcceleration: 4 };
const line = (x: number, y: number, z: number, blend = 0): Segment => ({
  kind: "line",
  to: at(x, y, z),
  blend,
  speed: careful,
});
const joint = (to: Float64Array, blend = 0): Segment => ({ kind: "joint", to, blend, speed: full });

export async function run(): Promise<BenchLine[]> {
  const planner = createPlanner(arm);
  const plan = (segments: Segment[], loaded = false) => {
    const request: MotionRequest = {
      arm,
      start,
      segments,
      flangeFromTcp: benchTcp,
      tool: { speed: 4, acceleration: 40, jerk: free, turnSpeed: free, turnAcceleration: free },
      payload: loaded ? { mass: 3, centre: [0, 0, 0.1], inertia: [0.01, 0.01, 0.01, 0, 0, 0] } : undefined,
      gravity: [0, 0, -9.81],
      lineStep: 0.005,
    };
    return () => {
      const outcome = planner.plan(request);
      if (!outcome.ok) throw new Error(outcome.failure.message);
    };
  };
  const tool = createToolRates(arm);
  tool.setTool(benchTcp);
  const follower = createFollower(arm, tool);
  const curve = lineCurve(from, at(-0.2, 0, 0));
  const options = { step: 0.04, fastest: new Float64Array(6).fill(500) };
  const follow = () => {
    if (follower.follow(curve, start, options).stop !== undefined) throw new Error("the line is not followed");
  };
  const time = (work: () => void, batches: number, perBatch: number) => {
    medianTime(work, 5, perBatch);
    return medianTime(work, batches, perBatch);
  };
  return [
    benchLine("joints along a 200 mm line, exact to the 3rd derivative", time(follow, 25, 100), undefined, { us: 100 }),
    benchLine("joint motion planned", time(plan([joint(away)]), 25, 40), undefined, { us: 300 }),
    benchLine("joint motion planned, with torques", time(plan([joint(away)], true), 25, 40), undefined, { us: 300 }),
    benchLine("200 mm line planned", time(plan([line(-0.2, 0, 0)]), 25, 4), undefined, { us: 1500 }),
    benchLine(
      "three lines and a joint motion, blended, planned",
      time(plan([line(-0.2, 0, 0, 0.02), line(-0.2, 0.1, 0, 0.02), line(-0.2, 0.1, 0.1, 0.05), joint(away)]), 25, 4),
      undefined,
      { us: 6000 },
    ),
  ];
}

if (import.meta.url === pathToFileURL(process.argv[1]!).href)
  for (const line of await run()) console.log(formatBenchLine(line));
