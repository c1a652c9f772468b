/** Normal of a flat polygon, twice its area long (Newell's method). */
export function normalOf(points: ArrayLike<number>, corners: readonly number[]): [number, number, number] {
  let x = 0,
    y = 0,
    z = 0;
  for (const [i, a] of corners.entries()) {
    const p = 3 * a,
      q = 3 * corners[(i + 1) % corners.length]!;
    x += (points[p + 1]! - points[q + 1]!) * (points[p + 2]! + points[q + 2]!);
    y += (points[p + 2]! - points[q + 2]!) * (points[p]! + points[q]!);
    z += (points[p]! - points[q]!) * (points[p + 1]! + points[q + 1]!);
  }
  return [x, y, z];
}
