/**
 * The angles q at which the 12 x 12 matrix K + C cos q + S sin q is singular. With t = tan((q - offset)/2) the matrix times
 * 1 + t² is a quadratic in t, whose 24 eigenvalues are those of a companion matrix (Manocha & Canny 1994); the offset keeps the
 * leading matrix well conditioned.
 */
import { eigenvalues } from "../../math/eigenvalues.ts";

/** K, C and S, row-major. */
type Parts = readonly [Float64Array, Float64Array, Float64Array];

/** Imaginary part of t, relative to 1 + |t|², up to which an eigenvalue is tried as a real one. */
const NEARLY_REAL = 2e-3;

const quadratic = [new Float64Array(144), new Float64Array(144), new Float64Array(144)] as const;
const lu = new Float64Array(144);
const pivots = new Uint8Array(12);
const column = new Float64Array(12);
const companion = new Float64Array(576);
const re = new Float64Array(24);
const im = new Float64Array(24);

/**
 * @param out at least 25 long: the real and nearly real angles, rad, and at out[24] how many of the 24 are real
 * @returns the number of angles; -1 when the matrix is singular at every angle, or the eigenvalues do not converge
 */
export function singularAngles(parts: Parts, out: Float64Array): number {
  out[24] = 0;
  const offset = makeCompanion(parts);
  if (Number.isNaN(offset) || !eigenvalues(companion, 24, re, im)) return -1;
  let count = 0;
  for (let i = 0; i < 24; i++) {
    const t = re[i]!,
      size = 1 + t * t + im[i]! * im[i]!;
    if (im[i] === 0) out[24]!++;
    // Conjugates give the same real part.
    if (im[i]! >= 0 && im[i]! <= NEARLY_REAL * size) out[count++] = 2 * Math.atan(t) + offset;
  }
  return count;
}

/** Zero points of the half-angle of q3 that are tried, rad: the matrix at the opposite angle must be well conditioned. */
const OFFSETS = [0.37, 1.93, -1.21, 2.81, -2.37, 1.11];

/** Companion matrix of the quadratic in t3 = tan((q3 - offset)/2); returns the offset, NaN when the matrix is singular. */
function makeCompanion(parts: Parts): number {
  let best = Number.NaN;
  let quality = 1e-13;
  for (const offset of OFFSETS) {
    setQuadratic(parts, offset);
    const q = factorise(quadratic[2]);
    if (q > quality) {
      quality = q;
      best = offset;
    }
    if (q > 1e-5) break;
  }
  if (Number.isNaN(best)) return best;
  setQuadratic(parts, best);
  factorise(quadratic[2]);
  companion.fill(0);
  for (let i = 0; i < 12; i++) companion[24 * i + 12 + i] = 1;
  for (let half = 0; half < 2; half++) {
    const m = quadratic[half]!;
    for (let c = 0; c < 12; c++) solveColumn(m, c, 12 * half + c);
  }
  return best;
}

function setQuadratic(parts: Parts, offset: number): void {
  const c0 = Math.cos(offset),
    s0 = Math.sin(offset);
  for (let k = 0; k < 144; k++) {
    const one = parts[0][k]!,
      c = c0 * parts[1][k]! + s0 * parts[2][k]!,
      s = c0 * parts[2][k]! - s0 * parts[1][k]!;
    quadratic[2][k] = one - c;
    quadratic[1][k] = 2 * s;
    quadratic[0][k] = one + c;
  }
}

/** LU with row pivoting of a 12 x 12 matrix into `lu`; returns smallest over largest pivot. */
function factorise(m: Float64Array): number {
  lu.set(m);
  let least = Number.POSITIVE_INFINITY,
    most = 0;
  for (let c = 0; c < 12; c++) {
    let p = c;
    for (let r = c + 1; r < 12; r++) if (Math.abs(lu[12 * r + c]!) > Math.abs(lu[12 * p + c]!)) p = r;
    pivots[c] = p;
    if (p !== c) {
      for (let k = 0; k < 12; k++) {
        const t = lu[12 * c + k]!;
        lu[12 * c + k] = lu[12 * p + k]!;
        lu[12 * p + k] = t;
      }
    }
    const d = lu[13 * c]!;
    least = Math.min(least, Math.abs(d));
    most = Math.max(most, Math.abs(d));
    if (d === 0) return 0;
    for (let r = c + 1; r < 12; r++) {
      const f = lu[12 * r + c]! / d;
      lu[12 * r + c] = f;
      if (f !== 0) for (let k = c + 1; k < 12; k++) lu[12 * r + k]! -= f * lu[12 * c + k]!;
    }
  }
  return least / most;
}

/** Lower half of the companion: column `to` becomes -M2⁻¹ times column c of m. */
function solveColumn(m: Float64Array, c: number, to: number): void {
  const x = column;
  for (let r = 0; r < 12; r++) x[r] = -m[12 * r + c]!;
  for (let r = 0; r < 12; r++) {
    const p = pivots[r]!;
    if (p !== r) {
      const t = x[r]!;
      x[r] = x[p]!;
      x[p] = t;
    }
  }
  for (let r = 0; r < 12; r++) {
    let sum = x[r]!;
    for (let k = 0; k < r; k++) sum -= lu[12 * r + k]! * x[k]!;
    x[r] = sum;
  }
  for (let r = 11; r >= 0; r--) {
    let sum = x[r]!;
    for (let k = r + 1; k < 12; k++) sum -= lu[12 * r + k]! * x[k]!;
    x[r] = sum / lu[13 * r]!;
    companion[24 * (12 + r) + to] = x[r]!;
  }
}
