/** Singular values of small dense matrices by one-sided Jacobi rotations (Hestenes 1958), accurate also when tiny. */

/**
 * Turns the columns of the row-major rows x columns matrix `a` orthogonal, in place, and returns the smallest singular value.
 * @param a rows >= columns; destroyed
 */
export function smallestSingularValue(a: Float64Array, rows: number, columns: number): number {
  for (let sweep = 0; sweep < 30; sweep++) {
    let turned = false;
    for (let i = 0; i < columns - 1; i++) {
      for (let j = i + 1; j < columns; j++) {
        let ii = 0,
          jj = 0,
          ij = 0;
        for (let r = 0; r < rows * columns; r += columns) {
          const x = a[r + i]!,
            y = a[r + j]!;
          ii += x * x;
          jj += y * y;
          ij += x * y;
        }
        if (Math.abs(ij) <= 1e-15 * Math.sqrt(ii * jj) || ij === 0) continue;
        turned = true;
        const zeta = (jj - ii) / (2 * ij);
        const t = (zeta >= 0 ? 1 : -1) / (Math.abs(zeta) + Math.sqrt(1 + zeta * zeta));
        const c = 1 / Math.sqrt(1 + t * t),
          s = c * t;
        for (let r = 0; r < rows * columns; r += columns) {
          const x = a[r + i]!,
            y = a[r + j]!;
          a[r + i] = c * x - s * y;
          a[r + j] = s * x + c * y;
        }
      }
    }
    if (!turned) break;
  }
  let least = Number.POSITIVE_INFINITY;
  for (let c = 0; c < columns; c++) {
    let sum = 0;
    for (let r = c; r < rows * columns; r += columns) sum += a[r]! * a[r]!;
    least = Math.min(least, sum);
  }
  return Math.sqrt(least);
}
