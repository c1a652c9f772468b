/** A map over the floor as an SVG picture: colours for the values, contours with their values, outlines, marks and axes. */

import { ContractError } from "../../math/contract-error.ts";
import { toMm } from "../../math/units.ts";
import type { GridMap } from "../../study/map.ts";
import { html, Markup } from "../markup.ts";
import { DAY, NIGHT } from "../page-colors.ts";
import { textWidth } from "../scene/labels.ts";
import { joinedAreas } from "../scene/outlines.ts";
import { scaleColor } from "./color-scale.ts";
import { contourLines, roundLevels, roundStep } from "./contours.ts";

export interface MapPictureOptions {
  /** "both" follows the reader's preference for light or dark; "day" suits programs without style rules for that. Default both. */
  readonly colors?: "both" | "day";
}

const WIDTH = 900;
const LEFT = 76;
const RIGHT = 150;
const TOP = 48;
const BOTTOM = 64;
const TALLEST = 900;
/** Steps of the colour scale; fewer than an eye tells apart side by side. */
const STEPS = 96;
const FONT = "DejaVu Sans,Segoe UI,system-ui,Noto Sans,sans-serif";

/**
 * The picture as one SVG document; pure, the same text for the same map.
 * @throws ContractError if the numbers of grid points and values do not fit each other or a distance is not above 0
 */
export function renderMapSvg(map: GridMap, options: MapPictureOptions = {}): string {
  const { nx, ny, dx, dy, values } = map;
  if (!(nx >= 1 && ny >= 1 && values.length === nx * ny && dx > 0 && dy > 0))
    throw new ContractError(
      `renderMapSvg: map needs nx·ny values, dx > 0 and dy > 0; got nx ${nx}, ny ${ny}, ${values.length} values, dx ${dx}, dy ${dy}`,
    );
  const scale = Math.min((WIDTH - LEFT - RIGHT) / (nx * dx), (TALLEST - TOP - BOTTOM) / (ny * dy));
  const width = nx * dx * scale,
    height = ny * dy * scale;
  const place: Place = {
    x: (metres) => LEFT + (metres - map.x0 + dx / 2) * scale,
    y: (metres) => TOP + height - (metres - map.y0 + dy / 2) * scale,
    width,
    height,
  };
  let low = Infinity,
    high = -Infinity;
  for (const value of values)
    if (Number.isFinite(value)) {
      low = Math.min(low, value);
      high = Math.max(high, value);
    }
  const any = low <= high;
  const right = LEFT + width + RIGHT,
    bottom = TOP + height + BOTTOM;
  const words = new WordPlaces();
  const marks = markPoints(map, place, words);
  const lines = any ? contours(map, place, low, high, words) : html``;
  const picture = html`<svg xmlns="http://www.w3.org/2000/svg" class="map-sheet" viewBox="0 0 ${px(right)} ${px(bottom)}" width="${px(right)}" height="${px(bottom)}" role="img" aria-labelledby="map-title map-desc"><title id="map-title">${map.title}</title><desc id="map-desc">${describe(map, low, high)}</desc><style>${new Markup(style(options.colors ?? "both"))}</style><defs><pattern id="map-none" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="none" d="M3 0V7"/></pattern><clipPath id="map-clip"><rect x="${LEFT}" y="${TOP}" width="${px(width)}" height="${px(height)}"/></clipPath></defs><rect class="ground" width="${px(right)}" height="${px(bottom)}"/><text class="head" x="${LEFT}" y="26">${map.title}</text><rect x="${LEFT}" y="${TOP}" width="${px(width)}" height="${px(height)}" fill="url(#map-none)"/>${any && areas(map, place, low, high)}${lines}${outlines(map, place, words)}${marks}${axes(map, place)}${any && legend(map, place, low, high)}</svg>`;
  return `${picture.text}\n`;
}

interface Place {
  /** px of a coordinate in m. */
  x(metres: number): number;
  y(metres: number): number;
  /** Size of the map, px. */
  readonly width: number;
  readonly height: number;
}

const px = (value: number) => Number(value.toFixed(1));

/** A value as it is printed: four digits at most, without those of a binary fraction. */
const printed = (value: number) => String(Number(value.toPrecision(4)) + 0);

