/**
 * Meshes small enough to be drawn: points that are one are joined, and above a number of triangles the points of each cell of
 * a grid become one (vertex clustering: Rossignac and Borrel, 1993).
 */
import { weld } from "../../clearance/mesh-parts.ts";

export interface SimpleMesh {
  readonly vertices: Float64Array;
  readonly indices: Uint32Array;
  /** Each edge has one triangle on either side: the mesh encloses a volume, and its triangles are turned outward. */
  readonly closed: boolean;
  /** Points were moved: small angles between triangles mean nothing. */
  readonly coarsened: boolean;
}

/** More triangles than this are first reduced to a fine grid, once for all pictures. */
const LARGE = 60_000;
const reduced = new WeakMap<Uint32Array, Triangles>();

/** @param most most triangles of the result */
export function simplifiedMesh(vertices: Float64Array, indices: Uint32Array, most: number): SimpleMesh {
  // A grid joins points too: a very large mesh need not be welded first.
  let mesh =
    indices.length > 3 * LARGE ? reducedMesh(vertices, indices) : withoutFlat(vertices, indices, weld(vertices));
  // Each coarser grid takes the mesh of the finer one, so that a large mesh is gone through only a few times.
  const before = mesh.indices.length;
  for (let cells = 256; mesh.indices.length > 3 * most && cells >= 2; cells = Math.floor(cells / 1.25))
    mesh = clustered(mesh.vertices, mesh.indices, cells);
  const closed = isClosed(mesh.indices);
  if (closed && volume(mesh) < 0)
    for (let t = 0; t < mesh.indices.length; t += 3) {
      const first = mesh.indices[t]!;
      mesh.indices[t] = mesh.indices[t + 1]!;
      mesh.indices[t + 1] = first;
    }
  return { ...mesh, closed, coarsened: indices.length > 3 * LARGE || mesh.indices.length < before };
}

function reducedMesh(vertices: Float64Array, indices: Uint32Array): Triangles {
  const known = reduced.get(indices);
  if (known !== undefined) return { vertices: known.vertices, indices: known.indices.slice() };
  const fresh = clustered(vertices, indices, 200);
  reduced.set(indices, fresh);
  return { vertices: fresh.vertices, indices: fresh.indices.slice() };
}

interface Triangles {
  readonly vertices: Float64Array;
  readonly indices: Uint32Array;
}

/** The mesh with each vertex replaced by `same[vertex]`, without triangles of fewer than three points and without doubles. */
function withoutFlat(vertices: Float64Array, indices: Uint32Array, same: Uint32Array): Triangles {
  const kept: number[] = [];
  const seen = new Set<string>();
  // Doubles matter in what is drawn only, not on the way there.
  const few = indices.length < 300_000;
  for (let t = 0; t < indices.length; t += 3) {
    const a = same[indices[t]!]!,
      b = same[indices[t + 1]!]!,
      c = same[indices[t + 2]!]!;
    if (a === b || b === c || c === a) continue;
    if (!few) {
      kept.push(a, b, c);
      continue;
    }
    const key = a < b ? (a < c ? `${a},${b},${c}` : `${c},${a},${b}`) : b < c ? `${b},${c},${a}` : `${c},${a},${b}`;
    if (seen.has(key)) continue;
    seen.add(key);
    kept.push(a, b, c);
  }
  const used = [...new Set(kept)].sort((a, b) => a - b);
  const place = new Map(used.map((v, i) => [v, i]));
  const out = new Float64Array(3 * used.length);
  for (const [i, v] of used.entries()) out.set(vertices.subarray(3 * v, 3 * v + 3), 3 * i);
  return { vertices: out, indices: Uint32Array.from(kept, (v) => place.get(v)!) };
}

function clustered(vertices: Float64Array, indices: Uint32Array, cells: number): Triangles {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < vertices.length; i++) {
    low[i % 3] = Math.min(low[i % 3]!, vertices[i]!);
    high[i % 3] = Math.max(high[i % 3]!, vertices[i]!);
  }
  const size = Math.max(high[0]! - low[0]!, high[1]! - low[1]!, high[2]! - low[2]!) / cells || 1;
  const first = new Map<number, number>();
  const same = new Uint32Array(vertices.length / 3);
  const sums: number[] = [];
  const counts: number[] = [];
  for (let v = 0; v < same.length; v++) {
    const at = (k: number) => Math.min(cells, Math.floor((vertices[3 * v + k]! - low[k]!) / size));
    const key = (at(0) * (cells + 1) + at(1)) * (cells + 1) + at(2);
    let cluster = first.get(key);
    if (cluster === undefined) {
      cluster = counts.push(0) - 1;
      first.set(key, cluster);
      sums.push(0, 0, 0);
    }
    same[v] = cluster;
    counts[cluster]!++;
    for (let k = 0; k < 3; k++) sums[3 * cluster + k]! += vertices[3 * v + k]!;
  }
  const middles = Float64Array.from(sums, (sum, i) => sum / counts[Math.floor(i / 3)]!);
  return withoutFlat(middles, indices, same);
}

function isClosed(indices: Uint32Array): boolean {
  const open = new Set<string>();
  for (let t = 0; t < indices.length; t += 3)
    for (let k = 0; k < 3; k++) {
      const from = indices[t + k]!,
        to = indices[t + ((k + 1) % 3)]!;
      if (!open.delete(`${to},${from}`)) {
        if (open.has(`${from},${to}`)) return false;
        open.add(`${from},${to}`);
      }
    }
  return open.size === 0 && indices.length > 0;
}

/** Six times the enclosed volume. */
function volume({ vertices: p, indices }: Triangles): number {
  let sum = 0;
  for (let t = 0; t < indices.length; t += 3) {
    const a = 3 * indices[t]!,
      b = 3 * indices[t + 1]!,
      c = 3 * indices[t + 2]!;
    sum +=
      p[a]! * (p[b + 1]! * p[c + 2]! - p[b + 2]! * p[c + 1]!) +
      p[a + 1]! * (p[b + 2]! * p[c]! - p[b]! * p[c + 2]!) +
      p[a + 2]! * (p[b]! * p[c + 1]! - p[b + 1]! * p[c]!);
  }
  return sum;
}
