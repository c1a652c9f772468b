/** The summary of a study as text. */
import {
  type CheckedLayout,
  changeSentence,
  layoutText,
  MORE_IS_BETTER,
  type Objective,
  objectiveNoun,
  objectiveText,
  objectiveValue,
  type Study,
  type StudyRow,
  type Summary,
} from "../../study/index.ts";
import { colorsFor, type Layout } from "../terminal.ts";
import { clean, paragraph, table } from "../text.ts";
import type { TakenLayout } from "./taken-layout.ts";

/** Layouts of the front that are listed. */
const MOST_LISTED = 12;

/** How each number is come by, in the head of its column. */
const KIND: Readonly<Record<Objective, string>> = {
  "cycle time": "cycle (est.)",
  clearance: "clearance (sampled)",
  "arm clearance": "arm clearance (sampled)",
  "joint margin": "joint margin",
  manipulability: "manipulability",
  "torque share": "torque (est.)",
};

export interface StudyText {
  readonly cell: string;
  readonly study: Study;
  readonly summary: Summary;
  readonly checked: readonly CheckedLayout[];
  /** Shapes that go with the base; undefined where no axis moves it. */
  readonly stand: readonly string[] | undefined;
  readonly taken: TakenLayout | undefined;
}

export function studyText({ cell, study, summary, checked, stand, taken }: StudyText, layout: Layout): string {
  const colors = colorsFor(layout);
  const { present, front, objectives } = summary;
  const lines = [`Study: ${clean(study.title)} (${clean(cell)})`, countsText(summary)];
  if (stand !== undefined)
    lines.push(stand.length === 0 ? "No scene shape moves with the base." : `Moves with the base: ${stand.join(", ")}`);
  lines.push("");
  const shown = objectives.length > 0 ? objectives : study.objectives;
  const alikeText = ({ layout: number }: StudyRow) => {
    const others = summary.alike.get(number);
    return others === undefined ? "" : ` (and ${others} alike)`;
  };
  const listed = front.filter((row) => row.layout !== present.layout);
  const cells = (name: string, row: StudyRow) => [
    name,
    ...shown.map((objective) => objectiveText(objective, objectiveValue(row, objective))),
    layoutText(study, row.values) +
      alikeText(row) +
      (row.verdict === "works" ? "" : ` (${verdictText(row)})`) +
      (row.layout === present.layout && listed.length < front.length ? " (none beats it)" : ""),
  ];
  lines.push(
    ...table(
      [
        { title: "layout", align: "left" },
        ...shown.map((objective) => ({ title: KIND[objective], align: "right" as const })),
        { title: "changes", align: "left", atLeast: 16 },
      ],
      [cells("present", present), ...listed.slice(0, MOST_LISTED).map((row) => cells(`${row.layout}`, row))],
      layout.width,
      layout.ascii,
    ),
  );
  if (listed.length > MOST_LISTED)
    lines.push(`and ${listed.length - MOST_LISTED} more that none beats (--json, --csv)`);
  if (front.length === 0) lines.push(colors.red(nothingText(summary, study)));
  lines.push("", ...improvementLines(study, summary).flatMap((line) => paragraph(line, layout.width, "- ", "  ")));
  if (checked.length > 0) lines.push("", "Checked in full:");
  for (const check of checked) {
    const row = summary.front.find(({ layout: number }) => number === check.layout);
    lines.push(...paragraph(checkedText(check, row), layout.width, "- ", "  "));
  }
  if (taken !== undefined) lines.push("", ...takenLines(taken));
  return `${lines
    .join("\n")
    .replace(/\n{3,}/g, "\n\n")
    .trimEnd()}\n`;
}

