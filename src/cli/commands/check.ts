/** `millhand check`: the whole check of a cell as text or JSON, and as a page. */
import type { Cell } from "../../cell/index.ts";
import { type CheckReport, type CheckResult, checkCell, isPlanned } from "../../check/index.ts";
import {
  type CheckPageData,
  chartOfRun,
  description,
  momentWords,
  type PageChart,
  picturedSteps,
  renderCheckPage,
  renderSceneSvg,
  seriesOfRun,
} from "../../dossier/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { checkText } from "../check-text.ts";
import { ExitStatus } from "../exit-status.ts";
import type { Job, JobResult, PictureFormat } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import { plotLibrary } from "../plot-library.ts";
import { version } from "../version.ts";

/** Runs the check. @throws UnusableInput when the cell or a mesh file that it names cannot be read */
export async function check(job: Extract<Job, { kind: "check" }>, progress: Progress): Promise<JobResult> {
  const cell = loadCellFile(job.cell);
  const meshes = await loadMeshFiles(cell, job.cell);
  const outcome = checkCell(cell, { onProgress: progress, meshes });
  // Nobody asks for the work to be cancelled: the thread is ended instead.
  if (!outcome.ok) return { status: ExitStatus.interrupted, stdout: "", stderr: "" };
  const { report } = outcome;
  const chart = chartOf(outcome);
  const stdout = job.json ? `${JSON.stringify(report, null, 2)}\n` : checkText(report, chart, job.layout);
  const status = report.findings.some((f) => f.severity === "error") ? ExitStatus.findings : ExitStatus.done;
  const picture = job.picture === undefined ? undefined : await pictureOf(outcome, job.picture);
  return {
    status,
    stdout,
    stderr:
      job.picture !== undefined && picture === undefined ? "millhand: no picture: no clearance was computed\n" : "",
    ...(job.page && { page: renderCheckPage(pageData(cell, job.cell, outcome, chart, job.page.date)) }),
    ...(picture !== undefined && { picture }),
  };
}

/** The moment of the least clearance as a drawing sheet; undefined when no clearance was computed. */
async function pictureOf(
  { report, picture }: CheckResult,
  format: PictureFormat,
): Promise<string | Uint8Array | undefined> {
  const { clearance } = report;
  const scene = picture();
  if (clearance === null || scene === undefined) return undefined;
  const svg = renderSceneSvg(scene, {
    title: `${report.cell}: least clearance`,
    notes: [description(scene), `${clearance.step}: ${momentWords(clearance)}`],
    colors: format === "png" ? "day" : "both",
  });
  return format === "svg" ? svg : (await import("../png.ts")).pngOf(svg);
}

const runOf = ({ report, runs }: CheckResult) =>
  report.cycle === null ? undefined : runs.get(report.cycle.variant)?.nominal;

function chartOf(result: CheckResult): PageChart | undefined {
  const run = runOf(result);
  return run === undefined ? undefined : chartOfRun(run, wordsOf(result.report));
}

const wordsOf = ({ cycle }: CheckReport): Map<string, string> =>
  new Map((cycle?.steps ?? []).map((step) => [step.id, `${step.kind} ${step.what}`]));

function pageData(
  cell: Cell,
  file: string,
  result: CheckResult,
  chart: PageChart | undefined,
  date: string,
): CheckPageData {
  const run = runOf(result);
  const { from, to } = chart?.pass ?? { from: 0, to: chart?.duration ?? 0 };
  return {
    report: result.report,
    pictures: picturedSteps(result.report.clearance).flatMap((step) => {
      const scene = result.picture(step);
      return scene === undefined ? [] : [{ step, scene }];
    }),
    arm: cell.arm.name,
    joints: cell.arm.joints.map(({ name, kind, min, max, velocity, acceleration }) => ({
      name,
      kind,
      min,
      max,
      velocity,
      acceleration,
    })),
    chart,
    series:
      run &&
      seriesOfRun(
        run,
        ({ outcome }) => (outcome.ok && isPlanned(outcome.motion) ? outcome.motion.motion : undefined),
        from,
        to,
      ),
    version,
    date,
    file,
    plotScript: plotLibrary.script,
    plotStyle: plotLibrary.style,
  };
}
