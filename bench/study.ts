/** Placement studies: 10,000 base placements of the lathe demo through the program, and how far its estimates are off. */
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { performance } from "node:perf_hooks";
import { buildArm } from "../src/arm/index.ts";
import { createMover, variantsOf } from "../src/check/index.ts";
import { simulate } from "../src/cycle/index.ts";
import { MotionMemory } from "../src/motion/index.ts";
import { createStudyRun, type Study, USUAL_OBJECTIVES, varyCell } from "../src/study/index.ts";
import { exampleCell } from "../test/cells/texts.ts";
import { type BenchLine, benchLine } from "./bench-line.ts";

const root = join(import.meta.dirname, "..");
/** 25 x 20 x 20 placements on a floor of 480 by 380 mm, turned by up to 45° either way. */
const PLACEMENTS = 10_000;
const GRID = [
  ...["--base-x", "-240 to 240 mm, 25", "--base-y", "-190 to 190 mm, 20"],
  ...["--base-turn", "-45 to 45 deg, 20"],
];
/** Layouts that work, compared with the simulation of motions planned anew. */
const COMPARED = 24;

export function run(): BenchLine[] {
  const begin = performance.now();
  const main = join(root, "dist", "cli", "main.js");
  const args = [main, "study", join(root, "examples", "lathe", "cell.yaml"), ...GRID];
  const { status, stdout } = spawnSync(process.execPath, [...args, "--checks", "0", "--threads", "2", "--json"], {
    encoding: "utf8",
    maxBuffer: 1e8,
  });
  const seconds = (performance.now() - begin) / 1000;
  const document = JSON.parse(stdout || "{}") as { layouts?: number; counts?: Record<string, number> };
  if (status !== 0 || !(document.layouts! >= PLACEMENTS))
    throw new Error("the study of the benchmark did not end well");
  const counts = Object.entries(document.counts!).map(([verdict, count]) => `${count} ${verdict}`);
  const { worst, disorder, count } = accuracy();
  return [
    benchLine(
      `study of ${PLACEMENTS} base placements, lathe demo, 2 threads`,
      seconds,
      undefined,
      { most: 60 },
      `process start to summary; ${counts.join(", ")}`,
      "s",
    ),
    benchLine(
      `estimated cycle time, largest error over ${count} layouts`,
      100 * worst,
      undefined,
      { most: 1 },
      "share of the simulated cycle time",
      "%",
    ),
    benchLine(
      `estimated cycle time, disorder over ${count} layouts`,
      disorder,
      undefined,
      { most: 0.15 },
      "1 less the rank correlation with the simulated cycle time (Spearman)",
      "of 1",
    ),
  ];
}

/** Cycle times of sampled layouts that work, estimated and simulated with every motion planned. */
export function accuracy(): { readonly worst: number; readonly disorder: number; readonly count: number } {
  const cell = exampleCell("lathe");
  const axis = (along: "x" | "y" | "turn", most: number) => ({
    name: `base ${along}`,
    change: { kind: "base" as const, along },
    values: [-most, most],
    continuous: true,
  });
  const study: Study = {
    title: "accuracy",
    axes: [axis("turn", 0.8), axis("x", 0.24), axis("y", 0.19)],
    sampling: { kind: "halton", count: 2000, seed: 1 },
    objectives: USUAL_OBJECTIVES,
    leastClearance: undefined,
    stand: undefined,
    checks: 0,
    variants: undefined,
  };
  const run = createStudyRun(cell, study);
  const memory = new MotionMemory();
  const arm = buildArm(cell.arm);
  const quantity = (variant: string) =>
    (cell.production?.batches ?? []).reduce((sum, batch) => sum + (batch.part === variant ? batch.quantity : 0), 0);
  const variants = variantsOf(cell);
  const total = variants.reduce((sum, variant) => sum + quantity(variant), 0);
  const pairs: { readonly estimate: number; readonly simulated: number }[] = [];
  for (let i = run.layouts.firstOfSample; i < run.layouts.count && pairs.length < COMPARED; i++) {
    const row = run.row(i);
    if (row.verdict !== "works") continue;
    const varied = varyCell(cell, study, row.values);
    const mover = createMover(varied, arm, memory);
    let simulated = 0;
    for (const variant of variants) {
      const { period, moves } = simulate(varied, mover, { variant, pace: "nominal" });
      simulated += moves.every(({ outcome }) => outcome.ok) ? (period * quantity(variant)) / total : Number.NaN;
    }
    if (!Number.isNaN(simulated)) pairs.push({ estimate: row.cycle_s, simulated });
  }
  const worst = Math.max(...pairs.map(({ estimate, simulated }) => Math.abs(estimate - simulated) / simulated));
  return {
    worst,
    disorder:
      1 -
      rankCorrelation(
        pairs.map(({ estimate }) => estimate),
        pairs.map(({ simulated }) => simulated),
      ),
    count: pairs.length,
  };
}

/** Spearman's: the correlation of the ranks. */
function rankCorrelation(a: readonly number[], b: readonly number[]): number {
  const ranks = (values: readonly number[]) => {
    const order = values.map((_, i) => i).sort((i, j) => values[i]! - values[j]!);
    const rank = new Array<number>(values.length);
    for (const [place, i] of order.entries()) rank[i] = place;
    return rank;
  };
  const [x, y] = [ranks(a), ranks(b)];
  const mean = (a.length - 1) / 2;
  const sum = (u: readonly number[], v: readonly number[]) =>
    u.reduce((total, value, i) => total + (value - mean) * (v[i]! - mean), 0);
  return sum(x, y) / Math.sqrt(sum(x, x) * sum(y, y));
}