function describe({ nx, ny, scale, legend: what }: GridMap, low: number, high: number): string {
  const size = `${nx} by ${ny} places`;
  return low <= high
    ? `${what}: from ${printed(low * scale)} to ${printed(high * scale)}, on ${size}.`
    : `${what}: no value on any of ${size}.`;
}

/** One path per colour, of all squares that have it. */
function areas({ values, nx, ny, x0, y0, dx, dy }: GridMap, place: Place, low: number, high: number): Markup {
  const stepOf = (value: number) =>
    Number.isFinite(value)
      ? high > low
        ? Math.min(STEPS - 1, Math.floor((STEPS * (value - low)) / (high - low)))
        : 0
      : -1;
  const byStep = new Map<number, (readonly [number, number])[][]>();
  const x = (i: number) => Math.round(10 * place.x(x0 + (i - 0.5) * dx)),
    y = (j: number) => Math.round(10 * place.y(y0 + (j - 0.5) * dy));
  for (let j = 0; j < ny; j++)
    for (let i = 0; i < nx; ) {
      const step = stepOf(values[j * nx + i]!);
      let end = i + 1;
      while (end < nx && stepOf(values[j * nx + end]!) === step) end++;
      // Every corner of the grid is written, so that sides cancel with those of the rows above and below.
      const rectangle: (readonly [number, number])[] = [];
      for (let k = i; k <= end; k++) rectangle.push([x(k), y(j)]);
      for (let k = end; k >= i; k--) rectangle.push([x(k), y(j + 1)]);
      if (step >= 0) byStep.set(step, [...(byStep.get(step) ?? []), rectangle]);
      i = end;
    }
  const paths = [...byStep]
    .sort(([a], [b]) => a - b)
    .map(([step, some]) => html`<path fill="${scaleColor((step + 0.5) / STEPS)}" d="${joinedAreas(some)}"/>`);
  return html`<g transform="scale(.1)" shape-rendering="crispEdges">${paths}</g>`;
}

function contours(map: GridMap, place: Place, low: number, high: number, words: WordPlaces): Markup {
  const { values, nx, ny, x0, y0, dx, dy, scale } = map;
  const parts = roundLevels(low * scale, high * scale, 10).map((level) => {
    const lines = contourLines(values, nx, ny, level / scale).map((line) =>
      line.map(([i, j]) => [place.x(x0 + i * dx), place.y(y0 + j * dy)] as const),
    );
    if (lines.length === 0) return html``;
    const d = lines.map((line) => `M${line.map(([x, y]) => `${px(x)} ${px(y)}`).join("L")}`).join("");
    const longest = lines.reduce((a, b) => (b.length > a.length ? b : a));
    const word = printed(level);
    const spot = longest.length < 8 ? undefined : words.along(longest, textWidth(word, 11), 12);
    return html`<path class="contour-ground" d="${d}"/><path class="contour" d="${d}"/>${spot !== undefined && html`<text class="level" x="${px(spot[0])}" y="${px(spot[1] + 4)}" text-anchor="middle">${word}</text>`}`;
  });
  return html`${parts}`;
}

function outlines(map: GridMap, place: Place, words: WordPlaces): Markup {
  const parts = map.outlines.map(({ name, points, closed }) => {
    if (points.length < 2) return html``;
    const at = points.map(([x, y]) => [place.x(x), place.y(y)] as const);
    const d = `M${at.map(([x, y]) => `${px(x)} ${px(y)}`).join("L")}${closed ? "Z" : ""}`;
    // On an open line its middle piece, inside a closed one the mean of its corners.
    const named = closed ? at : at.slice(Math.floor(at.length / 2) - 1, Math.floor(at.length / 2) + 1);
    const middle = [0, 1].map((k) => named.reduce((sum, p) => sum + p[k]!, 0) / named.length) as [number, number];
    const w = textWidth(name);
    const [x, y] = words.near(middle[0], middle[1], w, 16);
    const inside = x > LEFT + w / 2 && x < LEFT + place.width - w / 2 && y > TOP + 8 && y < TOP + place.height - 8;
    return html`<path class="outline-ground" d="${d}"/><path class="outline" d="${d}"><title>${name}</title></path>${inside && html`<text x="${px(x)}" y="${px(y + 4)}" text-anchor="middle">${name}</text>`}`;
  });
  return html`<g clip-path="url(#map-clip)">${parts}</g>`;
}

