/**
 * Threads that share a study. Each loads the cell once and keeps it, so tasks are no more than numbers; that, and one entry
 * file for every thread of the program, is why these are plain worker threads and no pool of a library.
 */
import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import { JobFailure } from "../job.ts";
import type { StudyAnswer, StudyTask, StudyThreadData } from "./messages.ts";

export interface StudyPool {
  readonly size: number;
  /** Answers in the order of the tasks. Rejects with JobFailure at the first bug; the pool is then ended. */
  run(tasks: Iterable<StudyTask>, onAnswer: (answer: Exclude<StudyAnswer, { kind: "failure" }>) => void): Promise<void>;
  end(): Promise<void>;
}

export const defaultThreads = (): number => Math.max(1, availableParallelism());

type Given = Exclude<StudyAnswer, { kind: "failure" }>;

/** What is being run: answers come in any order and are handed on in that of the tasks. */
interface Run {
  readonly queue: Iterator<StudyTask>;
  readonly onAnswer: (answer: Given) => void;
  readonly done: () => void;
  readonly fail: (error: unknown) => void;
  readonly waiting: Map<number, Given>;
  asked: number;
  given: number;
}

/** @param entry file that every thread starts at */
export function startPool(entry: URL, size: number, data: StudyThreadData): StudyPool {
  const threads = Array.from({ length: size }, () => new Worker(entry, { workerData: data }));
  const numbers = new Map<Worker, number>();
  let run: Run | undefined;
  let broken: Error | undefined;

  const fail = (error: Error) => {
    broken ??= error;
    run?.fail(error);
    run = undefined;
  };
  const next = (thread: Worker) => {
    if (run === undefined) return;
    const task = run.queue.next();
    if (task.done !== true) {
      numbers.set(thread, run.asked++);
      thread.postMessage(task.value);
    } else if (run.given === run.asked) {
      const { done } = run;
      run = undefined;
      done();
    }
  };
  for (const thread of threads) {
    thread.on("message", (answer: StudyAnswer) => {
      if (answer.kind === "failure") return fail(new JobFailure(answer.message, answer.stack));
      if (run === undefined) return;
      const { waiting, onAnswer } = run;
      waiting.set(numbers.get(thread)!, answer);
      try {
        for (let ready = waiting.get(run.given); ready !== undefined; ready = waiting.get(run.given)) {
          waiting.delete(run.given++);
          onAnswer(ready);
        }
      } catch (error) {
        return fail(error instanceof Error ? error : new Error(String(error)));
      }
      next(thread);
    });
    thread.on("error", fail);
    thread.on("exit", (code) => fail(new JobFailure(`a thread of the study ended early (${code})`, "")));
  }
  return {
    size,
    run: (tasks, onAnswer) =>
      new Promise<void>((done, reject) => {
        if (broken !== undefined) return reject(broken);
        run = { queue: tasks[Symbol.iterator](), onAnswer, done, fail: reject, waiting: new Map(), asked: 0, given: 0 };
        for (const thread of threads) next(thread);
      }),
    async end() {
      run = undefined;
      await Promise.all(threads.map((thread) => thread.terminate()));
    },
  };
}
