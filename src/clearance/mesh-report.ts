/** What a triangle mesh is worth as a solid: whether it is closed and outward, and what is wrong with it. */
import { agree, type EdgeUses, edgeUses, runsUp } from "./mesh-edges.ts";
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
  /** Closed, consistent and outward as it stands. */
  readonly solid: boolean;
  /** Encloses space, after `turnedOver` triangles have been turned over: may be used as a solid. Otherwise only its surface may be. */
  readonly closed: boolean;
  /** Triangles turned over in `solidMesh` so that all faces outwards. */
  readonly turnedOver: number;
}

/**
 * Looks a mesh over. Vertices with equal coordinates count as one, as in files that repeat them for each triangle;
 * triangles without area are left out of the edge count. Does not look for a surface that passes through itself.
 * @param vertices x, y, z, m @param indices three per triangle
 * @throws ContractError if there is no triangle, a coordinate is not finite or an index names no vertex
 */
export function inspectMesh(vertices: Float64Array, indices: Uint32Array): MeshReport {
  return solidMesh(vertices, indices).report;
}

/**
 * Looks a mesh over and turns triangles over where that makes an outward solid of it: all of a mesh that faces inwards, the
 * triangles that disagree with their neighbours, separate parts that face inwards. A part that faces inwards within the box of
 * one that faces outwards is taken for a cavity and left. A mesh whose edges with more than two triangles are run through as
 * often one way as the other encloses space as well (solids that touch along an edge).
 * @throws ContractError as inspectMesh
 */
export function solidMesh(
  vertices: Float64Array,
  indices: Uint32Array,
): { readonly report: MeshReport; readonly indices: Uint32Array } {
  requireArrays(vertices, indices);
  const same = weld(vertices);
  const box = boxOf(vertices, indices);
  const size = [box[3]! - box[0]!, box[4]! - box[1]!, box[5]! - box[2]!] as const;
  const longest = Math.max(...size);
  const { kept, numbers, flat } = withoutCollapsed(vertices, indices, same);
  const edges = edgeUses(kept, same.length);
  const { open, crowded, disagreeing, unbalanced } = countEdges(kept, edges);
  const origin = [box[0]!, box[1]!, box[2]!] as const;
  const volume = volumeOf(vertices, kept, origin);
  const whole = kept.length > 0 && open + crowded + disagreeing === 0;
  const turned =
    kept.length > 0 && open === 0 ? turnOutward(vertices, kept, edges, crowded, unbalanced, origin) : undefined;
  const outward = turned === undefined || !turned.includes(1) ? indices : turnOver(indices, numbers, turned);
  return {
    indices: outward,
    report: {
      triangles: indices.length / 3,
      openEdges: open,
      crowdedEdges: crowded,
      disagreeingEdges: disagreeing,
      degenerateTriangles: flat,
      inverted: whole && volume < 0,
      volume: whole ? volume : undefined,
      size,
      unitDoubt: longest > LARGEST_PLAUSIBLE ? "too large" : longest < SMALLEST_PLAUSIBLE ? "too small" : undefined,
      solid: whole && volume > 0,
      closed: turned !== undefined && volumeOf(vertices, kept, origin, turned) > 0,
      turnedOver: turned?.reduce((sum, one) => sum + one, 0) ?? 0,
    },
  };
}

/** Triangles with three different corners (equal points by one number), their own numbers, and how many have no area. */
function withoutCollapsed(vertices: Float64Array, indices: Uint32Array, same: Uint32Array) {
  const kept = new Uint32Array(indices.length),
    numbers = new Uint32Array(indices.length / 3);
  let count = 0,
    flat = 0;
  for (let t = 0; t < indices.length; t += 3) {
    const a = same[indices[t]!]!,
      b = same[indices[t + 1]!]!,
      c = same[indices[t + 2]!]!;
    if (isFlat(vertices, a, b, c)) flat++;
    // Two equal corners leave no gap; a needle with three corners still joins its neighbours.
    if (a === b || b === c || c === a) continue;
    kept[3 * count] = a;
    kept[3 * count + 1] = b;
    kept[3 * count + 2] = c;
    numbers[count++] = t / 3;
  }
  return { kept: kept.slice(0, 3 * count), numbers: numbers.slice(0, count), flat };
}

function countEdges(indices: Uint32Array, { uses, starts }: EdgeUses) {
  let open = 0,
    crowded = 0,
    disagreeing = 0,
    unbalanced = 0;
  for (let e = 0; e + 1 < starts.length; e++) {
    const from = starts[e]!,
      to = starts[e + 1]!;
    let balance = 0;
    for (let i = from; i < to; i++) balance += runsUp(indices, uses[i]!) ? 1 : -1;
    if (balance !== 0) unbalanced++;
    if (to - from === 1) open++;
    else if (to - from > 2) crowded++;
    else if (balance !== 0) disagreeing++;
  }
  return { open, crowded, disagreeing, unbalanced };
}

