/** The bodies of a scene as SVG paths: what is nearer is painted over what is further away. */
import type { ClearanceScene, SceneGroup } from "../../check/clearance/scene.ts";
import { Cover } from "./cover.ts";
import { depthOrder, ENTRY, type Piece } from "./depth-order.ts";
import type { FacetModel } from "./facets.ts";
import { joinedAreas, joinedLines } from "./outlines.ts";
import { type Framing, onPicture, type View } from "./view.ts";

/** Shades of each tone, from the side away from the light to the one turned to it. */
export const SHADES = 9;

/** Tones in which bodies are painted; A and B are the pair that is pointed out. */
export const TONES = ["arm", "tool", "part", "machine", "scene", "clear", "a", "b"] as const;
export type Tone = (typeof TONES)[number];

const toneOf: Readonly<Record<SceneGroup, Tone>> = {
  arm: "arm",
  tool: "tool",
  "held part": "part",
  part: "part",
  machine: "machine",
  device: "machine",
  scene: "scene",
  fence: "clear",
  person: "clear",
};

/** Light from the upper left, behind the viewer: along right, up and toward. */
const LIGHT = [-0.36, 0.56, 0.75] as const;

export interface Painting {
  /** Paths in tenths of a pixel. */
  readonly paths: string;
  readonly cover: Cover;
}

export interface PaintOptions {
  /** Bodies drawn by their outlines only, since they hide what matters. */
  readonly ghosts: ReadonlySet<number>;
  /** Ids of the hatching patterns of the pair. */
  readonly hatch: readonly [a: string, b: string];
  /** Shade of all round surfaces, where their facets would show; undefined: each facet has its own. */
  readonly roundShade?: number;
}

type Tenths = readonly [number, number];

/** Pieces of one body that follow each other in the order of painting. */
interface Run {
  readonly body: number;
  /** Polygons by shade. */
  readonly areas: Map<number, Tenths[][]>;
  readonly outlines: [Tenths, Tenths][];
  readonly creases: [Tenths, Tenths][];
}

export function paintBodies(
  scene: ClearanceScene,
  model: FacetModel,
  view: View,
  framing: Framing,
  { ghosts, hatch, roundShade }: PaintOptions,
): Painting {
  const cover = new Cover(framing.width, framing.bottom ?? framing.height);
  const lines = new LineKinds(model, view);
  const tone = (body: number): Tone =>
    scene.pair?.[0] === body ? "a" : scene.pair?.[1] === body ? "b" : toneOf[scene.bodies[body]!.group];

  // From the nearest piece backwards: what finds no free cell is hidden.
  const seen: { piece: Piece; flat: Flat; shade: number }[] = [];
  const among = model.facets.flatMap(({ body }, i) => (lines.facing(i) === 0 || ghosts.has(body) ? [] : [i]));
  const inFrame = among.filter((i) => flatten(model.facets[i]!, view, framing) !== undefined);
  const order = depthOrder(model, inFrame);
  for (const piece of order.from(...view.toward).reverse()) {
    const { body } = model.facets[piece.facet]!;
    const flat = flatten(piece, view, framing);
    if (flat === undefined || isSpeck(flat.points)) continue;
    if (cover.take(flat.points, tone(body) === "clear" ? undefined : body))
      seen.push({ piece, flat, shade: shadeOf(piece.facet) });
  }
  const runs: Run[] = [];
  for (const { piece, flat, shade } of seen.reverse()) {
    const { body } = model.facets[piece.facet]!;
    let run = runs.at(-1);
    // Pieces of a convex body do not hide each other, those of another may.
    const joins = run?.body === body && (model.convex[body]! || run.areas.has(shade));
    if (run === undefined || !joins) {
      run = { body, areas: new Map(), outlines: [], creases: [] };
      runs.push(run);
    }
    const corners = tenths(flat.points);
    if (lines.facing(piece.facet) < 0) corners.reverse();
    const areas = run.areas.get(shade);
    if (areas === undefined) run.areas.set(shade, [corners]);
    else areas.push(corners);
    for (const [i, edge] of model.coarsened[body] ? [] : flat.edges.entries()) {
      const kind = lines.kind(edge);
      if (kind === undefined) continue;
      const way: [Tenths, Tenths] = [tenth(flat.points, i), tenth(flat.points, (i + 1) % flat.edges.length)];
      (kind === "outline" ? run.outlines : run.creases).push(way);
    }
  }

  let paths = "";
  for (const [index, run] of runs.entries()) {
    const t = tone(run.body);
    let fills = contourOf(index);
    for (const [shade, areas] of [...run.areas].sort(([a], [b]) => a - b)) {
      const d = joinedAreas(areas);
      if (d === "") continue;
      fills += `<path class="f${shade}" d="${d}"/>`;
      if (t === "a" || t === "b") fills += `<path class="h" fill="url(#${hatch[t === "a" ? 0 : 1]})" d="${d}"/>`;
    }
    const creases = joinedLines(run.creases);
    const outlines = joinedLines(run.outlines);
    if (creases !== "") fills += `<path class="e" d="${creases}"/>`;
    if (outlines !== "") fills += `<path class="o" d="${outlines}"/>`;
    if (fills !== "") paths += `<g class="t-${t}">${fills}</g>`;
  }

  const hidden = scene.pair === undefined ? [] : scene.pair;
  for (const body of [...ghosts].sort((a, b) => a - b)) paths += dashed(body, "g");
  for (const body of hidden) if (!ghosts.has(body) && !model.coarsened[body]) paths += dashed(body, "d");
  return { paths, cover };

  function shadeOf(facet: number): number {
    const { nx, ny, nz, edges } = model.facets[facet]!;
    if (roundShade !== undefined && edges.some((edge) => !model.edges[edge]!.sharp)) return roundShade;
    const sign = lines.facing(facet);
    const along = (axis: readonly [number, number, number]) => sign * (nx * axis[0] + ny * axis[1] + nz * axis[2]);
    const light = LIGHT[0] * along(view.right) + LIGHT[1] * along(view.up) + LIGHT[2] * along(view.toward);
    return Math.min(SHADES - 1, Math.max(0, Math.floor(SHADES * (0.08 + 0.92 * light))));
  }

  /** The contour of a coarsened body, before the first of the runs of it that follow each other: they are painted over its inside. */
  function contourOf(index: number): string {
    const { body } = runs[index]!;
    if (!model.coarsened[body] || runs[index - 1]?.body === body) return "";
    const polygons: Tenths[][] = [];
    for (let k = index; runs[k]?.body === body; k++)
      for (const areas of runs[k]!.areas.values()) polygons.push(...areas);
    return `<path class="c" d="${joinedAreas(polygons)}"/>`;
  }

  /** The outline of a body as if nothing hid it. */
  function dashed(body: number, name: string): string {
    const ways: [Tenths, Tenths][] = [];
    for (const [index, facet] of model.facets.entries()) {
      if (facet.body !== body || lines.facing(index) === 0) continue;
      const flat = flatten(facet, view, framing);
      for (const [i, edge] of (flat?.edges ?? []).entries())
        if (lines.kind(edge) === "outline")
          ways.push([tenth(flat!.points, i), tenth(flat!.points, (i + 1) % flat!.edges.length)]);
    }
    const d = joinedLines(ways);
    return d === "" ? "" : `<path class="${name}" d="${d}"/>`;
  }
}

