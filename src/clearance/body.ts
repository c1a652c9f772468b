/**
 * Bodies as the distance kernels see them: a core and a radius around it. A sphere is a point with a radius and a capsule a
 * segment with a radius, so that their distances are those of point and segment, less the radii. All cores of one shape so
 * that the kernels stay monomorphic.
 */
import { hullTriangles } from "../cell/convex-hull.ts";
import { ContractError } from "../math/contract-error.ts";
import { type HullWeb, weaveHull } from "./hull-web.ts";
import { buildTree, type MeshTree } from "./mesh-tree.ts";

/** Kinds of core. The order matters: a pair is always handed to a kernel with the lower kind first. */
export const POINT = 0;
export const SEGMENT = 1;
export const BOX = 2;
export const CYLINDER = 3;
export const HULL = 4;
export const MESH = 5;

export interface Body {
  /** POINT … MESH. */
  readonly kind: number;
  /** Radius around the core, m. */
  readonly radius: number;
  /** Half extents of the core: box x, y, z; segment z; cylinder x = y = radius, z. */
  readonly hx: number;
  readonly hy: number;
  readonly hz: number;
  /** Corners of a hull. */
  readonly count: number;
  readonly xs: Float64Array;
  readonly ys: Float64Array;
  readonly zs: Float64Array;
  /** Neighbours of each corner, for a hull large enough to climb; undefined: all corners are looked at. */
  readonly web: HullWeb | undefined;
  /** A point of the core in its middle. */
  readonly cx: number;
  readonly cy: number;
  readonly cz: number;
  /** Radius of a ball about the middle that holds the body with its radius, m. */
  readonly bound: number;
  /** Half extents, about the middle, of the box along the body's axes that holds the core. */
  readonly ex: number;
  readonly ey: number;
  readonly ez: number;
  readonly mesh: MeshTree | undefined;
}

const none = new Float64Array(0);

function body(part: Partial<Body> & Pick<Body, "kind">): Body {
  const { hx = 0, hy = 0, hz = 0, radius = 0 } = part;
  return {
    kind: part.kind,
    radius,
    hx,
    hy,
    hz,
    count: part.count ?? 0,
    xs: part.xs ?? none,
    ys: part.ys ?? none,
    zs: part.zs ?? none,
    cx: part.cx ?? 0,
    cy: part.cy ?? 0,
    cz: part.cz ?? 0,
    bound: part.bound ?? Math.hypot(hx, hy, hz) + radius,
    ex: part.ex ?? hx,
    ey: part.ey ?? hy,
    ez: part.ez ?? hz,
    web: part.web,
    mesh: part.mesh,
  };
}

function requireLength(where: string, value: number, least: "above 0" | "at least 0"): void {
  const fits = least === "above 0" ? value > 0 : value >= 0;
  if (!(fits && value < Number.POSITIVE_INFINITY))
    throw new ContractError(`${where} must be finite and ${least} m, got ${value}`);
}

/** Ball about the origin. @param radius m, > 0 @throws ContractError for any other radius */
export function sphereBody(radius: number): Body {
  requireLength("sphereBody: radius", radius, "above 0");
  return body({ kind: POINT, radius });
}

/**
 * Capsule along z about the origin.
 * @param radius m, > 0
 * @param length between the centres of the end spheres, m, at least 0
 * @throws ContractError for lengths outside these ranges
 */
export function capsuleBody(radius: number, length: number): Body {
  requireLength("capsuleBody: radius", radius, "above 0");
  requireLength("capsuleBody: length", length, "at least 0");
  return length === 0 ? sphereBody(radius) : body({ kind: SEGMENT, radius, hz: length / 2 });
}

/** Box about the origin. @param size full edge lengths along x, y, z, m, all > 0 @throws ContractError for any other size */
export function boxBody(size: ArrayLike<number>): Body {
  for (let i = 0; i < 3; i++) requireLength(`boxBody: size[${i}]`, size[i]!, "above 0");
  return body({ kind: BOX, hx: size[0]! / 2, hy: size[1]! / 2, hz: size[2]! / 2 });
}

/** Cylinder along z about the origin. @param radius m, > 0 @param length full, m, > 0 @throws ContractError for any other size */
export function cylinderBody(radius: number, length: number): Body {
  requireLength("cylinderBody: radius", radius, "above 0");
  requireLength("cylinderBody: length", length, "above 0");
  return body({ kind: CYLINDER, hx: radius, hy: radius, hz: length / 2, bound: Math.hypot(radius, length / 2) });
}

/**
 * Convex hull of points. Points in one plane or on one line are a flat body. Points inside the hull are dropped.
 * @throws ContractError if there is no point or one is not finite
 */
export function hullBody(points: readonly (readonly [number, number, number])[]): Body {
  if (points.length === 0) throw new ContractError("hullBody: points must have at least one point");
  for (const [i, point] of points.entries())
    if (!point.every(Number.isFinite))
      throw new ContractError(`hullBody: points[${i}] must be finite, got (${point.join(", ")})`);
  const triangles = hullTriangles(points);
  const kept = triangles === undefined ? points.map((_, i) => i) : [...new Set(triangles.flat())].sort((a, b) => a - b);
  const corners = kept.map((i) => points[i]!);
  const xs = Float64Array.from(corners, (p) => p[0]);
  const ys = Float64Array.from(corners, (p) => p[1]);
  const zs = Float64Array.from(corners, (p) => p[2]);
  const [cx, ex] = middle(xs),
    [cy, ey] = middle(ys),
    [cz, ez] = middle(zs);
  const bound = Math.max(...corners.map((p) => Math.hypot(p[0] - cx, p[1] - cy, p[2] - cz)));
  const web = triangles && weaveHull(corners, triangles, kept);
  return body({ kind: HULL, count: xs.length, xs, ys, zs, web, cx, cy, cz, ex, ey, ez, bound });
}

function middle(values: Float64Array): [centre: number, half: number] {
  let min = Number.POSITIVE_INFINITY,
    max = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value < min) min = value;
    if (value > max) max = value;
  }
  const centre = min + (max - min) / 2;
  return [centre, Math.max(max - centre, centre - min)];
}

/**
 * Triangle mesh.
 * @param vertices x, y, z of each vertex, m, finite
 * @param indices three vertices per triangle; counter-clockwise seen from outside when the mesh is solid
 * @param solid true: what the surface encloses belongs to the body (only for a closed mesh, see inspectMesh); false: surface only
 * @throws ContractError if there is no triangle, a coordinate is not finite or an index names no vertex
 */
export function meshBody(vertices: Float64Array, indices: Uint32Array, solid: boolean): Body {
  const mesh = buildTree(vertices, indices, solid);
  const { boxes } = mesh;
  const cx = (boxes[0]! + boxes[3]!) / 2,
    cy = (boxes[1]! + boxes[4]!) / 2,
    cz = (boxes[2]! + boxes[5]!) / 2;
  const ex = Math.max(boxes[3]! - cx, cx - boxes[0]!),
    ey = Math.max(boxes[4]! - cy, cy - boxes[1]!),
    ez = Math.max(boxes[5]! - cz, cz - boxes[2]!);
  return body({ kind: MESH, cx, cy, cz, ex, ey, ez, bound: Math.hypot(ex, ey, ez), mesh });
}

/** A hull of three corners whose arrays the mesh kernels fill for each triangle. */
export function triangleBody(): Body {
  return body({
    kind: HULL,
    count: 3,
    xs: new Float64Array(3),
    ys: new Float64Array(3),
    zs: new Float64Array(3),
  });
}
