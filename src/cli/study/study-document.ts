/** The outcome of a study as one JSON document, and its layouts as CSV. */
import {
  type Changes,
  type CheckedLayout,
  changesOf,
  checkedJson,
  type FiguresJson,
  figuresJson,
  layoutText,
  RESULTS_VERSION,
  type Study,
  type StudyRow,
  type Summary,
} from "../../study/index.ts";
import type { TakenLayout } from "./taken-layout.ts";

interface LayoutJson extends FiguresJson {
  readonly layout: number;
  readonly changes: Changes;
}

const layoutJson = (study: Study, row: StudyRow): LayoutJson => ({
  layout: row.layout,
  changes: changesOf(study, row.values),
  ...figuresJson(row),
});

export interface StudyOutcome {
  readonly cell: string;
  readonly study: Study;
  readonly summary: Summary;
  readonly checked: readonly CheckedLayout[];
  readonly stand: readonly string[];
  readonly taken: TakenLayout | undefined;
}

/** Lengths in m, turns in rad, times in s. */
export function studyDocument({ cell, study, summary, checked, stand, taken }: StudyOutcome): string {
  const document = {
    schemaVersion: RESULTS_VERSION,
    cell,
    study: study.title,
    axes: study.axes.map(({ name, words }) => ({ name, unit: words === undefined ? unitOf(name) : null })),
    objectives: summary.objectives,
    stand,
    layouts: summary.layouts,
    counts: summary.counts,
    tooClose: summary.tooClose,
    how: {
      cycle_s: "estimate",
      clearance_m: "exact at each position looked at, sampled between",
      armClearance_m: "exact at each position looked at, sampled between",
      jointMargin_rad: "exact",
      manipulability: "exact",
      torqueShare: "estimate",
    },
    present: layoutJson(study, summary.present),
    front: summary.front.map((row) => ({ ...layoutJson(study, row), alike: summary.alike.get(row.layout) ?? 0 })),
    best: summary.best.map(({ objective, row }) => ({ objective, layout: row.layout })),
    improvements: summary.single.map(({ objective, axis, row }) => ({
      objective,
      axis: study.axes[axis]!.name,
      layout: row.layout,
      change: layoutText(study, row.values),
    })),
    checked: checked.map((check) => {
      const { checked: layout, ...rest } = checkedJson(check);
      return { layout, ...rest };
    }),
    taken: taken === undefined ? null : { layout: taken.layout, changes: taken.changes },
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

const unitOf = (axis: string) => (axis.endsWith(" turn") ? "rad" : "m");

/** One line per layout; a comma between values, a point in numbers, empty where nothing is known. RFC 4180. */
export function studyCsv(study: Study, rows: readonly StudyRow[]): string {
  const head = [
    "layout",
    ...study.axes.map(({ name, words }) => (words === undefined ? `${name} (${unitOf(name)})` : name)),
    "verdict",
    "unreachable",
    "targets",
    "cycle estimate (s)",
    "clearance (m)",
    "arm clearance (m)",
    "pair",
    "step",
    "joint margin (rad)",
    "manipulability",
    "torque share estimate",
  ];
  const number = (value: number) => (Number.isFinite(value) ? String(value) : "");
  const lines = rows.map((row) =>
    [
      String(row.layout),
      ...study.axes.map(({ words }, a) => {
        const value = row.values[a]!;
        return Number.isNaN(value) ? "" : (words?.[value] ?? String(value));
      }),
      row.verdict,
      String(row.unreachable),
      String(row.targets),
      number(row.cycle_s),
      number(row.clearance_m),
      number(row.armClearance_m),
      row.clearancePair?.join(" - ") ?? "",
      row.clearanceStep ?? "",
      number(row.jointMargin_rad),
      number(row.manipulability),
      number(row.torqueShare),
    ]
      .map(field)
      .join(","),
  );
  return [head.map(field).join(","), ...lines].map((line) => `${line}\r\n`).join("");
}

const field = (text: string) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
