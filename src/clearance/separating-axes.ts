/**
 * Boxes and segments that overlap: their difference is a body whose faces are normal to an axis of one or to an axis of each
 * (Gottschalk, Lin and Manocha, SIGGRAPH 1996, for boxes), so that the depth is the least overlap over at most 15 directions.
 * A segment is a box without width: the directions that it adds in vain never lower the least.
 */
import type { Body } from "./body.ts";

/** Cross products below this square say that two axes are parallel; the axes themselves then cover the direction. */
const PARALLEL = 1e-20;

/**
 * Least overlap of box or segment `a`, placed by `rel` in the frame of box or segment `b`.
 * @param axis receives the overlap and the unit direction, frame of `b`, in which `b` is pushed out
 * @param give stop as soon as a direction is found in which the bodies are apart
 * @returns false when the bodies are apart
 */
export function leastOverlap(a: Body, b: Body, rel: Float64Array, axis: Float64Array, give: boolean): boolean {
  const ax = a.hx,
    ay = a.hy,
    az = a.hz,
    bx = b.hx,
    by = b.hy,
    bz = b.hz;
  const r0 = rel[0]!,
    r1 = rel[1]!,
    r2 = rel[2]!,
    tx = rel[3]!,
    r4 = rel[4]!,
    r5 = rel[5]!,
    r6 = rel[6]!,
    ty = rel[7]!,
    r8 = rel[8]!,
    r9 = rel[9]!,
    r10 = rel[10]!,
    tz = rel[11]!;
  let least = Number.POSITIVE_INFINITY;
  // Axes of b.
  for (let i = 0; i < 3; i++) {
    const k = 4 * i;
    const half = i === 0 ? bx : i === 1 ? by : bz;
    const overlap =
      half + ax * Math.abs(rel[k]!) + ay * Math.abs(rel[k + 1]!) + az * Math.abs(rel[k + 2]!) - Math.abs(rel[k + 3]!);
    if (overlap < least) {
      least = overlap;
      axis[1] = axis[2] = axis[3] = 0;
      axis[1 + i] = 1;
      if (give && overlap < 0) return false;
    }
  }
  // Axes of a.
  for (let j = 0; j < 3; j++) {
    const x = rel[j]!,
      y = rel[j + 4]!,
      z = rel[j + 8]!;
    const half = j === 0 ? ax : j === 1 ? ay : az;
    const overlap = half + bx * Math.abs(x) + by * Math.abs(y) + bz * Math.abs(z) - Math.abs(tx * x + ty * y + tz * z);
    if (overlap < least) {
      least = overlap;
      axis[1] = x;
      axis[2] = y;
      axis[3] = z;
      if (give && overlap < 0) return false;
    }
  }
  // Axis i of b crossed with axis j of a.
  for (let j = 0; j < 3; j++) {
    const x = rel[j]!,
      y = rel[j + 4]!,
      z = rel[j + 8]!;
    for (let i = 0; i < 3; i++) {
      const nx = i === 0 ? 0 : i === 1 ? z : -y,
        ny = i === 0 ? -z : i === 1 ? 0 : x,
        nz = i === 0 ? y : i === 1 ? -x : 0;
      const square = nx * nx + ny * ny + nz * nz;
      if (square < PARALLEL) continue;
      const length = Math.sqrt(square);
      const reach =
        bx * Math.abs(nx) +
        by * Math.abs(ny) +
        bz * Math.abs(nz) +
        ax * Math.abs(r0 * nx + r4 * ny + r8 * nz) +
        ay * Math.abs(r1 * nx + r5 * ny + r9 * nz) +
        az * Math.abs(r2 * nx + r6 * ny + r10 * nz);
      const overlap = (reach - Math.abs(tx * nx + ty * ny + tz * nz)) / length;
      if (overlap < least) {
        least = overlap;
        axis[1] = nx / length;
        axis[2] = ny / length;
        axis[3] = nz / length;
        if (give && overlap < 0) return false;
      }
    }
  }
  axis[0] = least;
  // a's middle lies at t: b is pushed the other way.
  if (tx * axis[1]! + ty * axis[2]! + tz * axis[3]! > 0) {
    axis[1] = -axis[1]!;
    axis[2] = -axis[2]!;
    axis[3] = -axis[3]!;
  }
  return !(least < 0);
}
