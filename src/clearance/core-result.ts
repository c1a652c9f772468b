/**
 * What a distance kernel finds about two cores, ten numbers: signed distance; a point of A; a point of B; unit normal that
 * points from A to B. Moving B along the normal by the depth parts overlapping cores. pointB - pointA = distance · normal.
 */
export type CoreResult = Float64Array;

/** A new, empty result. */
export const coreResult = (): CoreResult => new Float64Array(10);

/** Share of the bodies' size below which a gap is rounding. */
const ROUNDING = 1e-15;

/**
 * Point (x, y, z) of A and the vector e from B's nearest point to it.
 * @returns false, and writes nothing, when e is no more than rounding of bodies of this size (m)
 */
export function writeApart(
  x: number,
  y: number,
  z: number,
  ex: number,
  ey: number,
  ez: number,
  size: number,
  out: CoreResult,
): boolean {
  const square = ex * ex + ey * ey + ez * ez;
  if (!(square > ROUNDING * ROUNDING * size * size)) return false;
  const distance = Math.sqrt(square),
    k = -1 / distance;
  out[0] = distance;
  out[1] = x;
  out[2] = y;
  out[3] = z;
  out[4] = x - ex;
  out[5] = y - ey;
  out[6] = z - ez;
  out[7] = k * ex;
  out[8] = k * ey;
  out[9] = k * ez;
  return true;
}
