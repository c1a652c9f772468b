/** A stretch of path sampled over the parameter u of its reference law: the data of the re-timing program. */
import { LIMIT, limitId, type PathUse, type StretchLimits } from "./path-use.ts";
import { invertReference, type ReferenceLaw, referenceAt } from "./reference-law.ts";
import { type FixedEnd, type RetimeProblem, RowList } from "./retime-problem.ts";

/** Path data at one point, seen from one side. */
export interface PathSample {
  /** r', r'', r''' with respect to u, channel after channel. */
  readonly r: Float64Array;
  /** Torque coefficients a, b, c per row. */
  readonly torque: Float64Array;
  readonly limits: StretchLimits;
}

export interface GridNode {
  readonly u: number;
  readonly s: number;
  /** Derivatives g', g'' of the reference law. */
  readonly g1: number;
  readonly g2: number;
  readonly left: PathSample;
  readonly right: PathSample;
}

export interface StretchGrid {
  readonly reference: ReferenceLaw;
  /** Interval ends, ascending. */
  readonly nodes: readonly GridNode[];
  /** Middle of each interval. */
  readonly middles: readonly GridNode[];
}

const g = new Float64Array(4);

function sampleAt(use: PathUse, s: number, side: 1 | -1): PathSample {
  use.load(s, side);
  const n = use.path.channels;
  const { c1, c2, c3 } = use;
  const g1 = g[1]!;
  const g2 = g[2]!;
  const g3 = g[3]!;
  const r = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) {
    const d1 = c1[i]!;
    const d2 = c2[i]!;
    r[3 * i] = d1 * g1;
    r[3 * i + 1] = d1 * g2 + d2 * g1 * g1;
    r[3 * i + 2] = d1 * g3 + 3 * d2 * g1 * g2 + c3[i]! * g1 * g1 * g1;
  }
  const rows = use.ta.length;
  const torque = new Float64Array(3 * rows);
  for (let i = 0; i < rows; i++) {
    torque[3 * i] = use.ta[i]!;
    torque[3 * i + 1] = use.tb[i]!;
    torque[3 * i + 2] = use.tc[i]!;
  }
  return { r, torque, limits: use.stretch };
}

function nodeAt(use: PathUse, reference: ReferenceLaw, u: number, at?: number): GridNode {
  referenceAt(reference, u, 1, g);
  const s = at ?? g[0]!;
  const g1 = g[1]!;
  const g2 = g[2]!;
  const g3 = g[3]!;
  const right = sampleAt(use, s, 1);
  referenceAt(reference, u, -1, g);
  const jumps = g[3] !== g3 || use.onBreak(s) || use.limitsAt(s, -1) !== right.limits;
  return { u, s, g1, g2, left: jumps ? sampleAt(use, s, -1) : right, right };
}

/**
 * Samples the stretch of `reference`: `intervals` of equal width in u, the borders (ascending s) among the knots, at least
 * `least` intervals between two borders; intervals whose path data cannot be interpolated well are halved.
 */
export function stretchGrid(
  use: PathUse,
  reference: ReferenceLaw,
  borders: readonly number[],
  intervals: number,
  least: number,
): StretchGrid {
  const marks: { u: number; s: number | undefined }[] = [{ u: 0, s: undefined }];
  const inner = borders.map((s) => ({ u: invertReference(reference, s), s: s as number | undefined }));
  for (const u of reference.starts) {
    if (u > 0 && u < 1 && inner.every((mark) => Math.abs(mark.u - u) > 1e-6)) inner.push({ u, s: undefined });
  }
  inner.sort((a, b) => a.u - b.u);
  for (const mark of inner) {
    if (mark.u > marks[marks.length - 1]!.u + 1e-6 && mark.u < 1 - 1e-6) marks.push(mark);
  }
  marks.push({ u: 1, s: undefined });
  const nodes: GridNode[] = [nodeAt(use, reference, 0)];
  const middles: GridNode[] = [];
  const fill = (from: GridNode, middle: GridNode, to: GridNode, depth: number): void => {
    if (depth > 0 && !smooth(use, from, middle, to)) {
      const a = nodeAt(use, reference, (from.u + middle.u) / 2);
      const b = nodeAt(use, reference, (middle.u + to.u) / 2);
      fill(from, a, middle, depth - 1);
      fill(middle, b, to, depth - 1);
      return;
    }
    middles.push(middle);
    nodes.push(to);
  };
  for (let m = 0; m + 1 < marks.length; m++) {
    const from = marks[m]!.u;
    const to = marks[m + 1]!.u;
    const parts = Math.max(least, Math.ceil(intervals * (to - from)));
    for (let i = 1; i <= parts; i++) {
      const before = nodes[nodes.length - 1]!;
      const u = i === parts ? to : from + ((to - from) * i) / parts;
      const next = i === parts ? nodeAt(use, reference, to, marks[m + 1]!.s) : nodeAt(use, reference, u);
      fill(before, nodeAt(use, reference, (before.u + u) / 2), next, 6);
    }
  }
  return { reference, nodes, middles };
}

