/** Support points: the point of a core that lies farthest in a direction. */
import { BOX, type Body, CYLINDER, HULL, POINT, SEGMENT } from "./body.ts";
import type { HullWeb } from "./hull-web.ts";

/** Farthest point of a convex core in direction (x, y, z), body frame, written to `out` at `at`. */
export function support(body: Body, x: number, y: number, z: number, out: Float64Array, at: number): void {
  switch (body.kind) {
    case HULL: {
      const { xs, ys, zs, count, web } = body;
      if (web !== undefined) {
        climb(body, web, x, y, z, out, at);
        return;
      }
      let best = 0,
        most = x * xs[0]! + y * ys[0]! + z * zs[0]!;
      for (let i = 1; i < count; i++) {
        const value = x * xs[i]! + y * ys[i]! + z * zs[i]!;
        if (value > most) {
          most = value;
          best = i;
        }
      }
      out[at] = xs[best]!;
      out[at + 1] = ys[best]!;
      out[at + 2] = zs[best]!;
      return;
    }
    case BOX:
      out[at] = x < 0 ? -body.hx : body.hx;
      out[at + 1] = y < 0 ? -body.hy : body.hy;
      out[at + 2] = z < 0 ? -body.hz : body.hz;
      return;
    case CYLINDER: {
      const r = Math.sqrt(x * x + y * y);
      const k = r > 0 ? body.hx / r : 0;
      out[at] = k * x;
      out[at + 1] = k * y;
      out[at + 2] = z < 0 ? -body.hz : body.hz;
      return;
    }
    case SEGMENT:
      out[at] = 0;
      out[at + 1] = 0;
      out[at + 2] = z < 0 ? -body.hz : body.hz;
      return;
    case POINT:
      out[at] = 0;
      out[at + 1] = 0;
      out[at + 2] = 0;
      return;
  }
}

/** Farthest corner of a hull by its edges, from the corner found last or the one that is farthest in the octant of the direction. */
function climb(
  { xs, ys, zs }: Body,
  { near, from, starts, last }: HullWeb,
  x: number,
  y: number,
  z: number,
  out: Float64Array,
  at: number,
): void {
  let best = last[0]!;
  if (best < 0) best = starts[(x < 0 ? 1 : 0) + (y < 0 ? 2 : 0) + (z < 0 ? 4 : 0)]!;
  let most = x * xs[best]! + y * ys[best]! + z * zs[best]!;
  for (;;) {
    const here = best,
      end = from[here + 1]!;
    for (let k = from[here]!; k < end; k++) {
      const i = near[k]!;
      const value = x * xs[i]! + y * ys[i]! + z * zs[i]!;
      if (value > most) {
        most = value;
        best = i;
      }
    }
    if (best === here) break;
  }
  last[0] = best;
  out[at] = xs[best]!;
  out[at + 1] = ys[best]!;
  out[at + 2] = zs[best]!;
}

/** Whether the core is a polytope, so that iterations over its corners end exactly. */
export const isPolytope = (body: Body): boolean => body.kind !== CYLINDER;
