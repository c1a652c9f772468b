/**
 * Whether a point is inside the surface of a closed mesh: how often the surface winds around it, by the crossings of a ray
 * outward less those inward, told apart from grazes; by solid angles where all rays graze. Parts that overlap are thus inside in
 * their common space as well.
 */
import type { MeshTree } from "./mesh-tree.ts";

/** Directions in no plane that a drawn part would have; the next is taken when one grazes an edge. */
const rays = Float64Array.of(
  0.5377,
  0.2161,
  0.8149,
  -0.3119,
  0.8623,
  0.3989,
  0.7393,
  -0.5571,
  -0.3781,
  -0.6113,
  -0.4517,
  0.6498,
  0.1279,
  0.7031,
  -0.6995,
  -0.8317,
  0.1733,
  -0.5275,
);
/** Share of a triangle's area within which a crossing counts as a graze of its rim. */
const GRAZE = 1e-9;
const stack = new Int32Array(4096);

/** Whether (x, y, z), frame of the mesh, is enclosed. The mesh must be closed. A point on the surface gives either answer. */
export function enclosed(tree: MeshTree, x: number, y: number, z: number): boolean {
  const { boxes } = tree;
  if (x < boxes[0]! || y < boxes[1]! || z < boxes[2]! || x > boxes[3]! || y > boxes[4]! || z > boxes[5]!) return false;
  for (let ray = 0; ray < rays.length; ray += 3) {
    const winds = cast(tree, x, y, z, rays[ray]!, rays[ray + 1]!, rays[ray + 2]!);
    if (!Number.isNaN(winds)) return winds !== 0;
  }
  return Math.abs(turns(tree, x, y, z)) > 0.5;
}

/** Triangles crossed from behind less those crossed from the front; not a number when one is grazed. */
function cast(tree: MeshTree, x: number, y: number, z: number, dx: number, dy: number, dz: number): number {
  const { boxes, right, count, vertices: v, indices } = tree;
  let winds = 0;
  stack[0] = 0;
  let top = 1;
  while (top > 0) {
    const node = stack[--top]!;
    if (!meets(boxes, 6 * node, x, y, z, dx, dy, dz)) continue;
    if (count[node] === 0) {
      stack[top++] = right[node]!;
      stack[top++] = node + 1;
      continue;
    }
    const first = -1 - right[node]!;
    for (let t = first; t < first + count[node]!; t++) {
      const i = 3 * indices[3 * t]!,
        j = 3 * indices[3 * t + 1]!,
        k = 3 * indices[3 * t + 2]!;
      const ax = v[i]! - x,
        ay = v[i + 1]! - y,
        az = v[i + 2]! - z;
      const bx = v[j]! - x,
        by = v[j + 1]! - y,
        bz = v[j + 2]! - z;
      const cx = v[k]! - x,
        cy = v[k + 1]! - y,
        cz = v[k + 2]! - z;
      // Volumes that the ray spans with each side: of one sign when it passes between them.
      const u = dx * (by * cz - bz * cy) + dy * (bz * cx - bx * cz) + dz * (bx * cy - by * cx);
      const w = dx * (cy * az - cz * ay) + dy * (cz * ax - cx * az) + dz * (cx * ay - cy * ax);
      const s = dx * (ay * bz - az * by) + dy * (az * bx - ax * bz) + dz * (ax * by - ay * bx);
      const size = Math.abs(u) + Math.abs(w) + Math.abs(s);
      const limit = GRAZE * size;
      if ((u < -limit || w < -limit || s < -limit) && (u > limit || w > limit || s > limit)) continue;
      const sum = u + w + s;
      // Height of the crossing along the ray: volume of the corners over the sum.
      const h = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
      if (Math.abs(u) <= limit || Math.abs(w) <= limit || Math.abs(s) <= limit) {
        if (size === 0 || h * sum >= 0) return Number.NaN;
        continue;
      }
      if (h * sum > 0) winds += sum > 0 ? 1 : -1;
    }
  }
  return winds;
}

function meets(
  boxes: Float64Array,
  at: number,
  x: number,
  y: number,
  z: number,
  dx: number,
  dy: number,
  dz: number,
): boolean {
  let from = 0,
    to = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3; k++) {
    const p = k === 0 ? x : k === 1 ? y : z,
      d = k === 0 ? dx : k === 1 ? dy : dz;
    const s = (boxes[at + k]! - p) / d,
      t = (boxes[at + 3 + k]! - p) / d;
    const low = Math.min(s, t),
      high = Math.max(s, t);
    if (low > from) from = low;
    if (high < to) to = high;
  }
  return from <= to * (1 + 1e-12);
}

/** Winding number by solid angles (Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30(2), 1983). */
function turns({ vertices: v, indices }: MeshTree, x: number, y: number, z: number): number {
  let sum = 0;
  for (let t = 0; t < indices.length; t += 3) {
    const i = 3 * indices[t]!,
      j = 3 * indices[t + 1]!,
      k = 3 * indices[t + 2]!;
    const ax = v[i]! - x,
      ay = v[i + 1]! - y,
      az = v[i + 2]! - z;
    const bx = v[j]! - x,
      by = v[j + 1]! - y,
      bz = v[j + 2]! - z;
    const cx = v[k]! - x,
      cy = v[k + 1]! - y,
      cz = v[k + 2]! - z;
    const la = Math.hypot(ax, ay, az),
      lb = Math.hypot(bx, by, bz),
      lc = Math.hypot(cx, cy, cz);
    const h = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
    const d =
      la * lb * lc +
      (ax * bx + ay * by + az * bz) * lc +
      (bx * cx + by * cy + bz * cz) * la +
      (cx * ax + cy * ay + cz * az) * lb;
    sum += 2 * Math.atan2(h, d);
  }
  return sum / (4 * Math.PI);
}
