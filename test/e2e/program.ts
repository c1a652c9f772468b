/** Runs the built program as its users do. */
import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";
import { join } from "node:path";
import { inject } from "vitest";

export const root = join(import.meta.dirname, "..", "..");

export interface Ended {
  readonly stdout: string;
  readonly stderr: string;
  /** Exit status; null when a signal ended it. */
  readonly status: number | null;
}

export interface RunOptions {
  readonly input?: string;
  readonly env?: Readonly<Record<string, string>>;
  readonly cwd?: string;
}

/** Starts the program without waiting for it. */
export function start(args: readonly string[], options: RunOptions = {}): ChildProcessWithoutNullStreams {
  const { NO_COLOR: _, FORCE_COLOR: __, ...env } = process.env;
  return spawn(process.execPath, [inject("program"), ...args], {
    cwd: options.cwd ?? root,
    env: { ...env, ...options.env },
  });
}

/** What a started program wrote, when it has ended. */
export function ended(child: ChildProcessWithoutNullStreams): Promise<Ended> {
  let stdout = "";
  let stderr = "";
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    stdout += text;
  });
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    stderr += text;
  });
  return new Promise((resolve, reject) => {
    child.on("error", reject);
    child.on("close", (status) => resolve({ stdout, stderr, status }));
  });
}

/** Runs the program to its end. */
export function run(args: readonly string[], options: RunOptions = {}): Promise<Ended> {
  const child = start(args, options);
  child.stdin.on("error", () => {});
  child.stdin.end(options.input ?? "");
  return ended(child);
}
