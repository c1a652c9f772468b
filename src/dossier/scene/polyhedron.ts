/** Shapes as polyhedra about their own frame. */

import { hullTriangles } from "../../cell/convex-hull.ts";
import type { SceneBody } from "../../check/clearance/scene.ts";
import { simplifiedMesh } from "./mesh-simplify.ts";
import { normalOf } from "./normal.ts";

export interface Polyhedron {
  /** x, y, z of each point, m. */
  readonly points: ArrayLike<number>;
  /** Corners of each flat convex face, counter-clockwise seen from outside. */
  readonly faces: readonly (readonly number[])[];
  readonly convex: boolean;
  /** The faces are meant to enclose a volume. */
  readonly closed: boolean;
  /** Faces whose normals have at least this cosine between them belong to one smooth surface. */
  readonly smoothCosine: number;
  /** Points were moved: folds and angles between faces mean nothing. Default false. */
  readonly coarsened?: boolean;
}

/** How finely shapes are cut into facets. */
export interface Fineness {
  /** Greatest distance of a chord from a round surface, m, > 0. */
  readonly tolerance: number;
  /** Sides of the prism around a round surface are at least these, 6 or more. */
  readonly sides: number;
  /** Most triangles of one mesh or hull. */
  readonly triangles: number;
}

const MOST_SIDES = 64;
/** Above the angle between neighbours of the coarsest prism (60°), below a right angle. */
const ROUND = Math.cos((70 * Math.PI) / 180);
const POLYHEDRAL = Math.cos((25 * Math.PI) / 180);

/** Nothing at all (no faces) for what has no extent in two directions. */
export function polyhedronOf(shape: SceneBody["shape"], fineness: Fineness): Polyhedron {
  switch (shape.kind) {
    case "box":
      return box(shape.size);
    case "cylinder": {
      const h = shape.length / 2;
      const rings = [
        { r: shape.radius, z: -h },
        { r: shape.radius, z: h },
      ];
      return round(rings, sides(shape.radius, fineness));
    }
    case "capsule":
      return ball(shape.radius, shape.length / 2, fineness);
    case "sphere":
      return ball(shape.radius, 0, fineness);
    case "convex":
      return hull(shape.points, fineness.triangles);
    case "triangles":
      return mesh(shape.vertices, shape.indices, fineness.triangles);
  }
}

function mesh(points: Float64Array, triangles: Uint32Array, most: number): Polyhedron {
  const { vertices, indices, closed, coarsened } = simplifiedMesh(points, triangles, most);
  const faces: number[][] = [];
  for (let i = 0; i < indices.length; i += 3) faces.push([indices[i]!, indices[i + 1]!, indices[i + 2]!]);
  return { points: vertices, faces, convex: false, closed, smoothCosine: POLYHEDRAL, coarsened };
}

/** Sides of a prism in a circle of radius r whose chords stay within the tolerance, in steps of 4. */
function sides(r: number, { tolerance, sides: fewest }: Fineness): number {
  const turn = Math.acos(Math.max(0, 1 - tolerance / Math.max(r, tolerance)));
  return Math.min(MOST_SIDES, Math.max(fewest, 4 * Math.ceil(Math.PI / turn / 4)));
}

function box([a, b, c]: readonly [number, number, number]): Polyhedron {
  const points: number[] = [];
  for (let i = 0; i < 8; i++) points.push((i & 1 ? a : -a) / 2, (i & 2 ? b : -b) / 2, (i & 4 ? c : -c) / 2);
  const faces = [
    [0, 4, 6, 2],
    [1, 3, 7, 5],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 2, 3, 1],
    [4, 5, 7, 6],
  ];
  return { points, faces, convex: true, closed: true, smoothCosine: ROUND };
}

function ball(radius: number, half: number, fineness: Fineness): Polyhedron {
  const n = sides(radius, fineness);
  const steps = Math.floor(n / 4);
  const rings = [];
  for (let k = 0; k <= steps; k++) {
    const angle = (k / steps - 1) * (Math.PI / 2);
    rings.push({ r: k === 0 ? 0 : radius * Math.cos(angle), z: radius * Math.sin(angle) - half });
  }
  const upper = rings.map(({ r, z }) => ({ r, z: -z })).reverse();
  return round([...rings, ...(half > 0 ? upper : upper.slice(1))], n);
}

