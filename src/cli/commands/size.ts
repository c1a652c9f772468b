/** `millhand size`: what grips, jaws, joints and seats are asked for, and what they can give. */
import { sizeCell, variantsOf } from "../../check/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Job, JobResult } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import { sizeText } from "../size-text.ts";

/** Sizes the handling. @throws UnusableInput when the cell cannot be read, or has no part or no such part */
export async function size(job: Extract<Job, { kind: "size" }>, progress: Progress): Promise<JobResult> {
  const cell = loadCellFile(job.cell);
  if (job.variant !== undefined && !cell.parts.has(job.variant))
    throw new UnusableInput(
      `${job.cell}: --variant: found ${job.variant}; expected one of ${[...cell.parts.keys()].join(", ")}`,
    );
  const meshes = await loadMeshFiles(cell, job.cell);
  const report = sizeCell(cell, {
    variants: job.variant === undefined ? variantsOf(cell) : [job.variant],
    meshes,
    onProgress: progress,
  });
  return {
    status: report.findings.some((f) => f.severity === "error") ? ExitStatus.findings : ExitStatus.done,
    stdout: job.json ? `${JSON.stringify(report, null, 2)}\n` : sizeText(report, job.layout),
    stderr: "",
  };
}
