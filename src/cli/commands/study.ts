/** `millhand study`: many layouts of one cell, spread over threads, kept in a file as they come. */
import type { Cell } from "../../cell/index.ts";
import { readUrdf } from "../../exchange/index.ts";
import {
  type Axis,
  baseAxisFrom,
  type CheckedLayout,
  checkedOf,
  DEFAULT_CHECKS,
  floorMap,
  type KeptResults,
  type Layouts,
  layoutsOf,
  loadStudy,
  MOST_LAYOUTS,
  mapStudy,
  rewriteCell,
  rowOf,
  type Sampling,
  type Study,
  type StudyRow,
  standOf,
  summarise,
  toCheck,
  USUAL_OBJECTIVES,
} from "../../study/index.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import { fileSource } from "../file-source.ts";
import { issuesText } from "../issues-text.ts";
import { loadCellTexts } from "../study/cell-texts.ts";
import { type WantedMap, writeMap } from "../study/map-file.ts";
import type { StudyTask } from "../study/messages.ts";
import { defaultThreads, startPool } from "../study/pool.ts";
import { createResults, hashOf, headerOf, type ResultsFile, resumeResults } from "../study/results-file.ts";
import { studyCsv, studyDocument } from "../study/study-document.ts";
import { studyText } from "../study/study-text.ts";
import { type TakenLayout, writeCellFolder } from "../study/taken-layout.ts";
import type { Layout } from "../terminal.ts";
import type { WholeFile } from "../whole-file.ts";

export interface StudyOptions {
  readonly cell: string;
  /** Study file. */
  readonly study?: string;
  /** Ranges of the base by option: "-200 to 200 mm, 21". */
  readonly base: Readonly<
    Partial<Record<"x" | "y" | "height" | "turn", { readonly option: string; readonly text: string }>>
  >;
  readonly random?: number;
  readonly halton?: number;
  readonly seed?: number;
  readonly checks?: number;
  readonly threads?: number;
  readonly results?: string;
  readonly resume?: string;
  readonly csv?: WholeFile;
  readonly maps: readonly WantedMap[];
  /** Grid points of a map along each side. */
  readonly mapSteps?: number;
  /** Layout whose changes are told, or written into a new folder. */
  readonly take?: number;
  readonly writeCell?: string;
  readonly json: boolean;
  readonly layout: Layout;
}

export interface StudyReporting {
  readonly entry: URL;
  readonly onProgress: (share: number, doing: string) => void;
  /** What is to be said when the process is stopped, from now on. */
  readonly onStop: (say: () => string) => void;
}

/** Layouts of one task: enough that messages cost nothing, few enough that little is lost when the program is stopped. */
const TASK = 16;

