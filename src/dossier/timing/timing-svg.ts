/** A timing diagram as a drawing sheet: lanes in groups, bars for states, waves for signals, a red mark where it goes wrong. */
import type { RunReport } from "../../check/index.ts";
import { fixed, seconds } from "../figures.ts";
import { html, Markup } from "../markup.ts";
import { asProperties, DAY, NIGHT, type Palette } from "../page-colors.ts";
import { type DiagramLane, type DiagramSpan, type TimingDiagram, timingDiagram } from "./diagram.ts";

export interface TimingSheet {
  /** What the picture is of: "Lathe cell: what goes wrong". */
  readonly title: string;
  /** What goes wrong at the end. */
  readonly sentence: string;
  /** Lanes shown even when nothing changes in them. */
  readonly about?: readonly (string | null)[];
  /** "both" follows the reader's preference for light or dark; "day" suits programs without style rules for that. Default both. */
  readonly colors?: "both" | "day";
}

const WIDTH = 1100;
/** Left edge of the time axis, and room right of it. */
const NAMES = 210;
const RIGHT = 16;
const LANE = 24;
const BAR = 18;
const GROUP = 20;
const AXIS = 26;
/** Width of a character of the small letters, about. */
const CHARACTER = 6.7;
const FONT = "DejaVu Sans,Segoe UI,system-ui,Noto Sans,sans-serif";

/** The diagram as one SVG document; pure, the same text for the same run. */
export function renderTimingSvg(run: RunReport, { title, sentence, about = [], colors = "both" }: TimingSheet): string {
  const diagram = timingDiagram(run, about);
  const said = wrapped(sentence, 130);
  const top = 44 + 18 * said.length;
  const { body, height } = picture(diagram, "timing");
  const total = top + height + 12;
  const night = colors === "day" ? "" : `@media (prefers-color-scheme:dark){.timing-sheet{${asProperties(NIGHT)}}}`;
  // By day only, colours are written out: not every program knows custom properties.
  const rules =
    colors === "day"
      ? timingRules.replaceAll(/var\(--(\w+)\)/g, (_, name: string) => DAY[name as keyof Palette])
      : `.timing-sheet{${asProperties(DAY)}}${night}${timingRules}`;
  const style = `.timing-sheet{font-family:${FONT}}${rules}`;
  const document = html`<svg xmlns="http://www.w3.org/2000/svg" class="timing-sheet timing" viewBox="0 0 ${WIDTH} ${total}" width="${WIDTH}" height="${total}" role="img" aria-labelledby="timing-title timing-desc"><title id="timing-title">${title}</title><desc id="timing-desc">${sentence}</desc><style>${new Markup(style)}</style><rect class="t-ground" x=".5" y=".5" width="${WIDTH - 1}" height="${total - 1}"/><text class="t-title" x="16" y="28">${title}</text>${said.map((line, i) => html`<text class="t-wrong" x="16" y="${50 + 18 * i}">${line}</text>`)}<g transform="translate(0 ${top})">${body}</g></svg>`;
  return `${document.text}\n`;
}

/** The diagram for a page whose style rules include `timingRules`. */
export function timingMarkup(run: RunReport, sentence: string, about: readonly (string | null)[], id: string): Markup {
  const { body, height } = picture(timingDiagram(run, about), id);
  return html`<div class="timing-frame" tabindex="0"><svg class="timing" viewBox="0 0 ${WIDTH} ${height}" role="img" aria-label="Timing diagram: ${sentence}">${body}</svg></div>`;
}