/** Per triangle whether it must be turned over for an outward solid; undefined when no turning makes one. */
function turnOutward(
  vertices: Float64Array,
  indices: Uint32Array,
  edges: EdgeUses,
  crowded: number,
  unbalanced: number,
  origin: Point,
): Uint8Array | undefined {
  const triangles = indices.length / 3;
  // Sheets that meet at crowded edges are not closed each on its own.
  if (crowded > 0) {
    if (unbalanced > 0) return undefined;
    return new Uint8Array(triangles).fill(volumeOf(vertices, indices, origin) < 0 ? 1 : 0);
  }
  const found = agree(indices, edges);
  if (found === undefined) return undefined;
  const { sheet, turned, sheets } = found;
  const volumes = new Float64Array(sheets);
  const boxes = Float64Array.from({ length: 6 * sheets }, (_, i) => (i % 6 < 3 ? 1 : -1) * Number.POSITIVE_INFINITY);
  for (let t = 0; t < triangles; t++) {
    const s = sheet[t]!;
    volumes[s]! += (turned[t] === 1 ? -1 : 1) * sixVolumes(vertices, indices, 3 * t, origin);
    for (let c = 0; c < 3; c++)
      for (let k = 0; k < 3; k++) {
        const value = vertices[3 * indices[3 * t + c]! + k]!;
        if (value < boxes[6 * s + k]!) boxes[6 * s + k] = value;
        if (value > boxes[6 * s + 3 + k]!) boxes[6 * s + 3 + k] = value;
      }
  }
  const flip = sheetsToFlip(volumes, boxes, indicesAgree(turned));
  for (let t = 0; t < triangles; t++) turned[t]! ^= flip[sheet[t]!]!;
  return turned;
}

/** Whether the triangles agreed with their neighbours as they stood, so that what faces inwards may be meant so. */
const indicesAgree = (turned: Uint8Array) => !turned.includes(1);

/** Sheets that must be turned over as a whole. */
function sheetsToFlip(volumes: Float64Array, boxes: Float64Array, meant: boolean): Uint8Array {
  const sheets = volumes.length;
  const flip = new Uint8Array(sheets);
  const total = volumes.reduce((sum, volume) => sum + volume, 0);
  // All of it inside out: then what is a cavity shows after turning.
  const sign = meant && total < 0 ? -1 : 1;
  const outer: number[] = [];
  for (let s = 0; s < sheets; s++) if (sign * volumes[s]! > 0) outer.push(s);
  const within = (s: number, o: number) =>
    [0, 1, 2].every((k) => boxes[6 * s + k]! > boxes[6 * o + k]! && boxes[6 * s + 3 + k]! < boxes[6 * o + 3 + k]!);
  for (let s = 0; s < sheets; s++) {
    const inward = sign * volumes[s]! < 0;
    const cavity = inward && meant && outer.some((o) => within(s, o));
    const wanted = cavity ? -1 : 1;
    flip[s] = volumes[s]! * wanted < 0 ? 1 : 0;
  }
  return flip;
}

function turnOver(indices: Uint32Array, numbers: Uint32Array, turned: Uint8Array): Uint32Array {
  const out = indices.slice();
  for (let i = 0; i < numbers.length; i++) {
    if (turned[i] === 0) continue;
    const t = 3 * numbers[i]!;
    out[t + 1] = indices[t + 2]!;
    out[t + 2] = indices[t + 1]!;
  }
  return out;
}

type Point = readonly [number, number, number];

/** Least x, y, z, greatest x, y, z of the triangles. */
function boxOf(vertices: Float64Array, indices: Uint32Array): Float64Array {
  const box = Float64Array.of(1, 1, 1, -1, -1, -1).map((sign) => sign * Number.POSITIVE_INFINITY);
  for (const index of indices)
    for (let k = 0; k < 3; k++) {
      const value = vertices[3 * index + k]!;
      if (value < box[k]!) box[k] = value;
      if (value > box[3 + k]!) box[3 + k] = value;
    }
  return box;
}

function isFlat(v: Float64Array, a: number, b: number, c: number): boolean {
  const ux = v[3 * b]! - v[3 * a]!,
    uy = v[3 * b + 1]! - v[3 * a + 1]!,
    uz = v[3 * b + 2]! - v[3 * a + 2]!;
  const wx = v[3 * c]! - v[3 * a]!,
    wy = v[3 * c + 1]! - v[3 * a + 1]!,
    wz = v[3 * c + 2]! - v[3 * a + 2]!;
  const twiceArea = Math.hypot(uy * wz - uz * wy, uz * wx - ux * wz, ux * wy - uy * wx);
  const longest = Math.max(
    ux * ux + uy * uy + uz * uz,
    wx * wx + wy * wy + wz * wz,
    (wx - ux) ** 2 + (wy - uy) ** 2 + (wz - uz) ** 2,
  );
  return twiceArea <= FLAT * longest;
}

/** Signed volume enclosed, m³; triangles marked in `turned` count from their other side. */
function volumeOf(vertices: Float64Array, indices: Uint32Array, origin: Point, turned?: Uint8Array): number {
  let sum = 0;
  for (let t = 0; t < indices.length; t += 3)
    sum += (turned?.[t / 3] === 1 ? -1 : 1) * sixVolumes(vertices, indices, t, origin);
  return sum / 6;
}

/** Six times the signed volume of the tetrahedron from `origin` to the triangle at `t`. */
function sixVolumes(v: Float64Array, indices: Uint32Array, t: number, origin: Point): number {
  const a = 3 * indices[t]!,
    b = 3 * indices[t + 1]!,
    c = 3 * indices[t + 2]!;
  const [ox, oy, oz] = origin;
  const ax = v[a]! - ox,
    ay = v[a + 1]! - oy,
    az = v[a + 2]! - oz;
  const bx = v[b]! - ox,
    by = v[b + 1]! - oy,
    bz = v[b + 2]! - oz;
  const cx = v[c]! - ox,
    cy = v[c + 1]! - oy,
    cz = v[c + 2]! - oz;
  return ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
}
