/** The thread's side of a job: computes it and sends back progress, the result or what went wrong. */
import { parentPort, workerData } from "node:worker_threads";
import { ExitStatus, UnusableInput } from "./exit-status.ts";
import type { Job, JobMessage, JobResult } from "./job.ts";
import type { StudyThreadData } from "./study/messages.ts";

export type Progress = (share: number, doing: string) => void;

/** Answers the job that this thread was started with. */
export async function serveJob(): Promise<void> {
  const port = parentPort;
  if (port === null) throw new Error("serveJob runs only in a thread started for a job");
  const data = workerData as Job | StudyThreadData;
  if (data.kind === "study thread") return (await import("./study/study-thread.ts")).serveStudy(data);
  const send = (message: JobMessage) => port.postMessage(message);
  const progress: Progress = (share, doing) => send({ kind: "progress", share, doing });
  try {
    send({ kind: "result", result: await compute(data, progress) });
  } catch (error) {
    if (error instanceof UnusableInput) {
      send({
        kind: "result",
        result: { status: ExitStatus.unusable, stdout: "", stderr: `millhand: ${error.message}\n` },
      });
    } else {
      const known = error instanceof Error ? error : new Error(String(error));
      send({ kind: "failure", message: `${known.name}: ${known.message}`, stack: known.stack ?? "" });
    }
  }
}

async function compute(job: Job, progress: Progress): Promise<JobResult> {
  if (job.kind === "check") return (await import("./commands/check.ts")).check(job, progress);
  if (job.kind === "recovery") return (await import("./commands/recovery.ts")).recovery(job, progress);
  if (job.kind === "prove") return (await import("./commands/prove.ts")).prove(job, progress);
  if (job.kind === "size") return (await import("./commands/size.ts")).size(job, progress);
  if (job.kind === "guard") return (await import("./commands/guard.ts")).guard(job, progress);
  if (job.kind === "automata") return (await import("./commands/automata.ts")).automata(job, progress);
  return (await import("./commands/cycle.ts")).cycle(job, progress);
}
