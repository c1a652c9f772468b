/** Scale bar and axes of a picture, and the floor with its grid. */

import { toMm } from "../../math/units.ts";
import { dot } from "../../math/vectors.ts";
import { html, type Markup } from "../markup.ts";
import { type Framing, onPicture, type Vector, type View } from "./view.ts";

/** The longest of 1, 2, 5, 10, … mm that is not longer than `most`, m. */
function roundLength(most: number): number {
  const power = 10 ** Math.floor(Math.log10(most) + 1e-9);
  const step = [5, 2, 1].find((k) => k * power <= most * (1 + 1e-9)) ?? 1;
  return step * power;
}

/** "500 mm", without the digits of a binary fraction. */
const lengthWord = (metres: number): string => `${Number(toMm(metres).toPrecision(6))} mm`;

const AXES: readonly (readonly [name: string, direction: Vector])[] = [
  ["x", [1, 0, 0]],
  ["y", [0, 1, 0]],
  ["z", [0, 0, 1]],
];

const px = (value: number) => Number(value.toFixed(1));

/**
 * Axes of the world at the lower left, and the scale. In an isometric view the arms of the axes are the scale, since lengths are
 * to scale along them only.
 * @param bottom y of the lower border, px
 */
export function scaleMarks(view: View, framing: Framing, bottom: number): Markup {
  const foreshortened = view.isometric ? Math.sqrt(2 / 3) : 1;
  const length = roundLength((view.isometric ? 62 : 110) / framing.scale / foreshortened);
  const arm = view.isometric ? length * framing.scale * foreshortened : 21;
  const y = bottom - 12;
  const shown = AXES.map(([name, direction]) => ({
    name,
    u: dot(view.right, direction),
    v: -dot(view.up, direction),
  })).filter(({ u, v }) => Math.hypot(u, v) > 0.15);
  const size = (u: number, v: number) => (view.isometric ? arm / Math.hypot(u, v) : arm);
  const left = Math.min(0, ...shown.map(({ u, v }) => u * size(u, v)));
  const low = Math.max(0, ...shown.map(({ u, v }) => v * size(u, v)));
  const ox = 20 - left,
    oy = y - low;
  const axes = shown.map(({ name, u, v }) => {
    const s = size(u, v),
      ex = ox + u * s,
      ey = oy + v * s,
      long = Math.hypot(u, v),
      du = u / long,
      dv = v / long;
    const head = `${px(ex)},${px(ey)} ${px(ex - 7 * du - 2.6 * dv)},${px(ey - 7 * dv + 2.6 * du)} ${px(ex - 7 * du + 2.6 * dv)},${px(ey - 7 * dv - 2.6 * du)}`;
    return html`<line class="rule" x1="${px(ox)}" y1="${px(oy)}" x2="${px(ex)}" y2="${px(ey)}"/><polygon class="blob" points="${head}"/><text x="${px(ex + 9 * du)}" y="${px(ey + 9 * dv + 4)}" text-anchor="middle">${name}</text>`;
  });
  const right = ox + Math.max(0, ...shown.map(({ u, v }) => u * size(u, v)));
  if (view.isometric)
    return html`${axes}<text class="quiet" x="${px(right + 22)}" y="${px(y + 2)}">each axis ${lengthWord(length)}</text>`;
  const bx = right + 34,
    ex = bx + length * framing.scale;
  return html`${axes}<path class="rule" d="M${px(bx)} ${px(y - 4)}v8M${px(bx)} ${px(y)}H${px(ex)}M${px(ex)} ${px(y - 4)}v8"/><text class="quiet" x="${px(ex + 9)}" y="${px(y + 4)}">${lengthWord(length)}</text>`;
}

/** A rectangle on the floor, m. */
export interface Floor {
  readonly x0: number;
  readonly x1: number;
  readonly y0: number;
  readonly y1: number;
  /** Distance of the grid lines, m. */
  readonly step: number;
}

/** The floor under points that stand on or above it; undefined when some are below. */
export function floorUnder(points: ArrayLike<number>): Floor | undefined {
  let x0 = Infinity,
    x1 = -Infinity,
    y0 = Infinity,
    y1 = -Infinity,
    low = Infinity;
  for (let i = 0; i < points.length; i += 3) {
    x0 = Math.min(x0, points[i]!);
    x1 = Math.max(x1, points[i]!);
    y0 = Math.min(y0, points[i + 1]!);
    y1 = Math.max(y1, points[i + 1]!);
    low = Math.min(low, points[i + 2]!);
  }
  if (!(x0 <= x1) || low < -0.001) return undefined;
  const step = Math.max(0.5, roundLength(Math.max(x1 - x0, y1 - y0) / 4));
  const down = (value: number) => Math.floor(value / step + 1e-6) * step;
  const up = (value: number) => Math.ceil(value / step - 1e-6) * step;
  return { x0: down(x0), x1: up(x1), y0: down(y0), y1: up(y1), step };
}

export const floorCorners = ({ x0, x1, y0, y1 }: Floor): number[] => [x0, y0, 0, x1, y0, 0, x1, y1, 0, x0, y1, 0];

/** The floor as a grid seen from above, as a line with hatching seen from the side. */
export function floorMarks(floor: Floor, view: View, framing: Framing): Markup {
  const at = (x: number, y: number) => onPicture(view, framing, x, y, 0).map(px) as [number, number];
  let d = "";
  if (view.toward[2] < 0.05) {
    const ends = [at(floor.x0, floor.y0), at(floor.x1, floor.y1)].sort((a, b) => a[0] - b[0]);
    const [[x0, y], [x1]] = ends as [[number, number], [number, number]];
    d = `M${x0} ${y}H${x1}`;
    for (let x = x0 + 7; x <= x1; x += 7) d += `M${px(x)} ${y}l-6 6`;
    return html`<path class="ground rule" d="${d}"/>`;
  }
  const line = (a: readonly [number, number], b: readonly [number, number]) => {
    d += `M${a.join(" ")}L${b.join(" ")}`;
  };
  for (let k = 0; floor.x0 + k * floor.step <= floor.x1 + 1e-9; k++)
    line(at(floor.x0 + k * floor.step, floor.y0), at(floor.x0 + k * floor.step, floor.y1));
  for (let k = 0; floor.y0 + k * floor.step <= floor.y1 + 1e-9; k++)
    line(at(floor.x0, floor.y0 + k * floor.step), at(floor.x1, floor.y0 + k * floor.step));
  return html`<path class="ground" d="${d}"/>`;
}
