/** The wiring as drawing sheets: ladders of rungs from L+ to M, a group for each port and kind of point. */
import type { Cell, IoPort } from "../../cell/model.ts";
import { type PointKind, pointsOf, SHORT_KINDS, terminalOf, type Wire, type WiringSurvey } from "../../wiring/index.ts";
import { html, type Markup } from "../markup.ts";
import { shortened } from "../scene/labels.ts";
import { RUNG, type RungSubject, rung, WIDTH } from "./rung.ts";
import { FIELD, sheetSvg } from "./sheet.ts";

export interface WiringSheetOptions {
  readonly version: string;
  readonly date: string;
  /** Name of the cell file, for the title block. */
  readonly file: string;
}

interface Group {
  readonly heading: string;
  readonly detail: string;
  readonly plus: string;
  readonly rungs: readonly RungSubject[];
}

/** Room above the first rung of a group for its words, and below the last. */
const HEAD = 88;
const FOOT = 26;

/**
 * One SVG document per sheet, at least one; pure, the same text for the same cell and options. Points in use are drawn; signals
 * without a point and registers have no wire, and are named in the notes.
 */
export function renderWiringSheets(cell: Cell, survey: WiringSurvey, options: WiringSheetOptions): string[] {
  const groups = groupsOf(cell, survey);
  const sheets = laidOut(groups);
  const wordsOf = notesOf(survey);
  return sheets.map((content, i) =>
    sheetSvg(
      { cell: cell.name, ...options, sheet: i + 1, of: sheets.length, notes: wordsOf },
      content.length > 0
        ? content
        : [html`<text x="${FIELD.left}" y="${FIELD.top + 30}">The cell has no signal with a point.</text>`],
    ),
  );
}

function groupsOf(cell: Cell, survey: WiringSurvey): Group[] {
  const wires = new Map<string, Wire>(survey.wires.map((wire) => [wire.signal.name, wire]));
  const entries = new Map(
    survey.stations.flatMap(({ entries: list }) => list.map((entry) => [entry.signal, entry] as const)),
  );
  const ports = [...cell.controller.ports.values(), ...survey.assignment.proposed.stations];
  const groups = new Map<string, { port: IoPort; kind: PointKind; rungs: RungSubject[] }>();
  for (const row of survey.schedule) {
    if (row.point === null || row.terminal === "") continue;
    const port = ports.find(({ name }) => name === row.port)!;
    const entry = entries.get(row.signal);
    const codes = entry && (entry.writeCodes.length > 0 ? entry.writeCodes : [entry.readCode]);
    const bus =
      entry === undefined
        ? ""
        : `FC ${codes!.join(", ")}, ${entry.address === null ? "address not stated" : `address ${entry.address}`}`;
    const key = `${row.port}|${row.kind}`;
    const group = groups.get(key) ?? { port, kind: row.kind, rungs: [] };
    groups.set(key, group);
    group.rungs.push({ row, wire: wires.get(row.signal)!, bus });
  }
  return [...groups.values()].map(({ port, kind, rungs }): Group => {
    const { ratings, remote } = port;
    const proposed = survey.assignment.proposed.stations.includes(port);
    const supply = ratings?.supply === undefined ? undefined : cell.controller.supplies?.get(ratings.supply);
    const used = new Set(rungs.map(({ row }) => row.point!));
    const has = pointsOf(port, kind);
    const spare = Array.from({ length: has }, (_, i) => i).filter((i) => !used.has(i));
    const input = kind.endsWith("inputs");
    const digital = kind.startsWith("digital");
    const side = input ? ratings?.inputs : ratings?.outputs;
    const first = terminalOf(ports, port.name, kind, 0);
    return {
      heading: `${port.name}: ${kind}${proposed ? ", proposed station" : remote === undefined ? "" : `, unit ${remote.unit}${remote.host === undefined ? "" : ` at ${remote.host}`}`}`,
      detail: [
        digital && (side === undefined ? `drawn as ${input ? "sinking" : "sourcing"}, not stated` : side),
        digital && input && ratings?.inputType !== undefined && `type ${ratings.inputType} (IEC 61131-2)`,
        `terminals from ${first}`,
        spare.length > 0 && `spare ${SHORT_KINDS[kind]} ${ranges(spare)}`,
      ]
        .filter((text) => text !== false)
        .join("; "),
      plus: supply?.voltage === undefined ? "L+" : `L+ ${Number(supply.voltage.toPrecision(4))} V DC`,
      rungs,
    };
  });
}

