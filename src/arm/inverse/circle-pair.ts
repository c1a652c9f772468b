/**
 * Two angles from two equations, the core of the spherical-wrist and of the three-parallel-axes families:
 *
 *   A·(cos x, sin x) = B·(cos y, sin y) + c,      A, B 2 x 2, c 2 x 1
 *
 * (the fifth and sixth subproblems of Elias & Wen 2022 have this form: each angle moves a point on a circle). Where a
 * combination of the two rows is free of x, or a row is free of y, the angles follow one after the other, two values each.
 * Otherwise x is eliminated, which leaves a trigonometric polynomial of degree two: at most four pairs.
 */
import { trigonometricZeros } from "../../math/polynomial-roots.ts";

/** Share of the largest coefficient below which a coefficient vector counts as zero. */
const FREE = 1e-12;
/** sin² of half the distance of two solutions below which they are reported as close. */
const CLOSE = 1e-10;

/**
 * Angle equation p·cos + r·sin = k. Writes (cos, sin) pairs to out[at…] and returns their number, 0 to 2.
 * A touching solution is written once; where p = r = k = 0 the angle is free and 0 is written.
 */
function angles(p: number, r: number, k: number, scale: number, out: Float64Array, at: number): number {
  const h2 = p * p + r * r;
  const tiny = FREE * scale;
  if (h2 <= tiny * tiny) {
    out[PAIR_CLOSE] = 1;
    if (Math.abs(k) > 1e-11 * scale) return 0;
    out[at] = 1;
    out[at + 1] = 0;
    return 1;
  }
  const inv = 1 / h2;
  const h = Math.sqrt(h2);
  const d2 = (h - k) * (h + k);
  const slack = out[PAIR_SLACK]!;
  if (d2 < CLOSE * h2 || d2 < slack * h2) out[PAIR_CLOSE] = 1;
  if (d2 <= 0) {
    if (d2 < -slack * h2) return 0;
    out[at] = k > 0 ? p / h : -p / h;
    out[at + 1] = k > 0 ? r / h : -r / h;
    return 1;
  }
  const d = Math.sqrt(d2) * inv;
  const m = k * inv;
  out[at] = p * m - r * d;
  out[at + 1] = r * m + p * d;
  out[at + 2] = p * m + r * d;
  out[at + 3] = r * m - p * d;
  return 2;
}

// Places in the scratch array of `solveCirclePair`: A at 0, B at 4 (both by rows), c at 8, and:
/** Four solutions of (cos x, sin x, cos y, sin y). */
export const PAIR_OUT = 10;
/** Set to 1 when two solutions nearly or quite coincide, or an angle is free. */
export const PAIR_CLOSE = 50;
/** How far sin² may fall below zero and still count as a touching solution: 1e-13 for rounding, more for inexact rows. */
export const PAIR_SLACK = 51;
/** Scratch length. */
export const PAIR_SIZE = 52;
const FIRST = 42;
const SECOND = 46;
const MOST = 4;

/**
 * How the geometry lets the pair be solved: "x-last" when the second row of A is zero, "y-last" when the second row of B is
 * zero, "together" otherwise.
 */
export type PairMode = "x-last" | "y-last" | "together";

/**
 * Solves the pair.
 * @param s scratch of PAIR_SIZE: A at 0, B at 4, c at 8, slack at PAIR_SLACK; solutions are written at PAIR_OUT
 * @param nearly the row is only nearly zero: it is left out first, and the angles are then polished on the full equations
 * @param scale size of the coefficients, for deciding what is zero
 * @returns number of solutions, at most 4 (the two of one y, or of one x, are neighbours)
 */
export function solveCirclePair(s: Float64Array, mode: PairMode, nearly: boolean, scale: number): number {
  s[PAIR_CLOSE] = 0;
  if (mode === "together") return together(s, 0);
  const count = chained(s, mode === "x-last", scale);
  return nearly ? polishAll(s, count) : count;
}

/**
 * The angle y alone from the second row (whose A part is zero), each value twice: at PAIR_OUT (0, ±1, cos y, sin y), the sign
 * standing for the side on which the caller is to look for x.
 */
