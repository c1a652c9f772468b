/** One thread of a study: loads the cell from the texts it is given and answers tasks until it is ended. */
import { parentPort } from "node:worker_threads";
import { loadCell } from "../../cell/index.ts";
import { readUrdf } from "../../exchange/index.ts";
import { checkedLine, createStudyRun, rowLine } from "../../study/index.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import type { StudyAnswer, StudyTask, StudyThreadData } from "./messages.ts";

export async function serveStudy({ cell: path, texts, study }: StudyThreadData): Promise<void> {
  const port = parentPort;
  if (port === null) throw new Error("serveStudy runs only in a thread started for a study");
  const send = (answer: StudyAnswer) => port.postMessage(answer);
  const guarded = <T>(work: () => T): T | undefined => {
    try {
      return work();
    } catch (error) {
      const known = error instanceof Error ? error : new Error(String(error));
      send({ kind: "failure", message: `${known.name}: ${known.message}`, stack: known.stack ?? "" });
      return undefined;
    }
  };
  const source = {
    read: (name: string) => {
      const text = texts.get(name);
      return text === undefined ? ({ problem: "missing", detail: "not among the texts read" } as const) : { text };
    },
  };
  const loaded = loadCell(path, source, { readArm: readUrdf });
  if (!loaded.ok) throw new Error("a cell that was read before cannot be read again");
  const library = await loadMeshFiles(loaded.value, path);
  const run = guarded(() => createStudyRun(loaded.value, study, library));
  if (run === undefined) return;
  port.on("message", (task: StudyTask) =>
    guarded(() => {
      if (task.kind === "check") {
        const checked = run.check(task.layout);
        if (checked === undefined) throw new Error("a check that nobody cancelled was cancelled");
        send({ kind: "check", layout: task.layout, line: checkedLine(checked) });
        return;
      }
      const lines: string[] = [];
      for (let layout = task.from; layout < task.to; layout++) lines.push(rowLine(study, run.row(layout)));
      send({ kind: "rows", from: task.from, lines });
    }),
  );
}
