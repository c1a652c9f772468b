/** Principal axes of a set of points: eigenvectors of its covariance, by Jacobi's rotations. */

/** Three unit vectors at right angles, the direction in which the points spread most first. */
export function principalAxes(points: Float64Array): readonly (readonly [number, number, number])[] {
  const n = points.length / 3;
  const mean = [0, 0, 0];
  for (let i = 0; i < points.length; i++) mean[i % 3]! += points[i]! / n;
  const a = [0, 0, 0].map(() => [0, 0, 0]);
  for (let i = 0; i < points.length; i += 3)
    for (let r = 0; r < 3; r++)
      for (let c = 0; c < 3; c++) a[r]![c]! += (points[i + r]! - mean[r]!) * (points[i + c]! - mean[c]!);
  const v = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ];
  for (let sweep = 0; sweep < 30; sweep++)
    for (const [p, q] of [
      [0, 1],
      [0, 2],
      [1, 2],
    ] as const)
      rotate(a, v, p, q);
  return [0, 1, 2].sort((i, j) => a[j]![j]! - a[i]![i]!).map((k) => [v[0]![k]!, v[1]![k]!, v[2]![k]!] as const);
}

/** Turns the plane of axes p and q so that a[p][q] vanishes. */
function rotate(a: number[][], v: number[][], p: number, q: number): void {
  const off = a[p]![q]!;
  if (off === 0) return;
  const theta = (a[q]![q]! - a[p]![p]!) / (2 * off);
  const t = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.hypot(theta, 1));
  const c = 1 / Math.hypot(t, 1),
    s = t * c;
  for (const m of [a, v])
    for (const row of m) {
      const x = row[p]!,
        y = row[q]!;
      row[p] = c * x - s * y;
      row[q] = s * x + c * y;
    }
  const rowP = a[p]!,
    rowQ = a[q]!;
  for (let k = 0; k < 3; k++) {
    const x = rowP[k]!,
      y = rowQ[k]!;
    rowP[k] = c * x - s * y;
    rowQ[k] = s * x + c * y;
  }
}
