/**
 * A convex body or a mesh against a mesh: the hierarchy is walked nearest boxes first, and what cannot come nearer than what
 * is known is left out. Triangles are hulls of three corners.
 *
 * Overlap: the value is minus the greatest depth of a single triangle in the other body, or, where the surfaces do not meet
 * and one body lies inside the other's solid, minus the distance to the surface. Both are lower bounds of the
 * depth: parting the bodies takes at least that much.
 */
import { BOX, type Body, SEGMENT, triangleBody } from "./body.ts";
import { convexPair } from "./convex-pair.ts";
import { type CoreResult, coreResult } from "./core-result.ts";
import { enclosed } from "./mesh-inside.ts";
import type { MeshTree } from "./mesh-tree.ts";
import { segmentBoxSquared } from "./segments.ts";

/** Deepest tree that the stacks take; halving splits stay far below for any mesh that fits in memory. */
const STACK = 4096;
const stack = new Int32Array(STACK);
const stackA = new Int32Array(STACK);
const stackBounds = new Float64Array(STACK);
const triangleA = triangleBody();
const triangleB = triangleBody();
const trial = coreResult();

/**
 * Signed distance of a convex core and a mesh.
 * @param rel A in the frame of mesh B
 * @param limit what lies farther than this need not be told exactly: the answer is then Infinity, the rest is not written
 * @param enough stop as soon as a distance at or below this is found
 */
export function convexMesh(a: Body, b: Body, rel: Float64Array, limit: number, enough: number, out: CoreResult): void {
  const tree = b.mesh!;
  const { right, count } = tree;
  let known = limit;
  out[0] = Number.POSITIVE_INFINITY;
  stack[0] = 0;
  stackBounds[0] = nodeBound(a, rel, tree, 0);
  let top = 1;
  while (top > 0) {
    top--;
    const node = stack[top]!;
    if (isFar(stackBounds[top]!, known)) continue;
    if (count[node]! > 0) {
      const first = -1 - right[node]!;
      for (let t = first; t < first + count[node]!; t++) {
        loadTriangle(tree, t, triangleB);
        convexPair(a, triangleB, rel, Math.max(known, 0), trial);
        if (!(trial[0]! < known)) continue;
        known = trial[0]!;
        for (let k = 0; k < 10; k++) out[k] = trial[k]!;
        if (known <= enough) return;
      }
      continue;
    }
    const left = node + 1,
      other = right[node]!;
    const leftBound = nodeBound(a, rel, tree, left),
      otherBound = nodeBound(a, rel, tree, other);
    const leftFirst = leftBound <= otherBound;
    const farBound = leftFirst ? otherBound : leftBound,
      nearBound = leftFirst ? leftBound : otherBound;
    if (!isFar(farBound, known)) {
      stack[top] = leftFirst ? other : left;
      stackBounds[top++] = farBound;
    }
    if (!isFar(nearBound, known)) {
      stack[top] = leftFirst ? left : other;
      stackBounds[top++] = nearBound;
    }
  }
  if (!tree.solid || out[0]! <= 0) return;
  const x = rel[0]! * a.cx + rel[1]! * a.cy + rel[2]! * a.cz + rel[3]!,
    y = rel[4]! * a.cx + rel[5]! * a.cy + rel[6]! * a.cz + rel[7]!,
    z = rel[8]! * a.cx + rel[9]! * a.cy + rel[10]! * a.cz + rel[11]!;
  if (!enclosed(tree, x, y, z)) return;
  if (out[0] === Number.POSITIVE_INFINITY)
    // The surface is beyond the limit and the core inside it: its distance is wanted all the same.
    convexMesh(a, b, rel, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, out);
  else turnInside(out);
}

