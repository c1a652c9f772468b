/**
 * Smallest circle around points of a plane. The point farthest outside is added to the few that hold the circle, and the smallest
 * circle around those is found by trying all pairs and triples; each turn enlarges the circle, so it ends (Gärtner, Fast and robust
 * smallest enclosing balls, ESA 1999, whose pivot rule this is).
 */
export interface Circle {
  x: number;
  y: number;
  radius: number;
}

/** How far beyond the rim, as a share of the radius, a point counts as on it. */
const RIM = 1e-10;
const MOST_TURNS = 60;

/** @param xs, ys the first `count` are the points, at least one @param out receives the circle */
export function smallestCircle(xs: Float64Array, ys: Float64Array, count: number, out: Circle): Circle {
  let held: readonly number[] = [farthest(xs, ys, count, xs[0]!, ys[0]!)];
  out.x = xs[held[0]!]!;
  out.y = ys[held[0]!]!;
  out.radius = 0;
  for (let turn = 0; turn < MOST_TURNS; turn++) {
    const far = farthest(xs, ys, count, out.x, out.y);
    const distance = Math.hypot(xs[far]! - out.x, ys[far]! - out.y);
    if (distance <= out.radius * (1 + RIM) || held.includes(far)) break;
    const before = out.radius;
    held = around(xs, ys, held, far, out);
    if (!(out.radius > before)) break;
  }
  return out;
}

function farthest(xs: Float64Array, ys: Float64Array, count: number, x: number, y: number): number {
  let best = 0,
    most = -1;
  for (let i = 0; i < count; i++) {
    const square = (xs[i]! - x) ** 2 + (ys[i]! - y) ** 2;
    if (square > most) {
      most = square;
      best = i;
    }
  }
  return best;
}

const tried: Circle = { x: 0, y: 0, radius: 0 };

/** Smallest circle around at most three points and one more that is outside theirs; returns the points that hold it. */
function around(
  xs: Float64Array,
  ys: Float64Array,
  held: readonly number[],
  far: number,
  out: Circle,
): readonly number[] {
  const all = [...held, far];
  let best: readonly number[] = held;
  let least = Number.POSITIVE_INFINITY;
  const consider = (points: readonly number[]) => {
    const holds = all.every((i) => Math.hypot(xs[i]! - tried.x, ys[i]! - tried.y) <= tried.radius * (1 + RIM));
    if (!holds || !(tried.radius < least)) return;
    least = tried.radius;
    best = points;
    out.x = tried.x;
    out.y = tried.y;
    out.radius = tried.radius;
  };
  for (const i of held) {
    tried.x = (xs[i]! + xs[far]!) / 2;
    tried.y = (ys[i]! + ys[far]!) / 2;
    tried.radius = Math.hypot(xs[i]! - xs[far]!, ys[i]! - ys[far]!) / 2;
    consider([i, far]);
  }
  for (const [a, i] of held.entries())
    for (const j of held.slice(a + 1)) if (throughThree(xs, ys, i, j, far)) consider([i, j, far]);
  return best;
}

/** Circle through three points into `tried`; false when they lie on one line, where the two outer ones hold it. */
function throughThree(xs: Float64Array, ys: Float64Array, i: number, j: number, k: number): boolean {
  const bx = xs[j]! - xs[i]!,
    by = ys[j]! - ys[i]!,
    cx = xs[k]! - xs[i]!,
    cy = ys[k]! - ys[i]!;
  const area = 2 * (bx * cy - by * cx);
  const b = bx * bx + by * by,
    c = cx * cx + cy * cy;
  if (Math.abs(area) <= 1e-14 * (b + c)) return false;
  const x = (cy * b - by * c) / area,
    y = (bx * c - cx * b) / area;
  tried.x = xs[i]! + x;
  tried.y = ys[i]! + y;
  tried.radius = Math.hypot(x, y);
  return true;
}
