/**
 * Penetration depth of two overlapping convex cores: the point of the boundary of their difference nearest to the origin, by
 * an inner polytope that grows where it is nearest (van den Bergen, GDC 2001). Every direction tried gives an upper bound
 * of the depth (the overlap in that direction), the polytope a lower one; for polytopes they meet after finitely many turns.
 */
import type { Body } from "./body.ts";
import { addSupport, simplex, simplexSize } from "./gjk.ts";
import { isPolytope } from "./support.ts";

const MOST_POINTS = 512;
const MOST_FACES = 4 * MOST_POINTS;
/** Gap of the bounds at which the search ends, as a share of the size of the bodies. */
const GAP = 1e-14;
const GAP_CURVED = 1e-12;

const points = new Float64Array(9 * MOST_POINTS);
/** Three corners of each face, counter-clockwise seen from outside. */
const corners = new Int32Array(3 * MOST_FACES);
/** Outward unit normal and distance from the origin; the distance is infinite for a face without area. */
const planes = new Float64Array(4 * MOST_FACES);
const rims = new Int32Array(6 * MOST_FACES);

/**
 * After gjk has answered OVERLAP for the same pair. @param axis receives depth and the unit direction (frame of B) in which
 * B is pushed out. The depth is the overlap in exactly that direction, so that the push parts the cores.
 */
export function penetration(a: Body, b: Body, rel: Float64Array, axis: Float64Array): void {
  const size = a.bound + b.bound;
  const curved = !(isPolytope(a) && isPolytope(b));
  const gap = (curved ? GAP_CURVED : GAP) * size;
  const rounding = 1e-15 * size;
  axis[0] = Number.POSITIVE_INFINITY;
  let count = simplexSize[0]!;
  points.set(simplex.points.subarray(0, 9 * count));
  count = fill(a, b, rel, count, size, axis);
  if (count < 4) return;

  let faces = 0;
  for (let inner = 0; inner < 4; inner++) {
    faces = addFace(inner === 0 ? 1 : 0, inner < 2 ? 2 : 1, inner < 3 ? 3 : 2, faces);
    orient(faces - 1, inner);
  }

  while (count < MOST_POINTS && faces < MOST_FACES - 64) {
    let nearest = -1,
      least = Number.POSITIVE_INFINITY;
    for (let f = 0; f < faces; f++)
      if (planes[4 * f + 3]! < least) {
        least = planes[4 * f + 3]!;
        nearest = f;
      }
    if (nearest < 0) return;
    const nx = planes[4 * nearest]!,
      ny = planes[4 * nearest + 1]!,
      nz = planes[4 * nearest + 2]!;
    const reach = tryDirection(a, b, rel, nx, ny, nz, count, axis);
    if (reach - least <= gap || axis[0]! - least <= gap) return;
    const at = 9 * count;
    const wx = points[at]!,
      wy = points[at + 1]!,
      wz = points[at + 2]!;
    // Faces that see the new point go; their rim is joined to it.
    let rim = 0,
      kept = 0;
    for (let f = 0; f < faces; f++) {
      const k = 4 * f;
      const above = planes[k]! * wx + planes[k + 1]! * wy + planes[k + 2]! * wz - planes[k + 3]!;
      // A face without area goes with the first neighbour that does.
      const visible = f === nearest || (planes[k + 3]! < Number.POSITIVE_INFINITY && above > rounding);
      if (visible) {
        for (let e = 0; e < 3; e++) rim = addRim(corners[3 * f + e]!, corners[3 * f + ((e + 1) % 3)]!, rim);
      } else {
        if (kept !== f) {
          for (let e = 0; e < 3; e++) corners[3 * kept + e] = corners[3 * f + e]!;
          for (let e = 0; e < 4; e++) planes[4 * kept + e] = planes[k + e]!;
        }
        kept++;
      }
    }
    if (kept + rim > MOST_FACES) return;
    faces = kept;
    for (let e = 0; e < rim; e++) faces = addFace(rims[2 * e]!, rims[2 * e + 1]!, count, faces);
    count++;
  }
}

