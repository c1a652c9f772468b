/** A simulated run as text: its figures, the chart of one pass, the critical path and what went wrong. */
import type { CycleRun } from "../cycle/index.ts";
import { fixed, percent, seconds } from "../dossier/figures.ts";
import type { PageChart } from "../dossier/index.ts";
import { findingLines, headed, heading } from "./check-text.ts";
import { drawCycleChart } from "./cycle-chart.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";

export interface CycleFinding {
  readonly code: string;
  readonly severity: "error" | "warning" | "caution";
  readonly where: string;
  readonly file: string;
  readonly line: number;
  readonly column: number;
  readonly message: string;
  readonly mend: string;
  /** How often it happened, and when first, s. */
  readonly times: number;
  readonly firstAt_s: number;
}

const OUTCOMES = {
  complete: "complete",
  stopped: "stopped by a step that did not get what it waited for",
  deadlock: "stuck: the arm waits for something that can no longer happen",
  "too many steps": "given up after too many steps",
  cancelled: "cancelled",
} as const;

/** Lines of the report, ending in newlines. */
export function cycleText(
  cell: string,
  run: CycleRun<unknown>,
  chart: PageChart,
  findings: readonly CycleFinding[],
  layout: Layout,
): string {
  const colors = colorsFor(layout);
  const lines: string[] = [colors.bold(clean(`${cell}, part ${run.variant}, ${run.pace} times`))];
  const say = (name: string, text: string) =>
    lines.push(...paragraph(clean(text), layout.width, name.padEnd(14), " ".repeat(14)));
  say("Run", `${OUTCOMES[run.outcome]}; ${run.partsFinished} parts in ${seconds(run.duration)}`);
  say("Period", `${seconds(run.period)} per part, ${fixed(run.partsPerHour, 1)} parts per hour`);
  say("Arm", `${seconds(run.robot_s)} of work per part (${percent(run.robotShare)})`);
  for (const use of run.machines)
    say(
      use === run.machines[0] ? "Machine" : "",
      `${use.machine}: ${use.spindleBusy_s > 0 ? `cuts ${seconds(use.spindleBusy_s)}, spindle idle ${seconds(use.spindleIdle_s)}, ` : ""}engaged ${seconds(use.engaged_s)} per part`,
    );
  const shares = [...run.bound.shares].sort((a, b) => b[1] - a[1]).filter(([, share]) => share >= 0.005);
  if (shares.length > 0) say("Critical path", shares.map(([lane, share]) => `${lane} ${percent(share)}`).join(", "));

  const { from, to } = chart.pass ?? { from: 0, to: chart.duration };
  const which = chart.pass === undefined ? "whole run" : `pass ${chart.pass.number} of ${chart.pass.of}`;
  lines.push("", heading(`Cycle chart, ${which}, ${seconds(to - from)}`, colors));
  lines.push(...drawCycleChart(chart.activities, { from, to }, layout), "");

  const critical = chart.activities.filter((a) => a.critical && a.end > from && a.start < to && a.end > a.start);
  if (critical.length > 0) {
    const columns = [
      { title: "from s", align: "right" },
      { title: "to s", align: "right" },
      { title: "lasts s", align: "right" },
      { title: "lane", align: "left", atLeast: 8 },
      { title: "what", align: "left", atLeast: 12 },
    ] as const;
    const rows = critical.map((a) => [
      fixed(a.start - from, 2),
      fixed(a.end - from, 2),
      fixed(a.end - a.start, 2),
      clean(a.lane),
      clean(a.label),
    ]);
    lines.push(
      heading("Critical path", colors),
      ...headed(table(columns, rows, layout.width, layout.ascii), colors),
      "",
    );
  }
  lines.push(...findingLines(findings, colors, layout));
  while (lines.at(-1) === "") lines.pop();
  return `${lines.join("\n")}\n`;
}
