/** Simulating whole runs, with motions that cost nothing to plan: what the cycle itself takes, figures and slack included. */
import { performance } from "node:perf_hooks";
import { simulate } from "../src/cycle/index.ts";
import { range, timedMover } from "../test/cycle/builders.ts";
import { randomCell } from "../test/cycle/random-cell.ts";
import { type BenchLine, benchLine } from "./bench-line.ts";

const MACHINE = {
  door: true,
  doorTime: range(1, 2),
  toggles: false,
  chuckTime: range(0.4, 0.6),
  cutting: range(10, 14),
  byMachine: false,
  travel: [1, 2, 1.5, 1] as [number, number, number, number],
};

/** Least time of a few runs, µs: what disturbs them only adds. */
function measure(passes: number, machines: number, times: number): { us: number; steps: number } {
  const cell = randomCell({
    machines: Array.from({ length: machines }, () => MACHINE),
    scan: 0.012,
    jaws: range(0.2, 0.4),
    jawsFedBack: false,
    passes,
    button: true,
  });
  const mover = timedMover();
  let us = Number.POSITIVE_INFINITY;
  let steps = 0;
  for (let i = 0; i < times; i++) {
    const begin = performance.now();
    steps = simulate(cell, mover, { variant: "part", pace: "nominal" }).steps;
    us = Math.min(us, 1000 * (performance.now() - begin));
  }
  return { us, steps };
}

export function run(): BenchLine[] {
  const tray = measure(24, 2, 100);
  const long = measure(1000, 1, 10);
  const perStep = (m: { us: number; steps: number }) => `${(m.us / m.steps).toFixed(2)} µs per step`;
  return [
    benchLine(`cycle of 24 passes, ${tray.steps} steps`, tray.us, undefined, { us: 5000 }, perStep(tray)),
    // No worse than linear: at most four times the time per step of the short run, whose memory is never full.
    benchLine(
      `cycle of 1,000 passes, ${long.steps} steps`,
      long.us,
      undefined,
      { us: 4 * (tray.us / tray.steps) * long.steps },
      perStep(long),
    ),
  ];
}
