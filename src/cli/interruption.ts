/** What happens when the process is stopped from outside, or when nobody reads its output any more. */
import { ExitStatus } from "./exit-status.ts";
import { discardUnfinished } from "./whole-file.ts";

/** Longest wait for output under way when the process is stopped, ms. */
const PATIENCE = 1000;

/**
 * Ctrl-C and a request to end: unfinished files go, lines already handed over are written out, status 3. A second Ctrl-C
 * does not wait. A closed reader of the output (as in `millhand … | head`) ends the process quietly with status 0.
 */
export function watchInterruption(beforeMessage: () => void): void {
  let asked = false;
  const stop = () => {
    const leave = () => process.exit(ExitStatus.interrupted);
    if (asked) leave();
    asked = true;
    beforeMessage();
    discardUnfinished();
    process.stderr.write("millhand: interrupted\n");
    if (process.stdout.writableLength === 0) leave();
    process.stdout.once("drain", leave);
    setTimeout(leave, PATIENCE);
  };
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.on(signal, stop);
  for (const stream of [process.stdout, process.stderr]) {
    stream.on("error", (error: NodeJS.ErrnoException) => {
      discardUnfinished();
      if (error.code === "EPIPE") process.exit(ExitStatus.done);
      if (stream === process.stdout) process.stderr.write(`millhand: cannot write the output: ${error.message}\n`);
      process.exit(ExitStatus.unusable);
    });
  }
}
