/** A timing diagram as lines of text: steps by number, bars for what has a state, waves for signals, a mark where it goes wrong. */
import { fixed } from "../dossier/figures.ts";
import type { DiagramLane, TimingDiagram } from "../dossier/index.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, cut } from "./text.ts";

const DRAWN = {
  bound: "│",
  moving: "▒",
  filled: "─",
  plain: " ",
  on: "█",
  off: "▁",
  wrong: "✗",
  fault: "!",
  tick: "┴",
  line: "─",
  broken: "≈",
};
const ASCII = {
  bound: "|",
  moving: "/",
  filled: "-",
  plain: " ",
  on: "#",
  off: "_",
  wrong: "X",
  fault: "!",
  tick: "+",
  line: "-",
  broken: "~",
};

type Marks = typeof DRAWN;

/** Lines that fit the layout's width less an indent. */
export function drawTiming(diagram: TimingDiagram, layout: Layout, indent: number): string[] {
  const colors = colorsFor(layout);
  const marks: Marks = layout.ascii ? ASCII : DRAWN;
  const lanes = diagram.groups.flatMap((group) => group.lanes);
  const width = layout.width - indent;
  const names = Math.min(Math.max(...lanes.map(({ name }) => [...clean(name)].length)), Math.floor(width / 4));
  const columns = width - names - 2;
  const column = (time: number) => Math.min(columns, Math.round(diagram.scale.at(time) * columns));
  const pad = " ".repeat(indent);
  const label = (name: string) => cut(clean(name), names, layout.ascii).padEnd(names);
  const lines = axis(diagram, columns, column, marks).map((line) => `${pad}${" ".repeat(names + 2)}${line}`);
  for (const { lanes: own } of diagram.groups)
    for (const lane of own) {
      const drawn =
        lane.form === "wave"
          ? wave(lane, columns, column, marks)
          : bar(lane, diagram, columns, column, marks, layout.ascii);
      lines.push(`${pad}${label(lane.name)}  ${drawn}`);
    }
  const foot = [..." ".repeat(columns)];
  for (const { at } of diagram.marks) if (at >= diagram.from) foot[column(at)] = marks.fault;
  const wrong = column(diagram.to);
  const said = `goes wrong at ${fixed(diagram.to, 3)} s `;
  [...said].forEach((character, i) => {
    const at = wrong - said.length + i;
    if (at >= 0 && foot[at] === " ") foot[at] = character;
  });
  const before = foot.slice(0, wrong).join("");
  lines.push(`${pad}${" ".repeat(names + 2)}${before}${colors.red(marks.wrong)}`);
  lines.push(...key(diagram, width, layout).map((line) => pad + line));
  return lines;
}

function axis(diagram: TimingDiagram, columns: number, column: (t: number) => number, marks: Marks): string[] {
  const numbers = [..." ".repeat(columns + 8)];
  const ruler = [...marks.line.repeat(columns)];
  for (const { from, to } of diagram.scale.breaks)
    for (let c = column(from) + 1; c < column(to); c++) ruler[c] = marks.broken;
  for (const tick of diagram.scale.ticks(Math.max(2, Math.floor(columns / 14)))) {
    const at = column(diagram.from + tick);
    if (at >= columns) continue;
    ruler[at] = marks.tick;
    const label = [...`${Number((diagram.from + tick).toFixed(2))} s`];
    const start = Math.max(0, Math.min(at, columns - label.length));
    label.forEach((character, i) => {
      numbers[start + i] = character;
    });
  }
  return [numbers.join("").trimEnd(), ruler.join("")];
}

function bar(
  lane: DiagramLane,
  diagram: TimingDiagram,
  columns: number,
  column: (t: number) => number,
  marks: Marks,
  ascii: boolean,
): string {
  const cells = [..." ".repeat(columns)];
  for (const span of lane.spans) {
    const from = column(span.from);
    const to = Math.max(from + 1, column(span.to));
    const fill = span.look === "moving" ? marks.moving : span.look === "filled" ? marks.filled : marks.plain;
    for (let c = from; c < Math.min(to, columns); c++) cells[c] = fill;
    if (from < columns) cells[from] = marks.bound;
    const text = lane.kind === "arm" ? String(numberOf(diagram, span)) : span.text;
    const room = Math.min(to, columns) - from - 1;
    if (room < 1 || (lane.kind !== "arm" && room < 3)) continue;
    [...cut(clean(text), room, ascii)].forEach((character, i) => {
      cells[from + 1 + i] = character;
    });
  }
  return cells.join("");
}

const numberOf = (diagram: TimingDiagram, span: DiagramLane["spans"][number]): number =>
  diagram.steps.findIndex(({ id, at }) => id === span.text && Math.abs(at - span.from) < 1e-9) + 1;

function wave(lane: DiagramLane, columns: number, column: (t: number) => number, marks: Marks): string {
  const cells = [..." ".repeat(columns)];
  for (const span of lane.spans) {
    const from = Math.min(columns - 1, column(span.from));
    const to = Math.max(from + 1, column(span.to));
    const fill = span.look === "filled" ? marks.on : marks.off;
    for (let c = from; c < Math.min(to, columns); c++) cells[c] = fill;
  }
  return cells.join("");
}

/** "1 load[3] at 12.310 s", as many on a line as fit. */
function key({ steps, marks: told }: TimingDiagram, width: number, layout: Layout): string[] {
  const entries = [
    ...steps.map(({ id, at }, i) => `${i + 1} ${clean(id)} at ${fixed(at, 2)} s`),
    ...told.map(({ at, text }) => `! ${text} at ${fixed(at, 2)} s`),
  ].map((entry) => cut(entry, width, layout.ascii));
  const cell = Math.max(...entries.map((entry) => [...entry].length)) + 3;
  const perLine = Math.max(1, Math.floor((width + 3) / cell));
  const lines: string[] = [];
  for (let i = 0; i < entries.length; i += perLine)
    lines.push(
      entries
        .slice(i, i + perLine)
        .map((entry) => entry.padEnd(cell))
        .join("")
        .trimEnd(),
    );
  return lines;
}
