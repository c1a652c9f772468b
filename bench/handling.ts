/** Handling: a million trial insertions, and sizing everything that is handled in a cell whose motions are planned. */
import { performance } from "node:perf_hooks";
import { buildArm } from "../src/arm/index.ts";
import { sizeHandling } from "../src/check/handling/index.ts";
import { createMover, variantsOf } from "../src/check/index.ts";
import { simulate } from "../src/cycle/index.ts";
import { type Deviation, type EntrySizes, tryEntries } from "../src/handling/index.ts";
import { exampleCell } from "../test/cells/texts.ts";
import { type BenchLine, benchLine } from "./bench-line.ts";
import { median } from "./median.ts";

const INSERTIONS = 1_000_000;
const SIZES: EntrySizes = {
  hole: 0.0325,
  part: 0.032,
  holeTolerance: 0.0002,
  partTolerance: 0.0002,
  distribution: "normal",
  holeChamfer: 0.0002,
  partChamfer: 0,
  friction: 0.15,
};
/** Every kind of draw: three normal, two uniform and one triangular deviation, all with tilt. */
const DEVIATIONS: readonly Deviation[] = (
  [
    ["arm", 0.03, "normal"],
    ["tcp", 0.3, "normal"],
    ["frame", 0.4, "normal"],
    ["tray", 0.5, "uniform"],
    ["jaws", 0.1, "uniform"],
    ["stop", 0.2, "triangular"],
  ] as const
).map(([name, mm, distribution]) => ({ name, within: mm / 1000, tilt: 0.002, distribution }));

const RUNS = 5;

function timed(work: () => void): number {
  const times = Array.from({ length: RUNS }, () => {
    const begin = performance.now();
    work();
    return 1000 * (performance.now() - begin);
  });
  return median(times);
}

export function run(): BenchLine[] {
  let enters = Number.NaN;
  const insertions = timed(() => {
    const odds = tryEntries(SIZES, DEVIATIONS, INSERTIONS, 1);
    if (!Number.isNaN(enters) && odds.enters !== enters) throw new Error("trial insertions did not repeat themselves");
    enters = odds.enters;
  });
  const cell = exampleCell("lathe");
  const arm = buildArm(cell.arm);
  const mover = createMover(cell, arm);
  const runs = variantsOf(cell).map((variant) => simulate(cell, mover, { variant, pace: "nominal" }));
  const sized = timed(() => {
    sizeHandling(cell, arm, runs);
  });
  const moves = new Set(runs.flatMap((r) => r.moves.map(({ outcome }) => (outcome.ok ? outcome.motion : undefined))));
  return [
    benchLine(
      "1,000,000 trial insertions, 6 deviations with tilt",
      insertions,
      undefined,
      { us: 1e6 },
      `${(100 * enters).toFixed(4)} % enter, the same in every run`,
    ),
    benchLine(
      `grips, loads and seats of the lathe demo, ${moves.size} motions`,
      sized,
      undefined,
      { us: 1e6 },
      "motions planned before",
    ),
  ];
}
