/**
 * Long work runs in a thread of its own, so that Ctrl-C is answered at once and the progress bar moves however busy the
 * computation is. A job and its result are plain data.
 */
import { Worker } from "node:worker_threads";
import type { Pace } from "../cycle/types.ts";
import type { ExitStatus } from "./exit-status.ts";
import type { Layout } from "./terminal.ts";

export type PictureFormat = "svg" | "png";

export interface ProductionWishes {
  readonly days: number;
  readonly replications: number;
  readonly seed: number;
  readonly showDays: boolean;
  readonly showMoney: boolean;
  /** Which figure the tornado and its picture are of. */
  readonly tornado: "npv" | "costPerPart";
  /** Other cell files, and variations in words. */
  readonly compare: readonly string[];
  readonly vary: readonly string[];
}

export type Job =
  | {
      readonly kind: "check";
      readonly cell: string;
      readonly json: boolean;
      /** Also make the page, dated with this day. */
      readonly page: { readonly date: string } | undefined;
      /** Also draw the moment of the least clearance. */
      readonly picture?: PictureFormat | undefined;
      readonly layout: Layout;
    }
  | {
      readonly kind: "cycle";
      readonly cell: string;
      readonly json: boolean;
      readonly pace: Pace;
      readonly variant: string | undefined;
      /** Days, money and alternatives in place of the chart. */
      readonly production: ProductionWishes | undefined;
      /** Also draw the tornado. */
      readonly picture: PictureFormat | undefined;
      readonly layout: Layout;
    }
  | {
      readonly kind: "size";
      readonly cell: string;
      readonly json: boolean;
      readonly variant: string | undefined;
      readonly layout: Layout;
    }
  | { readonly kind: "guard"; readonly cell: string; readonly json: boolean; readonly layout: Layout }
  | {
      readonly kind: "recovery";
      readonly cell: string;
      readonly json: boolean;
      readonly variant: string | undefined;
      /** Only this step, or the steps of this routine. */
      readonly step: string | undefined;
      /** MiB. */
      readonly memory: number;
      /** Also make the cards as a page, dated with this day. */
      readonly cards: { readonly date: string } | undefined;
      readonly layout: Layout;
    }
  | {
      readonly kind: "prove";
      readonly cell: string;
      readonly json: boolean;
      /** Names of the faults that are supposed; undefined: all. */
      readonly faults: readonly string[] | undefined;
      readonly variant: string | undefined;
      /** MiB. */
      readonly memory: number;
      /** Also draw what goes wrong first. */
      readonly picture: PictureFormat | undefined;
      /** Only the names of the faults are asked for. */
      readonly listFaults: boolean;
      readonly layout: Layout;
    }
  | {
      readonly kind: "automata";
      readonly file: string;
      readonly json: boolean;
      readonly trace: "shortest" | "fastest";
      /** MiB. */
      readonly memory: number;
      /** The one query that is asked for; all when undefined. */
      readonly query: string | undefined;
      readonly layout: Layout;
    };

export interface JobResult {
  readonly status: ExitStatus;
  readonly stdout: string;
  /** Messages, lines ending in newlines. */
  readonly stderr: string;
  readonly page?: string;
  /** Undefined where there is nothing to draw. */
  readonly picture?: string | Uint8Array;
}

/** What a job's thread tells while it works and at its end. */
export type JobMessage =
  | { readonly kind: "progress"; readonly share: number; readonly doing: string }
  | { readonly kind: "result"; readonly result: JobResult }
  /** A bug: thrown inside the computation. */
  | { readonly kind: "failure"; readonly message: string; readonly stack: string };

/** An error from inside a job's thread, with the stack it had there. */
export class JobFailure extends Error {
  override readonly name = "JobFailure";
  constructor(message: string, stack: string) {
    super(message);
    this.stack = stack;
  }
}

/** Runs a job in a new thread that starts at `entry`. */
export function runJob(entry: URL, job: Job, onProgress: (share: number, doing: string) => void): Promise<JobResult> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(entry, { workerData: job });
    worker.on("message", (message: JobMessage) => {
      if (message.kind === "progress") onProgress(message.share, message.doing);
      else if (message.kind === "failure") reject(new JobFailure(message.message, message.stack));
      else resolve(message.result);
    });
    worker.on("error", (error) => reject(error));
    worker.on("exit", (code) => reject(new JobFailure(`the computation ended early (${code})`, "")));
  });
}
