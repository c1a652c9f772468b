/** What stands between a point and the viewer. */
import type { FacetModel } from "./facets.ts";
import type { Vector } from "./view.ts";

/** Bodies that a ray from a point meets, beginning a hair in front of it. */
export function bodiesInSight(model: FacetModel, from: Vector, toward: Vector, start = 1e-6): Set<number> {
  const met = new Set<number>();
  for (const { body, nx, ny, nz, d, points } of model.facets) {
    if (met.has(body)) continue;
    const slope = nx * toward[0] + ny * toward[1] + nz * toward[2];
    if (Math.abs(slope) < 1e-9) continue;
    const t = (d - nx * from[0] - ny * from[1] - nz * from[2]) / slope;
    if (t < start) continue;
    const x = from[0] + t * toward[0],
      y = from[1] + t * toward[1],
      z = from[2] + t * toward[2];
    let inside = true;
    for (let i = 0; i < points.length && inside; i += 3) {
      const j = (i + 3) % points.length;
      const ex = points[j]! - points[i]!,
        ey = points[j + 1]! - points[i + 1]!,
        ez = points[j + 2]! - points[i + 2]!;
      const px = x - points[i]!,
        py = y - points[i + 1]!,
        pz = z - points[i + 2]!;
      // The turn from the side to the point, about the normal.
      inside = nx * (ey * pz - ez * py) + ny * (ez * px - ex * pz) + nz * (ex * py - ey * px) >= 0;
    }
    if (inside) met.add(body);
  }
  return met;
}
