/** A tornado as an SVG picture: for each input a bar from the outcome at its low end to that at its high end, widest on top. */
import type { TornadoReport } from "../../check/index.ts";
import { html } from "../markup.ts";
import { textWidth } from "../scene/labels.ts";

export interface TornadoWords {
  readonly title: string;
  /** Under the axis: "net present value, EUR". */
  readonly axis: string;
  /** A value as text. */
  readonly figure: (value: number) => string;
}

const FONT = "DejaVu Sans,Segoe UI,system-ui,Noto Sans,sans-serif";
const WIDTH = 900;
const ROW = 34;
const TOP = 64;
const RIGHT = 12;

/** The picture as one SVG document; pure, the same text for the same tornado. Low ends are hatched, high ends filled. */
export function renderTornadoSvg({ likely, bars }: TornadoReport, words: TornadoWords): string {
  const values = [likely, ...bars.flatMap((bar) => [bar.atLow, bar.atHigh])];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const left = Math.min(360, 40 + Math.max(80, ...bars.map((bar) => textWidth(bar.input, 13))));
  const ends = bars.flatMap((bar) => [
    `${words.figure(bar.atLow)} (${plain(bar.low)})`,
    `${words.figure(bar.atHigh)} (${plain(bar.high)})`,
  ]);
  const room = 14 + Math.max(50, ...ends.map((text) => textWidth(text, 11)));
  const span = high - low || 1;
  const x = (value: number) => left + room + ((value - low) / span) * (WIDTH - left - RIGHT - 2 * room);
  const height = TOP + Math.max(1, bars.length) * ROW + 70;
  const px = (value: number) => Number(value.toFixed(2));
  const bottom = TOP + Math.max(1, bars.length) * ROW + 6;
  const rows = bars.map((bar, i) => {
    const y = TOP + i * ROW;
    const part = (value: number, kind: "low" | "high") => {
      const [a, b] = [Math.min(x(value), x(likely)), Math.max(x(value), x(likely))];
      return html`<rect class="${kind}" x="${px(a)}" y="${y + 6}" width="${px(b - a)}" height="${ROW - 14}"/>`;
    };
    const end = (value: number, input: number, other: number) => {
      const leftward = value < other;
      return html`<text class="small" x="${px(x(value) + (leftward ? -6 : 6))}" y="${y + 20}" text-anchor="${leftward ? "end" : "start"}">${words.figure(value)} (${plain(input)})</text>`;
    };
    return html`<text x="${left - 12}" y="${y + 21}" text-anchor="end">${bar.input}</text>${part(bar.atLow, "low")}${part(bar.atHigh, "high")}${end(bar.atLow, bar.low, bar.atHigh)}${end(bar.atHigh, bar.high, bar.atLow)}`;
  });
  const described = bars
    .map((bar) => `${bar.input}: ${words.figure(bar.atLow)} to ${words.figure(bar.atHigh)}`)
    .join("; ");
  const picture = html`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" role="img" aria-labelledby="tornado-title tornado-desc" font-family="${FONT}" font-size="13" fill="#1b1b1b"><title id="tornado-title">${words.title}</title><desc id="tornado-desc">${described === "" ? "No input is stated as a range." : described}</desc><style>.low{fill:url(#tornado-hatch);stroke:#2b5c8a}.high{fill:#8db4d9;stroke:#2b5c8a}.small{font-size:11px}</style><defs><pattern id="tornado-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#ffffff"/><path d="M3 0V6" stroke="#2b5c8a" stroke-width="1.4"/></pattern></defs><rect width="${WIDTH}" height="${height}" fill="#ffffff"/><text x="24" y="30" font-size="16" font-weight="bold">${words.title}</text><text class="small" x="24" y="50">each input at its low (hatched) and high end (filled), all others at their likely values; input in brackets</text>${bars.length === 0 && html`<text x="24" y="${TOP + 22}">No input is stated as a range.</text>`}${rows}<path d="M${px(x(likely))} ${TOP - 4}V${bottom}" stroke="#1b1b1b" stroke-width="1.2"/><text x="${px(x(likely))}" y="${bottom + 18}" text-anchor="middle">${words.figure(likely)}</text><text class="small" x="${px(x(likely))}" y="${bottom + 38}" text-anchor="middle">${words.axis}</text></svg>`;
  return `${picture.text}\n`;
}

/** An input without needless digits. */
const plain = (value: number): string => String(Number(value.toPrecision(4)));
