/** A study's results as lines of JSON: one header, one line per layout in order, then one per full check. */

import type { Figures, Verdict } from "./figures.ts";
import type { CheckedLayout, StudyRow } from "./run-study.ts";
import type { Study } from "./study.ts";

export const RESULTS_VERSION = 1;

export interface ResultsHeader {
  readonly study: string;
  readonly schemaVersion: number;
  /** Tells whether a file goes with a cell and a study: of the texts of the cell, the study and the program's version. */
  readonly hash: string;
  readonly layouts: number;
  readonly axes: readonly string[];
}

/** A change in a layout as people and files name it: the number added, or the word. */
export type Changes = Readonly<Record<string, number | string>>;

/** Changes of a layout by axis; axes left alone are left out. */
export function changesOf({ axes }: Study, values: Float64Array): Changes {
  const out: Record<string, number | string> = {};
  for (const [a, { name, words }] of axes.entries()) {
    const value = values[a]!;
    if (!Number.isNaN(value)) out[name] = words?.[value] ?? value;
  }
  return out;
}

function valuesOf({ axes }: Study, changes: Changes): Float64Array {
  return Float64Array.from(axes, ({ name, words }) => {
    const change = Object.hasOwn(changes, name) ? changes[name]! : Number.NaN;
    return typeof change === "string" ? (words?.indexOf(change) ?? Number.NaN) : change;
  });
}

/** JSON has no NaN: null stands for what is not known. */
const known = (value: number): number | null => (Number.isFinite(value) ? value : null);
const read = (value: number | null): number => value ?? Number.NaN;

export const headerLine = (header: ResultsHeader): string => `${JSON.stringify(header)}\n`;

/** Figures as they stand in JSON. */
export interface FiguresJson {
  readonly verdict: Verdict;
  readonly unreachable: number;
  readonly targets: number;
  readonly cycle_s: number | null;
  readonly clearance_m: number | null;
  readonly armClearance_m: number | null;
  readonly clearancePair: readonly [string, string] | null;
  readonly clearanceStep: string | null;
  readonly jointMargin_rad: number | null;
  readonly manipulability: number | null;
  readonly torqueShare: number | null;
}

export const figuresJson = (row: Figures): FiguresJson => ({
  verdict: row.verdict,
  unreachable: row.unreachable,
  targets: row.targets,
  cycle_s: known(row.cycle_s),
  clearance_m: known(row.clearance_m),
  armClearance_m: known(row.armClearance_m),
  clearancePair: row.clearancePair ?? null,
  clearanceStep: row.clearanceStep ?? null,
  jointMargin_rad: known(row.jointMargin_rad),
  manipulability: known(row.manipulability),
  torqueShare: known(row.torqueShare),
});

export function rowLine(study: Study, row: StudyRow): string {
  return `${JSON.stringify({ layout: row.layout, changes: changesOf(study, row.values), ...figuresJson(row) })}\n`;
}

export interface CheckedJson {
  readonly checked: number;
  readonly verdict: CheckedLayout["verdict"];
  readonly errors: readonly string[];
  readonly cycle_s: number | null;
  readonly clearance_m: number | null;
  readonly jointMargin_rad: number | null;
  readonly torqueShare: number | null;
}

export const checkedJson = (checked: CheckedLayout): CheckedJson => ({
  checked: checked.layout,
  verdict: checked.verdict,
  errors: checked.errors,
  cycle_s: known(checked.cycle_s),
  clearance_m: known(checked.clearance_m),
  jointMargin_rad: known(checked.jointMargin_rad),
  torqueShare: known(checked.torqueShare),
});

export const checkedLine = (checked: CheckedLayout): string => `${JSON.stringify(checkedJson(checked))}\n`;

/** The row of a line that `rowLine` wrote. */
export function rowOf(study: Study, line: string): StudyRow {
  const json = JSON.parse(line) as FiguresJson & { layout: number; changes: Changes };
  return {
    layout: json.layout,
    values: valuesOf(study, json.changes),
    verdict: json.verdict,
    unreachable: json.unreachable,
    targets: json.targets,
    cycle_s: read(json.cycle_s),
    clearance_m: read(json.clearance_m),
    armClearance_m: read(json.armClearance_m),
    clearancePair: json.clearancePair ?? undefined,
    clearanceStep: json.clearanceStep ?? undefined,
    jointMargin_rad: read(json.jointMargin_rad),
    manipulability: read(json.manipulability),
    torqueShare: read(json.torqueShare),
  };
}

/** The full check of a line that `checkedLine` wrote. */
export function checkedOf(line: string): CheckedLayout {
  const json = JSON.parse(line) as CheckedJson;
  return {
    layout: json.checked,
    verdict: json.verdict,
    errors: json.errors,
    cycle_s: read(json.cycle_s),
    clearance_m: read(json.clearance_m),
    jointMargin_rad: read(json.jointMargin_rad),
    torqueShare: read(json.torqueShare),
  };
}

/** What a results file holds, up to the last line that goes on without a gap. */
export interface KeptResults {
  readonly header: ResultsHeader | undefined;
  readonly rows: readonly string[];
  readonly checks: readonly string[];
  /** Characters up to the end of the last line kept. */
  readonly length: number;
}

/**
 * Reads a results file that may end anywhere, in the middle of a line too. A line counts when it is whole JSON and continues
 * the one before it: layouts 0, 1, 2, …, then checks.
 */
export function keptResults(text: string): KeptResults {
  let at = 0;
  let header: ResultsHeader | undefined;
  const rows: string[] = [];
  const checks: string[] = [];
  for (;;) {
    const end = text.indexOf("\n", at);
    if (end < 0) break;
    const line = text.slice(at, end);
    const json = parsed(line);
    if (json === undefined) break;
    if (header === undefined) {
      if (!isHeader(json)) break;
      header = json;
    } else if (json["layout"] === rows.length && rows.length < header.layouts) rows.push(line);
    else if (typeof json["checked"] === "number" && rows.length === header.layouts) checks.push(line);
    else break;
    at = end + 1;
  }
  return { header, rows, checks, length: at };
}

type Json = Record<string, unknown>;

function parsed(line: string): Json | undefined {
  try {
    const json: unknown = JSON.parse(line);
    return typeof json === "object" && json !== null ? (json as Json) : undefined;
  } catch {
    return undefined;
  }
}

function isHeader(json: Json): json is Json & ResultsHeader {
  return typeof json["hash"] === "string" && typeof json["layouts"] === "number" && typeof json["study"] === "string";
}
