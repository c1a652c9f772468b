/** `millhand clearance`: joint values in, the least distance of any two bodies out. */
import { createStateClearance, type StateClearance } from "../../check/index.ts";
import { newDistance } from "../../clearance/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { type ExitStatus, UnusableInput } from "../exit-status.ts";
import type { LineWork } from "../json-lines.ts";
import { answerLines } from "../line-command.ts";
import { readNumbers } from "../line-values.ts";
import { loadMeshFiles } from "../mesh-files.ts";

export interface ClearanceOptions {
  readonly cell: string;
  readonly asDocument: boolean;
}

/** Answers every line of the standard input. @throws UnusableInput when the cell cannot be read or has nothing to compare */
export async function clearance(options: ClearanceOptions): Promise<ExitStatus> {
  const cell = loadCellFile(options.cell);
  const outcome = createStateClearance(cell, await loadMeshFiles(cell, options.cell));
  if (!outcome.ok) throw new UnusableInput(`${options.cell}: ${outcome.reason}`);
  const state = outcome.clearance;
  const q = new Float64Array(state.n);
  const out = newDistance();
  const shape = `joint values of ${state.n} joints, rad`;
  const messages = messagesOf(state);
  const told = messages.length === 0 ? "" : `,"messages":${JSON.stringify(messages)}`;
  const work: LineWork = (record) => {
    const problem = readNumbers(record, "q", q, shape);
    if (problem !== undefined) return problem;
    const distance = state.measure(q, out);
    if (!Number.isFinite(distance)) return { found: "q beyond what can be computed", expected: "joint values" };
    return `"clearance_m":${distance},"pair":${JSON.stringify(state.pairs[state.pair])}${told}`;
  };
  return answerLines(work, options.asDocument, noteOf(state));
}

/** What every answer must be read with. */
function messagesOf({ meshes, alwaysOverlap }: StateClearance): string[] {
  return [
    ...meshes.map((name) => `not considered: ${name}, a mesh file`),
    ...alwaysOverlap.map(([a, b]) => `not considered: ${a} with ${b}, which overlap in every state`),
  ];
}

function noteOf(state: StateClearance): string | undefined {
  const { neverMeet } = state;
  const notes = messagesOf(state);
  if (neverMeet.length > 0)
    notes.push(`left out, since they meet in no state: ${neverMeet.map(([a, b]) => `${a} with ${b}`).join("; ")}`);
  return notes.length === 0 ? undefined : notes.join("\nmillhand: ");
}
