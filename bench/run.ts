/** All benchmarks, one after the other in one run: `npm run bench`. Ends with 1 when a target is missed. */
import { spawnSync } from "node:child_process";
import os from "node:os";
import { formatBenchLine, meetsTarget } from "./bench-line.ts";

const revision = spawnSync("git", ["rev-parse", "--short", "HEAD"], { encoding: "utf8" }).stdout.trim();
console.log(
  `revision ${revision || "unknown"}, Node ${process.version}, ${os.cpus().length} x ${os.cpus()[0]?.model ?? "unknown"}`,
);

let missed = 0;
for (const name of [
  "kinematics",
  "inverse",
  "timing",
  "motion",
  "clearance",
  "meshes",
  "swept",
  "route",
  "cycle",
  "handling",
  "production",
  "automata",
  "proof",
  "check",
  "study",
]) {
  const { run } = await import(`./${name}.ts`);
  for (const line of await run()) {
    console.log(formatBenchLine(line));
    if (meetsTarget(line) === false) missed++;
  }
}
console.log(missed === 0 ? "every target met" : `${missed} targets missed`);
process.exitCode = missed === 0 ? 0 : 1;
