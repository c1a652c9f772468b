/**
 * The cycle chart as lines of text: one lane for the arm, one for each device, process and operator. Heavy bars are on
 * the critical path: whatever lengthens them lengthens the run.
 */

import { fixed, seconds } from "../dossier/figures.ts";
import type { PageActivity } from "../dossier/page-data.ts";
import { brokenScale, type TimeScale } from "../dossier/time-scale.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, cut } from "./text.ts";

export interface ChartWindow {
  readonly from: number;
  readonly to: number;
}

interface Marks {
  readonly start: string;
  readonly bar: string;
  readonly wait: string;
  readonly act: string;
}

const DRAWN = {
  light: { start: "├", bar: "─", wait: "┄", act: "□" },
  heavy: { start: "┣", bar: "━", wait: "┅", act: "■" },
  axis: { line: "─", tick: "┴", broken: "≈" },
};
const ASCII = {
  light: { start: "|", bar: "-", wait: ".", act: "o" },
  heavy: { start: "|", bar: "=", wait: ":", act: "#" },
  axis: { line: "-", tick: "+", broken: "~" },
};

/** Names of the lanes: the arm first, the others in order of first use. */
function lanesOf(activities: readonly PageActivity[]): string[] {
  const lanes = new Set<string>(activities.some((a) => a.lane === "arm") ? ["arm"] : []);
  for (const activity of activities) lanes.add(activity.lane);
  return [...lanes];
}

/** Lines of the chart: axis, lanes, key. */
export function drawCycleChart(activities: readonly PageActivity[], window: ChartWindow, layout: Layout): string[] {
  const colors = colorsFor(layout);
  const marks = layout.ascii ? ASCII : DRAWN;
  const span = window.to - window.from;
  const seen = activities.filter((a) => a.end > window.from && a.start < window.to);
  if (!(span > 0) || seen.length === 0) return ["(nothing to draw)"];
  const lanes = lanesOf(seen);
  const nameWidth = Math.min(Math.max(...lanes.map((l) => [...clean(l)].length)), Math.floor(layout.width / 4));
  const columns = layout.width - nameWidth - 2;
  const lines: string[] = [];
  const indent = " ".repeat(nameWidth + 2);
  const scale = brokenScale(
    window.from,
    window.to,
    seen.flatMap((a) => [a.start, a.end]),
  );
  const [numbers, ruler] = axis(scale, window.from, columns, marks.axis);
  lines.push(indent + numbers, colors.dim(indent + ruler));
  for (const lane of lanes) {
    const cells = paint(
      seen.filter((a) => a.lane === lane),
      scale,
      columns,
    );
    const name = cut(clean(lane), nameWidth, layout.ascii);
    let line = `${name}${" ".repeat(nameWidth - [...name].length)}  `;
    let run = "";
    let style: ((text: string) => string) | undefined;
    for (const [i, cell] of cells.entries()) {
      const next = cell === undefined ? undefined : colourOf(cell, colors);
      if (next !== style) {
        line += style === undefined ? run : style(run);
        run = "";
        style = next;
      }
      if (cell === undefined) run += " ";
      else {
        const begins = i === 0 ? cell.start >= window.from : cells[i - 1] !== cell;
        run += markOf(cell, begins, cell.critical ? marks.heavy : marks.light);
      }
    }
    line += style === undefined ? run : style(run);
    lines.push(layout.color ? line : line.trimEnd());
  }
  const { light, heavy } = marks;
  const key = [
    `${light.start}${light.bar}${light.bar} runs`,
    `${light.wait}${light.wait}${light.wait} waits`,
    `${light.act} holds, frees, drives, dwells`,
    `${heavy.start}${heavy.bar}${heavy.bar} ${heavy.wait}${heavy.wait} ${heavy.act} on the critical path`,
  ];
  for (const { from, to } of scale.breaks) key.push(`${marks.axis.broken.repeat(3)} ${seconds(to - from)} drawn short`);
  const oneLine = indent + key.join("   ");
  const keyLines = [...oneLine].length <= layout.width ? [oneLine] : key.map((entry) => indent + entry);
  lines.push(...keyLines.map((line) => colors.dim(line)));
  return lines;
}

/** For each column the activity that fills most of it; an activity shorter than a column still shows where nothing longer is. */
function paint(activities: readonly PageActivity[], scale: TimeScale, columns: number): (PageActivity | undefined)[] {
  const cells = new Array<PageActivity | undefined>(columns).fill(undefined);
  const filled = new Float64Array(columns).fill(-1);
  for (const activity of activities) {
    const from = scale.at(activity.start) * columns;
    const to = scale.at(activity.end) * columns;
    // Rounding must not move a bar that ends on the edge of a column into the next.
    const first = Math.min(columns - 1, Math.floor(from + 1e-9));
    const last = Math.max(first, Math.min(columns - 1, Math.ceil(to - 1e-9) - 1));
    for (let c = first; c <= last; c++) {
      // A critical activity wins over an equal one that is not.
      const share = Math.min(to, c + 1) - Math.max(from, c) + (activity.critical ? 1e-6 : 0);
      if (share <= filled[c]!) continue;
      filled[c] = share;
      cells[c] = activity;
    }
  }
  return cells;
}

function markOf(activity: PageActivity, begins: boolean, marks: Marks): string {
  switch (activity.kind) {
    case "wait":
      return marks.wait;
    case "hold":
    case "free":
    case "drive":
    case "pulse":
    case "dwell":
    case "press":
      return marks.act;
    default:
      return begins ? marks.start : marks.bar;
  }
}

function colourOf(activity: PageActivity, colors: ReturnType<typeof colorsFor>): (text: string) => string {
  if (activity.kind === "wait") return activity.critical ? colors.yellow : colors.dim;
  if (activity.kind === "process") return colors.magenta;
  if (activity.kind === "device") return colors.blue;
  if (activity.kind === "operator") return colors.green;
  return colors.cyan;
}

function axis(
  scale: TimeScale,
  from: number,
  columns: number,
  marks: { line: string; tick: string; broken: string },
): [string, string] {
  const ticks = scale.ticks(Math.max(1, Math.floor(columns / 9)));
  const numbers = new Array<string>(columns).fill(" ");
  const ruler = new Array<string>(columns).fill(marks.line);
  const columnOf = (time: number) => Math.min(columns - 1, Math.round(scale.at(time) * columns));
  for (const b of scale.breaks) ruler.fill(marks.broken, columnOf(b.from), columnOf(b.to));
  let free = 0;
  for (const t of ticks) {
    const column = columnOf(from + t);
    ruler[column] = marks.tick;
    const label = t === 0 ? "0 s" : String(Number(fixed(t, 3)));
    const at = Math.min(column, columns - label.length);
    if (at < free) continue;
    for (const [k, character] of [...label].entries()) numbers[at + k] = character;
    free = at + label.length + 1;
  }
  return [numbers.join("").trimEnd(), ruler.join("")];
}
