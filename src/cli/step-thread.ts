/** Reads STEP files in a thread of their own, since the geometry kernel blocks; it is loaded only when there is such a file. */
import { createRequire } from "node:module";
import { Worker } from "node:worker_threads";
import { type MeshFile, meshOfStep, refuseStep, STEP_DEFLECTION, type StepPart } from "../exchange/index.ts";

/** What the thread runs, as text so that it needs no file beside the program. */
const THREAD = `
const { parentPort, workerData } = require("node:worker_threads");
const { kernel, metres, radians } = workerData;
let said = [];
const note = (text) => { if (said.length < 20) said.push(String(text)); };
const started = require(kernel)({ print: note, printErr: note });
parentPort.on("message", async (bytes) => {
  said = [];
  try {
    const read = (await started).ReadStepFile(bytes, {
      linearUnit: "meter",
      linearDeflectionType: "absolute_value",
      linearDeflection: metres,
      angularDeflection: radians,
    });
    const parts = read.success ? read.meshes.map((mesh) => ({
      positions: Float64Array.from(mesh.attributes.position.array),
      indices: Uint32Array.from(mesh.index.array),
    })) : undefined;
    parentPort.postMessage({ parts, said: said.join(" "), usable: true });
  } catch (error) {
    parentPort.postMessage({ said: said.join(" ") || String(error), usable: false });
  }
});
`;

interface Answer {
  readonly parts?: readonly StepPart[];
  readonly said: string;
  /** Whether the kernel may be asked again: not after a fault inside it. */
  readonly usable: boolean;
}

/** Loading the kernel takes longer than most files, so its thread is kept. */
let idle: Worker | undefined;

/** Never rejects for what is in the file. */
export async function readStep(bytes: Uint8Array, file: string): Promise<MeshFile> {
  const refused = refuseStep(bytes, file);
  if (refused !== undefined) return refused;
  const worker = idle ?? startThread();
  idle = undefined;
  worker.ref();
  const answer = await ask(worker, bytes);
  if (answer.usable && idle === undefined) {
    // The process may end while the thread waits.
    worker.unref();
    idle = worker;
  } else await worker.terminate();
  return meshOfStep(answer.parts, answer.said, file);
}

function startThread(): Worker {
  const kernel = createRequire(import.meta.url).resolve("occt-import-js");
  const { metres, radians } = STEP_DEFLECTION;
  return new Worker(THREAD, { eval: true, workerData: { kernel, metres, radians } });
}

function ask(worker: Worker, bytes: Uint8Array): Promise<Answer> {
  return new Promise<Answer>((resolve) => {
    const failed = (error: unknown) =>
      done({ said: error instanceof Error ? error.message : String(error), usable: false });
    const ended = () => done({ said: "the geometry kernel ended early", usable: false });
    const done = (answer: Answer) => {
      worker.off("message", done).off("error", failed).off("exit", ended);
      resolve(answer);
    };
    worker.on("message", done).on("error", failed).on("exit", ended);
    worker.postMessage(bytes);
  });
}
