/**
 * Real roots of polynomials of small degree and real zeros of trigonometric polynomials of degree two, found completely:
 * between two neighbouring critical points a polynomial is monotonic, so a sign change there brackets exactly one root.
 */
import { ContractError } from "./contract-error.ts";

const MAX_DEGREE = 8;
/** |p| below this share of Σ|aᵢ||t|ⁱ at a critical point counts as a touching (double) root. */
const TOUCHING = 1e-13;

const derivatives: Float64Array[] = [];
const rootsAt: Float64Array[] = [];
for (let d = 0; d <= MAX_DEGREE; d++) {
  derivatives.push(new Float64Array(d + 1));
  rootsAt.push(new Float64Array(d + 1));
}

function valueAt(a: Float64Array, degree: number, t: number): number {
  let v = a[degree]!;
  for (let i = degree - 1; i >= 0; i--) v = v * t + a[i]!;
  return v;
}

function magnitudeAt(a: Float64Array, degree: number, t: number): number {
  const x = Math.abs(t);
  let v = Math.abs(a[degree]!);
  for (let i = degree - 1; i >= 0; i--) v = v * x + Math.abs(a[i]!);
  return v;
}

/** The one root between `low` and `high`, where the polynomial has values of opposite sign: Newton kept inside the bracket. */
function bracketedRoot(a: Float64Array, slope: Float64Array, degree: number, low: number, high: number, atLow: number) {
  let lo = low;
  let hi = high;
  let t = 0.5 * (lo + hi);
  for (let i = 0; i < 200; i++) {
    const v = valueAt(a, degree, t);
    if (v === 0) return t;
    if (v > 0 === atLow > 0) lo = t;
    else hi = t;
    let next = t - v / valueAt(slope, degree - 1, t);
    if (!(next > lo && next < hi)) next = 0.5 * (lo + hi);
    if (Math.abs(next - t) <= 1e-16 * Math.abs(next) || next === lo || next === hi) return next;
    t = next;
  }
  return t;
}

/**
 * All real roots of a[0] + a[1] t + … + a[degree] t^degree, ascending, a touching (double) root once.
 * @param a coefficients, lowest power first   @param degree 1 to 8; leading coefficients that are 0 lower it
 * @param out receives the roots; length at least `degree`
 * @returns the number of roots; 0 for a constant
 * @throws ContractError when the degree is outside 0..8
 */
export function realRoots(a: ArrayLike<number>, degree: number, out: Float64Array): number {
  if (!(degree >= 0 && degree <= MAX_DEGREE)) {
    throw new ContractError(`realRoots: degree must be 0 to ${MAX_DEGREE}, got ${degree}`);
  }
  let n = degree;
  while (n > 0 && a[n] === 0) n--;
  if (n === 0) return 0;
  const p = derivatives[n]!;
  for (let i = 0; i <= n; i++) p[i] = a[i]!;
  for (let d = n - 1; d >= 1; d--) {
    const above = derivatives[d + 1]!;
    const here = derivatives[d]!;
    for (let i = 0; i <= d; i++) here[i] = (i + 1) * above[i + 1]!;
  }
  let critical = rootsAt[0]!;
  let count = 0;
  for (let d = 1; d <= n; d++) {
    const poly = derivatives[d]!;
    const found = rootsAt[d]!;
    let k = 0;
    if (d === 1) found[k++] = -poly[0]! / poly[1]!;
    else {
      const slope = derivatives[d - 1]!;
      let bound = 0;
      for (let i = 0; i < d; i++) bound = Math.max(bound, Math.abs(poly[i]! / poly[d]!));
      bound += 1;
      let low = -bound;
      let atLow = valueAt(poly, d, low);
      for (let c = 0; c <= count; c++) {
        const high = c < count ? critical[c]! : bound;
        const atHigh = valueAt(poly, d, high);
        if (c < count && Math.abs(atHigh) <= TOUCHING * magnitudeAt(poly, d, high)) {
          if (k === 0 || found[k - 1]! !== high) found[k++] = high;
          low = high;
          atLow = 0;
          continue;
        }
        // Monotonic away from a touching root: the stretch that begins there holds no other.
        if (atLow !== 0 && atHigh > 0 !== atLow > 0) found[k++] = bracketedRoot(poly, slope, d, low, high, atLow);
        low = high;
        atLow = atHigh;
      }
    }
    critical = found;
    count = Math.min(k, d);
  }
  for (let i = 0; i < count; i++) out[i] = critical[i]!;
  return count;
}

const quartic = new Float64Array(5);
const quarticRoots = new Float64Array(5);
const TWO_PI = 2 * Math.PI;

/**
 * Zeros in (-π, π] of a0 + a1 cos y + b1 sin y + a2 cos 2y + b2 sin 2y, at most four, a touching zero once.
 * The half-angle tangent is taken about the point, of eight, where the function is largest, so that no zero lies near its pole.
 * @returns the number of zeros written to `out` (length at least 4)
 */
export function trigonometricZeros(c: Float64Array, out: Float64Array): number {
  const a0 = c[0]!;
  const a1 = c[1]!;
  const b1 = c[2]!;
  const a2 = c[3]!;
  const b2 = c[4]!;
  let pole = 0;
  let largest = -1;
  for (let i = 0; i < 8; i++) {
    const y = (i * Math.PI) / 4 + 0.1;
    const f = Math.abs(a0 + a1 * Math.cos(y) + b1 * Math.sin(y) + a2 * Math.cos(2 * y) + b2 * Math.sin(2 * y));
    if (f > largest) {
      largest = f;
      pole = y;
    }
  }
  const shift = pole + Math.PI;
  const cs = Math.cos(shift);
  const sn = Math.sin(shift);
  const cs2 = cs * cs - sn * sn;
  const sn2 = 2 * cs * sn;
  const A1 = a1 * cs + b1 * sn;
  const B1 = b1 * cs - a1 * sn;
  const A2 = a2 * cs2 + b2 * sn2;
  const B2 = b2 * cs2 - a2 * sn2;
  quartic[4] = a0 - A1 + A2;
  quartic[3] = 2 * B1 - 4 * B2;
  quartic[2] = 2 * a0 - 6 * A2;
  quartic[1] = 2 * B1 + 4 * B2;
  quartic[0] = a0 + A1 + A2;
  const count = realRoots(quartic, 4, quarticRoots);
  for (let i = 0; i < count; i++) {
    let y = 2 * Math.atan(quarticRoots[i]!) + shift;
    while (y > Math.PI) y -= TWO_PI;
    while (y <= -Math.PI) y += TWO_PI;
    out[i] = y;
  }
  return count;
}