/** Runs the study. @throws UnusableInput when cell, study or a results file cannot be used */
export async function study(options: StudyOptions, { entry, onProgress, onStop }: StudyReporting): Promise<ExitStatus> {
  const { cell, texts } = loadCellTexts(options.cell);
  const asked = studyFor(options, cell);
  const layouts = layoutsOf(asked.axes, asked.sampling);
  const taken = takenLayout(options, cell, texts, asked, layouts);
  const header = headerOf(asked, layouts.count, hashOf(texts, asked));
  const { file, kept } = resultsFor(options, header);
  const lines = [...kept.rows];
  const checks: CheckedLayout[] = kept.checks.map(checkedOf);
  onStop(() => stopText(lines.length, layouts.count, file));

  const size = Math.max(1, Math.min(options.threads ?? defaultThreads(), 64));
  const pool = startPool(entry, size, { kind: "study thread", cell: options.cell, texts, study: asked });
  try {
    const eta = remaining(layouts.count - lines.length);
    const begun = lines.length;
    await pool.run(rowTasks(begun, layouts.count), (answer) => {
      if (answer.kind !== "rows") return;
      file?.write(answer.lines.join(""));
      for (const line of answer.lines) lines.push(line);
      const done = lines.length;
      onProgress(
        done / layouts.count,
        `${done.toLocaleString("en")} of ${layouts.count.toLocaleString("en")} layouts${eta(done - begun)}`,
      );
    });
    const rows = lines.map((line) => rowOf(asked, line));
    const summary = summarise(asked, rows, layouts.firstOfSample);
    const wanted = toCheck(summary, asked);
    const missing = wanted.slice(checks.length);
    onProgress(1, `checking ${missing.length} layouts in full`);
    await pool.run(
      missing.map((layout): StudyTask => ({ kind: "check", layout })),
      (answer) => {
        if (answer.kind !== "check") return;
        file?.write(answer.line);
        checks.push(checkedOf(answer.line));
      },
    );
    file?.close();
    await makeMaps(options, cell, texts, asked, entry, onProgress);
    const stand = movesBase(asked) ? standOf(cell, asked.stand) : undefined;
    options.csv?.finish(studyCsv(asked, rows));
    process.stdout.write(
      options.json
        ? studyDocument({ cell: cell.name, study: asked, summary, checked: checks, stand: stand ?? [], taken })
        : studyText({ cell: cell.name, study: asked, summary, checked: checks, stand, taken }, options.layout),
    );
    return summary.front.length > 0 ? ExitStatus.done : ExitStatus.findings;
  } finally {
    await pool.end();
  }
}

/** Computes the maps asked for and writes them. */
async function makeMaps(
  { maps, mapSteps, threads, cell: path }: StudyOptions,
  cell: Cell,
  texts: ReadonlyMap<string, string>,
  asked: Study,
  entry: URL,
  onProgress: StudyReporting["onProgress"],
): Promise<void> {
  if (maps.length === 0) return;
  const mapped = mapStudy(asked, mapSteps);
  const layouts = layoutsOf(mapped.axes, mapped.sampling);
  const pool = startPool(entry, threads ?? defaultThreads(), {
    kind: "study thread",
    cell: path,
    texts,
    study: mapped,
  });
  const rows: StudyRow[] = [];
  try {
    await pool.run(rowTasks(layouts.firstOfSample, layouts.count), (answer) => {
      if (answer.kind !== "rows") return;
      for (const line of answer.lines) rows.push(rowOf(mapped, line));
      onProgress(rows.length / (layouts.count - layouts.firstOfSample), "maps");
    });
  } finally {
    await pool.end();
  }
  for (const wanted of maps) await writeMap(wanted, floorMap(cell, mapped, rows, wanted.subject));
}

/** What to change in the files of the cell for the layout to take. @throws UnusableInput when that cannot be told or written */
function takenLayout(
  { take, writeCell, cell: path }: StudyOptions,
  cell: Cell,
  texts: ReadonlyMap<string, string>,
  asked: Study,
  layouts: Layouts,
): TakenLayout | undefined {
  if (take === undefined) return undefined;
  if (take >= layouts.count)
    throw new UnusableInput(`there is no layout ${take}: they are numbered from 0 to ${layouts.count - 1}`);
  const rewritten = rewriteCell(cell, asked, layouts.at(take), texts, path, { readArm: readUrdf });
  if (!rewritten.ok)
    throw new UnusableInput(`layout ${take} is not written into the cell's files: ${rewritten.reason}`);
  if (writeCell !== undefined) writeCellFolder(writeCell, path, rewritten.texts);
  return { layout: take, changes: rewritten.changes, folder: writeCell };
}

const movesBase = ({ axes }: Study) => axes.some(({ change }) => change.kind === "base");

function* rowTasks(from: number, to: number): Generator<StudyTask> {
  for (let at = from; at < to; at += TASK) yield { kind: "rows", from: at, to: Math.min(to, at + TASK) };
}

/** Words about the time left, from the time that what is done has taken. */
function remaining(total: number): (done: number) => string {
  const begin = performance.now();
  return (done) => {
    const seconds = ((performance.now() - begin) / 1000 / done) * (total - done);
    if (!(seconds >= 1)) return "";
    return seconds < 90 ? `, about ${Math.round(seconds)} s left` : `, about ${Math.round(seconds / 60)} min left`;
  };
}