/** Body of revolution about z through rings from below; a ring of radius 0 is a tip, an end ring of another radius a flat face. */
function round(rings: readonly { readonly r: number; readonly z: number }[], n: number): Polyhedron {
  const points: number[] = [];
  const starts = rings.map(({ r, z }) => {
    const start = points.length / 3;
    for (let i = 0; i < (r > 0 ? n : 1); i++) {
      // Half a step turned, so that flats and not corners stand towards the axes.
      const angle = ((i + 0.5) / n) * 2 * Math.PI;
      points.push(r * Math.cos(angle), r * Math.sin(angle), z);
    }
    return start;
  });
  const faces: number[][] = [];
  const corner = (k: number, i: number) => starts[k]! + (rings[k]!.r > 0 ? i % n : 0);
  for (let k = 0; k + 1 < rings.length; k++)
    for (let i = 0; i < n; i++) {
      const around = [corner(k, i), corner(k, i + 1), corner(k + 1, i + 1), corner(k + 1, i)];
      faces.push(around.filter((c, at) => c !== around[(at + 1) % 4]));
    }
  const ring = (k: number) => Array.from({ length: n }, (_, i) => corner(k, i));
  if (rings[0]!.r > 0) faces.push(ring(0).reverse());
  if (rings.at(-1)!.r > 0) faces.push(ring(rings.length - 1));
  return { points, faces, convex: true, closed: true, smoothCosine: ROUND };
}

type Corner = readonly [number, number, number];

function hull(points: readonly Corner[], most: number): Polyhedron {
  const triangles = hullTriangles(points);
  if (triangles !== undefined && triangles.length > most)
    return mesh(Float64Array.from(points.flat()), Uint32Array.from(triangles.flat()), most);
  const common = { points: points.flat(), convex: true, smoothCosine: POLYHEDRAL };
  if (triangles !== undefined) return { ...common, faces: triangles, closed: true };
  const outline = flatHull(points);
  return { ...common, faces: outline.length < 3 ? [] : [outline], closed: false };
}

/** Corners of the hull of points in one plane, in order around it; fewer than three when they lie on a line. */
function flatHull(points: readonly Corner[]): number[] {
  // The plane is that of the largest triangle over the two points furthest apart from the first.
  const flat = points.flat();
  let best: [number, number, number] = [0, 0, 0];
  let far = 0;
  const away = (i: number) =>
    Math.hypot(points[i]![0] - points[0]![0], points[i]![1] - points[0]![1], points[i]![2] - points[0]![2]);
  for (let i = 1; i < points.length; i++) if (away(i) > away(far)) far = i;
  for (let i = 1; i < points.length; i++) {
    const normal = normalOf(flat, [0, far, i]);
    if (Math.hypot(...normal) > Math.hypot(...best)) best = normal;
  }
  if (!(Math.hypot(...best) > 1e-9 * away(far) ** 2)) return [];
  const drop = [0, 1, 2].reduce((a, b) => (Math.abs(best[b]!) > Math.abs(best[a]!) ? b : a));
  const [u, v] = [0, 1, 2].filter((axis) => axis !== drop) as [0 | 1 | 2, 0 | 1 | 2];
  const order = points.map((_, i) => i).sort((i, j) => points[i]![u] - points[j]![u] || points[i]![v] - points[j]![v]);
  const turn = (a: number, b: number, c: number) =>
    (points[b]![u] - points[a]![u]) * (points[c]![v] - points[a]![v]) -
    (points[b]![v] - points[a]![v]) * (points[c]![u] - points[a]![u]);
  const chain = (indices: readonly number[]) => {
    const out: number[] = [];
    for (const i of indices) {
      while (out.length > 1 && turn(out.at(-2)!, out.at(-1)!, i) <= 0) out.pop();
      out.push(i);
    }
    return out.slice(0, -1);
  };
  return [...chain(order), ...chain(order.toReversed())];
}
