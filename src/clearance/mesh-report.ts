/** What a triangle mesh is worth as a solid: whether it is closed and outward, and what is wrong with it. */
import { weld } from "./mesh-parts.ts";
import { requireArrays } from "./mesh-tree.ts";

/** Largest and smallest extent (m) of a body in a cell that raises no doubt about the unit. */
export const LARGEST_PLAUSIBLE = 20;
export const SMALLEST_PLAUSIBLE = 0.002;

/** A triangle counts as degenerate when its least height is at most this share of its longest side. */
const FLAT = 1e-9;

export interface MeshReport {
  readonly triangles: number;
  /** Edges with one triangle only: a hole or a rim. */
  readonly openEdges: number;
  /** Edges with more than two triangles. */
  readonly crowdedEdges: number;
  /** Edges whose two triangles run through them the same way: neighbours that face opposite sides. */
  readonly disagreeingEdges: number;
  /** Triangles without area. */
  readonly degenerateTriangles: number;
  /** Closed and consistent, yet facing inwards: the enclosed volume is negative. */
  readonly inverted: boolean;
  /** Enclosed volume, m³, of a closed and consistent mesh; undefined otherwise. */
  readonly volume: number | undefined;
  /** Extents along x, y, z, m. */
  readonly size: readonly [number, number, number];
  /** Why the unit of length is doubtful; undefined when it is not. */
  readonly unitDoubt: "too large" | "too small" | undefined;
  /** Closed, consistent and outward: may be used as a solid. Otherwise only its surface may be. */
  readonly solid: boolean;
}

/**
 * Looks a mesh over. Vertices with equal coordinates count as one, as in files that repeat them for each triangle;
 * triangles without area are left out of the edge count. Does not look for a surface that passes through itself.
 * @param vertices x, y, z, m @param indices three per triangle
 * @throws ContractError if there is no triangle, a coordinate is not finite or an index names no vertex
 */
export function inspectMesh(vertices: Float64Array, indices: Uint32Array): MeshReport {
  requireArrays(vertices, indices);
  const same = weld(vertices);
  const points = vertices.length / 3;
  /** Directed uses of the edge between two vertices: lower to higher, higher to lower. */
  const edges = new Map<number, [up: number, down: number]>();
  let degenerateTriangles = 0,
    volume = 0;
  const least = [0, 1, 2].map((k) => extreme(vertices, indices, k, -1)) as [number, number, number];
  const most = [0, 1, 2].map((k) => extreme(vertices, indices, k, 1)) as [number, number, number];
  for (let t = 0; t < indices.length; t += 3) {
    const corners = [same[indices[t]!]!, same[indices[t + 1]!]!, same[indices[t + 2]!]!] as const;
    if (isFlat(vertices, corners)) {
      degenerateTriangles++;
      // Two equal corners leave no gap; a needle with three corners still joins its neighbours.
      if (new Set(corners).size < 3) continue;
    }
    volume += sixVolumes(vertices, corners, least) / 6;
    for (let k = 0; k < 3; k++) {
      const from = corners[k]!,
        to = corners[(k + 1) % 3]!;
      const key = Math.min(from, to) * points + Math.max(from, to);
      const uses = edges.get(key) ?? [0, 0];
      uses[from < to ? 0 : 1]++;
      edges.set(key, uses);
    }
  }
  let openEdges = 0,
    crowdedEdges = 0,
    disagreeingEdges = 0;
  for (const [up, down] of edges.values()) {
    if (up + down === 1) openEdges++;
    else if (up + down > 2) crowdedEdges++;
    else if (up !== down) disagreeingEdges++;
  }
  const whole = edges.size > 0 && openEdges === 0 && crowdedEdges === 0 && disagreeingEdges === 0;
  const size = [most[0] - least[0], most[1] - least[1], most[2] - least[2]] as const;
  const longest = Math.max(...size);
  return {
    triangles: indices.length / 3,
    openEdges,
    crowdedEdges,
    disagreeingEdges,
    degenerateTriangles,
    inverted: whole && volume < 0,
    volume: whole ? volume : undefined,
    size,
    unitDoubt: longest > LARGEST_PLAUSIBLE ? "too large" : longest < SMALLEST_PLAUSIBLE ? "too small" : undefined,
    solid: whole && volume > 0,
  };
}

function extreme(vertices: Float64Array, indices: Uint32Array, axis: number, sign: 1 | -1): number {
  let best = Number.NEGATIVE_INFINITY;
  for (const index of indices) best = Math.max(best, sign * vertices[3 * index + axis]!);
  return sign * best;
}

type Corners = readonly [number, number, number];

function isFlat(vertices: Float64Array, [a, b, c]: Corners): boolean {
  const side = (i: number, j: number) => [0, 1, 2].map((k) => vertices[3 * j + k]! - vertices[3 * i + k]!) as number[];
  const u = side(a, b),
    v = side(a, c),
    w = side(b, c);
  const twiceArea = Math.hypot(
    u[1]! * v[2]! - u[2]! * v[1]!,
    u[2]! * v[0]! - u[0]! * v[2]!,
    u[0]! * v[1]! - u[1]! * v[0]!,
  );
  const longest = Math.max(Math.hypot(...u), Math.hypot(...v), Math.hypot(...w));
  return twiceArea <= FLAT * longest * longest;
}

/** Six times the signed volume of the tetrahedron from `origin` to a triangle. */
function sixVolumes(vertices: Float64Array, [a, b, c]: Corners, origin: readonly [number, number, number]): number {
  const at = (i: number, k: 0 | 1 | 2) => vertices[3 * i + k]! - origin[k];
  return (
    at(a, 0) * (at(b, 1) * at(c, 2) - at(b, 2) * at(c, 1)) +
    at(a, 1) * (at(b, 2) * at(c, 0) - at(b, 0) * at(c, 2)) +
    at(a, 2) * (at(b, 0) * at(c, 1) - at(b, 1) * at(c, 0))
  );
}