/** Style rules; colours are those of the page. */
export const timingRules = `.timing text{font-size:12px;fill:var(--ink)}.timing .t-ground{fill:var(--paper);stroke:var(--line)}.timing .t-title{font-size:17px;font-weight:600}.timing .t-wrong{font-size:14px;fill:var(--error)}.timing .t-group{font-size:10.5px;letter-spacing:.06em;fill:var(--muted)}.timing .t-axis{font-size:11px;fill:var(--muted)}.timing .t-grid{stroke:var(--line);stroke-width:1;stroke-dasharray:1 3}.timing .t-rule{stroke:var(--line);stroke-width:1}.timing .t-plain{fill:var(--panel);stroke:var(--line)}.timing .t-filled{fill:var(--bar);stroke:var(--muted)}.timing .t-filled+text{fill:var(--barInk)}.timing .t-moving{fill:var(--panel);stroke:var(--muted)}.timing .t-hatch{stroke:var(--accent);stroke-width:1.4}.timing .t-wave{fill:none;stroke:var(--accent);stroke-width:1.8;stroke-linejoin:round}.timing .t-high{fill:var(--accent);opacity:.16}.timing .t-end{stroke:var(--error);stroke-width:2}.timing .t-mark{fill:var(--error)}.timing .t-fault{stroke:var(--warning);stroke-width:1.5;stroke-dasharray:5 3}.timing .t-fault-text{fill:var(--warning)}.timing .t-break{fill:var(--line);opacity:.28}`;

function picture(diagram: TimingDiagram, id: string): { readonly body: Markup; readonly height: number } {
  const x = (time: number) => NAMES + diagram.scale.at(time) * (WIDTH - NAMES - RIGHT);
  const parts: Markup[] = [];
  let y = AXIS;
  for (const { title, lanes } of diagram.groups) {
    parts.push(
      html`<line class="t-rule" x1="8" x2="${WIDTH - 8}" y1="${y + 3}" y2="${y + 3}"/><text class="t-group" x="8" y="${y + 16}">${title.toUpperCase()}</text>`,
    );
    y += GROUP;
    for (const lane of lanes) {
      const name = short(lane.name, NAMES - 26);
      parts.push(
        html`<text x="16" y="${y + 16}">${name === lane.name ? undefined : html`<title>${lane.name}</title>`}${name}</text>`,
        lane.form === "wave" ? wave(lane, x, y + 3) : bars(lane, diagram, x, y + 3, id),
      );
      y += LANE;
    }
  }
  const bottom = y + 4;
  const end = round(x(diagram.to));
  const marks = diagram.marks.map(({ at, text }) => {
    const place = round(x(at));
    if (at < diagram.from)
      return html`<text class="t-fault-text" x="16" y="${bottom + 13}">${text}, ${fixed(at, 2)} s</text>`;
    const left = place > WIDTH - 200;
    return html`<line class="t-fault" x1="${place}" x2="${place}" y1="${AXIS}" y2="${bottom}"/><text class="t-fault-text" x="${place + (left ? -4 : 4)}" y="${bottom + 13}" text-anchor="${left ? "end" : "start"}">${text}, ${fixed(at, 2)} s</text>`;
  });
  const foot = bottom + (diagram.marks.length > 0 ? 36 : 20);
  const said = `goes wrong at ${fixed(diagram.to, 3)} s`;
  const key = keyRows(diagram, foot + 20);
  const body = html`<defs><pattern id="${id}-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="t-hatch" x1="0" x2="0" y1="0" y2="7"/></pattern></defs>${axis(diagram, x, bottom)}${parts}${marks}<line class="t-end" x1="${end}" x2="${end}" y1="${AXIS - 6}" y2="${bottom}"/><circle class="t-mark" cx="${end}" cy="${bottom}" r="5"/><text class="t-mark" x="${end - 10}" y="${foot - 2}" text-anchor="end">${said}</text>${key.rows}`;
  return { body, height: key.bottom };
}

function axis({ scale, from }: TimingDiagram, x: (time: number) => number, bottom: number): Markup[] {
  const bands = scale.breaks.map((part) => {
    const [start, end] = [round(x(part.from)), round(x(part.to))];
    return html`<rect class="t-break" x="${start}" y="${AXIS - 4}" width="${round(end - start)}" height="${bottom - AXIS + 4}"><title>${seconds(part.to - part.from)} drawn short</title></rect><text class="t-axis" x="${round((start + end) / 2)}" y="14" text-anchor="middle">≈ ${fixed(part.to - part.from, 1)} s</text>`;
  });
  const ticks = scale.ticks(10).map((tick) => {
    const place = round(x(from + tick));
    return html`<line class="t-grid" x1="${place}" x2="${place}" y1="${AXIS - 6}" y2="${bottom}"/><text class="t-axis" x="${place}" y="14" text-anchor="${place > WIDTH - 50 ? "end" : "middle"}">${fixed(from + tick, 2)} s</text>`;
  });
  return [...bands, ...ticks];
}