/** Signed distance of two meshes; parameters as for convexMesh. */
export function meshMesh(a: Body, b: Body, rel: Float64Array, limit: number, enough: number, out: CoreResult): void {
  const treeA = a.mesh!,
    treeB = b.mesh!;
  let known = limit;
  out[0] = Number.POSITIVE_INFINITY;
  stack[0] = stackA[0] = 0;
  stackBounds[0] = nodesGap(treeA, 0, rel, treeB, 0);
  let top = 1;
  while (top > 0) {
    top--;
    const nodeA = stackA[top]!,
      nodeB = stack[top]!;
    if (isFar(stackBounds[top]!, known)) continue;
    const leafA = treeA.count[nodeA]!,
      leafB = treeB.count[nodeB]!;
    if (leafA > 0 && leafB > 0) {
      const firstA = -1 - treeA.right[nodeA]!,
        firstB = -1 - treeB.right[nodeB]!;
      for (let s = firstA; s < firstA + leafA; s++) {
        loadTriangle(treeA, s, triangleA);
        for (let t = firstB; t < firstB + leafB; t++) {
          loadTriangle(treeB, t, triangleB);
          convexPair(triangleA, triangleB, rel, Math.max(known, 0), trial);
          if (!(trial[0]! < known)) continue;
          known = trial[0]!;
          for (let k = 0; k < 10; k++) out[k] = trial[k]!;
          if (known <= enough) return;
        }
      }
      continue;
    }
    const splitA = leafA === 0 && (leafB > 0 || girth(treeA, nodeA) >= girth(treeB, nodeB));
    const leftA = splitA ? nodeA + 1 : nodeA,
      leftB = splitA ? nodeB : nodeB + 1;
    const otherA = splitA ? treeA.right[nodeA]! : nodeA,
      otherB = splitA ? nodeB : treeB.right[nodeB]!;
    const leftBound = nodesGap(treeA, leftA, rel, treeB, leftB),
      otherBound = nodesGap(treeA, otherA, rel, treeB, otherB);
    const leftFirst = leftBound <= otherBound;
    const farBound = leftFirst ? otherBound : leftBound,
      nearBound = leftFirst ? leftBound : otherBound;
    if (!isFar(farBound, known)) {
      stackA[top] = leftFirst ? otherA : leftA;
      stack[top] = leftFirst ? otherB : leftB;
      stackBounds[top++] = farBound;
    }
    if (!isFar(nearBound, known)) {
      stackA[top] = leftFirst ? leftA : otherA;
      stack[top] = leftFirst ? leftB : otherB;
      stackBounds[top++] = nearBound;
    }
  }
  if (out[0]! <= 0 || !(holdsPart(treeB, treeA, rel, false) || holdsPart(treeA, treeB, rel, true))) return;
  if (out[0] === Number.POSITIVE_INFINITY) meshMesh(a, b, rel, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, out);
  else turnInside(out);
}

/** Whether a part of mesh `other` lies inside solid `outer`; rel places A in B, `outerIsA` says which is which. */
function holdsPart(outer: MeshTree, other: MeshTree, rel: Float64Array, outerIsA: boolean): boolean {
  if (!outer.solid) return false;
  const { vertices, parts } = other;
  for (let i = 0; i < parts.length; i++) {
    const at = 3 * parts[i]!;
    let x = vertices[at]!,
      y = vertices[at + 1]!,
      z = vertices[at + 2]!;
    if (outerIsA) {
      x -= rel[3]!;
      y -= rel[7]!;
      z -= rel[11]!;
    }
    const px = outerIsA ? rel[0]! * x + rel[4]! * y + rel[8]! * z : rel[0]! * x + rel[1]! * y + rel[2]! * z + rel[3]!,
      py = outerIsA ? rel[1]! * x + rel[5]! * y + rel[9]! * z : rel[4]! * x + rel[5]! * y + rel[6]! * z + rel[7]!,
      pz = outerIsA ? rel[2]! * x + rel[6]! * y + rel[10]! * z : rel[8]! * x + rel[9]! * y + rel[10]! * z + rel[11]!;
    if (enclosed(outer, px, py, pz)) return true;
  }
  return false;
}

/** A box that the other body may enter bounds nothing: a triangle in it may be deep. */
const isFar = (bound: number, known: number) => bound > 0 && bound >= known;

/** The surfaces are apart and the one body is inside the other's solid. */
function turnInside(out: CoreResult): void {
  out[0] = -out[0]!;
  out[7] = -out[7]!;
  out[8] = -out[8]!;
  out[9] = -out[9]!;
}

function girth({ boxes }: MeshTree, node: number): number {
  const at = 6 * node;
  return boxes[at + 3]! - boxes[at]! + boxes[at + 4]! - boxes[at + 1]! + boxes[at + 5]! - boxes[at + 2]!;
}

