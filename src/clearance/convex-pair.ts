/** Signed distance of two convex cores, each pair of kinds by its own method. Everything in the frame of B, the higher kind. */
import { BOX, type Body, CYLINDER, POINT } from "./body.ts";
import type { CoreResult } from "./core-result.ts";
import { penetration } from "./expanding.ts";
import { APART, gjk, OVERLAP } from "./gjk.ts";
import { pointInCylinder, segmentBox, segmentCylinder } from "./segments.ts";
import { leastOverlap } from "./separating-axes.ts";

const axis = new Float64Array(4);
const pushed = new Float64Array(12);

/**
 * Signed distance and witnesses of two convex cores (kinds in order, not both segments or points).
 * @param rel A in the frame of B, row-major 3 x 4
 * @param limit gives up when the cores are known to be farther apart; Infinity for never
 * @param deep false: of an overlap nothing is written
 * @returns APART, OVERLAP (signed distance at most 0) or BEYOND (`out[0]` is a lower bound, the rest is not written)
 */
export function convexPair(a: Body, b: Body, rel: Float64Array, limit: number, out: CoreResult, deep = true): number {
  const { kind } = b;
  if (a.kind < BOX && kind === BOX) {
    if (segmentBox(a, b, rel, out)) return APART;
    if (!deep) return OVERLAP;
    leastOverlap(a, b, rel, axis, false);
  } else if (a.kind < BOX && kind === CYLINDER) {
    if (segmentCylinder(a, b, rel, out)) return APART;
    if (!deep) return OVERLAP;
    if (a.kind === POINT) {
      pointInCylinder(b, rel, out);
      return OVERLAP;
    }
    gjk(a, b, rel, Number.POSITIVE_INFINITY, out);
    penetration(a, b, rel, axis);
  } else {
    const answer = gjk(a, b, rel, limit, out);
    if (answer !== OVERLAP || !deep) return answer;
    if (a.kind === BOX && kind === BOX) leastOverlap(a, b, rel, axis, false);
    else penetration(a, b, rel, axis);
  }
  witness(a, b, rel, out);
  return OVERLAP;
}

/**
 * Points that realise a depth: the bodies are parted along the axis by more than the depth; the nearest points then are those
 * of the faces that touch, and B's point is brought back.
 */
function witness(a: Body, b: Body, rel: Float64Array, out: CoreResult): void {
  const depth = Math.max(axis[0]!, 0),
    nx = axis[1]!,
    ny = axis[2]!,
    nz = axis[3]!;
  const shift = depth + 0.25 * (a.bound + b.bound);
  for (let i = 0; i < 12; i++) pushed[i] = rel[i]!;
  // Pushing B along n is pulling A against n.
  pushed[3] = rel[3]! - shift * nx;
  pushed[7] = rel[7]! - shift * ny;
  pushed[11] = rel[11]! - shift * nz;
  const simple =
    a.kind < BOX &&
    ((b.kind === BOX && segmentBox(a, b, pushed, out)) || (b.kind === CYLINDER && segmentCylinder(a, b, pushed, out)));
  if (!simple) gjk(a, b, pushed, Number.POSITIVE_INFINITY, out);
  out[0] = -depth;
  out[1] = out[1]! + shift * nx;
  out[2] = out[2]! + shift * ny;
  out[3] = out[3]! + shift * nz;
  out[7] = nx;
  out[8] = ny;
  out[9] = nz;
}
