/** A scene made ready to be drawn from several sides: whole, and the place of the clearance enlarged. */
import type { ClearanceScene, SceneBody } from "../../check/clearance/scene.ts";
import { dot } from "../../math/vectors.ts";
import { type FacetModel, facetModel } from "./facets.ts";
import type { Fineness } from "./polyhedron.ts";
import { floorCorners, floorUnder } from "./scale-marks.ts";
import { bodiesInSight } from "./sight.ts";
import { BACK, FRONT, facing, ISOMETRIC, LEFT, PLAN, RIGHT, type Vector, type View } from "./view.ts";

/** Most triangles of one mesh in a picture, and of all meshes together. */
const MESH = 2500;
const MESHES = 6000;
/** Beyond this nothing gets coarser any more. */
export const COARSEST = 16;
/** With more facets than this a picture is made coarser. */
const FACETS = 12_000;
/** A round body is drawn with chords within this share of the scene's size. */
const CHORD = 1 / 2500;
/** The enlarged place is this many clearances wide, and at least so wide, m. */
const DETAIL_GAPS = 10;
const DETAIL_LEAST = 0.1;

export interface Part {
  readonly scene: ClearanceScene;
  readonly model: FacetModel;
}

export interface Drawing {
  readonly whole: Part;
  /** x, y, z of every corner and of the floor, m; and of what is neither fence nor person, which may stick out of a picture. */
  readonly corners: readonly number[];
  readonly core: readonly number[];
  readonly detail: Detail | undefined;
  /** Drawn coarser than usual, without shading of round surfaces, since there is very much of it. */
  readonly plain: boolean;
  /** The isometric view from which least hides the clearance. */
  readonly isometric: View;
  /** Bodies other than the pair that hide the clearance, seen from a side. */
  hiding(view: View): Set<number>;
}

export interface Detail {
  readonly part: Part;
  readonly view: View;
  readonly middle: Vector;
  /** Width of what is shown, m. */
  readonly width: number;
  readonly hiding: ReadonlySet<number>;
}

/** @param coarseness 1, or more to draw round bodies and meshes with so many times fewer facets */
export function drawingOf(scene: ClearanceScene, coarseness = 1): Drawing {
  const meshes = scene.bodies.filter(({ shape }) => shape.kind === "triangles" || shape.kind === "convex").length;
  const most = Math.ceil(Math.min(MESH, MESHES / Math.max(1, meshes)) / coarseness);
  const rough = sizeOf(
    facetModel(scene.bodies, { tolerance: 1, sides: 6, triangles: 100 }).facets.flatMap(({ points }) => points),
  );
  const fineness = { tolerance: rough * CHORD * coarseness, sides: coarseness === 1 ? 12 : 6, triangles: most };
  const model = facetModel(scene.bodies, fineness);
  if (model.facets.length > FACETS && coarseness < COARSEST) return drawingOf(scene, 4 * coarseness);
  const whole = { scene, model };
  const corners = model.facets.flatMap(({ points }) => points);
  const floor = floorUnder(corners);
  const inside = model.facets.filter(({ body }) => !["fence", "person"].includes(scene.bodies[body]!.group));
  const core = inside.flatMap(({ points }) => points);
  const witness = scene.witness;
  const places = witness === undefined ? [] : [witness.a, witness.b, between(witness.a, witness.b, 0.5)];
  const hiding = (view: View) => hidingFrom(scene, model, places, view);
  return {
    whole,
    corners: floor === undefined ? corners : [...corners, ...floorCorners(floor)],
    core: core.length === 0 ? corners : core,
    plain: coarseness > 1,
    detail:
      witness === undefined || scene.pair === undefined ? undefined : detailOf(scene, model, rough, witness, fineness),
    isometric: ISOMETRIC.toSorted((a, b) => cost(scene, model, places, a) - cost(scene, model, places, b))[0]!,
    hiding,
  };
}

type Witness = NonNullable<ClearanceScene["witness"]>;

function detailOf(
  scene: ClearanceScene,
  model: FacetModel,
  size: number,
  witness: Witness,
  { sides, triangles }: Fineness,
): Detail {
  const middle = between(witness.a, witness.b, 0.5);
  const width = Math.min(Math.max(DETAIL_LEAST, DETAIL_GAPS * Math.abs(witness.distance)), 1.2 * size);
  const places = [witness.a, witness.b, middle];
  const view = acrossTheGap(scene, model, places, witness);
  // What lies beside the window is left out before it is cut into facets.
  const half = 0.8 * width;
  const near = scene.bodies
    .map((_, i) => i)
    .filter((i) => scene.pair!.includes(i) || touches(model, i, view, middle, half));
  const place = new Map(near.map((i, k) => [i, k]));
  const part = {
    ...scene,
    bodies: near.map((i) => inWindow(scene.bodies[i]!, view, middle, half)),
    pair: [place.get(scene.pair![0])!, place.get(scene.pair![1])!] as const,
  };
  const fine = facetModel(part.bodies, { tolerance: 2 * width * CHORD, sides, triangles: 2 * triangles });
  return {
    part: { scene: part, model: fine },
    view,
    middle,
    width,
    hiding: hidingFrom(part, fine, [...places, ...around(middle, view, 0.3 * width)], view),
  };
}

