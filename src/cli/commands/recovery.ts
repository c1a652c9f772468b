/** `millhand prove --recovery`: what to do after a stop in each step, as text, JSON and printable cards. */
import { buildArm } from "../../arm/index.ts";
import { createMover, recoverRuns, runVariants, SCHEMA_VERSION, variantsOf } from "../../check/index.ts";
import { renderRecoveryCards } from "../../dossier/index.ts";
import { stepNames } from "../../proof/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Job, JobResult } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import { recoveryText } from "../recovery-text.ts";
import { version } from "../version.ts";

type RecoveryJob = Extract<Job, { kind: "recovery" }>;

/** Share of the work before procedures are planned. */
const SIMULATED = 0.2;

/** Plans and proves the procedures. @throws UnusableInput when the cell cannot be read, or has no such part or step */
export async function recovery(job: RecoveryJob, progress: Progress): Promise<JobResult> {
  const cell = loadCellFile(job.cell);
  if (job.variant !== undefined && !cell.parts.has(job.variant))
    throw new UnusableInput(
      `${job.cell}: --variant: found ${job.variant}; expected one of ${[...cell.parts.keys()].join(", ")}`,
    );
  const variants = job.variant === undefined ? variantsOf(cell) : [job.variant];
  if (variants.length === 0)
    throw new UnusableInput(`${job.cell}: the cell has no parts, so there is no routine to recover`);
  const names = [...new Set(variants.flatMap((variant) => stepNames(cell, variant)))];
  const { step } = job;
  const steps = step === undefined ? undefined : names.filter((id) => id === step || id.startsWith(`${step}[`));
  if (steps?.length === 0)
    throw new UnusableInput(
      `${job.cell}: --recovery: found ${step}; expected a step or routine that is run, such as ${names.slice(0, 3).join(", ")}`,
    );
  const meshes = await loadMeshFiles(cell, job.cell);
  const arm = buildArm(cell.arm);
  const mover = createMover(cell, arm, undefined, undefined, { meshes });
  const runs = runVariants(
    cell,
    mover,
    variants,
    () => false,
    (share, doing) => progress(SIMULATED * share, doing),
  );
  // Nobody asks for the work to be cancelled: the thread is ended instead.
  if (runs === undefined) return { status: ExitStatus.interrupted, stdout: "", stderr: "" };
  const outcome = recoverRuns(cell, arm, runs, {
    meshes,
    memory: job.memory * 2 ** 20,
    ...(steps === undefined ? {} : { steps }),
    onProgress: (share, doing) => progress(SIMULATED + (1 - SIMULATED) * share, doing),
  });
  if (!outcome.ok)
    return {
      status: ExitStatus.findings,
      stdout: job.json
        ? `${JSON.stringify({ schemaVersion: SCHEMA_VERSION, cell: cell.name, undecided: outcome.reason }, null, 2)}\n`
        : "",
      stderr: `millhand: no procedures: ${outcome.reason}\n`,
    };
  const { ok: _, ...report } = outcome;
  return {
    status: report.proved === report.steps ? ExitStatus.done : ExitStatus.findings,
    stdout: job.json
      ? `${JSON.stringify({ schemaVersion: SCHEMA_VERSION, cell: cell.name, ...report }, null, 2)}\n`
      : recoveryText(cell.name, report, job.layout),
    stderr: "",
    ...(job.cards === undefined
      ? {}
      : {
          page: renderRecoveryCards({
            cell: cell.name,
            file: job.cell,
            date: job.cards.date,
            version,
            cards: report.cards,
          }),
        }),
  };
}