export function solveLastAngle(s: Float64Array, scale: number): number {
  s[PAIR_CLOSE] = 0;
  const ny = angles(s[6]!, s[7]!, -s[9]!, scale, s, FIRST);
  for (let i = 0; i < 2 * ny; i++) {
    const o = PAIR_OUT + 4 * i;
    const y = FIRST + 2 * (i >> 1);
    s[o] = 0;
    s[o + 1] = i % 2 === 0 ? 1 : -1;
    s[o + 2] = s[y]!;
    s[o + 3] = s[y + 1]!;
  }
  return 2 * ny;
}

/** One angle from the second row, the other from the first. @param yFirst the second row has y only, else x only */
function chained(s: Float64Array, yFirst: boolean, scale: number): number {
  // First angle: fp·cos + fr·sin = fk; second: sp·cos + sr·sin = cp·cos(first) + cr·sin(first) + k0.
  const fp = yFirst ? s[6]! : s[2]!,
    fr = yFirst ? s[7]! : s[3]!,
    fk = yFirst ? -s[9]! : s[9]!;
  const cp = yFirst ? s[4]! : s[0]!,
    cr = yFirst ? s[5]! : s[1]!,
    k0 = yFirst ? s[8]! : -s[8]!;
  const sp = yFirst ? s[0]! : s[4]!,
    sr = yFirst ? s[1]! : s[5]!;
  const place = yFirst ? 2 : 0;
  const slack = s[PAIR_SLACK]!;
  const size = Math.sqrt(fp * fp + fr * fr),
    reach = Math.sqrt(sp * sp + sr * sr),
    cross = Math.sqrt(cp * cp + cr * cr);
  let firsts = angles(fp, fr, fk, scale, s, FIRST);
  if (size <= FREE * scale) {
    // A free angle is 0, unless that puts the other out of reach.
    if (firsts > 0 && Math.abs(cp + k0) > reach && cross > 0) {
      const k = Math.max(-cross, Math.min(cross, -k0));
      firsts = Math.min(1, angles(cp, cr, k, scale, s, FIRST));
    }
  }
  let count = 0;
  for (let i = 0; i < firsts; i++) {
    const c = s[FIRST + 2 * i]!,
      n = s[FIRST + 2 * i + 1]!;
    // Rounding turns the first angle by about 1e-16·scale over the slope of its equation, and that moves the right side here.
    const slope = Math.max(Math.abs(fr * c - fp * n), 1e-7 * scale);
    s[PAIR_SLACK] = slack + (4e-15 * scale * cross) / (slope * reach);
    const seconds = angles(sp, sr, cp * c + cr * n + k0, scale, s, SECOND);
    for (let j = 0; j < seconds; j++) {
      const o = PAIR_OUT + 4 * count++;
      s[o + place] = c;
      s[o + place + 1] = n;
      s[o + 2 - place] = s[SECOND + 2 * j]!;
      s[o + 3 - place] = s[SECOND + 2 * j + 1]!;
    }
  }
  s[PAIR_SLACK] = slack;
  return count;
}

/** Polishes the solutions of the shortened equations; where two are close, those of the quartic are looked at as well. */
function polishAll(s: Float64Array, found: number): number {
  const close = s[PAIR_CLOSE] !== 0;
  let count = 0;
  for (let i = 0; i < found; i++) {
    const o = PAIR_OUT + 4 * i;
    const at = PAIR_OUT + 4 * count;
    if (polishPair(s, Math.atan2(s[o + 1]!, s[o]!), Math.atan2(s[o + 3]!, s[o + 2]!), at)) count++;
  }
  if (!close) return count;
  const all = together(s, count);
  s[PAIR_CLOSE] = 1;
  let kept = count;
  for (let i = count; i < all && kept < MOST; i++) {
    const o = PAIR_OUT + 4 * i;
    let repeated = false;
    for (let j = 0; j < kept; j++) {
      let d = 0;
      for (let k = 0; k < 4; k++) d = Math.max(d, Math.abs(s[o + k]! - s[PAIR_OUT + 4 * j + k]!));
      if (d < 1e-7) repeated = true;
    }
    if (repeated) continue;
    for (let k = 0; k < 4; k++) s[PAIR_OUT + 4 * kept + k] = s[o + k]!;
    kept++;
  }
  return kept;
}

const coefficients = new Float64Array(5);
const zeros = new Float64Array(4);

