/**
 * A capsule of small volume around points. For a direction of its axis the line runs through the middle of the smallest circle
 * around the points seen along it; for a radius at least that circle's, each end sphere is moved in until it meets a point; the
 * radius is chosen by golden-section search. The direction is sought from several starts by steps that halve. Points that the
 * search did not look at are added until none stands out, and at last the radius is that of the farthest point of all.
 */

import { ContractError } from "../../math/contract-error.ts";
import { identityPose, type Pose } from "../../math/pose.ts";
import { cross, unit } from "../../math/vectors.ts";
import { type Circle, smallestCircle } from "./circle.ts";
import { extremePoints, spreadDirections } from "./directions.ts";
import { principalAxes } from "./principal-axes.ts";

export interface FittedCapsule {
  /** m, > 0 */
  readonly radius: number;
  /** Between the centres of the end spheres, m, at least 0. */
  readonly length: number;
  /** Frame of the points from the frame of the capsule, whose axis is z through its middle. */
  readonly pointsFromCapsule: Pose;
  /** m³ */
  readonly volume: number;
}

/** Direction of an axis, a point of it, ends along it from that point, radius. */
export interface Axis {
  readonly direction: Vector;
  readonly through: Vector;
  readonly from: number;
  readonly to: number;
  readonly radius: number;
  readonly volume: number;
}
type Vector = readonly [number, number, number];

const LOOKED_AT = spreadDirections(250);
/** Rounds of adding points that stand out. */
const ROUNDS = 12;
/** Added to the radius for rounding, as a share of the size of the set. */
const ROUNDING = 1e-13;
/** Golden-section steps for the radius: 0.618¹² is 0.3 % of the range. */
const RADIUS_STEPS = 12;

/**
 * Capsule that holds every point; not proved to be the smallest one.
 * @param points x, y, z of each, m, finite, at least two different ones
 * @throws ContractError if the points are fewer or all the same
 */
export function fitCapsule(points: Float64Array): FittedCapsule {
  let looked: Float64Array = extremePoints(points, LOOKED_AT);
  if (points.length < 6 || !(sizeOf(looked) > 0)) throw new ContractError("fitCapsule: needs two different points");
  let axis = bestAxis(looked, startsFor(looked));
  for (let round = 0; round < ROUNDS && looked !== points; round++) {
    const { at, distance } = farthest(points, axis);
    if (distance <= axis.radius * (1 + 1e-6)) break;
    const more = new Float64Array(looked.length + 3);
    more.set(looked);
    more.set(points.subarray(at, at + 3), looked.length);
    looked = more;
    axis = refined(looked, axis);
  }
  return certified(points, axis);
}

/** The axis of least volume that simple starts lead to, without refinement: for comparing many sets. */
export function roughAxis(points: Float64Array, along: Vector): Axis {
  let best = axisAlong(points, along);
  for (const direction of principalAxes(points)) {
    const axis = axisAlong(points, direction);
    if (axis.volume < best.volume) best = axis;
  }
  return best;
}

function startsFor(points: Float64Array): Vector[] {
  const starts = [...principalAxes(points)];
  const spread = spreadDirections(24);
  for (let i = 0; i < 36; i += 3) starts.push([spread[i]!, spread[i + 1]!, spread[i + 2]!]);
  return starts;
}

/** The three best starts, refined. */
function bestAxis(points: Float64Array, starts: readonly Vector[]): Axis {
  const tried = starts.map((direction) => axisAlong(points, direction)).sort((a, b) => a.volume - b.volume);
  return tried
    .slice(0, 3)
    .map((axis) => refined(points, axis))
    .reduce((best, axis) => (axis.volume < best.volume ? axis : best));
}

/** Turns the direction by steps that halve, as long as the volume falls. */
function refined(points: Float64Array, start: Axis): Axis {
  let best = axisAlong(points, start.direction);
  for (let step = 0.25; step > 1e-5; step /= 2)
    for (let moved = true; moved; ) {
      moved = false;
      const [u, v] = across(best.direction);
      for (const [side, sign] of [
        [u, 1],
        [u, -1],
        [v, 1],
        [v, -1],
      ] as const) {
        const direction = unit([0, 1, 2].map((k) => best.direction[k]! + sign * step * side[k]!) as unknown as Vector);
        const axis = axisAlong(points, direction);
        if (axis.volume < best.volume * (1 - 1e-9)) {
          best = axis;
          moved = true;
          break;
        }
      }
    }
  return best;
}

let xs = new Float64Array(0),
  ys = new Float64Array(0),
  zs = new Float64Array(0),
  squares = new Float64Array(0);
const circle: Circle = { x: 0, y: 0, radius: 0 };

