#!/usr/bin/env node
/** Entry of the program, and of the threads that it starts for long work. */
import { isMainThread } from "node:worker_threads";

if (isMainThread) {
  const { runCommandLine } = await import("./command-line.ts");
  await runCommandLine(process.argv.slice(2), new URL(import.meta.url));
} else {
  const { serveJob } = await import("./job-thread.ts");
  await serveJob();
}
