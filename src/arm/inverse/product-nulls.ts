/**
 * Null vectors of a 12 x 12 matrix whose unknowns are the products t4ᵃ t5ᵇ (a = 0..3, b = 0..2, at index 3a + b) of two
 * half-angle tangents, and the angles read from them.
 */

/** Two null vectors, 12 numbers each. */
type Pair = readonly [Float64Array, Float64Array];

/** Pivot, relative to the largest, below which a second null vector is looked for. */
const SECOND_NULL = 1e-5;

const columns = new Uint8Array(12);
const unknowns = new Float64Array(12);

/**
 * Elimination with full pivoting of the row-major 12 x 12 `matrix`, which it destroys.
 * @param nulls receives one or two null vectors of unit length   @returns how many; 3 when there are more (none is written)
 */
export function nullVectors(matrix: Float64Array, nulls: Pair): number {
  for (let i = 0; i < 12; i++) columns[i] = i;
  let first = 0;
  let dimension = 1;
  for (let c = 0; c < 11; c++) {
    let pr = c,
      pc = c,
      big = -1;
    for (let r = c; r < 12; r++) {
      for (let k = c; k < 12; k++) {
        const v = Math.abs(matrix[12 * r + k]!);
        if (v > big) {
          big = v;
          pr = r;
          pc = k;
        }
      }
    }
    if (c === 0) first = big;
    if (c >= 9 && dimension === 1 && big < SECOND_NULL * first) {
      dimension = 12 - c;
      if (dimension === 3) return dimension;
      if (big === 0) break;
    }
    if (pr !== c) {
      for (let k = 0; k < 12; k++) {
        const t = matrix[12 * c + k]!;
        matrix[12 * c + k] = matrix[12 * pr + k]!;
        matrix[12 * pr + k] = t;
      }
    }
    if (pc !== c) {
      for (let r = 0; r < 12; r++) {
        const t = matrix[12 * r + c]!;
        matrix[12 * r + c] = matrix[12 * r + pc]!;
        matrix[12 * r + pc] = t;
      }
      const t = columns[c]!;
      columns[c] = columns[pc]!;
      columns[pc] = t;
    }
    for (let r = c + 1; r < 12; r++) {
      const f = matrix[12 * r + c]! / matrix[13 * c]!;
      if (f !== 0) for (let k = c; k < 12; k++) matrix[12 * r + k]! -= f * matrix[12 * c + k]!;
    }
  }
  backSubstitute(matrix, nulls[0], 11, matrix[13 * 10] === 0 ? 10 : 11);
  if (dimension === 2) backSubstitute(matrix, nulls[1], 10, 10);
  return dimension;
}

/** Null vector from the first `rows` rows, with 1 at eliminated column `free` and 0 at the other free ones. */
function backSubstitute(matrix: Float64Array, out: Float64Array, free: number, rows: number): void {
  const x = unknowns;
  x.fill(0, rows);
  x[free] = 1;
  for (let r = rows - 1; r >= 0; r--) {
    let sum = 0;
    for (let k = r + 1; k <= free; k++) sum -= matrix[12 * r + k]! * x[k]!;
    x[r] = sum / matrix[13 * r]!;
  }
  let norm = 0;
  for (let k = 0; k < 12; k++) norm += x[k]! * x[k]!;
  norm = 1 / Math.sqrt(norm);
  for (let k = 0; k < 12; k++) out[columns[k]!] = norm * x[k]!;
}

/** Angle whose half tangent is the ratio of neighbouring powers in a vector of products t4ᵃ t5ᵇ at index 3a + b. */
export function tangentAngle(v: Float64Array, step: number, until: number, group: number): number {
  let low = 0,
    high = 0,
    cross = 0;
  for (let k = 0; k < until; k++) {
    // For t5 only b = 0, 1 have a next power.
    if (group === 3 && k % 3 === 2) continue;
    const a = v[k]!,
      b = v[k + step]!;
    low += a * a;
    high += b * b;
    cross += a * b;
  }
  return 2 * Math.atan2(cross >= 0 ? Math.sqrt(high) : -Math.sqrt(high), Math.sqrt(low));
}

/** Writes to `mixtures` the (x, y) pairs for which x·nulls[0] + y·nulls[1] is made of products of powers, from the shift by one power of t4 or t5; 0 or 2. */
export function shiftRoots(nulls: Pair, byFifth: boolean, mixtures: Float64Array): number {
  const step = byFifth ? 1 : 3;
  let uu = 0,
    uv = 0,
    vv = 0,
    u1u = 0,
    u1v = 0,
    v1u = 0,
    v1v = 0;
  for (let k = 0; k < (byFifth ? 12 : 9); k++) {
    if (byFifth && k % 3 === 2) continue;
    const u = nulls[0][k]!,
      v = nulls[1][k]!,
      u1 = nulls[0][k + step]!,
      v1 = nulls[1][k + step]!;
    uu += u * u;
    uv += u * v;
    vv += v * v;
    u1u += u1 * u;
    u1v += u1 * v;
    v1u += v1 * u;
    v1v += v1 * v;
  }
  const det = uu * vv - uv * uv;
  if (!(det > 1e-14 * uu * vv)) return 0;
  // T = (U0ᵀU0)⁻¹·U0ᵀU1, columns for u and v.
  const t00 = (vv * u1u - uv * u1v) / det,
    t10 = (uu * u1v - uv * u1u) / det,
    t01 = (vv * v1u - uv * v1v) / det,
    t11 = (uu * v1v - uv * v1u) / det;
  const mean = 0.5 * (t00 + t11),
    half = 0.5 * (t00 - t11);
  const d = half * half + t01 * t10;
  if (d < 0) return 0;
  const root = Math.sqrt(d);
  for (let r = 0; r < 2; r++) {
    const lambda = r === 0 ? mean + root : mean - root;
    const a = t00 - lambda,
      b = t11 - lambda;
    const byRow = Math.abs(t01) + Math.abs(a) > Math.abs(t10) + Math.abs(b);
    mixtures[2 * r] = byRow ? -t01 : b;
    mixtures[2 * r + 1] = byRow ? a : -t10;
  }
  return 2;
}