/** A mesh with only those of its triangles that come into a square window around a point, so that it need not be simplified there. */
function inWindow(body: SceneBody, view: View, middle: Vector, half: number): SceneBody {
  const { shape, worldFromBody: t } = body;
  if (shape.kind !== "triangles") return body;
  const { vertices, indices } = shape;
  const axes = [view.right, view.up].map((axis) => ({
    // Along the axis, from the coordinates of the body.
    along: [0, 1, 2].map((k) => axis[0] * t[k]! + axis[1] * t[4 + k]! + axis[2] * t[8 + k]!),
    at: dot(axis, [t[3]!, t[7]!, t[11]!]) - dot(axis, middle),
  }));
  const kept: number[] = [];
  for (let i = 0; i < indices.length; i += 3) {
    const touching = axes.every(({ along, at }) => {
      let low = Infinity,
        high = -Infinity;
      for (let k = 0; k < 3; k++) {
        const v = 3 * indices[i + k]!;
        const value = along[0]! * vertices[v]! + along[1]! * vertices[v + 1]! + along[2]! * vertices[v + 2]! + at;
        low = Math.min(low, value);
        high = Math.max(high, value);
      }
      return low < half && high > -half;
    });
    if (touching) kept.push(indices[i]!, indices[i + 1]!, indices[i + 2]!);
  }
  return { ...body, shape: { kind: "triangles", vertices, indices: Uint32Array.from(kept) } };
}

/** A direction in which the gap is seen in its true length, as nearly along an axis and as freely as can be. */
function acrossTheGap(scene: ClearanceScene, model: FacetModel, places: readonly Vector[], { a, b }: Witness): View {
  const gap: Vector = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
  const length = Math.hypot(...gap);
  const slant = (view: View) => (length > 1e-9 ? Math.abs(dot(view.toward, gap)) / length : 0);
  const straight = [FRONT, PLAN, LEFT, RIGHT, BACK].filter((view) => slant(view) < 0.15);
  const direct = straight.toSorted((v, w) => cost(scene, model, places, v) - cost(scene, model, places, w))[0];
  if (direct !== undefined) return direct;
  const auxiliary = [FRONT, PLAN, LEFT, RIGHT, BACK, ...ISOMETRIC].map(({ toward }) => {
    const along = dot(toward, gap) / length ** 2;
    return [toward[0] - along * gap[0], toward[1] - along * gap[1], toward[2] - along * gap[2]] as const;
  });
  const views = auxiliary
    .filter((direction) => Math.hypot(...direction) > 0.3)
    .map((direction) => facing("across the gap", direction));
  return views.toSorted((v, w) => cost(scene, model, places, v) - cost(scene, model, places, w))[0]!;
}

/** How much hides the places and the middles of the pair: other bodies count, the pair itself half. */
function cost(scene: ClearanceScene, model: FacetModel, places: readonly Vector[], view: View): number {
  let sum = 0;
  const weight = (body: number) => (scene.pair?.includes(body) ? 0.5 : scene.bodies[body]!.group === "fence" ? 0 : 1);
  for (const place of places) for (const body of bodiesInSight(model, place, view.toward, 1e-5)) sum += weight(body);
  for (const own of scene.pair ?? [])
    for (const body of bodiesInSight(model, middleOf(model, own), view.toward)) if (body !== own) sum += weight(body);
  return sum;
}

function middleOf(model: FacetModel, body: number): Vector {
  const low = [Infinity, Infinity, Infinity],
    high = [-Infinity, -Infinity, -Infinity];
  for (const facet of model.facets)
    if (facet.body === body)
      for (let i = 0; i < facet.points.length; i++) {
        low[i % 3] = Math.min(low[i % 3]!, facet.points[i]!);
        high[i % 3] = Math.max(high[i % 3]!, facet.points[i]!);
      }
  return [0, 1, 2].map((k) => (low[k]! + high[k]!) / 2) as unknown as Vector;
}

function hidingFrom(scene: ClearanceScene, model: FacetModel, places: readonly Vector[], view: View): Set<number> {
  const met = new Set<number>();
  for (const place of places) for (const body of bodiesInSight(model, place, view.toward)) met.add(body);
  for (const body of scene.pair ?? []) met.delete(body);
  return met;
}

const between = (a: Vector, b: Vector, share: number): Vector => [
  a[0] + share * (b[0] - a[0]),
  a[1] + share * (b[1] - a[1]),
  a[2] + share * (b[2] - a[2]),
];

const around = (p: Vector, { right, up }: View, r: number): Vector[] =>
  [
    [r, 0],
    [-r, 0],
    [0, r],
    [0, -r],
  ].map(([u, v]) => [0, 1, 2].map((k) => p[k]! + u! * right[k]! + v! * up[k]!) as unknown as Vector);

/** Whether a body comes into a square window around a point. */
function touches(model: FacetModel, body: number, view: View, middle: Vector, half: number): boolean {
  const low = [Infinity, Infinity],
    high = [-Infinity, -Infinity];
  for (const facet of model.facets) {
    if (facet.body !== body) continue;
    for (let i = 0; i < facet.points.length; i += 3) {
      const p = [
        facet.points[i]! - middle[0],
        facet.points[i + 1]! - middle[1],
        facet.points[i + 2]! - middle[2],
      ] as const;
      for (const [k, value] of [dot(view.right, p), dot(view.up, p)].entries()) {
        low[k] = Math.min(low[k]!, value);
        high[k] = Math.max(high[k]!, value);
      }
    }
  }
  return low.every((value) => value < half) && high.every((value) => value > -half);
}

function sizeOf(points: readonly number[]): number {
  const low = [Infinity, Infinity, Infinity],
    high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < points.length; i++) {
    low[i % 3] = Math.min(low[i % 3]!, points[i]!);
    high[i % 3] = Math.max(high[i % 3]!, points[i]!);
  }
  const size = Math.hypot(high[0]! - low[0]!, high[1]! - low[1]!, high[2]! - low[2]!);
  return Number.isFinite(size) && size > 0 ? size : 1;
}
