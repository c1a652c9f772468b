/** LU decomposition with partial pivoting of one small dense matrix, in place, for the Jacobians of the path follower. */
export interface SmallSolver {
  readonly size: number;
  /** Row-major size x size; fill it, then `factor`. */
  readonly matrix: Float64Array;
  /** Decomposes `matrix` in place. @returns smallest pivot / largest pivot with the sign of the determinant; 0 when singular */
  factor(): number;
  /** Solves for a right-hand side of length `size`; `x` may be `b`. Only after a `factor` that returned other than 0. */
  solve(b: Float64Array, x: Float64Array): void;
}

export function createSmallSolver(size: number): SmallSolver {
  const a = new Float64Array(size * size);
  const order = new Int32Array(size);
  const y = new Float64Array(size);
  return {
    size,
    matrix: a,
    factor() {
      let sign = 1;
      let least = Number.POSITIVE_INFINITY;
      let most = 0;
      for (let i = 0; i < size; i++) order[i] = i;
      for (let k = 0; k < size; k++) {
        let pivot = k;
        let best = Math.abs(a[k * size + k]);
        for (let i = k + 1; i < size; i++) {
          const v = Math.abs(a[i * size + k]);
          if (v > best) {
            best = v;
            pivot = i;
          }
        }
        if (!(best > 0) || best === Number.POSITIVE_INFINITY) return 0;
        if (best < least) least = best;
        if (best > most) most = best;
        if (pivot !== k) {
          for (let j = 0; j < size; j++) {
            const t = a[k * size + j];
            a[k * size + j] = a[pivot * size + j];
            a[pivot * size + j] = t;
          }
          const t = order[k];
          order[k] = order[pivot];
          order[pivot] = t;
          sign = -sign;
        }
        const d = a[k * size + k];
        if (d < 0) sign = -sign;
        const inverse = 1 / d;
        for (let i = k + 1; i < size; i++) {
          const f = a[i * size + k] * inverse;
          a[i * size + k] = f;
          if (f !== 0) for (let j = k + 1; j < size; j++) a[i * size + j] -= f * a[k * size + j];
        }
      }
      return (sign * least) / most;
    },
    solve(b, x) {
      for (let i = 0; i < size; i++) {
        let sum = b[order[i]];
        for (let j = 0; j < i; j++) sum -= a[i * size + j] * y[j];
        y[i] = sum;
      }
      for (let i = size - 1; i >= 0; i--) {
        let sum = y[i];
        for (let j = i + 1; j < size; j++) sum -= a[i * size + j] * y[j];
        y[i] = sum / a[i * size + i];
      }
      for (let i = 0; i < size; i++) x[i] = y[i];
    },
  };
}