function markPoints(map: GridMap, place: Place, words: WordPlaces): Markup {
  const parts = map.marks.map(({ name, x, y }) => {
    const mx = place.x(x),
      my = place.y(y);
    words.keep(mx, my, 16, 16);
    const w = textWidth(name);
    const rightSide = mx + 12 + w < LEFT + place.width;
    const [tx, ty] = words.near(rightSide ? mx + 12 + w / 2 : mx - 12 - w / 2, my, w, 16);
    return html`<g><title>${name}</title><circle class="mark" cx="${px(mx)}" cy="${px(my)}" r="5.5"/><path class="cross" d="M${px(mx - 9)} ${px(my)}h18M${px(mx)} ${px(my - 9)}v18"/><text x="${px(tx)}" y="${px(ty + 4)}" text-anchor="middle">${name}</text></g>`;
  });
  return html`${parts}`;
}

function axes({ x0, y0, dx, dy, nx, ny, xLabel, yLabel }: GridMap, place: Place): Markup {
  const left = toMm(x0 - dx / 2),
    low = toMm(y0 - dy / 2);
  const bottom = TOP + place.height;
  const ticksX = ticks(left, left + toMm(nx * dx), place.width / 90),
    ticksY = ticks(low, low + toMm(ny * dy), place.height / 70);
  return html`<rect class="rule" x="${LEFT}" y="${TOP}" width="${px(place.width)}" height="${px(place.height)}"/>${ticksX.map(
    (mm) =>
      html`<path class="rule" d="M${px(place.x(mm / 1000))} ${px(bottom)}v6"/><text x="${px(place.x(mm / 1000))}" y="${px(bottom + 20)}" text-anchor="middle">${printed(mm)}</text>`,
  )}${ticksY.map(
    (mm) =>
      html`<path class="rule" d="M${LEFT} ${px(place.y(mm / 1000))}h-6"/><text x="${LEFT - 10}" y="${px(place.y(mm / 1000) + 4)}" text-anchor="end">${printed(mm)}</text>`,
  )}<text x="${px(LEFT + place.width / 2)}" y="${px(bottom + 42)}" text-anchor="middle">${xLabel}</text><text transform="translate(18 ${px(TOP + place.height / 2)}) rotate(-90)" text-anchor="middle">${yLabel}</text><path class="rule" d="M16 ${px(bottom + 48)}V${px(bottom + 20)}l-3.5 7h7l-3.5 -7M16 ${px(bottom + 48)}H44l-7 -3.5v7l7 -3.5"/><text x="16" y="${px(bottom + 14)}" text-anchor="middle">y</text><text x="53" y="${px(bottom + 52)}" text-anchor="middle">x</text>`;
}

/** Round values from `low` to `high`, both included, about `count` of them. */
function ticks(low: number, high: number, count: number): number[] {
  const step = roundStep((high - low) / Math.max(2, count));
  const out: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k++) out.push(k * step);
  return out;
}

function legend(map: GridMap, place: Place, low: number, high: number): Markup {
  const x = LEFT + place.width + 26,
    top = TOP + 22,
    height = Math.max(120, Math.min(320, place.height - 40));
  const y = (value: number) => top + height * (1 - (value - low * map.scale) / ((high - low) * map.scale));
  const stops = Array.from(
    { length: 33 },
    (_, k) => html`<stop offset="${px((k / 32) * 100)}%" stop-color="${scaleColor(k / 32)}"/>`,
  );
  const some = high > low ? ticks(low * map.scale, high * map.scale, 6) : [];
  const labels =
    some.length > 0
      ? some.map(
          (value) =>
            html`<path class="rule" d="M${px(x + 20)} ${px(y(value))}h6"/><text x="${px(x + 30)}" y="${px(y(value) + 4)}">${printed(value)}</text>`,
        )
      : html`<text x="${px(x + 30)}" y="${px(top + height / 2 + 4)}">${printed(low * map.scale)}</text>`;
  const none = map.values.some((value) => !Number.isFinite(value));
  return html`<defs><linearGradient id="map-scale" x1="0" y1="1" x2="0" y2="0">${stops}</linearGradient></defs><rect class="rim" x="${px(x)}" y="${px(top)}" width="20" height="${px(height)}" fill="${high > low ? new Markup("url(#map-scale)") : scaleColor(0)}"/>${labels}<text transform="translate(${px(x + 108)} ${px(top + height / 2)}) rotate(-90)" text-anchor="middle">${map.legend}</text>${none && html`<rect class="rim" x="${px(x)}" y="${px(top + height + 16)}" width="20" height="14" fill="url(#map-none)"/><text x="${px(x + 28)}" y="${px(top + height + 27)}">no value</text>`}`;
}

