/** One view of a scene as an SVG element. */
import type { ClearanceScene } from "../../check/clearance/scene.ts";
import { toMm } from "../../math/units.ts";
import { fixed } from "../figures.ts";
import { html, Markup } from "../markup.ts";
import type { Detail, Drawing, Part } from "./drawing.ts";
import { LabelPlaces, shortened, textWidth } from "./labels.ts";
import { type Painting, paintBodies } from "./paint.ts";
import { floorMarks, floorUnder, scaleMarks } from "./scale-marks.ts";
import { type Framing, framingOf, onPicture, type Vector, type View } from "./view.ts";

export interface PictureSize {
  /** px; letters are 12.5 px high. */
  readonly width: number;
  readonly height: number;
}

export interface PictureFrame extends PictureSize {
  /** Unique on the page; patterns are named after it. */
  readonly id: string;
  /** Words above the picture. */
  readonly heading: string;
  /** Set where several views share a scale; otherwise the scene fills the picture. */
  readonly framing?: Framing;
}

/** Rows kept for the heading and for the scale, px. */
const HEAD = 22;
const FOOT = 44;
/** Largest radius of the ring around a clearance, px. */
const RING = 32;

/** A view of the whole scene. The clearance is marked by a ring with its figure, the pair by numbered balloons. */
export function wholePicture(drawing: Drawing, view: View, frame: PictureFrame): Markup {
  const { width, height } = frame;
  const area = frame.framing ?? framingOf(view, drawing.core, width, height - HEAD - FOOT, 16);
  const framing = { ...area, height: area.height + 2 * HEAD, bottom: height };
  const floor = floorUnder(drawing.whole.model.facets.flatMap(({ points }) => points));
  const below = floor === undefined ? html`` : floorMarks(floor, view, framing);
  const { scene } = drawing.whole;
  const marks: Marks = (painting, places) => {
    const { witness } = scene;
    const words = [ownerNames(scene, painting, places), personNames(scene, view, framing, places)];
    if (witness !== undefined) words.unshift(ringMark(witness, drawing.detail?.width ?? 0, view, framing, places));
    return html`${words}`;
  };
  const round = drawing.plain ? ROUND : {};
  return picture(drawing.whole, view, framing, frame, drawing.hiding(view), below, marks, round);
}

/** One shade for round surfaces. */
const ROUND = { roundShade: 6 };

/** The place of the clearance enlarged. */
export function detailPicture({ part, view, middle, width, hiding }: Detail, frame: PictureFrame): Markup {
  const across = Math.min(frame.width, frame.height - FOOT);
  const framing = framingAround(view, middle, across / width, frame.width, frame.height - FOOT);
  const marks: Marks = (_, places) => gapMark(part.scene.witness!, view, framing, places);
  return picture(part, view, framing, frame, hiding, html``, marks, ROUND);
}

const framingAround = (view: View, middle: Vector, scale: number, width: number, height: number): Framing => ({
  width,
  height,
  scale,
  middle: [dotOf(view.right, middle), dotOf(view.up, middle)],
});

const dotOf = (a: Vector, b: Vector) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

type Marks = (painting: Painting, places: LabelPlaces) => Markup;

function picture(
  { scene, model }: Part,
  view: View,
  framing: Framing,
  { width, height, id, heading }: PictureFrame,
  ghosts: ReadonlySet<number>,
  below: Markup,
  marks: Marks,
  round: { readonly roundShade?: number } = {},
): Markup {
  const hatch = [`${id}-a`, `${id}-b`] as const;
  const painting = paintBodies(scene, model, view, framing, { ghosts, hatch, ...round });
  const places = new LabelPlaces(width, framing.bottom ?? framing.height, painting.cover);
  places.keep(textWidth(heading) / 2 + 8, 12, textWidth(heading), 18);
  places.keep(110, height - FOOT / 2, 220, FOOT);
  const words = marks(painting, places);
  const balls = html`${pairBalloons(scene, view, framing, painting, places)}`;
  const title = `${heading}${scene.pair === undefined ? "" : `: ${scene.bodies[scene.pair[0]]!.name} and ${scene.bodies[scene.pair[1]]!.name}`}`;
  return html`<svg class="scene" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="${title}"><title>${title}</title><defs><pattern id="${hatch[0]}" width="60" height="60" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch-a" d="M30 0V60"/></pattern><pattern id="${hatch[1]}" width="60" height="60" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path class="hatch-b" d="M15 0V60M30 0V60"/></pattern><clipPath id="${id}-c"><rect width="${width}" height="${framing.bottom ?? framing.height}"/></clipPath></defs><g clip-path="url(#${id}-c)">${below}<g transform="scale(.1)">${new Markup(painting.paths)}</g>${words}${balls}</g>${framing.bottom === undefined && html`<path class="frame" d="M0 ${framing.height}H${width}"/>`}${scaleMarks(view, framing, height)}<text class="head" x="8" y="16">${heading}</text></svg>`;
}

