/**
 * Smallest circle around points of a plane: points are added one by one, and a point outside lies on the new circle's rim
 * (Welzl, New Results and New Trends in Computer Science, LNCS 555, 1991, in its form with loops).
 */
export interface Circle {
  x: number;
  y: number;
  radius: number;
}

/** How far beyond the rim, as a share of the radius, a point counts as on it. */
const RIM = 1e-12;

/** @param xs, ys the first `count` are the points, at least one @param out receives the circle */
export function smallestCircle(xs: Float64Array, ys: Float64Array, count: number, out: Circle): Circle {
  const holds = (i: number) => Math.hypot(xs[i]! - out.x, ys[i]! - out.y) <= out.radius * (1 + RIM);
  out.x = xs[0]!;
  out.y = ys[0]!;
  out.radius = 0;
  for (let i = 1; i < count; i++) {
    if (holds(i)) continue;
    out.x = xs[i]!;
    out.y = ys[i]!;
    out.radius = 0;
    for (let j = 0; j < i; j++) {
      if (holds(j)) continue;
      out.x = (xs[i]! + xs[j]!) / 2;
      out.y = (ys[i]! + ys[j]!) / 2;
      out.radius = Math.hypot(xs[i]! - xs[j]!, ys[i]! - ys[j]!) / 2;
      for (let k = 0; k < j; k++) if (!holds(k)) throughThree(xs, ys, i, j, k, out);
    }
  }
  return out;
}

/** Circle through three points; left as it is when they lie on one line, which its two end points already span. */
function throughThree(xs: Float64Array, ys: Float64Array, i: number, j: number, k: number, out: Circle): void {
  const bx = xs[j]! - xs[i]!,
    by = ys[j]! - ys[i]!,
    cx = xs[k]! - xs[i]!,
    cy = ys[k]! - ys[i]!;
  const area = 2 * (bx * cy - by * cx);
  const b = bx * bx + by * by,
    c = cx * cx + cy * cy;
  if (Math.abs(area) <= 1e-14 * (b + c)) return;
  const x = (cy * b - by * c) / area,
    y = (bx * c - cx * b) / area;
  out.x = xs[i]! + x;
  out.y = ys[i]! + y;
  out.radius = Math.hypot(x, y);
}