/** Writes the support point in direction n at `count`, notes the overlap if it is the least. @returns the overlap */
function tryDirection(
  a: Body,
  b: Body,
  rel: Float64Array,
  nx: number,
  ny: number,
  nz: number,
  count: number,
  axis: Float64Array,
): number {
  const at = 9 * count;
  addSupport(a, b, rel, -nx, -ny, -nz, points, at);
  const reach = nx * points[at]! + ny * points[at + 1]! + nz * points[at + 2]!;
  // A - B reaches this far beyond the origin along n: B pushed by it along n leaves A.
  const overlap = Math.max(reach, 0);
  if (overlap < axis[0]!) {
    axis[0] = overlap;
    axis[1] = nx;
    axis[2] = ny;
    axis[3] = nz;
  }
  return reach;
}

/** Points until there are four with a volume. @returns fewer than 4 when the difference is flat: then the depth is known to be 0 */
function fill(a: Body, b: Body, rel: Float64Array, count: number, size: number, axis: Float64Array): number {
  const least = 1e-12 * size;
  // A simplex of four that is flat says nothing about a volume.
  if (count === 4 && Math.abs(volume(0, 1, 2, 3)) <= least * size * size) count = 3;
  if (count === 3 && area() <= least * size) count = 2;
  if (count === 2 && gapTo(0, 1) <= least) count = 1;
  if (count === 1) {
    let found = false;
    for (let k = 0; k < 6 && !found; k++) {
      const sign = k < 3 ? 1 : -1;
      tryDirection(a, b, rel, k % 3 === 0 ? sign : 0, k % 3 === 1 ? sign : 0, k % 3 === 2 ? sign : 0, 1, axis);
      found = gapTo(0, 1) > least;
    }
    if (!found) return 1;
    count = 2;
  }
  if (count === 2) {
    const dx = points[9]! - points[0]!,
      dy = points[10]! - points[1]!,
      dz = points[11]! - points[2]!;
    const length = Math.hypot(dx, dy, dz);
    // Two directions across the edge, and their opposites.
    let ux = 0,
      uy = 0,
      uz = 0;
    if (Math.abs(dx) <= Math.abs(dy) && Math.abs(dx) <= Math.abs(dz)) {
      uy = dz;
      uz = -dy;
    } else if (Math.abs(dy) <= Math.abs(dz)) {
      ux = -dz;
      uz = dx;
    } else {
      ux = dy;
      uy = -dx;
    }
    const across = Math.hypot(ux, uy, uz);
    ux /= across;
    uy /= across;
    uz /= across;
    const vx = (dy * uz - dz * uy) / length,
      vy = (dz * ux - dx * uz) / length,
      vz = (dx * uy - dy * ux) / length;
    let found = false;
    for (let k = 0; k < 8 && !found; k++) {
      const c = Math.cos((k * Math.PI) / 4),
        s = Math.sin((k * Math.PI) / 4);
      tryDirection(a, b, rel, c * ux + s * vx, c * uy + s * vy, c * uz + s * vz, 2, axis);
      found = area() > least * size;
    }
    if (!found) return 2;
    count = 3;
  }
  if (count === 3) {
    const ux = points[9]! - points[0]!,
      uy = points[10]! - points[1]!,
      uz = points[11]! - points[2]!;
    const vx = points[18]! - points[0]!,
      vy = points[19]! - points[1]!,
      vz = points[20]! - points[2]!;
    let nx = uy * vz - uz * vy,
      ny = uz * vx - ux * vz,
      nz = ux * vy - uy * vx;
    const length = Math.hypot(nx, ny, nz);
    nx /= length;
    ny /= length;
    nz /= length;
    tryDirection(a, b, rel, nx, ny, nz, 3, axis);
    if (Math.abs(volume(0, 1, 2, 3)) > least * size * size) return 4;
    tryDirection(a, b, rel, -nx, -ny, -nz, 3, axis);
    if (Math.abs(volume(0, 1, 2, 3)) > least * size * size) return 4;
    return 3;
  }
  return count;
}

