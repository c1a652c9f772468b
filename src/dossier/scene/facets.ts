/**
 * Bodies as flat facets in the world, with the edges between them: what a drawing is made from. Round surfaces become prisms
 * whose chords stay within a tolerance of them; their facets meet in edges that are not sharp.
 */
import type { ClearanceScene, SceneBody } from "../../check/clearance/scene.ts";
import type { Pose } from "../../math/pose.ts";
import { normalOf } from "./normal.ts";
import { type Fineness, type Polyhedron, polyhedronOf } from "./polyhedron.ts";

export interface Facet {
  /** Index of the body in the scene. */
  readonly body: number;
  /** Outward unit normal and offset: n · p = d on the facet. */
  readonly nx: number;
  readonly ny: number;
  readonly nz: number;
  readonly d: number;
  /** x, y, z of each corner, world, m; counter-clockwise seen from outside; convex. */
  readonly points: readonly number[];
  /** Edge from each corner to the next. */
  readonly edges: readonly number[];
}

export interface Edge {
  /** Facets on both sides; `right` is -1 on the border of an open surface. */
  readonly left: number;
  readonly right: number;
  readonly sharp: boolean;
}

export interface FacetModel {
  readonly facets: readonly Facet[];
  readonly edges: readonly Edge[];
  /** Per body: what it encloses is convex. */
  readonly convex: readonly boolean[];
  /** Per body: it encloses a volume, so that facets seen from behind are hidden. */
  readonly closed: readonly boolean[];
  /** Per body: its edges are not those of the thing, so that only its contour can be drawn. */
  readonly coarsened: readonly boolean[];
}

export function facetModel(bodies: ClearanceScene["bodies"], fineness: Fineness): FacetModel {
  const facets: Facet[] = [];
  const edges: Edge[] = [];
  const convex: boolean[] = [];
  const closed: boolean[] = [];
  const coarsened: boolean[] = [];
  for (const [index, body] of bodies.entries()) {
    const solid = polyhedronOf(body.shape, fineness);
    convex.push(solid.convex);
    coarsened.push(solid.coarsened ?? false);
    closed.push(addBody(index, body, solid, facets, edges) && solid.closed);
  }
  return { facets, edges, convex, closed, coarsened };
}

/** @returns whether every edge has a facet on both sides */
function addBody(index: number, body: SceneBody, solid: Polyhedron, facets: Facet[], edges: Edge[]): boolean {
  const points = placed(solid.points, body.worldFromBody);
  const first = facets.length;
  const sides = new Map<number, number>();
  const halves: { left: number; right: number }[] = [];
  const count = points.length / 3;
  for (const corners of solid.faces) {
    const [nx, ny, nz] = normalOf(points, corners);
    const size = Math.hypot(nx, ny, nz);
    if (!(size > 0)) continue;
    const at = 3 * corners[0]!;
    const facet = {
      body: index,
      nx: nx / size,
      ny: ny / size,
      nz: nz / size,
      d: (nx * points[at]! + ny * points[at + 1]! + nz * points[at + 2]!) / size,
      points: corners.flatMap((c) => [points[3 * c]!, points[3 * c + 1]!, points[3 * c + 2]!]),
      edges: [] as number[],
    };
    for (const [i, from] of corners.entries()) {
      const to = corners[(i + 1) % corners.length]!;
      const key = Math.min(from, to) * count + Math.max(from, to);
      let half = sides.get(key);
      // A third facet on an edge starts an edge of its own.
      if (half === undefined || halves[half]!.right >= 0) {
        half = halves.push({ left: facets.length, right: -1 }) - 1;
        sides.set(key, half);
      } else halves[half]!.right = facets.length;
      facet.edges.push(edges.length + half);
    }
    facets.push(facet);
  }
  for (const { left, right } of halves) {
    const a = facets[left]!,
      b = facets[right];
    const sharp = b === undefined || a.nx * b.nx + a.ny * b.ny + a.nz * b.nz < solid.smoothCosine;
    edges.push({ left, right, sharp });
  }
  return facets.length > first && halves.every(({ right }) => right >= 0);
}

function placed(points: ArrayLike<number>, t: Pose): Float64Array {
  const out = new Float64Array(points.length);
  for (let i = 0; i < points.length; i += 3) {
    const x = points[i]!,
      y = points[i + 1]!,
      z = points[i + 2]!;
    for (let r = 0; r < 3; r++) out[i + r] = t[4 * r]! * x + t[4 * r + 1]! * y + t[4 * r + 2]! * z + t[4 * r + 3]!;
  }
  return out;
}
