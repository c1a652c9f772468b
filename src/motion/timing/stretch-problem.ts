/** The re-timing program of a sampled stretch. */
import type { PathUse } from "./path-use.ts";
import { type FixedEnd, type RetimeProblem, RowList } from "./retime-problem.ts";
import type { RowScreen } from "./row-screen.ts";
import { type GridNode, nodeAt, type StretchGrid } from "./stretch-grid.ts";

/** Rows of the program written last. */
const linear = new RowList(4);
const jerk = new RowList(3);
const normAcceleration = new RowList(6);
const normJerk = new RowList(9);

/**
 * Writes the program for x measured in units of `unit` (1/s²): rows are scaled so that x is about 1.
 * @param screen limits to take in, speed limits apart; undefined: all
 * @param rough jerk is limited in the middle of each interval only, and limits are left out that others dominate
 * @returns the program; the next call writes over its rows
 */
export function stretchProblem(
  use: PathUse,
  grid: StretchGrid,
  unit: number,
  first: FixedEnd | undefined,
  last: FixedEnd | undefined,
  screen?: RowScreen,
  rough = false,
): RetimeProblem {
  const { nodes } = grid;
  const n = nodes.length - 1;
  const { limits } = use;
  const channels = use.path.channels;
  const torque = limits.torque;
  const rows = torque?.rows ?? 0;
  const points = jerkPoints(use, grid, first === undefined, last === undefined, screen?.middles, rough);
  linear.reset(n + 1);
  normAcceleration.reset(n + 1);
  jerk.reset(points.length);
  normJerk.reset(points.length);
  const width = channels + rows + limits.groups.length;
  const atKnot = screen?.knots;
  const onInterval = screen?.intervals;
  const cap = new Float64Array(n + 1);
  const h = new Float64Array(n);
  for (let k = 0; k < n; k++) h[k] = nodes[k + 1]!.u - nodes[k]!.u;
  const root = Math.sqrt(unit);
  const cube = unit * root;
  for (let k = 0; k <= n; k++) {
    const node = nodes[k]!;
    let most = Number.POSITIVE_INFINITY;
    // A given end state is not to be had otherwise; it is checked where it comes from.
    const given = (k === 0 && first) || (k === n && last);
    const passes = given ? 0 : node.left === node.right ? 1 : 2;
    for (let pass = 0; pass < passes; pass++) {
      const { r, torque: t, limits: stretch } = pass === 0 ? node.right : node.left;
      // The side outside the stretch does not count at its ends.
      if (passes === 2 && ((k === 0 && pass === 1) || (k === n && pass === 0))) continue;
      for (let i = 0; i < channels; i++) {
        const rate = Math.abs(r[3 * i]!);
        if (rate > 0) most = Math.min(most, (stretch.velocity[i]! / rate) ** 2);
        const limit = limits.acceleration[i]!;
        if (
          limit < Number.POSITIVE_INFINITY &&
          (rate > 0 || r[3 * i + 1] !== 0) &&
          (atKnot === undefined || atKnot[k * width + i] === 1)
        ) {
          const o = linear.add();
          linear.data[o] = (unit * r[3 * i + 1]!) / limit;
          linear.data[o + 1] = (unit * r[3 * i]!) / (2 * limit);
          linear.data[o + 2] = 1;
          linear.data[o + 3] = 1;
        }
      }
      if (rough) linear.dropDominated(linear.start[k]!, 2);
      for (let i = 0; i < rows; i++) {
        const limit = torque!.limit[i]!;
        const a = t[3 * i]!;
        const alpha = a * node.g2 + t[3 * i + 1]! * node.g1 * node.g1;
        const beta = (a * node.g1) / 2;
        if ((alpha === 0 && beta === 0) || pass === 1) continue;
        if (atKnot !== undefined && atKnot[k * width + channels + i] === 0) continue;
        const still = t[3 * i + 2]! / limit;
        const o = linear.add();
        linear.data[o] = (unit * alpha) / limit;
        linear.data[o + 1] = (unit * beta) / limit;
        linear.data[o + 2] = 1 - still;
        linear.data[o + 3] = 1 + still;
      }
      for (let q = 0; q < limits.groups.length; q++) {
        const { first: from, size } = limits.groups[q]!;
        let rate = 0;
        let any = 0;
        for (let d = 0; d < size; d++) {
          rate += r[3 * (from + d)]! ** 2;
          any += Math.abs(r[3 * (from + d)]!) + Math.abs(r[3 * (from + d) + 1]!);
        }
        if (rate > 0) most = Math.min(most, stretch.groups[3 * q]! ** 2 / rate);
        const limit = stretch.groups[3 * q + 1]!;
        const wanted = atKnot === undefined || atKnot[k * width + channels + rows + q] === 1;
        if (limit < Number.POSITIVE_INFINITY && any > 0 && wanted) {
          const o = normAcceleration.add();
          for (let d = 0; d < 3; d++) {
            normAcceleration.data[o + d] = d < size ? (unit * r[3 * (from + d) + 1]!) / limit : 0;
            normAcceleration.data[o + 3 + d] = d < size ? (unit * r[3 * (from + d)]!) / (2 * limit) : 0;
          }
        }
      }
    }
    linear.close(k);
    normAcceleration.close(k);
    cap[k] = most / unit;
  }
  const places = new Int32Array(points.length);
  const offsets = new Float64Array(points.length);
  for (let e = 0; e < points.length; e++) {
    const { interval: k, at, side } = points[e]!;
    places[e] = k;
    offsets[e] = at.u - nodes[k]!.u;
    const { r, limits: stretch } = side < 0 ? at.left : at.right;
    for (let i = 0; i < channels; i++) {
      const limit = limits.jerk[i]!;
      if (limit === Number.POSITIVE_INFINITY || (onInterval !== undefined && onInterval[k * width + i] === 0)) continue;
      if (r[3 * i] === 0 && r[3 * i + 1] === 0 && r[3 * i + 2] === 0) continue;
      const o = jerk.add();
      jerk.data[o] = (cube * r[3 * i + 2]!) / limit;
      jerk.data[o + 1] = (cube * 1.5 * r[3 * i + 1]!) / limit;
      jerk.data[o + 2] = (cube * r[3 * i]!) / (2 * limit);
    }
    if (rough) jerk.dropDominated(jerk.start[e]!, 3);
    jerk.close(e);
    for (let q = 0; q < limits.groups.length; q++) {
      const { first: from, size } = limits.groups[q]!;
      const limit = stretch.groups[3 * q + 2]!;
      if (limit === Number.POSITIVE_INFINITY) continue;
      if (onInterval !== undefined && onInterval[k * width + channels + rows + q] === 0) continue;
      let any = 0;
      for (let d = 0; d < 3 * size; d++) any += Math.abs(r[3 * from + d]!);
      if (any === 0) continue;
      const o = normJerk.add();
      for (let d = 0; d < 3; d++) {
        normJerk.data[o + d] = d < size ? (cube * r[3 * (from + d) + 2]!) / limit : 0;
        normJerk.data[o + 3 + d] = d < size ? (cube * 1.5 * r[3 * (from + d) + 1]!) / limit : 0;
        normJerk.data[o + 6 + d] = d < size ? (cube * r[3 * (from + d)]!) / (2 * limit) : 0;
      }
    }
    normJerk.close(e);
  }
  const knotRoom = new Float64Array(n + 1).fill(1);
  const jerkRoom = new Float64Array(points.length).fill(1);
  return { n, h, cap, linear, places, offsets, jerk, normAcceleration, normJerk, knotRoom, jerkRoom, first, last };
}