function gapTo(i: number, j: number): number {
  return Math.hypot(
    points[9 * i]! - points[9 * j]!,
    points[9 * i + 1]! - points[9 * j + 1]!,
    points[9 * i + 2]! - points[9 * j + 2]!,
  );
}

/** Twice the area of points 0, 1, 2. */
function area(): number {
  const ux = points[9]! - points[0]!,
    uy = points[10]! - points[1]!,
    uz = points[11]! - points[2]!;
  const vx = points[18]! - points[0]!,
    vy = points[19]! - points[1]!,
    vz = points[20]! - points[2]!;
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
}

/** Six times the signed volume of four points. */
function volume(i: number, j: number, k: number, l: number): number {
  const a = 9 * i,
    b = 9 * j,
    c = 9 * k,
    d = 9 * l;
  const ux = points[b]! - points[a]!,
    uy = points[b + 1]! - points[a + 1]!,
    uz = points[b + 2]! - points[a + 2]!;
  const vx = points[c]! - points[a]!,
    vy = points[c + 1]! - points[a + 1]!,
    vz = points[c + 2]! - points[a + 2]!;
  const wx = points[d]! - points[a]!,
    wy = points[d + 1]! - points[a + 1]!,
    wz = points[d + 2]! - points[a + 2]!;
  return (uy * vz - uz * vy) * wx + (uz * vx - ux * vz) * wy + (ux * vy - uy * vx) * wz;
}

function addFace(i: number, j: number, k: number, face: number): number {
  corners[3 * face] = i;
  corners[3 * face + 1] = j;
  corners[3 * face + 2] = k;
  const a = 9 * i,
    b = 9 * j,
    c = 9 * k;
  const ux = points[b]! - points[a]!,
    uy = points[b + 1]! - points[a + 1]!,
    uz = points[b + 2]! - points[a + 2]!;
  const vx = points[c]! - points[a]!,
    vy = points[c + 1]! - points[a + 1]!,
    vz = points[c + 2]! - points[a + 2]!;
  const nx = uy * vz - uz * vy,
    ny = uz * vx - ux * vz,
    nz = ux * vy - uy * vx;
  const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
  const at = 4 * face;
  if (length > 0) {
    planes[at] = nx / length;
    planes[at + 1] = ny / length;
    planes[at + 2] = nz / length;
    planes[at + 3] = (nx * points[a]! + ny * points[a + 1]! + nz * points[a + 2]!) / length;
  } else {
    planes[at] = planes[at + 1] = planes[at + 2] = 0;
    planes[at + 3] = Number.POSITIVE_INFINITY;
  }
  return face + 1;
}

/** Turns the face so that point `inner` lies behind it. */
function orient(face: number, inner: number): void {
  const at = 4 * face,
    p = 9 * inner;
  const above =
    planes[at]! * points[p]! + planes[at + 1]! * points[p + 1]! + planes[at + 2]! * points[p + 2]! - planes[at + 3]!;
  if (above > 0) {
    const j = corners[3 * face + 1]!;
    corners[3 * face + 1] = corners[3 * face + 2]!;
    corners[3 * face + 2] = j;
    for (let k = 0; k < 4; k++) planes[at + k] = -planes[at + k]!;
  }
}

/** Notes the directed edge; an edge met the other way round before is inside the hole and goes. */
function addRim(from: number, to: number, rim: number): number {
  for (let e = 0; e < rim; e++)
    if (rims[2 * e] === to && rims[2 * e + 1] === from) {
      rims[2 * e] = rims[2 * rim - 2]!;
      rims[2 * e + 1] = rims[2 * rim - 1]!;
      return rim - 1;
    }
  rims[2 * rim] = from;
  rims[2 * rim + 1] = to;
  return rim + 1;
}
