/** The layer rule is no decoration: a small house with three offences is refused for exactly these. */
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";

const root = fileURLToPath(new URL("../..", import.meta.url));

function violations(folder: string): string[] {
  const run = spawnSync(
    process.execPath,
    [
      `${root}node_modules/dependency-cruiser/bin/dependency-cruise.mjs`,
      "src",
      "--config",
      `${root}.dependency-cruiser.cjs`,
      "--output-type",
      "json",
    ],
    { cwd: folder, encoding: "utf8", maxBuffer: 1 << 26 },
  );
  const { summary } = JSON.parse(run.stdout) as { summary: { violations: { rule: { name: string }; from: string }[] } };
  return summary.violations.map((v) => `${v.from}: ${v.rule.name}`).sort();
}

describe("the layer rule", () => {
  it("refuses imports upward, sideways and of Node built-ins in the core, and lets imports downward pass", () => {
    expect(violations(fileURLToPath(new URL("house", import.meta.url)))).toEqual([
      "src/cell/reads-files.ts: core-is-pure",
      "src/cycle/looks-sideways.ts: floor-cycle-looks-down-only",
      "src/math/looks-up.ts: floor-math-looks-down-only",
    ]);
  });
});
