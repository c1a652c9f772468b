/** A scene as a drawing sheet of its own: isometric, enlarged detail, front, left side and plan, in one SVG file. */
import type { ClearanceScene } from "../../check/clearance/scene.ts";
import { html, Markup } from "../markup.ts";
import { COARSEST, type Drawing, drawingOf } from "./drawing.ts";
import { shortened } from "./labels.ts";
import { sceneRules, sceneShape } from "./scene-style.ts";
import { FRONT, type Framing, framingOf, LEFT, PLAN, type View } from "./view.ts";
import { description, detailPicture, wholePicture } from "./view-picture.ts";

export interface SheetOptions {
  /** What the picture is of: "Least clearance of the run". */
  readonly title: string;
  /** Further lines of the title block: "step load.do[3], at 12.40 s". */
  readonly notes?: readonly string[];
  /** "both" follows the reader's preference for light or dark; "day" suits programs without style rules for that. Default both. */
  readonly colors?: "both" | "day";
}

const WIDTH = 1180;
const LEFT_COLUMN = 660;
const TOP = 540;
/** Faces that have the letters of any name; the first is what pictures are made with where faces can be given. */
const FONT = "DejaVu Sans,Segoe UI,system-ui,Noto Sans,sans-serif";

/** A sheet longer than this is drawn again with fewer facets, characters. */
const LONGEST = 1_500_000;

/** The sheet as one SVG document; pure, the same text for the same scene. Scenes of very many facets are drawn coarser. */
export function renderSceneSvg(scene: ClearanceScene, options: SheetOptions): string {
  let text = "";
  for (let coarseness = 1; coarseness <= COARSEST; coarseness *= 4) {
    text = sheet(scene, drawingOf(scene, coarseness), options);
    if (text.length <= LONGEST) break;
  }
  return text;
}

function sheet(scene: ClearanceScene, drawing: Drawing, options: SheetOptions): string {
  const sides = alignedViews(drawing);
  const height = TOP + sides.front.height + Math.max(sides.plan.height, 220);
  const right = WIDTH - LEFT_COLUMN;
  const at = (x: number, y: number, picture: Markup) =>
    new Markup(picture.text.replace("<svg ", `<svg x="${x}" y="${y}" `));
  const { detail } = drawing;
  const views = [
    at(
      0,
      0,
      wholePicture(drawing, drawing.isometric, {
        id: "iso",
        width: LEFT_COLUMN,
        height: TOP,
        heading: capital(drawing.isometric.name),
      }),
    ),
    detail === undefined
      ? html``
      : at(
          LEFT_COLUMN,
          0,
          detailPicture(detail, { id: "detail", width: right, height: TOP, heading: `Detail, ${detail.view.name}` }),
        ),
    at(0, TOP, wholePicture(drawing, FRONT, { id: "front", heading: "Front", ...sides.front })),
    at(LEFT_COLUMN, TOP, wholePicture(drawing, LEFT, { id: "left", heading: "Left side", ...sides.left })),
    at(0, TOP + sides.front.height, wholePicture(drawing, PLAN, { id: "plan", heading: "Plan", ...sides.plan })),
  ];
  const title = options.title;
  const frames = html`<path class="rule" d="M${LEFT_COLUMN} 0V${height}M0 ${TOP}H${WIDTH}M0 ${TOP + sides.front.height}H${WIDTH}"/>`;
  const day = sceneRules(".scene-sheet", "day");
  const night =
    options.colors === "day"
      ? ""
      : `@media screen and (prefers-color-scheme:dark){${sceneRules(".scene-sheet", "night")}}`;
  const style = `${sceneShape(".scene-sheet", FONT)}${day}${night}`;
  const document = html`<svg xmlns="http://www.w3.org/2000/svg" class="scene-sheet" viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" role="img" aria-labelledby="sheet-title sheet-desc"><title id="sheet-title">${title}</title><desc id="sheet-desc">${description(scene)}</desc><style>${new Markup(style)}</style><rect class="sheet-ground" x=".5" y=".5" width="${WIDTH - 1}" height="${height - 1}"/>${views}${frames}${titleBlock(scene, options, LEFT_COLUMN, TOP + sides.front.height)}</svg>`;
  return `${document.text}\n`;
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

interface SideFrame {
  readonly width: number;
  readonly height: number;
  readonly framing: Framing;
}

/** Front, left side and plan at one scale and in line with each other. */
function alignedViews({ corners }: Drawing): { front: SideFrame; left: SideFrame; plan: SideFrame } {
  const widths = { front: LEFT_COLUMN, left: WIDTH - LEFT_COLUMN, plan: LEFT_COLUMN };
  const most = 420;
  const filling = (view: View, width: number) => framingOf(view, corners, width, most, 16);
  const front = filling(FRONT, widths.front),
    left = filling(LEFT, widths.left),
    plan = filling(PLAN, widths.plan);
  const scale = Math.min(front.scale, left.scale, plan.scale);
  const [high, deep] = [2, 1].map((axis) => {
    let low = Infinity,
      top = -Infinity;
    for (let i = axis; i < corners.length; i += 3) {
      low = Math.min(low, corners[i]!);
      top = Math.max(top, corners[i]!);
    }
    return low < top ? (top - low) * scale : 0;
  }) as [number, number];
  const frame = (framing: Framing, width: number, size: number): SideFrame => {
    const inner = Math.max(150, Math.ceil(size) + 32);
    return { width, height: inner + 66, framing: { ...framing, scale, width, height: inner } };
  };
  return {
    front: frame(front, widths.front, high),
    left: frame(left, widths.left, high),
    plan: frame(plan, widths.plan, deep),
  };
}

function titleBlock(scene: ClearanceScene, { title, notes = [] }: SheetOptions, x: number, y: number): Markup {
  const lines: Markup[] = [];
  let at = y + 30;
  const line = (name: string, text: string, gap = 20) => {
    for (const row of rows(text, 64)) {
      lines.push(html`<text class="${name}" x="${x + 18}" y="${at}">${row}</text>`);
      at += gap;
    }
  };
  line("head", title, 24);
  for (const note of notes) line("", note);
  if (scene.pair !== undefined)
    for (const [i, body] of scene.pair.entries()) {
      const { name, group } = scene.bodies[body]!;
      lines.push(
        html`<circle class="ball" cx="${x + 28}" cy="${at + 2}" r="10"/><text class="ball-word" x="${x + 28}" y="${at + 6.5}">${i + 1}</text><text x="${x + 46}" y="${at + 6}">${shortened(`${name} (${group})`, 60)}</text>`,
      );
      at += 26;
    }
  at += 12;
  line("quiet", "Lengths in mm. First-angle projection (ISO 5456-2).");
  if (scene.pair !== undefined)
    line("quiet", "Dashed: outlines that other bodies hide, or of bodies drawn as if clear.");
  return html`${lines}`;
}

/** Text in rows of at most so many characters, broken between words where there are words; five rows at most. */
function rows(text: string, most: number): string[] {
  const out: string[] = [];
  for (const word of text.split(" ").map((w) => shortened(w, most))) {
    const last = out.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= most) out[out.length - 1] = `${last} ${word}`;
    else out.push(word);
  }
  return out.length <= 5 ? out : [...out.slice(0, 4), "…"];
}