/** Eliminates the angle whose matrix is better conditioned, solves the quartic for the other and polishes both. */
function together(s: Float64Array, before: number): number {
  const detA = s[0]! * s[3]! - s[1]! * s[2]!;
  const detB = s[4]! * s[7]! - s[5]! * s[6]!;
  const sizeA = s[0]! * s[0]! + s[1]! * s[1]! + s[2]! * s[2]! + s[3]! * s[3]!;
  const sizeB = s[4]! * s[4]! + s[5]! * s[5]! + s[6]! * s[6]! + s[7]! * s[7]!;
  const eliminateX = Math.abs(detA) * sizeB >= Math.abs(detB) * sizeA;
  // first = u0 + u1 cos + u2 sin, second = v0 + v1 cos + v2 sin of the remaining angle.
  const e = eliminateX ? 0 : 4;
  const k = eliminateX ? 4 : 0;
  const sign = eliminateX ? 1 : -1;
  const inv = 1 / (eliminateX ? detA : detB);
  if (!Number.isFinite(inv)) return before;
  const e0 = s[e]! * inv,
    e1 = s[e + 1]! * inv,
    e2 = s[e + 2]! * inv,
    e3 = s[e + 3]! * inv;
  const u0 = sign * (e3 * s[8]! - e1 * s[9]!);
  const v0 = sign * (e0 * s[9]! - e2 * s[8]!);
  const u1 = e3 * s[k]! - e1 * s[k + 2]!;
  const v1 = e0 * s[k + 2]! - e2 * s[k]!;
  const u2 = e3 * s[k + 1]! - e1 * s[k + 3]!;
  const v2 = e0 * s[k + 3]! - e2 * s[k + 1]!;
  const f = coefficients;
  f[0] = u0 * u0 + v0 * v0 - 1 + 0.5 * (u1 * u1 + v1 * v1 + u2 * u2 + v2 * v2);
  f[1] = 2 * (u0 * u1 + v0 * v1);
  f[2] = 2 * (u0 * u2 + v0 * v2);
  f[3] = 0.5 * (u1 * u1 + v1 * v1 - u2 * u2 - v2 * v2);
  f[4] = u1 * u2 + v1 * v2;
  const found = trigonometricZeros(f, zeros);
  let count = before;
  for (let i = 0; i < found; i++) {
    const known = zeros[i]!;
    const ck = Math.cos(known),
      sk = Math.sin(known);
    const other = Math.atan2(v0 + v1 * ck + v2 * sk, u0 + u1 * ck + u2 * sk);
    if (polishPair(s, eliminateX ? other : known, eliminateX ? known : other, PAIR_OUT + 4 * count)) count++;
  }
  return count;
}

/** Newton on both angles; false when the residual does not vanish. */
function polishPair(s: Float64Array, x0: number, y0: number, at: number): boolean {
  let x = x0;
  let y = y0;
  const scale =
    Math.abs(s[0]!) + Math.abs(s[1]!) + Math.abs(s[2]!) + Math.abs(s[3]!) + Math.abs(s[4]!) + Math.abs(s[5]!);
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i < 6; i++) {
    const cx = Math.cos(x),
      sx = Math.sin(x),
      cy = Math.cos(y),
      sy = Math.sin(y);
    const r0 = s[0]! * cx + s[1]! * sx - s[4]! * cy - s[5]! * sy - s[8]!;
    const r1 = s[2]! * cx + s[3]! * sx - s[6]! * cy - s[7]! * sy - s[9]!;
    const r = Math.abs(r0) + Math.abs(r1);
    if (r < best) {
      best = r;
      s[at] = cx;
      s[at + 1] = sx;
      s[at + 2] = cy;
      s[at + 3] = sy;
    } else if (i > 1) break;
    if (r <= 1e-16 * scale) break;
    const j00 = s[1]! * cx - s[0]! * sx,
      j01 = s[4]! * sy - s[5]! * cy,
      j10 = s[3]! * cx - s[2]! * sx,
      j11 = s[6]! * sy - s[7]! * cy;
    const det = j00 * j11 - j01 * j10;
    const size = j00 * j00 + j01 * j01 + j10 * j10 + j11 * j11;
    if (Math.abs(det) <= 1e-5 * size) s[PAIR_CLOSE] = 1;
    if (Math.abs(det) <= 1e-14 * size) break;
    x -= (r0 * j11 - r1 * j01) / det;
    y -= (j00 * r1 - j10 * r0) / det;
  }
  return best <= 1e-11 * scale;
}