interface JerkPoint {
  readonly interval: number;
  readonly at: GridNode;
  readonly side: 1 | -1;
}

/**
 * Both ends of each interval; in the first and last interval of a stretch that starts or ends at rest three more between
 * them, because r' and r'' vanish at rest and leave x' and x'' free there. The middle too where the jerk is `bent`.
 */
function jerkPoints(
  use: PathUse,
  grid: StretchGrid,
  restStart: boolean,
  restEnd: boolean,
  bent: Uint8Array | undefined,
  rough: boolean,
): JerkPoint[] {
  const { nodes, middles } = grid;
  const n = middles.length;
  const points: JerkPoint[] = [];
  for (let k = 0; k < n; k++) {
    const from = nodes[k]!;
    const to = nodes[k + 1]!;
    const atRest = (restStart && k === 0) || (restEnd && k === n - 1);
    if (rough && !atRest) {
      points.push({ interval: k, at: middles[k]!, side: 1 });
      continue;
    }
    points.push({ interval: k, at: from, side: 1 });
    if (atRest) {
      const middle = middles[k]!;
      points.push({ interval: k, at: nodeAt(use, grid.reference, (from.u + middle.u) / 2), side: 1 });
      points.push({ interval: k, at: middle, side: 1 });
      points.push({ interval: k, at: nodeAt(use, grid.reference, (middle.u + to.u) / 2), side: 1 });
    } else if (bent?.[k] === 1) points.push({ interval: k, at: middles[k]!, side: 1 });
    points.push({ interval: k, at: to, side: -1 });
  }
  return points;
}

/** Largest x (1/s²) that, kept over the whole stretch, breaks no limit. */
export function uniformLimit(use: PathUse, grid: StretchGrid): number {
  const { limits } = use;
  const channels = use.path.channels;
  const rows = limits.torque?.rows ?? 0;
  let x = Number.POSITIVE_INFINITY;
  for (let e = 0; e < grid.nodes.length + grid.middles.length; e++) {
    const node = e < grid.nodes.length ? grid.nodes[e]! : grid.middles[e - grid.nodes.length]!;
    const { r, torque, limits: stretch } = node.right;
    for (let i = 0; i < channels; i++) {
      x = Math.min(
        x,
        (stretch.velocity[i]! / Math.abs(r[3 * i]!)) ** 2,
        limits.acceleration[i]! / Math.abs(r[3 * i + 1]!),
        (limits.jerk[i]! / Math.abs(r[3 * i + 2]!)) ** (2 / 3),
      );
    }
    for (let i = 0; i < rows; i++) {
      const moving = torque[3 * i]! * node.g2 + torque[3 * i + 1]! * node.g1 * node.g1;
      const still = torque[3 * i + 2]!;
      if (moving !== 0) x = Math.min(x, (limits.torque!.limit[i]! - Math.sign(moving) * still) / Math.abs(moving));
    }
    for (let q = 0; q < limits.groups.length; q++) {
      const { first, size } = limits.groups[q]!;
      let v = 0;
      let a = 0;
      let j = 0;
      for (let d = first; d < first + size; d++) {
        v += r[3 * d]! ** 2;
        a += r[3 * d + 1]! ** 2;
        j += r[3 * d + 2]! ** 2;
      }
      x = Math.min(
        x,
        stretch.groups[3 * q]! ** 2 / v,
        stretch.groups[3 * q + 1]! / Math.sqrt(a),
        (stretch.groups[3 * q + 2]! / Math.sqrt(j)) ** (2 / 3),
      );
    }
  }
  return x;
}