/** Least capsule whose axis has the direction and runs through the middle of the smallest circle around the points. */
function axisAlong(points: Float64Array, direction: Vector): Axis {
  const n = points.length / 3;
  if (xs.length < n) [xs, ys, zs, squares] = [0, 0, 0, 0].map(() => new Float64Array(2 * n)) as typeof buffers;
  const [u, v] = across(direction);
  for (let i = 0; i < n; i++) {
    const x = points[3 * i]!,
      y = points[3 * i + 1]!,
      z = points[3 * i + 2]!;
    xs[i] = u[0] * x + u[1] * y + u[2] * z;
    ys[i] = v[0] * x + v[1] * y + v[2] * z;
    zs[i] = direction[0] * x + direction[1] * y + direction[2] * z;
  }
  smallestCircle(xs, ys, n, circle);
  let low = Number.POSITIVE_INFINITY,
    high = Number.NEGATIVE_INFINITY,
    least = 0;
  for (let i = 0; i < n; i++) {
    squares[i] = (xs[i]! - circle.x) ** 2 + (ys[i]! - circle.y) ** 2;
    if (squares[i]! > least) least = squares[i]!;
    if (zs[i]! < low) low = zs[i]!;
    if (zs[i]! > high) high = zs[i]!;
  }
  least = Math.sqrt(least);
  // A larger radius shortens the axis; one of the half length needs none.
  let a = least,
    b = Math.max(least, Math.min(2 * least, least + (high - low) / 2)) || (high - low) / 2;
  const share = (Math.sqrt(5) - 1) / 2;
  let c = b - share * (b - a),
    d = a + share * (b - a);
  let atC = endsFor(n, c).volume,
    atD = endsFor(n, d).volume;
  for (let i = 0; i < RADIUS_STEPS; i++)
    if (atC < atD) {
      b = d;
      d = c;
      atD = atC;
      c = b - share * (b - a);
      atC = endsFor(n, c).volume;
    } else {
      a = c;
      c = d;
      atC = atD;
      d = a + share * (b - a);
      atD = endsFor(n, d).volume;
    }
  const tight = endsFor(n, least),
    chosen = endsFor(n, (a + b) / 2);
  const best = tight.volume <= chosen.volume ? tight : chosen;
  const through = [0, 1, 2].map((k) => u[k]! * circle.x + v[k]! * circle.y) as unknown as Vector;
  return { direction, through, ...best };
}
const buffers: [
  Float64Array<ArrayBuffer>,
  Float64Array<ArrayBuffer>,
  Float64Array<ArrayBuffer>,
  Float64Array<ArrayBuffer>,
] = [xs, ys, zs, squares];

/** Ends of the axis, moved in until the end spheres meet points. */
function endsFor(n: number, radius: number): Pick<Axis, "from" | "to" | "radius" | "volume"> {
  let from = Number.POSITIVE_INFINITY,
    to = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < n; i++) {
    const half = Math.sqrt(Math.max(0, radius * radius - squares[i]!));
    if (zs[i]! + half < from) from = zs[i]! + half;
    if (zs[i]! - half > to) to = zs[i]! - half;
  }
  // One sphere holds all: any centre between does.
  if (from > to) from = to = (from + to) / 2;
  return { from, to, radius, volume: volumeOf(radius, to - from) };
}

const volumeOf = (radius: number, length: number) => Math.PI * radius * radius * (length + (4 / 3) * radius);

/** Offset of the point farthest from the axis' segment, and how far it is. */
function farthest(points: Float64Array, axis: Axis): { readonly at: number; readonly distance: number } {
  const [dx, dy, dz] = axis.direction,
    [px, py, pz] = axis.through;
  let at = 0,
    square = -1;
  for (let i = 0; i < points.length; i += 3) {
    const x = points[i]! - px,
      y = points[i + 1]! - py,
      z = points[i + 2]! - pz;
    const along = Math.min(Math.max(dx * x + dy * y + dz * z, axis.from), axis.to);
    const here = (x - along * dx) ** 2 + (y - along * dy) ** 2 + (z - along * dz) ** 2;
    if (here > square) {
      square = here;
      at = i;
    }
  }
  return { at, distance: Math.sqrt(square) };
}

function certified(points: Float64Array, axis: Axis): FittedCapsule {
  const { direction, through, from, to } = axis;
  const length = to - from;
  const size = sizeOf(points) + Math.hypot(...through) + Math.abs(from) + Math.abs(to);
  const radius = farthest(points, axis).distance + ROUNDING * size;
  const [u, v] = across(direction);
  const pose = identityPose();
  for (let k = 0; k < 3; k++) {
    pose[4 * k] = u[k]!;
    pose[4 * k + 1] = v[k]!;
    pose[4 * k + 2] = direction[k]!;
    pose[4 * k + 3] = through[k]! + (direction[k]! * (from + to)) / 2;
  }
  return { radius, length, pointsFromCapsule: pose, volume: volumeOf(radius, length) };
}

/** Longest side of the box around the points. */
function sizeOf(points: Float64Array): number {
  let size = 0;
  for (let k = 0; k < 3; k++) {
    let low = Number.POSITIVE_INFINITY,
      high = Number.NEGATIVE_INFINITY;
    for (let i = k; i < points.length; i += 3) {
      if (points[i]! < low) low = points[i]!;
      if (points[i]! > high) high = points[i]!;
    }
    size = Math.max(size, high - low);
  }
  return size;
}

/** Two directions that make a right-handed frame with d: u × v = d. */
function across(d: Vector): readonly [Vector, Vector] {
  const least =
    Math.abs(d[0]) <= Math.abs(d[1])
      ? Math.abs(d[0]) <= Math.abs(d[2])
        ? 0
        : 2
      : Math.abs(d[1]) <= Math.abs(d[2])
        ? 1
        : 2;
  const axis: Vector = [Number(least === 0), Number(least === 1), Number(least === 2)];
  const u = unit(cross(axis, d));
  return [u, cross(d, u)];
}
