/**
 * Degree-7 Hermite pieces: the polynomial that has a stated value and first three derivatives at both ends of an interval.
 * Used for joint values along tool paths (between exact solutions) and for rounded corners.
 */

/** Numbers kept per channel and piece. */
export const SEPTIC_SIZE = 8;

/**
 * Coefficients in u = s/h, u in [0, 1], of the piece over an interval of length h, for n channels.
 * @param h length of the interval, > 0
 * @param v0,a0,j0,v1,a1,j1 derivatives with respect to s at the start and the end
 * @param out coefficients of channel i at out[offset + 8 i ...], lowest power first
 * @source the eight conditions solved by hand; checked in septic.test.ts
 */
export function septic(
  n: number,
  h: number,
  x0: ArrayLike<number>,
  v0: ArrayLike<number>,
  a0: ArrayLike<number>,
  j0: ArrayLike<number>,
  x1: ArrayLike<number>,
  v1: ArrayLike<number>,
  a1: ArrayLike<number>,
  j1: ArrayLike<number>,
  out: Float64Array,
  offset = 0,
): void {
  const h2 = h * h;
  const h3 = h2 * h;
  for (let i = 0; i < n; i++) {
    const c1 = h * v0[i];
    const c2 = 0.5 * h2 * a0[i];
    const c3 = (h3 * j0[i]) / 6;
    const d0 = x1[i] - x0[i] - (c1 + c2 + c3);
    const d1 = h * v1[i] - (c1 + 2 * c2 + 3 * c3);
    const d2 = h2 * a1[i] - (2 * c2 + 6 * c3);
    const d3 = h3 * j1[i] - 6 * c3;
    const k = offset + SEPTIC_SIZE * i;
    out[k] = x0[i];
    out[k + 1] = c1;
    out[k + 2] = c2;
    out[k + 3] = c3;
    out[k + 4] = 35 * d0 - 15 * d1 + 2.5 * d2 - d3 / 6;
    out[k + 5] = -84 * d0 + 39 * d1 - 7 * d2 + d3 / 2;
    out[k + 6] = 70 * d0 - 34 * d1 + 6.5 * d2 - d3 / 2;
    out[k + 7] = -20 * d0 + 10 * d1 - 2 * d2 + d3 / 6;
  }
}

/** Values and three derivatives with respect to s at u = s/h of a piece made by `septic`. */
export function septicAt(
  n: number,
  h: number,
  u: number,
  c: Float64Array,
  offset: number,
  x: Float64Array,
  x1: Float64Array,
  x2: Float64Array,
  x3: Float64Array,
): void {
  const g1 = 1 / h;
  const g2 = g1 * g1;
  const g3 = g2 * g1;
  for (let i = 0; i < n; i++) {
    const k = offset + SEPTIC_SIZE * i;
    const c1 = c[k + 1];
    const c2 = c[k + 2];
    const c3 = c[k + 3];
    const c4 = c[k + 4];
    const c5 = c[k + 5];
    const c6 = c[k + 6];
    const c7 = c[k + 7];
    x[i] = c[k] + u * (c1 + u * (c2 + u * (c3 + u * (c4 + u * (c5 + u * (c6 + u * c7))))));
    x1[i] = g1 * (c1 + u * (2 * c2 + u * (3 * c3 + u * (4 * c4 + u * (5 * c5 + u * (6 * c6 + u * 7 * c7))))));
    x2[i] = g2 * (2 * c2 + u * (6 * c3 + u * (12 * c4 + u * (20 * c5 + u * (30 * c6 + u * 42 * c7)))));
    x3[i] = g3 * (6 * c3 + u * (24 * c4 + u * (60 * c5 + u * (120 * c6 + u * 210 * c7))));
  }
}

/** Values alone. */
export function septicValue(n: number, u: number, c: Float64Array, offset: number, x: Float64Array): void {
  for (let i = 0; i < n; i++) {
    const k = offset + SEPTIC_SIZE * i;
    x[i] =
      c[k] +
      u *
        (c[k + 1] + u * (c[k + 2] + u * (c[k + 3] + u * (c[k + 4] + u * (c[k + 5] + u * (c[k + 6] + u * c[k + 7]))))));
  }
}

const shifted = new Float64Array(SEPTIC_SIZE);

/**
 * Lowers `low` and raises `high` per channel to enclose the piece's values for u in [a, b]: the polynomial is expanded about
 * the middle, p(m + x) = Σ c_k x^k, and each power of x bounded over |x| <= (b - a)/2, even ones from one side only.
 */
export function encloseSeptic(
  n: number,
  a: number,
  b: number,
  c: Float64Array,
  offset: number,
  low: Float64Array,
  high: Float64Array,
): void {
  const m = (a + b) / 2;
  const r = (b - a) / 2;
  for (let i = 0; i < n; i++) {
    const at = offset + SEPTIC_SIZE * i;
    for (let k = 0; k < SEPTIC_SIZE; k++) shifted[k] = c[at + k];
    // Horner's rule over and over leaves the coefficients about m.
    for (let from = 0; from < SEPTIC_SIZE - 1; from++)
      for (let k = SEPTIC_SIZE - 2; k >= from; k--) shifted[k] += m * shifted[k + 1];
    let least = shifted[0];
    let most = shifted[0];
    let power = 1;
    for (let k = 1; k < SEPTIC_SIZE; k++) {
      power *= r;
      const value = shifted[k] * power;
      if (k % 2 === 1) {
        const size = Math.abs(value);
        least -= size;
        most += size;
      } else if (value < 0) least += value;
      else most += value;
    }
    if (least < low[i]) low[i] = least;
    if (most > high[i]) high[i] = most;
  }
}