/** Which facets are turned to the viewer, and which edges are lines of the drawing from there. */
class LineKinds {
  private readonly model: FacetModel;
  private readonly turned: Int8Array;

  constructor(model: FacetModel, { toward: [x, y, z] }: View) {
    this.model = model;
    this.turned = Int8Array.from(model.facets, ({ nx, ny, nz, body }) => {
      const facing = nx * x + ny * y + nz * z;
      if (facing > 1e-6) return 1;
      return facing < -1e-6 && !model.closed[body] ? -1 : 0;
    });
  }

  /** 1: turned to the viewer, -1: seen from behind, 0: not seen. */
  facing(facet: number): number {
    return this.turned[facet]!;
  }

  kind(edge: number): "outline" | "crease" | undefined {
    if (edge === ENTRY) return "crease";
    if (edge < 0) return undefined;
    const { left, right, sharp } = this.model.edges[edge]!;
    if (right < 0 || this.turned[left] !== this.turned[right]) return "outline";
    return sharp ? "crease" : undefined;
  }
}

interface Flat {
  /** x, y of each corner, px. */
  readonly points: readonly number[];
  readonly edges: readonly number[];
}

/** A piece on the picture, cut off a little outside of it; undefined when nothing of it is inside. */
function flatten({ points, edges }: Pick<Piece, "points" | "edges">, view: View, framing: Framing): Flat | undefined {
  const out: number[] = [];
  for (let i = 0; i < points.length; i += 3)
    out.push(...onPicture(view, framing, points[i]!, points[i + 1]!, points[i + 2]!));
  let flat: Flat = { points: out, edges };
  for (const [axis, limit, sign] of [
    [0, -4, 1],
    [0, framing.width + 4, -1],
    [1, -4, 1],
    [1, (framing.bottom ?? framing.height) + 4, -1],
  ] as const)
    flat = clipped(flat, axis, limit, sign);
  return flat.edges.length < 3 ? undefined : flat;
}

/** The part of a polygon on one side of a line along an axis. */
function clipped(flat: Flat, axis: 0 | 1, limit: number, sign: 1 | -1): Flat {
  const { points, edges } = flat;
  const n = edges.length;
  const off = (i: number) => sign * (points[2 * i + axis]! - limit);
  let whole = true;
  for (let i = 0; i < n && whole; i++) whole = off(i) >= 0;
  if (whole) return flat;
  const outPoints: number[] = [];
  const outEdges: number[] = [];
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const here = off(i),
      next = off(j);
    if (here >= 0) {
      outPoints.push(points[2 * i]!, points[2 * i + 1]!);
      outEdges.push(edges[i]!);
    }
    if (here >= 0 === next >= 0) continue;
    const share = here / (here - next);
    outPoints.push(
      points[2 * i]! + share * (points[2 * j]! - points[2 * i]!),
      points[2 * i + 1]! + share * (points[2 * j + 1]! - points[2 * i + 1]!),
    );
    outEdges.push(here >= 0 ? -1 : edges[i]!);
  }
  return { points: outPoints, edges: outEdges };
}

/** Smaller than a third of a pixel both ways. */
function isSpeck(points: readonly number[]): boolean {
  for (let axis = 0; axis < 2; axis++) {
    let low = Infinity,
      high = -Infinity;
    for (let i = axis; i < points.length; i += 2) {
      low = Math.min(low, points[i]!);
      high = Math.max(high, points[i]!);
    }
    if (high - low > 0.33) return false;
  }
  return true;
}

const tenth = (points: readonly number[], i: number): Tenths => [
  Math.round(10 * points[2 * i]!),
  Math.round(10 * points[2 * i + 1]!),
];

function tenths(points: readonly number[]): Tenths[] {
  const out: Tenths[] = [];
  for (let i = 0; 2 * i < points.length; i++) out.push(tenth(points, i));
  return out;
}
