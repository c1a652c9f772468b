/** `millhand cycle`: one simulated run of the routine as a chart with its figures, or as JSON with every activity. */
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { stepsOf } from "../../cell/step-walk.ts";
import { createMover, SCHEMA_VERSION, variantsOf } from "../../check/index.ts";
import { stepWords } from "../../check/step-words.ts";
import { type CycleRun, simulate } from "../../cycle/index.ts";
import { chartOfRun } from "../../dossier/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { type CycleFinding, cycleText } from "../cycle-text.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Job, JobResult } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import { production } from "./production.ts";

/** Runs the simulation. @throws UnusableInput when the cell, or a mesh that a route has to go round, cannot be read, or there is no such part */
export async function cycle(job: Extract<Job, { kind: "cycle" }>, progress: Progress): Promise<JobResult> {
  const cell = loadCellFile(job.cell);
  const variant = chooseVariant(cell, job.cell, job.variant);
  if (job.production !== undefined) return production(job, job.production, cell, variant, progress);
  const routes = findsRoutes(cell) ? { meshes: await loadMeshFiles(cell, job.cell) } : {};
  const run = simulate(cell, createMover(cell, buildArm(cell.arm), undefined, undefined, routes), {
    variant,
    pace: job.pace,
    onProgress: (done, of) => progress(done / Math.max(1, of), `${variant}, ${job.pace} times`),
  });
  const findings: CycleFinding[] = run.problems.map(
    ({ code, severity, stepId, path, message, mend, times, firstAt }) => ({
      code,
      severity,
      where: stepId === "" ? "" : `routines.${stepId}`,
      ...cell.locate(path),
      message,
      mend,
      times,
      firstAt_s: firstAt,
    }),
  );
  const chart = chartOfRun(run, wordsOf(cell, variant));
  const stdout = job.json
    ? `${JSON.stringify(cycleDocument(cell, run, findings, chart.pass), null, 2)}\n`
    : cycleText(cell.name, run, chart, findings, job.layout);
  const status = findings.some((f) => f.severity === "error") ? ExitStatus.findings : ExitStatus.done;
  return { status, stdout, stderr: "" };
}

const findsRoutes = (cell: Cell): boolean =>
  [...stepsOf(cell)].some((step) => step.kind === "go" && step.route !== undefined);

function chooseVariant(cell: Cell, file: string, wanted: string | undefined): string {
  if (wanted !== undefined) {
    if (cell.parts.has(wanted)) return wanted;
    const known = [...cell.parts.keys()].join(", ");
    throw new UnusableInput(`${file}: --variant: found ${wanted}; expected one of ${known}`);
  }
  const first = variantsOf(cell)[0];
  if (first === undefined) throw new UnusableInput(`${file}: the cell has no parts, so there is no cycle to simulate`);
  return first;
}

/** Every step in words, by its id. */
function wordsOf(cell: Cell, variant: string): Map<string, string> {
  return new Map(Array.from(stepsOf(cell), (step) => [step.id, `${step.kind} ${stepWords(step, variant)}`]));
}

/** The run as JSON; times in s, indices of activities into the list. */
function cycleDocument(
  cell: Cell,
  run: CycleRun<unknown>,
  findings: readonly CycleFinding[],
  pass: { readonly number: number; readonly from: number; readonly to: number } | undefined,
) {
  const { from, to } = pass ?? { from: 0, to: run.duration };
  return {
    schemaVersion: SCHEMA_VERSION,
    cell: cell.name,
    variant: run.variant,
    pace: run.pace,
    outcome: run.outcome,
    period_s: run.period,
    partsPerHour: run.partsPerHour,
    robot_s: run.robot_s,
    machine_s: run.machine_s,
    spindleIdle_s: run.spindleIdle_s,
    machines: run.machines,
    duration_s: run.duration,
    partsFinished: run.partsFinished,
    steady: {
      basis: run.steady.basis,
      start_s: run.steady.start,
      end_s: run.steady.end,
      parts: run.steady.parts,
      passes: run.steady.passes ?? null,
    },
    bound: { by: run.bound.by, shares: Object.fromEntries(run.bound.shares) },
    /** Indices of the activities on the critical path in the pass that the chart shows. */
    criticalPath: run.activities.filter((a) => a.critical && a.end > from && a.start < to).map((a) => a.index),
    passes: run.passes.map(({ index, stepId, start, end }) => ({ index, stepId, start_s: start, end_s: end })),
    steps: [...run.slack.values()].map(({ run_s, steady_s, ...rest }) => ({
      ...rest,
      slackInRun_s: run_s,
      slack_s: steady_s,
    })),
    activities: run.activities.map(
      ({ index, lane, kind, label, stepId, start, end, pass, after, slack, critical }) => ({
        index,
        lane,
        kind,
        label,
        stepId: stepId ?? null,
        start_s: start,
        end_s: end,
        pass,
        after,
        slack_s: slack,
        critical,
      }),
    ),
    findings,
  };
}
