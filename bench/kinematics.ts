/** Forward kinematics, Jacobian and inverse dynamics of two 6R arms, against KDL's C++ in the same run. */
import { spawnSync } from "node:child_process";
import { pathToFileURL } from "node:url";
import { buildArm, createDynamics, forwardKinematics, geometricJacobian } from "../src/arm/index.ts";
import { identityPose } from "../src/math/pose.ts";
import { describeDh, type TableRow } from "../test/arms/describe.ts";
import { mulberry32 } from "../test/arms/random.ts";
import { offsetWrist, sphericalWrist } from "./arms.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { buildKdl } from "./build-kdl.ts";

const STATES = 2000;
/** Passes over all states in one turn, and turns of KDL and ours one after the other; the fastest pass of each counts. */
const PASSES = 15;
const TURNS = 6;

const works = ["forward kinematics", "Jacobian", "inverse dynamics"] as const;

interface States {
  readonly q: readonly Float64Array[];
  readonly qd: readonly Float64Array[];
  readonly qdd: readonly Float64Array[];
}

/** Keeps results alive, so that no work can be left out. */
let sink = 0;

function fastest(work: (i: number) => number): number {
  let best = Number.POSITIVE_INFINITY;
  for (let pass = 0; pass < PASSES; pass++) {
    const start = performance.now();
    let sum = 0;
    for (let i = 0; i < STATES; i++) sum += work(i);
    best = Math.min(best, ((performance.now() - start) * 1000) / STATES);
    sink += sum;
  }
  return best;
}

function drawStates(n: number): States {
  const random = mulberry32(2024);
  const list = (span: number) =>
    Array.from({ length: STATES }, () => Float64Array.from({ length: n }, () => span * (2 * random() - 1)));
  return { q: list(Math.PI), qd: list(2), qdd: list(8) };
}

function kdlInput(table: readonly TableRow[], { q, qd, qdd }: States): string {
  const rows = table.map(({ a, alpha, d, theta, inertia }) =>
    [a, alpha, d, theta ?? 0, inertia!.mass, ...inertia!.centre, ...inertia!.tensor].join(" "),
  );
  const states = q.map((values, i) => [...values, ...qd[i]!, ...qdd[i]!].join(" "));
  return [`arm ${table.length}`, ...rows, `states ${STATES}`, ...states, `time ${PASSES}`, ""].join("\n");
}

function measureArm(name: string, table: readonly TableRow[], kdl: string | undefined, reason: string): BenchLine[] {
  const arm = buildArm(describeDh(name, table));
  const states = drawStates(arm.n);
  const { q, qd, qdd } = states;
  const input = kdlInput(table, states);
  const pose = identityPose(),
    jacobian = new Float64Array(6 * arm.n),
    torque = new Float64Array(arm.n);
  const gravity = Float64Array.of(0, 0, -9.81);
  const dynamics = createDynamics(arm);
  const ours = works.map(() => Number.POSITIVE_INFINITY);
  const theirs = works.map(() => Number.POSITIVE_INFINITY);
  for (let turn = 0; turn < TURNS; turn++) {
    if (kdl !== undefined) {
      const run = spawnSync(kdl, { input, encoding: "utf8" });
      if (run.status !== 0) throw new Error(`KDL bench program failed: ${run.stderr}`);
      for (const [k, us] of run.stdout.trim().split(" ").map(Number).entries()) theirs[k] = Math.min(theirs[k]!, us);
    }
    const mine = [
      fastest((i) => forwardKinematics(arm, q[i]!, pose)[3]!),
      fastest((i) => geometricJacobian(arm, q[i]!, undefined, jacobian)[0]!),
      fastest((i) => dynamics.torque(q[i]!, qd[i]!, qdd[i]!, gravity, undefined, torque)[0]!),
    ];
    for (const [k, us] of mine.entries()) ours[k] = Math.min(ours[k]!, us);
  }
  return works.map((work, k) =>
    benchLine(
      `${work}, ${name}`,
      ours[k]!,
      kdl === undefined ? undefined : theirs[k]!,
      { ratio: 1 },
      kdl === undefined ? reason : undefined,
    ),
  );
}

/** All lines of this benchmark. */
export async function run(): Promise<BenchLine[]> {
  const kdl = buildKdl(new URL("kinematics.cpp", import.meta.url).pathname);
  const binary = kdl.ok ? kdl.binary : undefined;
  const reason = kdl.ok ? "" : kdl.reason;
  return [
    ...measureArm("offset-wrist 6R", offsetWrist, binary, reason),
    ...measureArm("spherical-wrist 6R", sphericalWrist, binary, reason),
  ];
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  for (const line of await run()) console.log(formatBenchLine(line));
  if (Number.isNaN(sink)) process.exitCode = 1;
}
