/**
 * All branches of reachable random poses of two 6R arms, against one solution per pose by KDL's damped least squares (LMA)
 * from a random seed, in the same run; and the complete elimination on an arm without a closed form.
 */
import { spawnSync } from "node:child_process";
import { pathToFileURL } from "node:url";
import { buildArm, createInverse, forwardKinematics } from "../src/arm/index.ts";
import { identityPose, type Pose } from "../src/math/pose.ts";
import { describeDh, type TableRow } from "../test/arms/describe.ts";
import { mulberry32 } from "../test/arms/random.ts";
import { offsetWrist, sphericalWrist } from "./arms.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { buildKdl } from "./build-kdl.ts";

const POSES = 2000;
/** Turns of KDL and ours one after the other; the fastest turn of each counts. */
const TURNS = 5;
const PASSES = 10;
/** The 16-solution arm's table (Manseur & Doty, IJRR 1989, recalled from memory of the paper). */
const general: readonly TableRow[] = [
  { a: 0.3, alpha: Math.PI / 2, d: 0 },
  { a: 1, alpha: Math.PI / 180, d: 0 },
  { a: 0, alpha: Math.PI / 2, d: 0.2 },
  { a: 1.5, alpha: Math.PI / 180, d: 0 },
  { a: 0, alpha: Math.PI / 2, d: 0 },
  { a: 0, alpha: Math.PI / 180, d: 0 },
];

function measureArm(
  name: string,
  table: readonly TableRow[],
  target: BenchLine["target"],
  kdl: string | undefined,
  reason: string,
): BenchLine {
  const arm = buildArm(describeDh(name, table));
  const inverse = createInverse(arm);
  const result = inverse.result();
  const random = mulberry32(2024);
  const draw = () => Float64Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1));
  const known = Array.from({ length: POSES }, draw);
  const seeds = Array.from({ length: POSES }, draw);
  const poses: Pose[] = known.map((q) => forwardKinematics(arm, q, identityPose()));

  // Solved: every branch reproduces the pose, and the joint position the pose was made from is among them.
  const check = identityPose();
  let solved = 0,
    branches = 0;
  for (const [i, pose] of poses.entries()) {
    inverse.solve(pose, result);
    let met = result.exact,
      hit = false;
    for (let s = 0; s < result.count; s++) {
      const q = result.q.subarray(6 * s, 6 * s + 6);
      forwardKinematics(arm, q, check);
      for (let k = 0; k < 12; k++) if (!(Math.abs(check[k]! - pose[k]!) < 1e-9)) met = false;
      hit ||= q.every((x, k) => Math.abs(Math.sin((x - known[i]![k]!) / 2)) < 1e-6);
    }
    if (met && hit) solved++;
    branches += result.count;
  }

  const rows = table.map(({ a, alpha, d, theta }) => [a, alpha, d, theta ?? 0].join(" "));
  const goals = poses.map((pose, i) => [...pose.subarray(0, 12), ...seeds[i]!].join(" "));
  const input = [`arm 6`, ...rows, `poses ${POSES}`, ...goals, ""].join("\n");
  let ours = Number.POSITIVE_INFINITY,
    theirs = Number.POSITIVE_INFINITY,
    theirSolved = 0;
  for (let turn = 0; turn < TURNS; turn++) {
    if (kdl !== undefined) {
      const run = spawnSync(kdl, { input, encoding: "utf8" });
      if (run.status !== 0) throw new Error(`KDL bench program failed: ${run.stderr}`);
      const [median, , count] = run.stdout.trim().split(" ").map(Number) as [number, number, number];
      theirs = Math.min(theirs, median);
      theirSolved = count;
    }
    for (let pass = 0; pass < PASSES; pass++) {
      const start = performance.now();
      for (const pose of poses) inverse.solve(pose, result);
      ours = Math.min(ours, ((performance.now() - start) * 1000) / POSES);
    }
  }
  const share = (count: number) => `${((100 * count) / POSES).toFixed(1)} %`;
  const note = [
    `${(branches / POSES).toFixed(1)} branches per pose, solved ${share(solved)}`,
    kdl === undefined ? reason : `KDL one branch, solved ${share(theirSolved)}`,
  ].join("; ");
  return benchLine(`all branches, ${name}`, ours, kdl === undefined ? undefined : theirs, target, note);
}

/** All lines of this benchmark. */
export async function run(): Promise<BenchLine[]> {
  const kdl = buildKdl(new URL("inverse.cpp", import.meta.url).pathname);
  const binary = kdl.ok ? kdl.binary : undefined;
  const reason = kdl.ok ? "" : kdl.reason;
  return [
    measureArm("offset-wrist 6R", offsetWrist, { ratio: 25 }, binary, reason),
    measureArm("spherical-wrist 6R", sphericalWrist, { ratio: 25 }, binary, reason),
    measureArm("general 6R", general, { us: 1000 }, binary, reason),
  ];
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  for (const line of await run()) console.log(formatBenchLine(line));
}
