/**
 * Whether a convex body keeps a distance from a mesh during an interval. What the ways cannot bring so near is left out by its
 * distance, as boxes of the mesh's tree. Most of the rest lies behind one plane: its boxes, and then its triangles, keep the
 * distance along the normal of the nearest triangle. What is left is looked at one by one, each along its own normal.
 */
import { triangleBody } from "../body.ts";
import { convexPair } from "../convex-pair.ts";
import { coreResult } from "../core-result.ts";
import { relative } from "../frames.ts";
import { loadTriangle, nodeBound } from "../mesh-pair.ts";
import type { MovingBodies } from "./moving-bodies.ts";

/** Boxes and triangles looked at before giving up. */
const MOST_LOOKS = 48;

const stack = new Int32Array(MOST_LOOKS + 2);
const rel = new Float64Array(12);
const triangle = triangleBody();
const core = coreResult();
const box = new Float64Array(24);
const corners = new Float64Array(9);

/**
 * @param convex, mesh bodies, placed; they do not overlap in the middle of the interval
 * @param fromConvex, fromMesh first freedoms that move them against each other
 * @param nx, ny, nz unit vector of the nearest points, from the convex body to the mesh
 * @param out how far out along it the nearest point of the mesh lies, m
 * @param keep the distance asked for, m, above 0 (then nothing enters a solid either)
 * @param loss sum of the ways of both, m
 */
export function keepsFromMesh(
  bodies: MovingBodies,
  convex: number,
  mesh: number,
  fromConvex: number,
  fromMesh: number,
  nx: number,
  ny: number,
  nz: number,
  out: number,
  keep: number,
  loss: number,
): boolean {
  const { poses } = bodies;
  const a = bodies.bodies[convex]!,
    tree = bodies.bodies[mesh]!.mesh!;
  const { right, count, boxes } = tree;
  const limit = keep + loss + a.radius;
  relative(poses, 12 * convex, poses, 12 * mesh, rel);
  // How far out along n the mesh must begin.
  const need = keep - bodies.leastAlong(convex, fromConvex, -nx, -ny, -nz);
  if (need > out) return false;
  bodies.aim(mesh, fromMesh, nx, ny, nz);
  let looks = 0,
    top = 1;
  stack[0] = 0;
  while (top > 0) {
    const node = stack[--top]!;
    if (nodeBound(a, rel, tree, node) >= limit) continue;
    if (++looks > MOST_LOOKS) return false;
    const at = 6 * node;
    for (let k = 0; k < 8; k++) {
      box[3 * k] = boxes[at + (k & 1 ? 3 : 0)]!;
      box[3 * k + 1] = boxes[at + (k & 2 ? 4 : 1)]!;
      box[3 * k + 2] = boxes[at + (k & 4 ? 5 : 2)]!;
    }
    if (bodies.leastOf(box, mesh) >= need) continue;
    if (count[node] === 0) {
      stack[top++] = node + 1;
      stack[top++] = right[node]!;
      continue;
    }
    const first = -1 - right[node]!;
    for (let t = first; t < first + count[node]!; t++) {
      loadTriangle(tree, t, triangle);
      const { xs, ys, zs } = triangle;
      for (let k = 0; k < 3; k++) {
        corners[3 * k] = xs[k]!;
        corners[3 * k + 1] = ys[k]!;
        corners[3 * k + 2] = zs[k]!;
      }
      if (bodies.leastOf(corners, mesh) >= need) continue;
      if (++looks > MOST_LOOKS) return false;
      convexPair(a, triangle, rel, limit, core);
      if (core[0]! >= limit) continue;
      if (!(core[0]! > 0)) return false;
      // Its own normal, turned from the frame of the mesh.
      const m = 12 * mesh,
        x = core[7]!,
        y = core[8]!,
        z = core[9]!;
      const tx = poses[m]! * x + poses[m + 1]! * y + poses[m + 2]! * z,
        ty = poses[m + 4]! * x + poses[m + 5]! * y + poses[m + 6]! * z,
        tz = poses[m + 8]! * x + poses[m + 9]! * y + poses[m + 10]! * z;
      const own = keep - bodies.leastAlong(convex, fromConvex, -tx, -ty, -tz);
      bodies.aim(mesh, fromMesh, tx, ty, tz);
      if (!(bodies.leastOf(corners, mesh) >= own)) return false;
      bodies.aim(mesh, fromMesh, nx, ny, nz);
    }
  }
  return true;
}
