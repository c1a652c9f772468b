/**
 * The interlock proof: all demo cells with all faults, and how the proof grows with the length of the routine and the number of
 * machines. With `--plot` the growth is written to docs/explanation/interlock-proof-growth.svg.
 */
import { spawnSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import path from "node:path";
import { performance } from "node:perf_hooks";
import { pathToFileURL } from "node:url";
import type { Cell } from "../src/cell/index.ts";
import { checkCell, proveRuns } from "../src/check/index.ts";
import { proveCell } from "../src/proof/index.ts";
import { exampleCell } from "../test/cells/texts.ts";
import { range } from "../test/cycle/builders.ts";
import { randomCell } from "../test/cycle/random-cell.ts";
import { motionsOf } from "../test/proof/small.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { growthPlot, type Point } from "./proof-plot.ts";

const DEMOS = ["lathe", "mill", "two-lathes"];
const MIB = 2 ** 20;

interface DemoFigures {
  readonly seconds: number;
  readonly states: number;
  readonly explored: number;
  readonly undecided: number;
}

/** Proofs alone: motions and zones are planned before the clock starts. */
function proveDemos(): DemoFigures {
  let seconds = 0;
  let states = 0;
  let explored = 0;
  let undecided = 0;
  for (const name of DEMOS) {
    const cell = exampleCell(name);
    const outcome = checkCell(cell, { proof: "none" });
    if (!outcome.ok) throw new Error(`${name} was not checked`);
    const begin = performance.now();
    const proof = proveRuns(cell, outcome.arm, outcome.runs, {});
    seconds += (performance.now() - begin) / 1000;
    states += proof.states;
    for (const { verdict } of [...proof.nominal, ...proof.faults]) {
      explored++;
      if (verdict === "undecided") undecided++;
    }
  }
  return { seconds, states, explored, undecided };
}

/** In a process of its own, so that its memory can be told. */
function demosApart(): { readonly figures: DemoFigures; readonly mib: number } {
  const child = spawnSync(process.execPath, [...process.execArgv, import.meta.filename, "--demos"], {
    encoding: "utf8",
  });
  if (child.status !== 0) throw new Error(`the demos were not proved: ${child.stderr}`);
  return JSON.parse(child.stdout);
}

const MACHINE = {
  door: true,
  doorTime: range(1, 2),
  toggles: false,
  chuckTime: range(0.4, 0.6),
  cutting: range(60, 64),
  byMachine: false,
  travel: [1, 2, 1.5, 1] as [number, number, number, number],
};

function grown(machines: number, moreMotions: number): Cell {
  const cell = randomCell({
    machines: Array.from({ length: machines }, () => MACHINE),
    scan: 0.012,
    jaws: range(0.2, 0.4),
    jawsFedBack: true,
    passes: 10,
    button: true,
  });
  if (moreMotions === 0) return cell;
  const load = cell.routines.get("load0")!;
  const first = load.steps[0]!;
  const more = Array.from({ length: moreMotions }, (_, i) => ({
    ...first,
    id: `more[${i}]`,
    path: ["routines", "load0"],
  }));
  const routines = new Map(cell.routines).set("load0", { ...load, steps: [...more, ...load.steps] });
  return { ...cell, routines, locate: (p) => cell.locate(p) };
}

const stepsIn = (cell: Cell): number =>
  [...cell.routines.values()].filter(({ name }) => name !== "main").reduce((sum, { steps }) => sum + steps.length, 0);

/** One proof without faults. */
function measure(cell: Cell, at: number): Point {
  const begin = performance.now();
  const proof = proveCell(cell, { variants: new Map([["part", motionsOf(cell)]]), faults: [], memory: 512 * MIB });
  const seconds = (performance.now() - begin) / 1000;
  return { at, seconds, states: proof.states, decided: proof.nominal.every(({ verdict }) => verdict !== "undecided") };
}

export function growth(): { readonly steps: Point[]; readonly machines: Point[] } {
  measure(grown(1, 0), 0);
  const least = stepsIn(grown(1, 0));
  return {
    steps: [0, 25, 50, 100, 175].map((more) => measure(grown(1, more), least + more)),
    machines: [1, 2, 3, 4].map((machines) => measure(grown(machines, 0), machines)),
  };
}

export function run(): BenchLine[] {
  const { figures, mib } = demosApart();
  const { seconds, states, explored, undecided } = figures;
  const of = `${explored} explorations, ${states} states, ${undecided} undecided`;
  const { steps, machines } = growth();
  const told = (points: readonly Point[], unit: string) =>
    points.map((p) => `${p.at} ${unit}: ${p.states}${p.decided ? "" : ", undecided"}`).join("; ");
  const [short, long] = [steps[0]!, steps.at(-1)!];
  return [
    benchLine("all demo cells with all faults proved", seconds, undefined, { most: 10 }, of, "s"),
    benchLine("memory of that process, planning included", mib, undefined, { most: 1024 }, undefined, "MiB"),
    // No worse than twice linear.
    benchLine(
      `states from ${short.at} to ${long.at} steps`,
      long.states / short.states,
      undefined,
      { most: (2 * long.at) / short.at },
      told(steps, "steps"),
      "times",
    ),
    benchLine(
      "proof of the last number of machines that was decided",
      Math.max(...machines.filter(({ decided }) => decided).map((p) => p.seconds)),
      undefined,
      { most: 60 },
      told(machines, "machines"),
      "s",
    ),
  ];
}

if (process.argv.includes("--demos")) {
  const figures = proveDemos();
  // Kibibytes on Linux.
  console.log(JSON.stringify({ figures, mib: process.resourceUsage().maxRSS / 1024 }));
} else if (process.argv.includes("--plot")) {
  const file = path.join(import.meta.dirname, "../docs/explanation/interlock-proof-growth.svg");
  const { steps, machines } = growth();
  writeFileSync(file, growthPlot(steps, machines));
  for (const points of [steps, machines]) console.table(points);
} else if (import.meta.url === pathToFileURL(process.argv[1]!).href)
  for (const line of run()) console.log(formatBenchLine(line));