function bars(lane: DiagramLane, diagram: TimingDiagram, x: (time: number) => number, y: number, id: string): Markup {
  const spans = lane.spans.map((span) => {
    const start = round(x(span.from));
    const width = Math.max(1.5, round(x(span.to) - start));
    const what = textIn(lane, diagram, span, width);
    const told = `${lane.name}: ${span.text}, ${fixed(span.from, 2)} to ${seconds(span.to)}`;
    const over =
      span.look === "moving"
        ? html`<rect x="${start}" y="${y}" width="${width}" height="${BAR}" fill="url(#${id}-hatch)"/>`
        : undefined;
    return html`<g><title>${told}</title>${over}<rect class="t-${span.look}" ${span.look === "moving" ? new Markup('fill-opacity="0"') : undefined} x="${start}" y="${y}" width="${width}" height="${BAR}"/>${what !== "" && html`<text x="${start + 4}" y="${y + 13}">${what}</text>`}</g>`;
  });
  return html`${spans}`;
}

/** A step by its name where there is room, else by its number. */
function textIn(lane: DiagramLane, diagram: TimingDiagram, span: DiagramSpan, width: number): string {
  if (span.look === "moving") return "";
  const room = Math.floor((width - 6) / CHARACTER);
  if (lane.kind !== "arm") return room < 2 ? "" : short(span.text, width - 6);
  const number = String(numberOf(diagram, span));
  const whole = `${number} ${span.text}`;
  return whole.length <= room ? whole : number.length <= room ? number : "";
}

const numberOf = ({ steps }: TimingDiagram, span: DiagramSpan): number =>
  steps.findIndex(({ id, at }) => id === span.text && Math.abs(at - span.from) < 1e-9) + 1;

function wave(lane: DiagramLane, x: (time: number) => number, y: number): Markup {
  const high = y + 2;
  const low = y + BAR - 2;
  let path = "";
  const areas: Markup[] = [];
  for (const span of lane.spans) {
    const [start, end] = [round(x(span.from)), round(x(span.to))];
    const level = span.look === "filled" ? high : low;
    path += path === "" ? `M${start} ${level}H${end}` : `V${level}H${end}`;
    if (level === high)
      areas.push(
        html`<rect class="t-high" x="${start}" y="${high}" width="${round(end - start)}" height="${low - high}"/>`,
      );
  }
  const told = lane.spans.map((span) => `${span.text} from ${fixed(span.from, 2)} s`).join(", ");
  return html`<g><title>${lane.name}: ${told}</title>${areas}<path class="t-wave" d="${path}"/></g>`;
}

/** The steps by their numbers, in columns. */
function keyRows({ steps }: TimingDiagram, top: number): { readonly rows: Markup; readonly bottom: number } {
  const entries = steps.map(({ id, at }, i) => `${i + 1}  ${id}, from ${fixed(at, 2)} s`);
  const columns = 3;
  const width = (WIDTH - 24) / columns;
  const perColumn = Math.ceil(entries.length / columns);
  const rows = entries.map(
    (entry, i) =>
      html`<text class="t-axis" x="${round(16 + width * Math.floor(i / perColumn))}" y="${top + 17 * (i % perColumn)}">${short(entry, width - 16)}</text>`,
  );
  return { rows: html`${rows}`, bottom: top + 17 * perColumn };
}

const round = (value: number): number => Number(value.toFixed(1));

function short(text: string, width: number): string {
  const room = Math.max(1, Math.floor(width / CHARACTER));
  const characters = [...text];
  return characters.length <= room ? text : `${characters.slice(0, room - 1).join("")}…`;
}

function wrapped(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/)) {
    if (line !== "" && line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  if (line !== "") lines.push(line);
  return lines;
}