/** Where on the grid holding still takes (nearly) all of a torque limit: place, row and share. */
export function heaviest(use: PathUse, grid: StretchGrid): { s: number; row: number; share: number } {
  const torque = use.limits.torque;
  const worst = { s: 0, row: 0, share: 0 };
  for (const nodes of torque ? [grid.nodes, grid.middles] : []) {
    for (const node of nodes) {
      for (let i = 0; i < torque!.rows; i++) {
        const share = Math.abs(node.right.torque[3 * i + 2]!) / torque!.limit[i]!;
        if (share > worst.share) Object.assign(worst, { s: node.s, row: i, share });
      }
    }
  }
  return worst;
}

/** The grid with interval k halved halvings[k] times; data that exist are kept. */
export function refineGrid(use: PathUse, grid: StretchGrid, halvings: ArrayLike<number>): StretchGrid {
  const nodes: GridNode[] = [grid.nodes[0]!];
  const middles: GridNode[] = [];
  const fill = (from: GridNode, middle: GridNode, to: GridNode, depth: number): void => {
    if (depth > 0) {
      fill(from, nodeAt(use, grid.reference, (from.u + middle.u) / 2), middle, depth - 1);
      fill(middle, nodeAt(use, grid.reference, (middle.u + to.u) / 2), to, depth - 1);
      return;
    }
    middles.push(middle);
    nodes.push(to);
  };
  for (let k = 0; k < grid.middles.length; k++)
    fill(grid.nodes[k]!, grid.middles[k]!, grid.nodes[k + 1]!, halvings[k]!);
  return { reference: grid.reference, nodes, middles };
}

/**
 * Whether the quintic through both ends predicts r' in the middle well: to 0.2 % of the rate of the channel, or of 5 % of
 * the rate at which the channel would bind; and whether the torque at rest bends little against what it leaves. The data are interpolated with the middle as well, which is far closer.
 */
function smooth(use: PathUse, from: GridNode, middle: GridNode, to: GridNode): boolean {
  const h = to.u - from.u;
  const a = from.right.r;
  const b = to.left.r;
  const m = middle.right.r;
  const channels = use.path.channels;
  const speeds = channelSpeeds(use, middle.right);
  for (let i = 0; i < channels; i++) {
    const o = 3 * i;
    const predicted =
      (a[o]! + b[o]!) / 2 + (5 * h * (a[o + 1]! - b[o + 1]!)) / 32 + (h * h * (a[o + 2]! + b[o + 2]!)) / 64;
    const scale = Math.max(Math.abs(a[o]!), Math.abs(b[o]!), Math.abs(m[o]!), 0.05 * speeds[i]!);
    if (Math.abs(predicted - m[o]!) > 2e-3 * scale) return false;
  }
  const torque = use.limits.torque;
  for (let i = 0; torque && i < torque.rows; i++) {
    const o = 3 * i + 2;
    const before = from.right.torque[o]!;
    const between = middle.right.torque[o]!;
    const after = to.right.torque[o]!;
    const room = torque.limit[i]! - Math.max(Math.abs(before), Math.abs(between), Math.abs(after));
    if (Math.abs(between - (before + after) / 2) > Math.max(0.1 * room, 1e-5 * torque.limit[i]!)) return false;
  }
  return true;
}

/**
 * The rate r' of each channel at which it would bind as hard as the hardest of all: noise far below it is no curve of the
 * path. For a group the same for all of its channels; the group's own rate where it has no speed limit.
 */
function channelSpeeds(use: PathUse, { r, limits }: PathSample): Float64Array {
  const { velocity } = use.limits;
  const speeds = Float64Array.from(velocity, (v, i) => (v < Number.POSITIVE_INFINITY ? v : Math.abs(r[3 * i]!)));
  let share = 0;
  for (let i = 0; i < speeds.length; i++)
    if (velocity[i]! < Number.POSITIVE_INFINITY) share = Math.max(share, Math.abs(r[3 * i]!) / velocity[i]!);
  const rates = use.limits.groups.map(({ first, size }, q) => {
    let sum = 0;
    for (let d = first; d < first + size; d++) sum += r[3 * d]! ** 2;
    const limit = limits.groups[3 * q]!;
    if (limit < Number.POSITIVE_INFINITY) share = Math.max(share, Math.sqrt(sum) / limit);
    return Math.sqrt(sum);
  });
  for (let i = 0; i < speeds.length; i++) if (velocity[i]! < Number.POSITIVE_INFINITY) speeds[i] = share * velocity[i]!;
  use.limits.groups.forEach(({ first, size }, q) => {
    const limit = limits.groups[3 * q]!;
    for (let d = first; d < first + size; d++)
      speeds[d] = limit < Number.POSITIVE_INFINITY ? share * limit : Math.max(rates[q]!, 1e-9);
  });
  return speeds;
}

