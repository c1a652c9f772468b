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
  const centres = centresOf(vertices, indices);
  const order = Uint32Array.from({ length: triangles }, (_, t) => t);
  const most = 2 * triangles;
  const boxes = new Float64Array(6 * most);
  const right = new Int32Array(most);
  const count = new Int32Array(most);
  let nodes = 0;

  const build = (from: number, to: number): number => {
    const node = nodes++;
    if (to - from <= LEAF) {
      fitBox(boxes, 6 * node, vertices, indices, order, from, to);
      right[node] = -1 - from;
      count[node] = to - from;
      return node;
    }
    const middle = (from + to) >> 1;
    halve(order, centres, longestSide(centres, from, to), from, middle, to);
    const left = build(from, middle);
    const other = build(middle, to);
    right[node] = other;
    for (let k = 0; k < 3; k++) {
      boxes[6 * node + k] = Math.min(boxes[6 * left + k]!, boxes[6 * other + k]!);
      boxes[6 * node + 3 + k] = Math.max(boxes[6 * left + 3 + k]!, boxes[6 * other + 3 + k]!);
    }
    return node;
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

/** x, y and z of the triangles' centres, kept in the order of the triangles so that scans run through memory. */
type Centres = readonly [Float64Array, Float64Array, Float64Array];

function centresOf(vertices: Float64Array, indices: Uint32Array): Centres {
  return [0, 1, 2].map((k) => {
    const centres = new Float64Array(indices.length / 3);
    for (let t = 0; t < centres.length; t++)
      centres[t] =
        (vertices[3 * indices[3 * t]! + k]! +
          vertices[3 * indices[3 * t + 1]! + k]! +
          vertices[3 * indices[3 * t + 2]! + k]!) /
        3;
    return centres;
  }) as unknown as Centres;
}

function longestSide(centres: Centres, from: number, to: number): number {
  let best = 0,
    longest = -1;
  for (let k = 0; k < 3; k++) {
    const values = centres[k]!;
    let min = Number.POSITIVE_INFINITY,
      max = Number.NEGATIVE_INFINITY;
    for (let i = from; i < to; i++) {
      const value = values[i]!;
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

/**
 * Orders a stretch so that what is before `middle` has no larger value along the axis than what follows; equal values by the
 * triangles' numbers, so that the halves do not depend on the order before (Hoare, Algorithm 65, Comm. ACM 4(7), 1961).
 */
function halve(order: Uint32Array, centres: Centres, axis: number, from: number, middle: number, to: number): void {
  const values = centres[axis]!,
    second = centres[(axis + 1) % 3]!,
    third = centres[(axis + 2) % 3]!;
  let low = from,
    high = to - 1;
  while (low < high) {
    const pivotAt = medianOf(order, values, low, (low + high) >> 1, high);
    const pivot = order[pivotAt]!,
      value = values[pivotAt]!;
    let i = low,
      j = high;
    while (i <= j) {
      while (values[i]! < value || (values[i] === value && order[i]! < pivot)) i++;
      while (values[j]! > value || (values[j] === value && order[j]! > pivot)) j--;
      if (i > j) break;
      const t = order[i]!,
        a = values[i]!,
        b = second[i]!,
        c = third[i]!;
      order[i] = order[j]!;
      values[i] = values[j]!;
      second[i] = second[j]!;
      third[i] = third[j]!;
      order[j] = t;
      values[j] = a;
      second[j] = b;
      third[j] = c;
      i++;
      j--;
    }
    if (middle <= j) high = j;
    else if (middle >= i) low = i;
    else return;
  }
}

/** The one of three places whose value lies between those of the others. */
function medianOf(order: Uint32Array, values: Float64Array, a: number, b: number, c: number): number {
  const less = (i: number, j: number) => values[i]! < values[j]! || (values[i] === values[j] && order[i]! < order[j]!);
  if (less(a, b)) return less(b, c) ? b : less(a, c) ? c : a;
  return less(a, c) ? a : less(b, c) ? c : b;
}