function countsText({ counts, layouts, tooClose }: Summary): string {
  const parts = [`${counts.works} work`];
  if (counts["out of reach"] > 0) parts.push(`${counts["out of reach"]} with targets out of reach`);
  if (counts["line not followed"] > 0) parts.push(`${counts["line not followed"]} with lines that cannot be followed`);
  if (counts.torque > 0) parts.push(`${counts.torque} too heavy for the joints`);
  if (counts.collides > 0) parts.push(`${counts.collides} in which something collides`);
  if (tooClose > 0) parts.push(`${tooClose} of those that work with too little clearance`);
  return `${layouts} layouts: ${parts.join(", ")}`;
}

function verdictText({ verdict, unreachable, clearancePair, clearanceStep }: StudyRow): string {
  if (verdict === "out of reach") return `${unreachable} ${unreachable === 1 ? "target" : "targets"} out of reach`;
  if (verdict === "line not followed") return "a line cannot be followed";
  if (verdict === "torque") return "too heavy for a joint";
  if (verdict === "collides" && clearanceStep === undefined) return `${clearancePair?.join(" stands in ")}`;
  if (verdict === "collides") return `${clearancePair?.join(" and ")} collide in ${clearanceStep}`;
  return verdict;
}

function nothingText({ counts, tooClose }: Summary, study: Study): string {
  if (counts.works === 0) return "No layout works: vary more, or other things.";
  if (tooClose > 0 && study.leastClearance !== undefined)
    return `Every layout that works has less than ${objectiveText("clearance", study.leastClearance)} of clearance.`;
  return "Nothing that was asked for is known of any layout.";
}

/** What improves on the present layout: by one change alone, and at best. */
function improvementLines(study: Study, { present, single, best }: Summary): string[] {
  const from = (objective: Objective) => {
    const now = objectiveValue(present, objective);
    return Number.isNaN(now) ? "" : ` from ${objectiveText(objective, now)}`;
  };
  const lines = single.map(({ objective, axis, row }) => {
    const verb = MORE_IS_BETTER[objective] ? "raises" : "lowers";
    const value = objectiveText(objective, objectiveValue(row, objective));
    const sentence = changeSentence(study.axes[axis]!, row.values[axis]!);
    const now = from(objective);
    return now === ""
      ? `${sentence} alone gives ${objectiveNoun[objective]} of ${value}.`.replace("gives the", "gives a")
      : `${sentence} alone ${verb} ${objectiveNoun[objective]}${now} to ${value}.`;
  });
  for (const { objective, row } of best)
    lines.push(
      `Best ${objective}: ${objectiveText(objective, objectiveValue(row, objective))} in layout ${row.layout} (${layoutText(study, row.values)}).`,
    );
  return lines;
}

function checkedText({ layout, verdict, errors, ...figures }: CheckedLayout, row: StudyRow | undefined): string {
  const parts = (["cycle time", "clearance", "torque share"] as const).flatMap((objective) => {
    const value = objectiveValue(figures, objective);
    if (Number.isNaN(value)) return [];
    const guess = row === undefined ? Number.NaN : objectiveValue(row, objective);
    const estimated = objective === "cycle time" && !Number.isNaN(guess);
    return [
      `${objective} ${objectiveText(objective, value)}${estimated ? ` (estimated ${objectiveText(objective, guess)})` : ""}`,
    ];
  });
  const why =
    errors.length === 0
      ? ""
      : `: ${errors.slice(0, 3).join("; ")}${errors.length > 3 ? ` and ${errors.length - 3} more` : ""}`;
  return `layout ${layout}: ${verdict}${why}. ${parts.join(", ")}`;
}

function takenLines({ layout, changes, folder }: TakenLayout): string[] {
  if (changes.length === 0) return [`Layout ${layout} is what the cell's files say.`];
  const head =
    folder === undefined
      ? `To take layout ${layout}, change:`
      : `Layout ${layout} is written to ${folder}, with these changes:`;
  const lines = changes.map(({ file, line, column, path, from, to }) =>
    clean(`${file}:${line}:${column}: ${path}: ${from === "" ? "add" : `${from} becomes`} ${to}`),
  );
  return [head, ...lines];
}