/** Lower bound of the distance of two nodes' boxes; 0 when they may overlap. */
function nodesGap(treeA: MeshTree, nodeA: number, rel: Float64Array, treeB: MeshTree, nodeB: number): number {
  const a = treeA.boxes,
    b = treeB.boxes,
    i = 6 * nodeA,
    j = 6 * nodeB;
  const cx = (a[i]! + a[i + 3]!) / 2,
    cy = (a[i + 1]! + a[i + 4]!) / 2,
    cz = (a[i + 2]! + a[i + 5]!) / 2;
  const ex = a[i + 3]! - cx,
    ey = a[i + 4]! - cy,
    ez = a[i + 5]! - cz;
  let square = 0,
    size = ex + ey + ez;
  for (let k = 0; k < 3; k++) {
    const m = (b[j + k]! + b[j + k + 3]!) / 2,
      h = b[j + k + 3]! - m,
      r = 4 * k;
    const gap =
      Math.abs(rel[r]! * cx + rel[r + 1]! * cy + rel[r + 2]! * cz + rel[r + 3]! - m) -
      h -
      (Math.abs(rel[r]!) * ex + Math.abs(rel[r + 1]!) * ey + Math.abs(rel[r + 2]!) * ez);
    if (gap > 0) square += gap * gap;
    size += h + Math.abs(rel[r + 3]!);
  }
  return shaved(Math.sqrt(square), size);
}

/** Lower bound of the distance of a convex core and the box of a node; 0 when they may overlap. */
export function nodeBound(a: Body, rel: Float64Array, { boxes }: MeshTree, node: number): number {
  const at = 6 * node;
  const hx = (boxes[at + 3]! - boxes[at]!) / 2,
    hy = (boxes[at + 4]! - boxes[at + 1]!) / 2,
    hz = (boxes[at + 5]! - boxes[at + 2]!) / 2;
  const mx = boxes[at]! + hx,
    my = boxes[at + 1]! + hy,
    mz = boxes[at + 2]! + hz;
  const size = hx + hy + hz + a.bound + Math.abs(rel[3]!) + Math.abs(rel[7]!) + Math.abs(rel[11]!);
  if (a.kind < BOX) {
    const x = rel[3]! - mx,
      y = rel[7]! - my,
      z = rel[11]! - mz;
    return shaved(
      Math.sqrt(segmentBoxSquared(x, y, z, rel[2]!, rel[6]!, rel[10]!, a.kind === SEGMENT ? a.hz : 0, hx, hy, hz)),
      size,
    );
  }
  const { cx, cy, cz, ex, ey, ez } = a;
  const x =
    Math.abs(rel[0]! * cx + rel[1]! * cy + rel[2]! * cz + rel[3]! - mx) -
    hx -
    (Math.abs(rel[0]!) * ex + Math.abs(rel[1]!) * ey + Math.abs(rel[2]!) * ez);
  const y =
    Math.abs(rel[4]! * cx + rel[5]! * cy + rel[6]! * cz + rel[7]! - my) -
    hy -
    (Math.abs(rel[4]!) * ex + Math.abs(rel[5]!) * ey + Math.abs(rel[6]!) * ez);
  const z =
    Math.abs(rel[8]! * cx + rel[9]! * cy + rel[10]! * cz + rel[11]! - mz) -
    hz -
    (Math.abs(rel[8]!) * ex + Math.abs(rel[9]!) * ey + Math.abs(rel[10]!) * ez);
  return shaved(Math.sqrt((x > 0 ? x * x : 0) + (y > 0 ? y * y : 0) + (z > 0 ? z * z : 0)), size);
}

/** Distances of boxes are rounded; a bound must not be above the truth. */
const shaved = (distance: number, size: number) => {
  const less = distance * (1 - 1e-14) - 1e-15 * size;
  return Math.max(less, 0);
};

/** Corners of triangle `t` into a scratch body, with its middle and extents. */
export function loadTriangle(tree: MeshTree, t: number, into: Body): void {
  const { vertices, indices } = tree;
  const { xs, ys, zs } = into;
  for (let k = 0; k < 3; k++) {
    const v = 3 * indices[3 * t + k]!;
    xs[k] = vertices[v]!;
    ys[k] = vertices[v + 1]!;
    zs[k] = vertices[v + 2]!;
  }
  fitTriangle(into as Mutable<Body>);
}

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

function fitTriangle(body: Mutable<Body>): void {
  const { xs, ys, zs } = body;
  const cx = (xs[0]! + xs[1]! + xs[2]!) / 3,
    cy = (ys[0]! + ys[1]! + ys[2]!) / 3,
    cz = (zs[0]! + zs[1]! + zs[2]!) / 3;
  body.cx = cx;
  body.cy = cy;
  body.cz = cz;
  let most = 0;
  for (let k = 0; k < 3; k++) {
    const x = xs[k]! - cx,
      y = ys[k]! - cy,
      z = zs[k]! - cz;
    const square = x * x + y * y + z * z;
    if (square > most) most = square;
  }
  body.bound = Math.sqrt(most);
}
