/** `check` of the lathe demo: from process start to verdict, and warm in one process. Needs `npm run build` first. */
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { loadCell } from "../src/cell/index.ts";
import { type CheckOptions, ClearanceMemory, checkCell } from "../src/check/index.ts";
import { MotionMemory } from "../src/motion/index.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { median } from "./median.ts";

const root = fileURLToPath(new URL("..", import.meta.url));
const folder = path.join(root, "examples/lathe");
const COLD_RUNS = 7;
const WARM_RUNS = 20;
const WARM_UP = 5;

/** A fresh process each time: what a person waits for. */
function cold(): number {
  const times = Array.from({ length: COLD_RUNS }, () => {
    const start = performance.now();
    const run = spawnSync(process.execPath, [
      path.join(root, "dist/cli/main.js"),
      "check",
      path.join(folder, "cell.yaml"),
      "--json",
    ]);
    if (run.status !== 0) throw new Error(`check ended with ${run.status}: ${run.stderr}`);
    return (performance.now() - start) * 1000;
  });
  return median(times);
}

/**
 * Load and check again and again in one process. With memories, motions of the check before are neither planned nor measured again, as when a
 * cell is checked after every edit; without, nothing but compiled code is kept.
 */
function warm(memory: Pick<CheckOptions, "memory" | "clearanceMemory">): number {
  const source = { read: (file: string) => ({ text: readFileSync(path.join(folder, file), "utf8") }) };
  const once = (): number => {
    const start = performance.now();
    const loaded = loadCell("cell.yaml", source, {});
    if (!loaded.ok) throw new Error("the demo cell does not load");
    const outcome = checkCell(loaded.value, memory);
    if (!outcome.ok || outcome.report.verdict !== "feasible") throw new Error("the demo cell is not feasible");
    return (performance.now() - start) * 1000;
  };
  for (let i = 0; i < WARM_UP; i++) once();
  return median(Array.from({ length: WARM_RUNS }, once));
}

export async function run(): Promise<BenchLine[]> {
  return [
    benchLine("check of the lathe demo, process start to verdict", cold(), undefined, { us: 1_500_000 }),
    benchLine("check of the lathe demo, warm, every motion planned anew", warm({}), undefined, { us: 300_000 }),
    benchLine(
      "check of the lathe demo, warm, motions and clearances remembered",
      warm({ memory: new MotionMemory(), clearanceMemory: new ClearanceMemory() }),
      undefined,
      { us: 300_000 },
    ),
  ];
}

if (import.meta.url === pathToFileURL(process.argv[1]!).href)
  for (const line of await run()) console.log(formatBenchLine(line));
