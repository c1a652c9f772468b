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
const BIN_DIRECTIONS = spreadDirections(60);

/**
 * @param vertices x, y, z, m @param indices three per triangle, at least one triangle
 * @param count most capsules, 1 to 12; fewer come back where another one would not save volume
 * @throws ContractError if the count is not one of these or the mesh has no extent
 */
export function fitCapsules(vertices: Float64Array, indices: Uint32Array, count: number): readonly FittedCapsule[] {
  if (!(Number.isInteger(count) && count >= 1 && count <= MOST_CAPSULES))
    throw new ContractError(`fitCapsules: count must be a whole number from 1 to ${MOST_CAPSULES}, got ${count}`);
  const used = usedPoints(vertices, indices);
  const one = fitCapsule(used);
  if (count === 1) return [one];
  let best = [one];
  for (const axis of principalAxes(used)) {
    const cuts = bestCuts(vertices, indices, axis, count);
    const slices = cuts.slice(1).map((high, i) => pointsBetween(vertices, indices, axis, cuts[i]!, high));
    const capsules = slices.filter(hasExtent).map(fitCapsule);
    if (total(capsules) < total(best)) best = capsules;
  }
  return best;
}

const total = (capsules: readonly FittedCapsule[]) => capsules.reduce((sum, { volume }) => sum + volume, 0);

/** Heights along the axis at which the cheapest slices begin and end, the two outer ones at infinity. */
function bestCuts(vertices: Float64Array, indices: Uint32Array, axis: Vector, count: number): number[] {
  let low = Number.POSITIVE_INFINITY,
    high = Number.NEGATIVE_INFINITY;
  for (const i of indices) {
    const h = heightOf(vertices, i, axis);
    if (h < low) low = h;
    if (h > high) high = h;
  }
  const bins = Math.max(LEAST_BINS, 2 * count);
  const plane = (k: number) =>
    k === 0 ? Number.NEGATIVE_INFINITY : k === bins ? Number.POSITIVE_INFINITY : low + ((high - low) * k) / bins;
  const held = Array.from({ length: bins }, (_, k) =>
    extremePoints(pointsBetween(vertices, indices, axis, plane(k), plane(k + 1)), BIN_DIRECTIONS),
  );
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
  let n = 1;
  for (let more = 2; more <= count; more++) if (least[more]![bins]! < least[n]![bins]!) n = more;
  const cuts = [plane(bins)];
  for (let to = bins; n > 0; n--) {
    to = begins[n]![to]!;
    cuts.unshift(plane(to));
  }
  return cuts;
}

/** Corners of triangles that lie between two planes, and the points where edges cross them. */
function pointsBetween(
  vertices: Float64Array,
  indices: Uint32Array,
  axis: Vector,
  low: number,
  high: number,
): Float64Array {
  let out = new Float64Array(3072),
    length = 0;
  const add = (x: number, y: number, z: number) => {
    if (length === out.length) {
      const more = new Float64Array(2 * length);
      more.set(out);
      out = more;
    }
    out[length++] = x;
    out[length++] = y;
    out[length++] = z;
  };
  const taken = new Uint8Array(vertices.length / 3);
  for (let t = 0; t < indices.length; t += 3)
    for (let k = 0; k < 3; k++) {
      const i = indices[t + k]!,
        j = indices[t + ((k + 1) % 3)]!;
      const hi = heightOf(vertices, i, axis),
        hj = heightOf(vertices, j, axis);
      if (hi >= low && hi <= high && taken[i] === 0) {
        taken[i] = 1;
        add(vertices[3 * i]!, vertices[3 * i + 1]!, vertices[3 * i + 2]!);
      }
      for (const plane of [low, high]) {
        if (!((hi < plane && hj > plane) || (hi > plane && hj < plane))) continue;
        const share = (plane - hi) / (hj - hi);
        const at = (c: number) => vertices[3 * i + c]! + share * (vertices[3 * j + c]! - vertices[3 * i + c]!);
        add(at(0), at(1), at(2));
      }
    }
  return out.slice(0, length);
}

const heightOf = (v: Float64Array, i: number, axis: Vector) =>
  axis[0] * v[3 * i]! + axis[1] * v[3 * i + 1]! + axis[2] * v[3 * i + 2]!;

/** Vertices that a triangle uses, each once. */
export function usedPoints(vertices: Float64Array, indices: Uint32Array): Float64Array {
  return pointsBetween(vertices, indices, [0, 0, 1], Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
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
