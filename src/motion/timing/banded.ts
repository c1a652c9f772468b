/** Symmetric positive definite systems of half bandwidth 2. */

/** LDLᵀ of a symmetric pentadiagonal matrix in place: D in d0, the two subdiagonals of L in d1, d2. */
export function factor(d0: Float64Array, d1: Float64Array, d2: Float64Array, n: number): void {
  for (let k = 0; k < n; k++) {
    const pivot = d0[k]!;
    if (k + 1 < n) {
      const a = d1[k]!;
      const l1 = a / pivot;
      d0[k + 1] = d0[k + 1]! - l1 * a;
      d1[k] = l1;
      if (k + 2 < n) {
        const b = d2[k]!;
        const l2 = b / pivot;
        d1[k + 1] = d1[k + 1]! - l2 * a;
        d0[k + 2] = d0[k + 2]! - l2 * b;
        d2[k] = l2;
      }
    }
  }
}

/** Solves with the factors; b becomes the solution. */
export function substitute(d0: Float64Array, l1: Float64Array, l2: Float64Array, b: Float64Array, n: number): void {
  for (let k = 0; k < n; k++) {
    if (k >= 1) b[k] = b[k]! - l1[k - 1]! * b[k - 1]!;
    if (k >= 2) b[k] = b[k]! - l2[k - 2]! * b[k - 2]!;
  }
  for (let k = n - 1; k >= 0; k--) {
    let v = b[k]! / d0[k]!;
    if (k + 1 < n) v -= l1[k]! * b[k + 1]!;
    if (k + 2 < n) v -= l2[k]! * b[k + 2]!;
    b[k] = v;
  }
}
