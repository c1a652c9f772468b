/** Signed distance of any two bodies with witness points. */
import { BOX, type Body, CYLINDER, MESH } from "./body.ts";
import { convexPair } from "./convex-pair.ts";
import { coreResult } from "./core-result.ts";
import { relative } from "./frames.ts";
import { BEYOND, gjk, OVERLAP } from "./gjk.ts";
import { convexMesh, meshMesh } from "./mesh-pair.ts";
import { capsules, segmentBoxSquared, segmentCylinderSquared, segmentSegmentSquared } from "./segments.ts";
import { leastOverlap } from "./separating-axes.ts";

/**
 * A distance, ten numbers: signed distance, m; the witness point of A (3) and of B (3), frame of the poses; the unit normal (3)
 * from A to B. pointB - pointA = distance · normal.
 */
export type Distance = Float64Array;

/** A new, empty distance. */
export const newDistance = (): Distance => new Float64Array(10);

const core = coreResult();
const rel = new Float64Array(12);
const axis = new Float64Array(4);

/**
 * Signed distance of two placed bodies: the gap where they are apart; where they overlap, minus the depth, the shortest way
 * to part them (moving B along the normal by the depth does).
 *
 * Exact to rounding (1e-9 of the distance or better, and 1e-14 of the bodies' size) for all convex bodies; pairs of spheres and capsules,
 * and both with boxes and cylinders, are closed forms or one-dimensional. With a mesh the gap is as exact; an overlap is
 * a lower bound of the depth (see mesh-pair). Nothing is allocated.
 * @param poseA frame of A in a common frame, rigid, row-major 3 x 4 or 4 x 4, m
 * @param poseB the same of B
 * @returns the signed distance, m; `out` receives it with the witnesses
 * @example distance(sphereBody(0.1), identityPose(), sphereBody(0.2), translation(1, 0, 0), newDistance()) // 0.7
 */
export function distance(a: Body, poseA: Float64Array, b: Body, poseB: Float64Array, out: Distance): number {
  if (a.kind < BOX && b.kind < BOX) capsules(a, poseA, 0, b, poseB, 0, out);
  else placedDistance(a, poseA, 0, b, poseB, 0, Number.POSITIVE_INFINITY, out);
  return out[0]!;
}

/**
 * As `distance`, poses beginning at `ia` and `ib` of larger arrays. Where the distance is above `limit` the answer may be any
 * lower bound above it, or Infinity, without witnesses. With `deep` false an overlap of cores may be told as -Infinity without
 * witnesses, and of a mesh any distance below 0 may be told: finding the depth costs more than all else.
 */
export function placedDistance(
  a: Body,
  pa: Float64Array,
  ia: number,
  b: Body,
  pb: Float64Array,
  ib: number,
  limit: number,
  out: Distance,
  deep = true,
): void {
  const ra = a.radius,
    rb = b.radius;
  if (a.kind < BOX && b.kind < BOX) {
    capsules(a, pa, ia, b, pb, ib, out);
    return;
  }
  const swap = a.kind > b.kind;
  const low = swap ? b : a,
    high = swap ? a : b;
  const p = swap ? pa : pb,
    ip = swap ? ia : ib;
  if (swap) relative(pb, ib, pa, ia, rel);
  else relative(pa, ia, pb, ib, rel);
  const coreLimit = limit + ra + rb;
  if (high.kind < MESH) {
    const answer = convexPair(low, high, rel, coreLimit, core, deep);
    if (answer === BEYOND) {
      out[0] = core[0]! - ra - rb;
      return;
    }
    if (answer === OVERLAP && !deep) {
      out[0] = Number.NEGATIVE_INFINITY;
      return;
    }
  } else {
    const enough = deep ? Number.NEGATIVE_INFINITY : 0;
    if (low.kind === MESH) meshMesh(low, high, rel, coreLimit, enough, core);
    else convexMesh(low, high, rel, coreLimit, enough, core);
    if (core[0] === Number.POSITIVE_INFINITY) {
      out[0] = core[0];
      return;
    }
  }
  // From the frame of the higher kind, in the order that was asked for.
  out[0] = core[0]!;
  const first = swap ? 4 : 1,
    second = swap ? 1 : 4,
    sign = swap ? -1 : 1;
  for (let r = 0; r < 3; r++) {
    const at = ip + 4 * r;
    const x = p[at]!,
      y = p[at + 1]!,
      z = p[at + 2]!,
      t = p[at + 3]!;
    out[1 + r] = x * core[first]! + y * core[first + 1]! + z * core[first + 2]! + t;
    out[4 + r] = x * core[second]! + y * core[second + 1]! + z * core[second + 2]! + t;
    out[7 + r] = sign * (x * core[7]! + y * core[8]! + z * core[9]!);
  }
  addRadii(ra, rb, out);
}

/** From cores to bodies: witnesses move along the normal by the radii. */
function addRadii(ra: number, rb: number, out: Distance): void {
  const nx = out[7]!,
    ny = out[8]!,
    nz = out[9]!;
  out[0] = out[0]! - ra - rb;
  out[1] = out[1]! + ra * nx;
  out[2] = out[2]! + ra * ny;
  out[3] = out[3]! + ra * nz;
  out[4] = out[4]! - rb * nx;
  out[5] = out[5]! - rb * ny;
  out[6] = out[6]! - rb * nz;
}

/** Whether two placed bodies are nearer than `margin` (m, at least 0; 0: whether they overlap). */
export function nearer(
  a: Body,
  pa: Float64Array,
  ia: number,
  b: Body,
  pb: Float64Array,
  ib: number,
  margin: number,
): boolean {
  const reach = a.radius + b.radius + margin;
  if (a.kind < BOX && b.kind < BOX) return segmentSegmentSquared(a.hz, pa, ia, b.hz, pb, ib) < reach * reach;
  const swap = a.kind > b.kind;
  const low = swap ? b : a,
    high = swap ? a : b;
  if (swap) relative(pb, ib, pa, ia, rel);
  else relative(pa, ia, pb, ib, rel);
  const { kind } = high;
  if (low.kind < BOX && kind < 4) {
    const cx = rel[3]!,
      cy = rel[7]!,
      cz = rel[11]!,
      dx = rel[2]!,
      dy = rel[6]!,
      dz = rel[10]!;
    const square =
      kind === CYLINDER
        ? segmentCylinderSquared(cx, cy, cz, dx, dy, dz, low.hz, high.hx, high.hz)
        : segmentBoxSquared(cx, cy, cz, dx, dy, dz, low.hz, high.hx, high.hy, high.hz);
    return square < reach * reach;
  }
  if (kind === BOX && reach === 0) return leastOverlap(low, high, rel, axis, true);
  if (kind === MESH) {
    if (low.kind === MESH) meshMesh(low, high, rel, reach, reach, core);
    else convexMesh(low, high, rel, reach, reach, core);
    return core[0]! < reach;
  }
  const answer = gjk(low, high, rel, reach, core);
  return answer !== BEYOND && (answer === OVERLAP || core[0]! < reach);
}
