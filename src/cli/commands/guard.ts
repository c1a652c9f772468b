/** `millhand guard`: figures for the risk assessment of a cell. */
import { guardCell, SCHEMA_VERSION } from "../../check/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus } from "../exit-status.ts";
import { guardText } from "../guard-text.ts";
import type { Job, JobResult } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { loadMeshFiles } from "../mesh-files.ts";

/** Computes them. @throws UnusableInput when the cell cannot be read */
export async function guard(job: Extract<Job, { kind: "guard" }>, progress: Progress): Promise<JobResult> {
  const cell = loadCellFile(job.cell);
  const meshes = await loadMeshFiles(cell, job.cell);
  const outcome = guardCell(cell, { meshes, onProgress: progress });
  // Nobody asks for the work to be cancelled: the thread is ended instead.
  if (!outcome.ok) return { status: ExitStatus.interrupted, stdout: "", stderr: "" };
  const findings = outcome.findings.map(({ place, ...rest }) => ({ ...rest, ...place }));
  return {
    status: findings.some((f) => f.severity === "error") ? ExitStatus.findings : ExitStatus.done,
    stdout: job.json
      ? `${JSON.stringify({ schemaVersion: SCHEMA_VERSION, cell: cell.name, findings, guarding: outcome.report }, null, 2)}\n`
      : guardText(cell.name, outcome.report, findings, job.layout),
    stderr: "",
  };
}
