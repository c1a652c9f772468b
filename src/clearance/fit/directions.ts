/** Directions spread evenly over the sphere, and the points of a set that reach farthest along them. */

/** Unit vectors x, y, z: a spiral that turns by the golden angle from pole to pole. */
export function spreadDirections(count: number): Float64Array {
  const golden = Math.PI * (3 - Math.sqrt(5));
  const out = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const z = 1 - (2 * i + 1) / count;
    const around = Math.sqrt(1 - z * z);
    out[3 * i] = around * Math.cos(golden * i);
    out[3 * i + 1] = around * Math.sin(golden * i);
    out[3 * i + 2] = z;
  }
  return out;
}

/**
 * The points that reach farthest along any of the directions, each once, in the order of the set; all points when there are no
 * more than directions. @param points x, y, z of each
 */
export function extremePoints(points: Float64Array, directions: Float64Array): Float64Array {
  if (points.length <= directions.length) return points;
  const kept = new Set<number>();
  for (let d = 0; d < directions.length; d += 3) {
    const x = directions[d]!,
      y = directions[d + 1]!,
      z = directions[d + 2]!;
    let best = 0,
      reach = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < points.length; i += 3) {
      const along = x * points[i]! + y * points[i + 1]! + z * points[i + 2]!;
      if (along > reach) {
        reach = along;
        best = i;
      }
    }
    kept.add(best);
  }
  const order = [...kept].sort((i, j) => i - j);
  return Float64Array.from(order.flatMap((i) => [points[i]!, points[i + 1]!, points[i + 2]!]));
}
