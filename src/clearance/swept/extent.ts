/** Bodies as a few points with a radius around them, for bounds of how far they move. */
import type { Extent } from "../../arm/travel.ts";
import { type Body, CYLINDER, HULL, POINT, SEGMENT } from "../body.ts";

/** Hulls with more corners than this are held by their box. */
const MOST_CORNERS = 12;

/** Points and radius that hold the body, see `coreExtent`. */
export function extentOf(body: Body): Extent {
  const { points, radius } = coreExtent(body);
  return { points, radius: radius + body.radius };
}

/**
 * Points and radius that hold the body's core: a sphere's middle, a capsule's ends, a cylinder's end centres with its radius
 * (exact up to the edge of the caps), the corners of a box or a small hull, the corners of the box around any other body.
 * Their radius turns with spheres and capsules without telling: how far a distance can change depends on the core alone.
 */
export function coreExtent(body: Body): Extent {
  const { kind, hz } = body;
  const radius = kind === CYLINDER ? body.hx : 0;
  if (kind === POINT) return { points: new Float64Array(3), radius };
  if (kind === SEGMENT || kind === CYLINDER) return { points: Float64Array.of(0, 0, -hz, 0, 0, hz), radius };
  if (kind === HULL && body.count <= MOST_CORNERS) {
    const { xs, ys, zs } = body;
    return {
      points: Float64Array.from({ length: 3 * body.count }, (_, i) => [xs, ys, zs][i % 3]![(i / 3) | 0]!),
      radius,
    };
  }
  const { cx, cy, cz, ex, ey, ez } = body;
  const points = new Float64Array(24);
  for (let k = 0; k < 8; k++)
    points.set([cx + (k & 1 ? ex : -ex), cy + (k & 2 ? ey : -ey), cz + (k & 4 ? ez : -ez)], 3 * k);
  return { points, radius };
}

/** Whether the points tell how far the core reaches in a direction (a cylinder's with the radius in the plane of its caps). */
export const isExact = (body: Body): boolean => body.kind < HULL || (body.kind === HULL && body.count <= MOST_CORNERS);
