/** `millhand prove`: the interlocks of a cell proved, without and with faults, as text, JSON and a picture. */
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import {
  createMover,
  type ProofReport,
  proofReport,
  proveRuns,
  type RunReport,
  runVariants,
  SCHEMA_VERSION,
  variantsOf,
} from "../../check/index.ts";
import { renderTimingSvg } from "../../dossier/index.ts";
import { faultNames } from "../../proof/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Job, JobResult } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import { proveText } from "../prove-text.ts";

type ProveJob = Extract<Job, { kind: "prove" }>;

/** Share of the work before the proof begins. */
const SIMULATED = 0.2;

/** Runs the proof. @throws UnusableInput when the cell cannot be read, or has no such part or fault */
export async function prove(job: ProveJob, progress: Progress): Promise<JobResult> {
  const began = performance.now();
  const cell = loadCellFile(job.cell);
  const variants = chosenVariants(cell, job);
  const names = [...new Set(variants.flatMap((variant) => faultNames(cell, variant)))];
  if (job.listFaults) return listed(names, job.json);
  for (const name of job.faults ?? [])
    if (!names.includes(name))
      throw new UnusableInput(`${job.cell}: --fault: found ${name}; expected one of ${names.join(", ")}`);
  const meshes = await loadMeshFiles(cell, job.cell);
  const arm = buildArm(cell.arm);
  const never = () => false;
  const runs = runVariants(
    cell,
    createMover(cell, arm, undefined, undefined, { meshes }),
    variants,
    never,
    (share, doing) => progress(SIMULATED * share, doing),
  );
  // Nobody asks for the work to be cancelled: the thread is ended instead.
  if (runs === undefined) return { status: ExitStatus.interrupted, stdout: "", stderr: "" };
  const proof = proveRuns(cell, arm, runs, {
    meshes,
    memory: job.memory * 2 ** 20,
    ...(job.faults === undefined ? {} : { faults: job.faults }),
    onProgress: (share, doing, states, frontier) =>
      progress(SIMULATED + (1 - SIMULATED) * share, `${doing}: ${states} states, ${frontier} waiting`),
  });
  const report = proofReport(proof, job.faults === undefined || job.faults.length > 0);
  const stdout = job.json
    ? `${JSON.stringify({ schemaVersion: SCHEMA_VERSION, cell: cell.name, ...report }, null, 2)}\n`
    : proveText(cell.name, report, job.layout);
  const first = job.picture === undefined ? undefined : firstWrong(report);
  const picture = first && job.picture && (await pictureOf(cell.name, first, job.picture));
  const seconds = ((performance.now() - began) / 1000).toFixed(1);
  const nothing = job.picture !== undefined && first === undefined ? "millhand: no picture: nothing goes wrong\n" : "";
  return {
    status: report.verdict === "holds" ? ExitStatus.done : ExitStatus.findings,
    stdout,
    stderr: `${nothing}millhand: ${proof.states} states in ${seconds} s\n`,
    ...(picture === undefined ? {} : { picture }),
  };
}

function chosenVariants(cell: Cell, job: ProveJob): string[] {
  if (job.variant !== undefined && !cell.parts.has(job.variant))
    throw new UnusableInput(
      `${job.cell}: --variant: found ${job.variant}; expected one of ${[...cell.parts.keys()].join(", ")}`,
    );
  const variants = job.variant === undefined ? variantsOf(cell) : [job.variant];
  if (variants.length === 0)
    throw new UnusableInput(`${job.cell}: the cell has no parts, so there is no routine to prove`);
  return variants;
}

const listed = (names: readonly string[], json: boolean): JobResult => ({
  status: ExitStatus.done,
  stdout: json
    ? `${JSON.stringify({ schemaVersion: SCHEMA_VERSION, faults: names }, null, 2)}\n`
    : names.map((name) => `${name}\n`).join(""),
  stderr: "",
});

interface Wrong {
  readonly sentence: string;
  readonly run: RunReport;
  readonly about: readonly (string | null)[];
}

/** What a picture is made of: what goes wrong without a fault, else a rule that is broken, else under the first dangerous fault. */
function firstWrong({ violations, variants, faults }: ProofReport): Wrong | undefined {
  const violation =
    violations[0] ??
    faults?.find(({ verdict }) => verdict === "dangerous")?.violations[0] ??
    faults?.flatMap((f) => f.violations)[0];
  const rule = variants.flatMap(({ rules, waits }) => [...rules, ...waits]).find(({ run }) => run !== null);
  if (violations.length === 0 && rule?.run)
    return { sentence: `${rule.name}: ${rule.verdict}`, run: rule.run, about: [] };
  if (violation === undefined) return undefined;
  return { sentence: violation.sentence, run: violation.run, about: [violation.subject, violation.other] };
}

async function pictureOf(cell: string, wrong: Wrong, format: "svg" | "png"): Promise<string | Uint8Array> {
  const svg = renderTimingSvg(wrong.run, {
    title: `${cell}: what goes wrong`,
    sentence: wrong.sentence,
    about: wrong.about,
    colors: format === "png" ? "day" : "both",
  });
  return format === "svg" ? svg : (await import("../png.ts")).pngOf(svg);
}
