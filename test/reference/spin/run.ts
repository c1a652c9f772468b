/** SPIN run on a model: Debian's package spin, and a C compiler. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** Why SPIN cannot be asked; undefined when it can. */
export function spinMissing(): string | undefined {
  if (spawnSync("spin", ["-V"]).status !== 0) return "spin is not installed (Debian: apt-get install spin)";
  if (spawnSync("gcc", ["--version"]).status !== 0) return "gcc is not installed";
  return undefined;
}

export interface SpinAnswer {
  /** An assertion can be violated. */
  readonly violated: boolean;
  readonly states: number;
  readonly transitions: number;
  readonly seconds: number;
}

/**
 * @param flags of the compiler: -DNOREDUCE for all states, -O2 for speed
 * @throws Error when SPIN does not take the model
 */
export function askSpin(model: string, flags: readonly string[], options: readonly string[] = []): SpinAnswer {
  const folder = mkdtempSync(join(tmpdir(), "millhand-spin-"));
  try {
    writeFileSync(join(folder, "model.pml"), model);
    const run = (command: string, args: readonly string[]) => {
      const done = spawnSync(command, args, { cwd: folder, encoding: "utf8", maxBuffer: 1 << 26 });
      if (done.status !== 0) throw new Error(`${command} ${args.join(" ")}:\n${done.stdout}${done.stderr}`);
      return done.stdout;
    };
    run("spin", ["-a", "model.pml"]);
    run("gcc", [...flags, "-w", "-o", "pan", "pan.c"]);
    const before = performance.now();
    const out = run("./pan", options);
    const wall = (performance.now() - before) / 1000;
    const number = (pattern: RegExp) => Number(pattern.exec(out)?.[1] ?? Number.NaN);
    return {
      violated: /errors: [1-9]/.test(out),
      states: number(/([\d.e+]+) states, stored/),
      transitions: number(/([\d.e+]+) transitions/),
      seconds: Number(/elapsed time ([\d.e+-]+) seconds/.exec(out)?.[1] ?? wall),
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