function stopText(done: number, of: number, file: ResultsFile | undefined): string {
  const counts = `${done.toLocaleString("en")} of ${of.toLocaleString("en")} layouts`;
  return file === undefined
    ? `${counts} were done and are lost; with --results FILE they are kept`
    : `${counts} are in ${file.path}; go on with --resume ${file.path}`;
}

function resultsFor(
  { results, resume }: StudyOptions,
  header: ReturnType<typeof headerOf>,
): { readonly file: ResultsFile | undefined; readonly kept: KeptResults } {
  const none = { header: undefined, rows: [], checks: [], length: 0 };
  if (resume !== undefined) return resumeResults(resume, header);
  return { file: results === undefined ? undefined : createResults(results, header), kept: none };
}

const NO_AXES: Study = {
  title: "",
  axes: [],
  sampling: { kind: "grid" },
  objectives: USUAL_OBJECTIVES,
  leastClearance: undefined,
  stand: undefined,
  checks: 0,
  variants: undefined,
};

/** The study of the file with the options put over it. */
function studyFor(options: StudyOptions, cell: Cell): Study {
  if (cell.parts.size === 0)
    throw new UnusableInput(
      `${options.cell}: the cell states no parts, so nothing is run in it: add the section parts`,
    );
  const read = options.study === undefined ? undefined : readStudyFile(options.study, cell);
  const axes = baseAxes(options);
  if (read === undefined && axes.length === 0 && options.maps.length > 0) axes.push(...mapStudy(NO_AXES, 2).axes);
  if (read === undefined && axes.length === 0)
    throw new UnusableInput(
      'nothing to vary: name a study file with --study FILE, or vary the base, as in --base-x "-200 to 200 mm, 21"',
    );
  const replaced = new Set(axes.map(({ name }) => name));
  const sampling = samplingFor(options) ?? read?.sampling ?? { kind: "grid" };
  const study: Study = {
    title: read?.title ?? "base placement",
    axes: [...axes, ...(read?.axes ?? []).filter(({ name }) => !replaced.has(name))],
    sampling,
    objectives: read?.objectives ?? USUAL_OBJECTIVES,
    leastClearance: read?.leastClearance,
    stand: read?.stand,
    checks: options.checks ?? read?.checks ?? DEFAULT_CHECKS,
    variants: read?.variants,
  };
  const { count } = layoutsOf(study.axes, sampling);
  if (count > MOST_LAYOUTS)
    throw new UnusableInput(
      `${count.toLocaleString("en")} layouts are more than ${MOST_LAYOUTS.toLocaleString("en")}: lower the counts, or draw a sample with --halton 10000`,
    );
  return study;
}

function readStudyFile(path: string, cell: Cell): Study {
  const got = fileSource(path).read(path);
  if ("problem" in got) throw new UnusableInput(`cannot read ${path}: ${got.detail}`);
  const loaded = loadStudy(got.text, path, cell);
  if (!loaded.ok) throw new UnusableInput(issuesText(loaded.issues));
  return loaded.value;
}

function baseAxes({ base }: StudyOptions): Axis[] {
  const axes: Axis[] = [];
  // The height first: of a grid, the axis stated first varies slowest.
  for (const along of ["height", "turn", "x", "y"] as const) {
    const given = base[along];
    if (given === undefined) continue;
    const axis = baseAxisFrom(given.text, given.option, along);
    if (!axis.ok) throw new UnusableInput(issuesText(axis.issues));
    axes.push(axis.value);
  }
  return axes;
}

function samplingFor({ random, halton, seed = 1 }: StudyOptions): Sampling | undefined {
  if (random !== undefined) return { kind: "random", count: random, seed };
  if (halton !== undefined) return { kind: "halton", count: halton, seed };
  return undefined;
}
