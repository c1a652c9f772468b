/** `millhand wire`: points, terminals, remote map, currents and pulses as text, JSON, CSV and drawing. */
import { readFileSync } from "node:fs";
import { wiringDocument } from "../../check/index.ts";
import { renderWiringSheets } from "../../dossier/index.ts";
import { pointsFromCsv, scheduleCsv, surveyWiring } from "../../wiring/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Layout } from "../terminal.ts";
import { clean } from "../text.ts";
import { version } from "../version.ts";
import { claimFile, reasonOf, type WholeFile } from "../whole-file.ts";
import { wireText } from "../wire-text.ts";

export interface WireOptions {
  readonly cell: string;
  readonly json: boolean;
  /** Files to write, and one to keep points of. */
  readonly csv: string | undefined;
  readonly drawing: string | undefined;
  readonly keep: string | undefined;
  /** Day written on drawings. */
  readonly date: string;
  readonly layout: Layout;
}

/** Largest schedule that is read, bytes. */
const LARGEST = 5_000_000;

/** Writes the files and the standard output. @throws UnusableInput when a file cannot be read or written */
export function wire(options: WireOptions): ExitStatus {
  const claimed: WholeFile[] = [];
  try {
    const cell = loadCellFile(options.cell);
    const keep = options.keep === undefined ? undefined : readEarlier(options.keep);
    const survey = surveyWiring(cell, keep === undefined ? {} : { keep });
    const document = wiringDocument(cell, survey);
    const files: { readonly file: WholeFile; readonly text: string }[] = [];
    const claim = (path: string, what: string, ending: string, text: string) => {
      const file = claimFile(path, { what, ending });
      claimed.push(file);
      files.push({ file, text });
    };
    if (options.csv !== undefined) claim(options.csv, "schedule", ".csv", scheduleCsv(survey.schedule));
    const notes: string[] = [];
    const moved = [...(keep ?? [])].flatMap(([signal, was]) => {
      const now = survey.assignment.points.get(signal);
      if (!cell.signals.has(signal) || (now?.port === was.port && now.point === was.point)) return [];
      return [
        `${signal} (${was.port} ${was.point}, now ${now === undefined ? "no point" : `${now.port} ${now.point}`})`,
      ];
    });
    if (moved.length > 0) notes.push(`millhand: not where they were in ${options.keep}: ${clean(moved.join(", "))}\n`);
    if (options.drawing !== undefined) {
      const path = options.drawing;
      if (!/\.svg$/i.test(path))
        throw new UnusableInput(`cannot write a drawing to ${path || '""'}: give it a name that ends in .svg`);
      const sheets = renderWiringSheets(cell, survey, { version, date: options.date, file: options.cell });
      const names = sheets.map((_, i) => (sheets.length === 1 ? path : path.replace(/(\.svg)$/i, `-${i + 1}$1`)));
      sheets.forEach((sheet, i) => {
        claim(names[i]!, "drawing", ".svg", sheet);
      });
      if (sheets.length > 1) notes.push(`millhand: ${sheets.length} sheets: ${names.join(", ")}\n`);
    }
    for (const { file, text } of files) file.finish(text);
    process.stderr.write(notes.join(""));
    process.stdout.write(
      options.json ? `${JSON.stringify(document, null, 2)}\n` : wireText(survey, document, options.layout),
    );
    return document.findings.some(({ severity }) => severity === "error") ? ExitStatus.findings : ExitStatus.done;
  } finally {
    for (const file of claimed) file.discard();
  }
}

function readEarlier(path: string) {
  let text: string;
  try {
    const bytes = readFileSync(path);
    if (bytes.length > LARGEST) throw new UnusableInput(`cannot read ${path}: it is larger than 5 MB`);
    text = bytes.toString("utf8");
  } catch (error) {
    if (error instanceof UnusableInput) throw error;
    throw new UnusableInput(`cannot read ${path}: ${reasonOf(error)}`);
  }
  const read = pointsFromCsv(text);
  if (!read.ok)
    throw new UnusableInput(`${path}:${read.line}: found ${read.problem}; expected a schedule written by wire --csv`);
  return read.points;
}
