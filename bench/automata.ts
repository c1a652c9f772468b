/** Exploration of automata: states a second against SPIN on the same untimed tending cell, and Fischer's protocol in dense time. */
import { pathToFileURL } from "node:url";
import { createNetwork, explore } from "../src/proof/index.ts";
import { fischer } from "../test/automata/protocols.ts";
import { asProcesses } from "../test/reference/spin/promela.ts";
import { askSpin, spinMissing } from "../test/reference/spin/run.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { tendingNetwork } from "./tending-network.ts";

const TURNS = 3;

/** All states of a tending cell, one line; µs per state. */
function tendingLine(machines: number, stock: number): BenchLine {
  const { network, queries } = createNetwork(tendingNetwork(machines, stock), [
    { name: "everything", kind: "never", that: "false" },
  ]);
  const missing = spinMissing();
  const model = asProcesses(network);
  let ours = Number.POSITIVE_INFINITY;
  let theirs = Number.POSITIVE_INFINITY;
  let states = 0;
  let theirStates = 0;
  for (let turn = 0; turn < TURNS; turn++) {
    if (missing === undefined) {
      const answer = askSpin(model, ["-O2", "-DSAFETY", "-DNOREDUCE"], ["-m4000000", "-E", "-w23"]);
      theirStates = answer.states;
      theirs = Math.min(theirs, (answer.seconds * 1e6) / answer.states);
    }
    const before = performance.now();
    const result = explore(network, queries, { reduce: false });
    states = result.states;
    ours = Math.min(ours, ((performance.now() - before) * 1000) / states);
  }
  const note =
    missing ??
    `${states} states, SPIN ${theirStates}; ${(1 / ours).toFixed(2)} and ${(1 / theirs).toFixed(2)} million states a second`;
  return benchLine(
    `state of a tending cell, ${machines} machines`,
    ours,
    missing === undefined ? theirs : undefined,
    { ratio: 0.5 },
    note,
  );
}

function fischerLine(processes: number, symmetric: boolean, limit: number): BenchLine {
  const { network, queries } = createNetwork(fischer({ processes, set: 2, wait: 2, strict: true, symmetric }), [
    { name: "exclusion", kind: "never", that: "count(process.critical) > 1" },
  ]);
  let best = Number.POSITIVE_INFINITY;
  let states = 0;
  for (let turn = 0; turn < TURNS; turn++) {
    const before = performance.now();
    states = explore(network, queries).states;
    best = Math.min(best, (performance.now() - before) * 1000);
  }
  const name = `Fischer's protocol, ${processes} processes${symmetric ? ", symmetric" : ""}`;
  return benchLine(name, best, undefined, { us: limit }, `${states} symbolic states`);
}

/** All lines of this benchmark. */
export async function run(): Promise<BenchLine[]> {
  return [
    tendingLine(3, 12),
    tendingLine(4, 6),
    fischerLine(5, false, 2e6),
    fischerLine(7, false, 20e6),
    fischerLine(12, true, 2e6),
  ];
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href)
  for (const line of await run()) console.log(formatBenchLine(line));