const px = (value: number) => Number(value.toFixed(1));

type Witness = NonNullable<ClearanceScene["witness"]>;

/** "6.2 mm", "overlap 3.1 mm" */
function gapWord(distance: number): string {
  const size = `${fixed(toMm(Math.abs(distance)), Math.abs(distance) < 0.01 ? 2 : 1)} mm`;
  return distance < 0 ? `overlap ${size}` : size;
}

/** The place of the clearance on a view of the whole, with its figure. */
function ringMark(witness: Witness, width: number, view: View, framing: Framing, places: LabelPlaces): Markup {
  const [ax, ay] = onPicture(view, framing, ...witness.a);
  const [bx, by] = onPicture(view, framing, ...witness.b);
  const x = (ax + bx) / 2,
    y = (ay + by) / 2;
  const long = Math.hypot(bx - ax, by - ay);
  // A gap too long for a ring is drawn as it is, between its ends.
  const ringed = long < 2 * RING;
  const r = ringed ? Math.min(RING, Math.max(11, (width * framing.scale) / 2)) : 0;
  places.keep(x, y, Math.max(2 * r, Math.abs(bx - ax)), Math.max(2 * r, Math.abs(by - ay)));
  const word = gapWord(witness.distance);
  const w = textWidth(word, 14);
  const [tx, ty] = places.near(x, y, w, 18, r + 14);
  const away = Math.hypot(tx - x, ty - y) || 1;
  const line = html`<line class="gap" x1="${px(ax)}" y1="${px(ay)}" x2="${px(bx)}" y2="${px(by)}"/>`;
  const ends = html`<circle class="gap-end" cx="${px(ax)}" cy="${px(ay)}" r="3.4"/><circle class="gap-end" cx="${px(bx)}" cy="${px(by)}" r="3.4"/>`;
  return html`${long > 3 && line}${ringed ? html`<circle class="gap ring" cx="${px(x)}" cy="${px(y)}" r="${px(r)}"/>` : ends}${leader("gap ring", x + (r * (tx - x)) / away, y + (r * (ty - y)) / away, tx, ty, w, 18)}<text class="gap-word" x="${px(tx)}" y="${px(ty + 5)}" text-anchor="middle">${word}</text>`;
}

/** A line from a point to the border of a box around (tx, ty). */
function leader(name: string, x: number, y: number, tx: number, ty: number, w: number, h: number): Markup {
  const dx = x - tx,
    dy = y - ty;
  const share = Math.min(1, Math.min((w / 2 + 3) / Math.max(Math.abs(dx), 1e-9), h / 2 / Math.max(Math.abs(dy), 1e-9)));
  return html`<line class="${name}" x1="${px(x)}" y1="${px(y)}" x2="${px(tx + share * dx)}" y2="${px(ty + share * dy)}"/>`;
}

/** The gap itself with its dimension. */
function gapMark(witness: Witness, view: View, framing: Framing, places: LabelPlaces): Markup {
  const [ax, ay] = onPicture(view, framing, ...witness.a);
  const [bx, by] = onPicture(view, framing, ...witness.b);
  const long = Math.hypot(bx - ax, by - ay);
  const x = (ax + bx) / 2,
    y = (ay + by) / 2;
  const word = gapWord(witness.distance);
  const w = textWidth(word, 14);
  places.keep(x, y, Math.abs(bx - ax) + 20, Math.abs(by - ay) + 20);
  const [tx, ty] = places.near(x, y, w, 18, 30);
  const ends = [
    [ax, ay],
    [bx, by],
  ].map(([ex, ey]) => html`<circle class="gap-end" cx="${px(ex!)}" cy="${px(ey!)}" r="3.4"/>`);
  // Arrows from outside point at the two ends, as for a dimension with no room inside.
  const arrows =
    long < 1
      ? html``
      : html`${[
          [ax, ay, -1],
          [bx, by, 1],
        ].map(([ex, ey, sign]) => {
          const ux = (sign! * (bx - ax)) / long,
            uy = (sign! * (by - ay)) / long;
          const from = [ex! + 30 * ux, ey! + 30 * uy];
          const tip = [ex! + 5 * ux, ey! + 5 * uy];
          const wing = (side: number) =>
            `${px(tip[0]! + 9 * ux - side * 3.4 * uy)},${px(tip[1]! + 9 * uy + side * 3.4 * ux)}`;
          return html`<line class="gap ring" x1="${px(from[0]!)}" y1="${px(from[1]!)}" x2="${px(tip[0]!)}" y2="${px(tip[1]!)}"/><polygon class="gap-end" points="${px(tip[0]!)},${px(tip[1]!)} ${wing(1)} ${wing(-1)}"/>`;
        })}`;
  return html`<line class="gap" x1="${px(ax)}" y1="${px(ay)}" x2="${px(bx)}" y2="${px(by)}"/>${arrows}${ends}${leader("gap ring", x, y, tx, ty, w, 18)}<text class="gap-word" x="${px(tx)}" y="${px(ty + 5)}" text-anchor="middle">${word}</text>`;
}

