/**
 * Several capsules around a mesh: it is cut by parallel planes and each slice gets a capsule of its own. Whatever the planes cut
 * through is covered: a slice of a triangle is spanned by its own corners in the slice and by the points where its edges cross the
 * planes, all of which the slice's capsule holds; and a point inside a closed mesh lies between surface points of its own slice
 * in a direction along the planes, so that it is held as well.
 *
 * Where to cut: for each principal axis, on a grid of planes, the cuts of least total volume by dynamic programming with roughly
 * fitted capsules; the best axis' slices are then fitted in full.
 */
import { MOST_CAPSULES } from "../../cell/shapes.ts";
import { ContractError } from "../../math/contract-error.ts";
import { type FittedCapsule, fitCapsule, roughAxis } from "./capsule.ts";
import { extremePoints, spreadDirections } from "./directions.ts";
import { principalAxes } from "./principal-axes.ts";

type Vector = readonly [number, number, number];

/** Planes at which a cut is considered: two for each capsule, at least this many. */
const LEAST_BINS = 24;
const BIN_DIRECTIONS = spreadDirections(32);

/**
 * @param vertices x, y, z, m @param indices three per triangle, at least one triangle
 * @param count most capsules, 1 to 12; fewer come back where another one seems to save no volume
 * @throws ContractError if the count is not one of these or the mesh has no extent
 */
export function fitCapsules(vertices: Float64Array, indices: Uint32Array, count: number): readonly FittedCapsule[] {
  if (!(Number.isInteger(count) && count >= 1 && count <= MOST_CAPSULES))
    throw new ContractError(`fitCapsules: count must be a whole number from 1 to ${MOST_CAPSULES}, got ${count}`);
  const used = usedPoints(vertices, indices);
  const one = fitCapsule(used);
  if (count === 1) return [one];
  let best: Cuts = { planes: [], volume: one.volume, axis: [0, 0, 1] };
  for (const axis of principalAxes(used)) {
    const cuts = bestCuts(vertices, indices, axis, count);
    if (cuts.volume < best.volume) best = cuts;
  }
  const parts = slices(vertices, indices, best.axis, best.planes).filter((points) => points.length > 0);
  if (!parts.every(hasExtent)) return [one];
  const several = parts.map(fitCapsule);
  return total(several) < one.volume ? several : [one];
}

/** Parallel planes, by height along the axis, and the volume of capsules between them as far as it is known. */
interface Cuts {
  readonly axis: Vector;
  readonly planes: readonly number[];
  readonly volume: number;
}

const total = (capsules: readonly FittedCapsule[]) => capsules.reduce((sum, { volume }) => sum + volume, 0);

/** The cuts of least volume across an axis: for each number of slices by rough capsules, among those by fitted ones. */
function bestCuts(vertices: Float64Array, indices: Uint32Array, axis: Vector, count: number): Cuts {
  let low = Number.POSITIVE_INFINITY,
    high = Number.NEGATIVE_INFINITY;
  for (const i of indices) {
    const h = heightOf(vertices, i, axis);
    if (h < low) low = h;
    if (h > high) high = h;
  }
  const bins = Math.max(LEAST_BINS, 2 * count);
  const planes = Array.from({ length: bins - 1 }, (_, k) => low + ((high - low) * (k + 1)) / bins);
  const held = slices(vertices, indices, axis, planes).map((points) => extremePoints(points, BIN_DIRECTIONS));
  /** Least volume of capsules around bins 0 to k - 1 by number of capsules, and where the last one begins. */
  const least = Array.from({ length: count + 1 }, () => new Float64Array(bins + 1).fill(Number.POSITIVE_INFINITY));
  const begins = Array.from({ length: count + 1 }, () => new Int32Array(bins + 1));
  least[0]![0] = 0;
  for (let to = 1; to <= bins; to++)
    for (let from = 0; from < to; from++) {
      const points = joined(held.slice(from, to));
      const volume = hasExtent(points) ? roughAxis(points, axis).volume : 0;
      for (let n = 1; n <= count; n++)
        if (least[n - 1]![from]! + volume < least[n]![to]!) {
          least[n]![to] = least[n - 1]![from]! + volume;
          begins[n]![to] = from;
        }
    }
  let best: Cuts = { axis, planes: [], volume: Number.POSITIVE_INFINITY };
  for (let n = 2; n <= count; n++) {
    const cuts: number[] = [];
    let volume = 0;
    for (let to = bins, left = n; left > 0; left--) {
      const from = begins[left]![to]!;
      const points = joined(held.slice(from, to));
      if (hasExtent(points)) volume += fitCapsule(points).volume;
      if (left > 1) cuts.unshift(planes[from - 1]!);
      to = from;
    }
    if (volume < best.volume) best = { axis, planes: cuts, volume };
  }
  return best;
}

/** Points that span the triangles' pieces between planes: corners in each slice, and where edges cross its planes. */
function slices(
  vertices: Float64Array,
  indices: Uint32Array,
  axis: Vector,
  planes: readonly number[],
): readonly Float64Array[] {
  const out = Array.from({ length: planes.length + 1 }, () => new Points());
  const n = vertices.length / 3;
  const heights = new Float64Array(n);
  const slice = new Uint8Array(n);
  for (let i = 0; i < n; i++) {
    heights[i] = heightOf(vertices, i, axis);
    while (slice[i]! < planes.length && heights[i]! > planes[slice[i]!]!) slice[i]!++;
  }
  const taken = new Uint8Array(n);
  for (let use = 0; use < indices.length; use++) {
    const i = indices[use]!,
      j = indices[use % 3 === 2 ? use - 2 : use + 1]!;
    if (taken[i] === 0) {
      taken[i] = 1;
      out[slice[i]!]!.add(vertices[3 * i]!, vertices[3 * i + 1]!, vertices[3 * i + 2]!);
    }
    for (let p = Math.min(slice[i]!, slice[j]!); p < Math.max(slice[i]!, slice[j]!); p++) {
      const share = (planes[p]! - heights[i]!) / (heights[j]! - heights[i]!);
      const x = vertices[3 * i]! + share * (vertices[3 * j]! - vertices[3 * i]!),
        y = vertices[3 * i + 1]! + share * (vertices[3 * j + 1]! - vertices[3 * i + 1]!),
        z = vertices[3 * i + 2]! + share * (vertices[3 * j + 2]! - vertices[3 * i + 2]!);
      out[p]!.add(x, y, z);
      out[p + 1]!.add(x, y, z);
    }
  }
  return out.map((points) => points.list());
}

/** A growing list of points. */
class Points {
  #values = new Float64Array(192);
  #length = 0;

  add(x: number, y: number, z: number): void {
    if (this.#length === this.#values.length) {
      const more = new Float64Array(2 * this.#length);
      more.set(this.#values);
      this.#values = more;
    }
    this.#values[this.#length++] = x;
    this.#values[this.#length++] = y;
    this.#values[this.#length++] = z;
  }

  list(): Float64Array {
    return this.#values.slice(0, this.#length);
  }
}

const heightOf = (v: Float64Array, i: number, axis: Vector) =>
  axis[0] * v[3 * i]! + axis[1] * v[3 * i + 1]! + axis[2] * v[3 * i + 2]!;

/** Vertices that a triangle uses, each once. */
export function usedPoints(vertices: Float64Array, indices: Uint32Array): Float64Array {
  return slices(vertices, indices, [0, 0, 1], [])[0]!;
}

function joined(parts: readonly Float64Array[]): Float64Array {
  const out = new Float64Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

const hasExtent = (points: Float64Array) => points.some((value, i) => value !== points[i % 3]!);
