/**
 * The geometric subproblems of inverse kinematics (Paden 1986; Kahan; Elias & Wen 2022; recalled), each with exact solutions
 * where there are any and the least-squares angle where there are none. The product solves its families in frames of their
 * own and uses none of this, which makes it a second opinion (paden-kahan.ts).
 *
 * R(h, q) is the turn by q about the unit vector h; all axes pass through the origin. Angles in rad, lengths in m. Each
 * function writes angles to `out` and returns the number of exact solutions; 0 means that out holds a least-squares one.
 */
type Vector = ArrayLike<number>;

const TWO_PI = 2 * Math.PI;
/** Share by which sin² may fall below zero through rounding, the two solutions having met. */
const ROUNDING = 1e-13;

const dot = (a: Vector, b: Vector) => a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
const cross = (a: Vector, b: Vector): [number, number, number] => [
  a[1]! * b[2]! - a[2]! * b[1]!,
  a[2]! * b[0]! - a[0]! * b[2]!,
  a[0]! * b[1]! - a[1]! * b[0]!,
];
const wrapped = (a: number) => (a > Math.PI ? a - TWO_PI : a <= -Math.PI ? a + TWO_PI : a);

/**
 * p cos q + r sin q = k. Two solutions, one where they meet (|k| = √(p² + r²) within rounding), or none: then the angle of
 * least |p cos q + r sin q - k|.
 */
export function linearAngle(p: number, r: number, k: number, out: Float64Array): number {
  const h = Math.hypot(p, r);
  const middle = Math.atan2(r, p);
  const sin2 = h > 0 ? ((h - k) * (h + k)) / (h * h) : Number.NEGATIVE_INFINITY;
  if (sin2 <= 0) {
    out[0] = h > 0 ? (k >= 0 ? middle : wrapped(middle + Math.PI)) : 0;
    // With p = r = 0 any angle does when k is 0 as well, and none when it is not.
    return h > 0 ? (sin2 >= -ROUNDING ? 1 : 0) : k === 0 ? 1 : 0;
  }
  const half = Math.atan2(Math.sqrt(sin2), k / h);
  out[0] = wrapped(middle + half);
  out[1] = wrapped(middle - half);
  return 2;
}

/** Subproblem 1: R(h, q)·from = to. One solution; least |R·from - to| when lengths or heights along h differ. */
export function turnOnto(h: Vector, from: Vector, to: Vector, out: Float64Array, tolerance = 1e-12): number {
  const across = cross(h, from);
  out[0] = wrapped(Math.atan2(dot(across, to), dot(from, to) - dot(h, from) * dot(h, to)));
  const size = Math.sqrt(Math.max(dot(from, from), dot(to, to)));
  const heights = Math.abs(dot(h, from) - dot(h, to));
  const lengths = Math.abs(Math.sqrt(dot(from, from)) - Math.sqrt(dot(to, to)));
  return heights <= tolerance * size && lengths <= tolerance * size ? 1 : 0;
}

/**
 * Subproblem 2: R(first, q1)·R(second, q2)·from = to. At most two solutions, (q1, q2) pairs in `out` (4 long); when the two
 * cones do not meet, or the lengths differ, the pair that brings the directions nearest. The axes must not be parallel.
 */
export function turnsOnto(first: Vector, second: Vector, from: Vector, to: Vector, out: Float64Array): number {
  const lf = Math.sqrt(dot(from, from)),
    lt = Math.sqrt(dot(to, to));
  const a = Array.from(from, (x) => x / lf),
    b = Array.from(to, (x) => x / lt);
  // Common direction v = α·first + β·second ± γ·(first × second): second·v = second·a and first·v = first·b.
  const c = dot(first, second),
    normal = cross(first, second),
    s2 = dot(normal, normal);
  const alpha = (dot(first, b) - c * dot(second, a)) / s2,
    beta = (dot(second, a) - c * dot(first, b)) / s2;
  const rest = 1 - alpha * alpha - beta * beta - 2 * alpha * beta * c;
  const same = Math.abs(lf - lt) <= 1e-12 * Math.max(lf, lt);
  const one = new Float64Array(2);
  const take = (v: Vector, w: Vector, at: number) => {
    turnOnto(second, a, v, one);
    out[at + 1] = one[0]!;
    turnOnto(first, w, b, one);
    out[at] = one[0]!;
  };
  const along = (gamma: number) => [0, 1, 2].map((k) => alpha * first[k]! + beta * second[k]! + gamma * normal[k]!);
  if (rest > 0) {
    const gamma = Math.sqrt(rest / s2);
    take(along(gamma), along(gamma), 0);
    take(along(-gamma), along(-gamma), 2);
    return same ? 2 : 0;
  }
  if (rest > -ROUNDING) {
    take(along(0), along(0), 0);
    return same ? 1 : 0;
  }
  // The circles do not meet: their nearest points lie in the plane of the axes.
  const across = (h: Vector, side: number, angleCos: number, toward: Vector) => {
    const d = dot(h, toward);
    const l = Math.sqrt(s2);
    const sine = Math.sqrt(Math.max(0, 1 - angleCos * angleCos));
    return [0, 1, 2].map((k) => angleCos * h[k]! + (side * sine * (toward[k]! - d * h[k]!)) / l);
  };
  let best = Number.NEGATIVE_INFINITY;
  for (const i of [1, -1]) {
    for (const j of [1, -1]) {
      const v = across(second, i, dot(second, a), first),
        w = across(first, j, dot(first, b), second);
      if (dot(v, w) > best) {
        best = dot(v, w);
        take(v, w, 0);
      }
    }
  }
  return 0;
}

/** Subproblem 3: |R(h, q)·from - to| = distance. At most two solutions; else the angle that comes nearest to the distance. */
export function turnToDistance(h: Vector, from: Vector, to: Vector, distance: number, out: Float64Array): number {
  const along = dot(h, from) * dot(h, to);
  const k = 0.5 * (dot(from, from) + dot(to, to) - distance * distance) - along;
  return linearAngle(dot(from, to) - along, dot(cross(h, from), to), k, out);
}

/** Subproblem 4: normal·R(h, q)·from = height, a circle and a plane. At most two solutions; else the angle that comes nearest. */
export function turnToPlane(h: Vector, from: Vector, normal: Vector, height: number, out: Float64Array): number {
  const along = dot(h, from) * dot(h, normal);
  return linearAngle(dot(from, normal) - along, dot(cross(h, from), normal), height - along, out);
}