/** Numbered balloons of the pair (item references, ISO 6433). */
function pairBalloons(
  scene: ClearanceScene,
  view: View,
  framing: Framing,
  { cover }: Painting,
  places: LabelPlaces,
): Markup[] {
  if (scene.pair === undefined) return [];
  const seen = cover.seen();
  return scene.pair.map((body, i) => {
    const spot = seen.get(body);
    const { worldFromBody: t } = scene.bodies[body]!;
    const [x, y] = spot === undefined ? onPicture(view, framing, t[3]!, t[7]!, t[11]!) : [spot.x, spot.y];
    const [bx, by] = places.near(x, y, 22, 22, 26);
    const dash = spot === undefined && new Markup(' stroke-dasharray="4 3"');
    const long = Math.hypot(bx - x, by - y) || 1;
    return html`<g><title>${i + 1}: ${scene.bodies[body]!.name}</title><line class="lead"${dash} x1="${px(x)}" y1="${px(y)}" x2="${px(bx + (11 * (x - bx)) / long)}" y2="${px(by + (11 * (y - by)) / long)}"/><circle class="blob" cx="${px(x)}" cy="${px(y)}" r="2.2"/><circle class="ball" cx="${px(bx)}" cy="${px(by)}" r="11"/><text class="ball-word" x="${px(bx)}" y="${px(by + 4.5)}">${i + 1}</text></g>`;
  });
}

/** Names of what the bodies belong to, on the larger ones and where there is room. */
function ownerNames(scene: ClearanceScene, { cover }: Painting, places: LabelPlaces): Markup {
  const spots = new Map<string, { readonly area: number; readonly x: number; readonly y: number }>();
  for (const [body, spot] of cover.seen()) {
    const { name, group } = scene.bodies[body]!;
    if (group === "arm" || group === "tool" || group === "held part" || scene.pair?.includes(body)) continue;
    // "lathe.door.panel" belongs to the lathe, "hub in raw, place 7" to the tray.
    const owner = group === "machine" || group === "device" ? name.split(".")[0]! : name.replace(/, place \d+$/, "");
    const known = spots.get(owner);
    if (known === undefined || spot.area > known.area) spots.set(owner, spot);
  }
  const order = [...spots].filter(([, { area }]) => area > 900).sort(([, a], [, b]) => b.area - a.area);
  const words = order.slice(0, 8).map(([owner, { x, y }]) => {
    const word = shortened(owner, 24);
    const w = textWidth(word);
    if (!places.isFree(x, y, w, 16)) return html``;
    places.keep(x, y, w, 16);
    return html`<text class="quiet" x="${px(x)}" y="${px(y + 4)}" text-anchor="middle">${word}</text>`;
  });
  return html`${words}`;
}

/** Names of people, at their heads: they are drawn as if clear and would not be told from other shapes. */
function personNames(scene: ClearanceScene, view: View, framing: Framing, places: LabelPlaces): Markup {
  const words = scene.bodies.map(({ name, group, worldFromBody: t }) => {
    if (group !== "person") return html``;
    const [x, y] = onPicture(view, framing, t[3]!, t[7]!, t[11]!);
    const word = shortened(name, 28);
    const w = textWidth(word);
    if (!places.isFree(x, y, w, 16)) return html``;
    places.keep(x, y, w, 16);
    return html`<text class="quiet" x="${px(x)}" y="${px(y + 4)}" text-anchor="middle">${word}</text>`;
  });
  return html`${words}`;
}

/** What the picture shows, in a sentence. */
export function description({ bodies, pair, witness }: ClearanceScene): string {
  if (pair === undefined || witness === undefined) return `${bodies.length} bodies of the cell.`;
  const [a, b] = [bodies[pair[0]]!.name, bodies[pair[1]]!.name];
  return witness.distance < 0
    ? `${a} (1) and ${b} (2) overlap by ${gapWord(-witness.distance)}.`
    : `Between ${a} (1) and ${b} (2) there are ${gapWord(witness.distance)}.`;
}
