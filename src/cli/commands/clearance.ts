/** `millhand clearance`: joint values in, the least distance of any two bodies out. */

import type { Cell } from "../../cell/index.ts";
import { cellBodies, createStateClearance, meshFindings, type StateClearance } from "../../check/index.ts";
import { type MeshLibrary, newDistance } from "../../clearance/index.ts";
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
  const library = await loadMeshFiles(cell, options.cell);
  const outcome = createStateClearance(cell, library);
  if (!outcome.ok) throw new UnusableInput(`${options.cell}: ${outcome.reason}`);
  const state = outcome.clearance;
  const q = new Float64Array(state.n);
  const out = newDistance();
  const shape = `joint values of ${state.n} joints, rad`;
  const meshes = meshNotes(cell, library);
  const messages = [...messagesOf(state), ...meshes.grave];
  const told = messages.length === 0 ? "" : `,"messages":${JSON.stringify(messages)}`;
  const work: LineWork = (record) => {
    const problem = readNumbers(record, "q", q, shape);
    if (problem !== undefined) return problem;
    const distance = state.measure(q, out);
    if (!Number.isFinite(distance)) return { found: "q beyond what can be computed", expected: "joint values" };
    return `"clearance_m":${distance},"pair":${JSON.stringify(state.pairs[state.pair])}${told}`;
  };
  return answerLines(work, options.asDocument, noteOf(state, [...meshes.grave, ...meshes.small]));
}

/** What every answer must be read with. */
function messagesOf({ meshes, alwaysOverlap }: StateClearance): string[] {
  return [
    ...meshes.map((name) => `not considered: ${name}, whose mesh file is not read`),
    ...alwaysOverlap.map(([a, b]) => `not considered: ${a} with ${b}, which overlap in every state`),
  ];
}

/** What is wrong with meshes: what makes answers doubtful, and what need only be known. */
export function meshNotes(cell: Cell, library: MeshLibrary): { readonly grave: string[]; readonly small: string[] } {
  const grave: string[] = [],
    small: string[] = [];
  for (const mesh of cellBodies(cell, library).read)
    for (const { severity, message, mend } of meshFindings(mesh.name, mesh))
      (severity === "caution" ? small : grave).push(`${message}. ${mend}`);
  return { grave, small };
}

function noteOf(state: StateClearance, meshes: readonly string[]): string | undefined {
  const { neverMeet } = state;
  const notes = [...messagesOf(state), ...meshes];
  if (neverMeet.length > 0)
    notes.push(`left out, since they meet in no state: ${neverMeet.map(([a, b]) => `${a} with ${b}`).join("; ")}`);
  return notes.length === 0 ? undefined : notes.join("\nmillhand: ");
}