/** Words so far, so that later ones keep clear of them. */
class WordPlaces {
  private readonly boxes: { readonly x: number; readonly y: number; readonly w: number; readonly h: number }[] = [];

  keep(x: number, y: number, w: number, h: number): void {
    this.boxes.push({ x, y, w, h });
  }

  private isFree(x: number, y: number, w: number, h: number): boolean {
    return !this.boxes.some((b) => Math.abs(b.x - x) < (b.w + w) / 2 + 4 && Math.abs(b.y - y) < (b.h + h) / 2 + 2);
  }

  /** The free spot nearest above or below a point; the point itself where none is. */
  near(x: number, y: number, w: number, h: number): [number, number] {
    const steps = [0, 1, -1, 2, -2, 3, -3].map((k) => y + k * (h + 3));
    const free = steps.find((at) => this.isFree(x, at, w, h)) ?? y;
    this.keep(x, free, w, h);
    return [x, free];
  }

  /** A free spot on a line, from its middle outward; undefined when there is none. */
  along(line: readonly (readonly [number, number])[], w: number, h: number): readonly [number, number] | undefined {
    const middle = Math.floor(line.length / 2);
    for (let k = 0; k < line.length; k++) {
      const at = line[middle + (k % 2 === 0 ? k / 2 : -(k + 1) / 2)];
      if (at === undefined || !this.isFree(at[0], at[1], w, h)) continue;
      this.keep(at[0], at[1], w, h);
      return at;
    }
    return undefined;
  }
}

function style(colors: "both" | "day"): string {
  const rules = ({ ink, muted, line, panel }: typeof DAY) =>
    `.map-sheet .ground{fill:${panel}}.map-sheet text{fill:${ink};stroke:${panel}}.map-sheet .rule,.map-sheet .rim{stroke:${ink}}.map-sheet .none{stroke:${line}}.map-sheet .cross,.map-sheet .outline{stroke:${ink}}.map-sheet .mark{fill:${panel};stroke:${ink}}.map-sheet .outline-ground{stroke:${panel}}.map-sheet .level{stroke:none}.map-sheet .quiet{fill:${muted}}`;
  const shape = `.map-sheet text{font-family:${FONT};font-size:12.5px;stroke-width:3.5px;stroke-linejoin:round;paint-order:stroke}.map-sheet .head{font-size:16px;font-weight:600}.map-sheet .rule{fill:none;stroke-width:1}.map-sheet .none{stroke-width:1.2}.map-sheet .cross,.map-sheet .outline,.map-sheet .outline-ground,.map-sheet .contour,.map-sheet .contour-ground{fill:none}.map-sheet .cross{stroke-width:1.4}.map-sheet .outline{stroke-width:1.6}.map-sheet .outline-ground{stroke-width:3.6;stroke-opacity:.75}.map-sheet .contour{stroke:#ffffff;stroke-width:1.1}.map-sheet .contour-ground{stroke:#10202c;stroke-width:2.4;stroke-opacity:.55}.map-sheet .mark{stroke-width:1.4}`;
  const level = `.map-sheet .level{font-size:11px;font-weight:600;fill:#ffffff;stroke:#10202c;stroke-width:3px}`;
  const night = colors === "day" ? "" : `@media screen and (prefers-color-scheme:dark){${rules(NIGHT)}${level}}`;
  return `${shape}${rules(DAY)}${level}${night}`;
}