/** "4 to 9, 12" */
function ranges(numbers: readonly number[]): string {
  const runs: [number, number][] = [];
  for (const n of numbers) {
    const last = runs.at(-1);
    if (last !== undefined && n === last[1] + 1) last[1] = n;
    else runs.push([n, n]);
  }
  const words = runs.map(([from, to]) => (from === to ? `${from}` : `${from} to ${to}`));
  return words.length <= 5 ? words.join(", ") : `${words.slice(0, 4).join(", ")} …`;
}

/** Groups down the left column, then the right one, then the next sheet; a long group goes on under its heading. */
function laidOut(groups: readonly Group[]): Markup[][] {
  const sheets: Markup[][] = [[]];
  let column = 0;
  let y: number = FIELD.top;
  const next = () => {
    y = FIELD.top;
    column++;
    if (column === 2) {
      column = 0;
      sheets.push([]);
    }
  };
  const fits = (rungs: number) => Math.floor((FIELD.bottom - y - HEAD - FOOT) / RUNG) + 1 >= rungs;
  for (const group of groups) {
    let rest = group.rungs;
    // A short group is kept together where a column can hold it.
    if (y > FIELD.top && !fits(Math.min(rest.length, 4))) next();
    while (rest.length > 0) {
      if (!fits(1)) next();
      const count = Math.min(rest.length, Math.floor((FIELD.bottom - y - HEAD - FOOT) / RUNG) + 1);
      sheets
        .at(-1)!
        .push(ladder(group, rest.slice(0, count), rest !== group.rungs, FIELD.left + column * FIELD.columnPitch, y));
      y += HEAD + (count - 1) * RUNG + FOOT + 18;
      rest = rest.slice(count);
    }
  }
  return sheets;
}

function ladder(
  { heading, detail, plus }: Group,
  rungs: readonly RungSubject[],
  goesOn: boolean,
  x: number,
  y: number,
): Markup {
  const first = y + HEAD;
  const end = first + (rungs.length - 1) * RUNG + FOOT;
  return html`<g><text class="heading" x="${x - 24}" y="${y + 10}">${shortened(`${heading}${goesOn ? ", continued" : ""}`, 66)}</text><text class="small quiet" x="${x - 24}" y="${y + 27}">${shortened(detail, 92)}</text><path class="rail" d="M${x} ${y + 53}V${end}M${x + WIDTH} ${y + 53}V${end}"/><text class="plus" x="${x - 24}" y="${y + 47}">${plus}</text><text class="plus" x="${x + WIDTH}" y="${y + 47}" text-anchor="middle">M</text>${rungs.map((subject, i) => rung(subject, x, first + i * RUNG))}</g>`;
}

function notesOf({ assignment, schedule }: WiringSurvey): string[] {
  const registers = schedule.filter(({ kind, point }) => point !== null && /registers$/.test(kind));
  const listed = (names: readonly string[]) =>
    names.length <= 6 ? names.join(", ") : `${names.slice(0, 5).join(", ")} and ${names.length - 5} more`;
  const left = assignment.unplaced.filter((name) => !assignment.proposed.points.has(name));
  return [
    "Symbols after IEC 60617, contacts at rest. L+ and M: plus and minus of the d.c. supply.",
    "Dashed: not stated in the cell file. Supply leads of three-wire sensors are not drawn.",
    "Protective devices and safety circuits are not part of this drawing.",
    ...(left.length > 0 ? [`Without a point: ${listed(left)}.`] : []),
    ...(registers.length > 0 ? [`Over the bus only: ${listed(registers.map(({ signal }) => signal))}.`] : []),
  ];
}
