/** Bounding-volume hierarchy of a triangle mesh: boxes along the mesh's own axes, split at the median of the longest side. */
import { ContractError } from "../math/contract-error.ts";
import { partVertices } from "./mesh-parts.ts";

/** Most triangles in a leaf. */
const LEAF = 2;

export interface MeshTree {
  readonly vertices: Float64Array;
  /** Three vertices per triangle, in the order of the leaves. */
  readonly indices: Uint32Array;
  readonly solid: boolean;
  /** Six numbers per node: least x, y, z, greatest x, y, z. Node 0 is the root; the left child of node i is i + 1. */
  readonly boxes: Float64Array;
  /** Right child of an inner node; of a leaf -1 - its first triangle. */
  readonly right: Int32Array;
  /** Triangles of a leaf; 0 for an inner node. */
  readonly count: Int32Array;
  /** A vertex of each part that hangs together. */
  readonly parts: Uint32Array;
}

/** @throws ContractError if there is no triangle, a coordinate is not finite or an index names no vertex */
export function buildTree(vertices: Float64Array, indices: Uint32Array, solid: boolean): MeshTree {
  requireArrays(vertices, indices);
  const triangles = indices.length / 3;
  const centres = new Float64Array(indices.length);
  for (let t = 0; t < triangles; t++)
    for (let k = 0; k < 3; k++)
      centres[3 * t + k] =
        (vertices[3 * indices[3 * t]! + k]! +
          vertices[3 * indices[3 * t + 1]! + k]! +
          vertices[3 * indices[3 * t + 2]! + k]!) /
        3;
  const order = Uint32Array.from({ length: triangles }, (_, t) => t);
  const most = 2 * triangles;
  const boxes = new Float64Array(6 * most);
  const right = new Int32Array(most);
  const count = new Int32Array(most);
  let nodes = 0;

  const build = (from: number, to: number): void => {
    const node = nodes++;
    fitBox(boxes, 6 * node, vertices, indices, order, from, to);
    if (to - from <= LEAF) {
      right[node] = -1 - from;
      count[node] = to - from;
      return;
    }
    const axis = longestSide(centres, order, from, to);
    order.subarray(from, to).sort((s, t) => centres[3 * s + axis]! - centres[3 * t + axis]! || s - t);
    const middle = (from + to) >> 1;
    build(from, middle);
    right[node] = nodes;
    build(middle, to);
  };
  build(0, triangles);

  const sorted = new Uint32Array(indices.length);
  order.forEach((t, i) => {
    sorted.set(indices.subarray(3 * t, 3 * t + 3), 3 * i);
  });
  return {
    vertices,
    indices: sorted,
    solid,
    boxes: boxes.slice(0, 6 * nodes),
    right: right.slice(0, nodes),
    count: count.slice(0, nodes),
    parts: partVertices(vertices, indices),
  };
}

/** @throws ContractError if there is no triangle, a coordinate is not finite or an index names no vertex */
export function requireArrays(vertices: Float64Array, indices: Uint32Array): void {
  if (indices.length === 0 || indices.length % 3 !== 0 || vertices.length % 3 !== 0)
    throw new ContractError(
      `mesh: needs three indices per triangle, at least one, and three coordinates per vertex; got ${indices.length} and ${vertices.length}`,
    );
  for (let i = 0; i < vertices.length; i++)
    if (!Number.isFinite(vertices[i]!))
      throw new ContractError(`mesh: vertices[${i}] must be finite, got ${vertices[i]}`);
  for (let i = 0; i < indices.length; i++)
    if (indices[i]! * 3 >= vertices.length)
      throw new ContractError(`mesh: indices[${i}] must be below ${vertices.length / 3}, got ${indices[i]}`);
}

function fitBox(
  boxes: Float64Array,
  at: number,
  vertices: Float64Array,
  indices: Uint32Array,
  order: Uint32Array,
  from: number,
  to: number,
): void {
  for (let k = 0; k < 3; k++) {
    let min = Number.POSITIVE_INFINITY,
      max = Number.NEGATIVE_INFINITY;
    for (let i = from; i < to; i++)
      for (let c = 0; c < 3; c++) {
        const value = vertices[3 * indices[3 * order[i]! + c]! + k]!;
        if (value < min) min = value;
        if (value > max) max = value;
      }
    boxes[at + k] = min;
    boxes[at + 3 + k] = max;
  }
}

function longestSide(centres: Float64Array, order: Uint32Array, from: number, to: number): number {
  let best = 0,
    longest = -1;
  for (let k = 0; k < 3; k++) {
    let min = Number.POSITIVE_INFINITY,
      max = Number.NEGATIVE_INFINITY;
    for (let i = from; i < to; i++) {
      const value = centres[3 * order[i]! + k]!;
      if (value < min) min = value;
      if (value > max) max = value;
    }
    if (max - min > longest) {
      longest = max - min;
      best = k;
    }
  }
  return best;
}
