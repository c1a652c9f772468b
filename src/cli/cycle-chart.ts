/**
 * The cycle chart as lines of text: one lane for the arm, one for each device, process and operator. Heavy bars are on
 * the critical path: whatever lengthens them lengthens the run.
 */
import { tidyStep } from "../dossier/figures.ts";
import type { PageActivity } from "../dossier/page-data.ts";
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
  axis: { line: "─", tick: "┴" },
};
const ASCII = {
  light: { start: "|", bar: "-", wait: ".", act: "o" },
  heavy: { start: "|", bar: "=", wait: ":", act: "#" },
  axis: { line: "-", tick: "+" },
};

/** Names of the lanes: the arm first, the others in order of first use. */
export function lanesOf(activities: readonly PageActivity[]): string[] {
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
  const [numbers, ruler] = axis(window, columns, marks.axis);
  lines.push(indent + numbers, colors.dim(indent + ruler));
  for (const lane of lanes) {
    const cells = paint(
      seen.filter((a) => a.lane === lane),
      window,
      columns,
    );
    const name = cut(clean(lane), nameWidth, layout.ascii);
    let line = `${name}${" ".repeat(nameWidth - [...name].length)}  `;
    let run = "";
    let style: ((text: string) => string) | undefined;
    for (const cell of cells) {
      const next = cell === undefined ? undefined : colourOf(cell.activity, colors);
      if (next !== style) {
        line += style === undefined ? run : style(run);
        run = "";
        style = next;
      }
      run += cell === undefined ? " " : markOf(cell, cell.activity.critical ? marks.heavy : marks.light);
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
  const oneLine = indent + key.join("   ");
  const keyLines = [...oneLine].length <= layout.width ? [oneLine] : key.map((entry) => indent + entry);
  lines.push(...keyLines.map((line) => colors.dim(line)));
  return lines;
}

interface Cell {
  readonly activity: PageActivity;
  readonly first: boolean;
}

/** For each column the activity that fills most of it; an activity shorter than a column still shows where nothing longer is. */
function paint(activities: readonly PageActivity[], window: ChartWindow, columns: number): (Cell | undefined)[] {
  const cells = new Array<Cell | undefined>(columns).fill(undefined);
  const filled = new Float64Array(columns).fill(-1);
  const perColumn = (window.to - window.from) / columns;
  for (const activity of activities) {
    const from = (Math.max(activity.start, window.from) - window.from) / perColumn;
    const to = (Math.min(activity.end, window.to) - window.from) / perColumn;
    const first = Math.min(columns - 1, Math.floor(from));
    const last = Math.max(first, Math.min(columns - 1, Math.ceil(to) - 1));
    for (let c = first; c <= last; c++) {
      // A critical activity wins over an equal one that is not.
      const share = Math.min(to, c + 1) - Math.max(from, c) + (activity.critical ? 1e-6 : 0);
      if (share <= filled[c]!) continue;
      filled[c] = share;
      cells[c] = { activity, first: c === first && activity.start >= window.from };
    }
  }
  return cells;
}

function markOf(cell: Cell, marks: Marks): string {
  switch (cell.activity.kind) {
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
      return cell.first ? marks.start : marks.bar;
  }
}

function colourOf(activity: PageActivity, colors: ReturnType<typeof colorsFor>): (text: string) => string {
  if (activity.kind === "wait") return activity.critical ? colors.yellow : colors.dim;
  if (activity.kind === "process") return colors.magenta;
  if (activity.kind === "device") return colors.blue;
  if (activity.kind === "operator") return colors.green;
  return colors.cyan;
}

function axis(window: ChartWindow, columns: number, marks: { line: string; tick: string }): [string, string] {
  const span = window.to - window.from;
  const step = tidyStep(span, Math.max(1, Math.floor(columns / 9)));
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const numbers = new Array<string>(columns).fill(" ");
  const ruler = new Array<string>(columns).fill(marks.line);
  let free = 0;
  for (let i = 0; i * step <= span * (1 + 1e-9); i++) {
    const column = Math.min(columns - 1, Math.round(((i * step) / span) * columns));
    ruler[column] = marks.tick;
    const label = i === 0 ? "0 s" : (i * step).toFixed(decimals);
    const at = Math.min(column, columns - label.length);
    if (at < free) continue;
    for (const [k, character] of [...label].entries()) numbers[at + k] = character;
    free = at + label.length + 1;
  }
  return [numbers.join("").trimEnd(), ruler.join("")];
}