/**
 * Writes the program for x measured in units of `unit` (1/s²): rows are scaled so that x is about 1.
 * @param only limits to take in, speed limits apart; undefined: all
 * @returns the program, or the place where the torque at rest leaves nothing
 */
export function stretchProblem(
  use: PathUse,
  grid: StretchGrid,
  unit: number,
  first: FixedEnd | undefined,
  last: FixedEnd | undefined,
  only?: ReadonlySet<number>,
): RetimeProblem {
  const leftOut = (id: number): boolean => only !== undefined && !only.has(id);
  const { nodes } = grid;
  const n = nodes.length - 1;
  const { limits } = use;
  const channels = use.path.channels;
  const torque = limits.torque;
  const rows = torque?.rows ?? 0;
  const points = jerkPoints(use, grid, first === undefined, last === undefined);
  const linear = new RowList(n + 1, 4, (n + 1) * (channels + rows));
  const jerk = new RowList(points.length, 3, points.length * channels);
  const normAcceleration = new RowList(n + 1, 6, (n + 1) * limits.groups.length);
  const normJerk = new RowList(points.length, 9, points.length * limits.groups.length);
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
          !leftOut(limitId(LIMIT.acceleration, i))
        ) {
          const o = linear.add(limitId(LIMIT.acceleration, i));
          linear.data[o] = (unit * r[3 * i + 1]!) / limit;
          linear.data[o + 1] = (unit * r[3 * i]!) / (2 * limit);
          linear.data[o + 2] = 1;
          linear.data[o + 3] = 1;
        }
      }
      for (let i = 0; i < rows; i++) {
        const limit = torque!.limit[i]!;
        const a = t[3 * i]!;
        const alpha = a * node.g2 + t[3 * i + 1]! * node.g1 * node.g1;
        const beta = (a * node.g1) / 2;
        if ((alpha === 0 && beta === 0) || pass === 1 || leftOut(limitId(LIMIT.torque, i))) continue;
        const still = t[3 * i + 2]! / limit;
        const o = linear.add(limitId(LIMIT.torque, i));
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
        if (limit < Number.POSITIVE_INFINITY && any > 0 && !leftOut(limitId(LIMIT.groupAcceleration, q))) {
          const o = normAcceleration.add(limitId(LIMIT.groupAcceleration, q));
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
      if (limit === Number.POSITIVE_INFINITY || leftOut(limitId(LIMIT.jerk, i))) continue;
      if (r[3 * i] === 0 && r[3 * i + 1] === 0 && r[3 * i + 2] === 0) continue;
      const o = jerk.add(limitId(LIMIT.jerk, i));
      jerk.data[o] = (cube * r[3 * i + 2]!) / limit;
      jerk.data[o + 1] = (cube * 1.5 * r[3 * i + 1]!) / limit;
      jerk.data[o + 2] = (cube * r[3 * i]!) / (2 * limit);
    }
    jerk.close(e);
    for (let q = 0; q < limits.groups.length; q++) {
      const { first: from, size } = limits.groups[q]!;
      const limit = stretch.groups[3 * q + 2]!;
      if (limit === Number.POSITIVE_INFINITY || leftOut(limitId(LIMIT.groupJerk, q))) continue;
      let any = 0;
      for (let d = 0; d < 3 * size; d++) any += Math.abs(r[3 * from + d]!);
      if (any === 0) continue;
      const o = normJerk.add(limitId(LIMIT.groupJerk, q));
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
 * them, because r' and r'' vanish at rest and leave x' and x'' free there.
 */
function jerkPoints(use: PathUse, grid: StretchGrid, restStart: boolean, restEnd: boolean): JerkPoint[] {
  const { nodes, middles } = grid;
  const n = middles.length;
  const points: JerkPoint[] = [];
  for (let k = 0; k < n; k++) {
    const from = nodes[k]!;
    const to = nodes[k + 1]!;
    points.push({ interval: k, at: from, side: 1 });
    if ((restStart && k === 0) || (restEnd && k === n - 1)) {
      const middle = middles[k]!;
      points.push({ interval: k, at: nodeAt(use, grid.reference, (from.u + middle.u) / 2), side: 1 });
      points.push({ interval: k, at: middle, side: 1 });
      points.push({ interval: k, at: nodeAt(use, grid.reference, (middle.u + to.u) / 2), side: 1 });
    }
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
  const all = [...grid.nodes, ...grid.middles];
  for (const node of all) {
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
