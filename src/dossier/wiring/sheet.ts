/** The frame of a wiring sheet: border with zones, title block, notes. Proportions of the A series. */
import { html, Markup } from "../markup.ts";
import { DAY, NIGHT, type Palette } from "../page-colors.ts";
import { shortened } from "../scene/labels.ts";

const SHEET = { width: 1400, height: 990 } as const;
const BORDER = 24;
const FONT = "DejaVu Sans,Segoe UI,system-ui,Noto Sans,sans-serif";

/** Where the ladders go. */
export const FIELD = { left: 66, top: 64, bottom: 852, columnPitch: 664 } as const;
const BLOCK = { x: 780, y: 874 } as const;

export interface SheetWords {
  readonly cell: string;
  readonly file: string;
  readonly date: string;
  readonly version: string;
  readonly sheet: number;
  readonly of: number;
  /** Lines at the lower left, at most five. */
  readonly notes: readonly string[];
}

/** A sheet with its content as one SVG document. */
export function sheetSvg(words: SheetWords, content: readonly Markup[]): string {
  const { width, height } = SHEET;
  const title = `Wiring of ${words.cell}, sheet ${words.sheet} of ${words.of}`;
  const document = html`<svg xmlns="http://www.w3.org/2000/svg" class="wiring-sheet" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="wiring-title"><title id="wiring-title">${title}</title><style>${new Markup(style())}</style><rect class="ground" width="${width}" height="${height}"/>${border()}${content}${notes(words.notes)}${titleBlock(words)}</svg>`;
  return `${document.text}\n`;
}

/** Zones: figures along the top and bottom, letters along the sides. */
function border(): Markup {
  const { width, height } = SHEET;
  const columns = 8;
  const rows = 6;
  const parts: Markup[] = [];
  const wide = (width - 2 * BORDER) / columns;
  const high = (height - 2 * BORDER) / rows;
  for (let i = 0; i < columns; i++) {
    const x = BORDER + i * wide;
    for (const y of [17, height - 8]) parts.push(html`<text class="zone" x="${x + wide / 2}" y="${y}">${i + 1}</text>`);
    if (i > 0) parts.push(html`<path class="thin" d="M${x} 4V${BORDER}M${x} ${height - BORDER}V${height - 4}"/>`);
  }
  for (let i = 0; i < rows; i++) {
    const y = BORDER + i * high;
    for (const x of [14, width - 14])
      parts.push(html`<text class="zone" x="${x}" y="${y + high / 2 + 4}">${"ABCDEF"[i]!}</text>`);
    if (i > 0) parts.push(html`<path class="thin" d="M4 ${y}H${BORDER}M${width - BORDER} ${y}H${width - 4}"/>`);
  }
  return html`<rect class="thin" x="4" y="4" width="${width - 8}" height="${height - 8}"/><rect class="frame" x="${BORDER}" y="${BORDER}" width="${width - 2 * BORDER}" height="${height - 2 * BORDER}"/>${parts}`;
}

function titleBlock({ cell, file, date, version, sheet, of }: SheetWords): Markup {
  const { x, y } = BLOCK;
  const right = SHEET.width - BORDER;
  const bottom = SHEET.height - BORDER;
  const field = (at: number, top: number, name: string, text: string, most: number) =>
    html`<text class="small quiet" x="${at + 10}" y="${top + 15}">${name}</text><text class="value" x="${at + 10}" y="${top + 35}">${shortened(text, most)}</text>`;
  const middle = (y + bottom) / 2;
  const splits = [x + 300, x + 420, x + 520];
  return html`<path class="frame" d="M${x} ${bottom}V${y}H${right}"/><path class="thin" d="M${x} ${middle}H${right}M${splits[0]!} ${middle}V${bottom}M${splits[1]!} ${middle}V${bottom}M${splits[2]!} ${middle}V${bottom}M${splits[1]!} ${y}V${middle}"/>${field(x, y, "Cell", cell, 46)}${field(splits[1]!, y, "Document", "Wiring, terminals", 20)}${field(x, middle, "File", file, 34)}${field(splits[0]!, middle, "Date", date, 12)}${field(splits[1]!, middle, "Millhand", version, 10)}${field(splits[2]!, middle, "Sheet", `${sheet} of ${of}`, 8)}`;
}

function notes(lines: readonly string[]): Markup {
  return html`${lines.slice(0, 5).map((line, i) => html`<text class="small quiet" x="${BORDER + 16}" y="${BLOCK.y + 14 + i * 17}">${shortened(line, 108)}</text>`)}`;
}

function style(): string {
  const rules = (p: Palette) =>
    `.wiring-sheet .ground{fill:${p.panel}}.wiring-sheet text{fill:${p.ink}}.wiring-sheet .quiet{fill:${p.muted}}.wiring-sheet .zone{fill:${p.muted}}.wiring-sheet .line,.wiring-sheet .frame,.wiring-sheet .terminal,.wiring-sheet .rail{stroke:${p.ink}}.wiring-sheet .thin{stroke:${p.line}}.wiring-sheet .linkage{stroke:${p.ink}}.wiring-sheet .terminal{fill:${p.panel}}.wiring-sheet .node{fill:${p.ink}}.wiring-sheet .point{fill:${p.paper};stroke:${p.accent}}.wiring-sheet .plus,.wiring-sheet .heading{fill:${p.accent}}.wiring-sheet .unstated{stroke:${p.warning}}`;
  const shape = `.wiring-sheet text{font-family:${FONT};font-size:12.5px}.wiring-sheet .small{font-size:11px}.wiring-sheet .strong{font-weight:600}.wiring-sheet .heading{font-size:14px;font-weight:600}.wiring-sheet .value{font-size:14px}.wiring-sheet .plus{font-weight:700}.wiring-sheet .letters{font-size:11px;text-anchor:middle}.wiring-sheet .zone{font-size:11px;text-anchor:middle}.wiring-sheet .line,.wiring-sheet .linkage,.wiring-sheet .thin,.wiring-sheet .frame,.wiring-sheet .rail{fill:none}.wiring-sheet .line{stroke-width:1.4;stroke-linejoin:round;stroke-linecap:round}.wiring-sheet .linkage{stroke-width:1;stroke-dasharray:3 2.5}.wiring-sheet .thin{stroke-width:.8}.wiring-sheet .frame{stroke-width:1.4}.wiring-sheet .rail{stroke-width:2}.wiring-sheet .terminal{stroke-width:1.4}.wiring-sheet .point{stroke-width:1.4}.wiring-sheet .unstated{stroke-dasharray:4 3}`;
  return `${shape}${rules(DAY)}@media screen and (prefers-color-scheme:dark){${rules(NIGHT)}}`;
}
