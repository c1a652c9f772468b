/** A stretch of path sampled over the parameter u of its reference law. */
import type { PathUse, StretchLimits } from "./path-use.ts";
import { invertReference, type ReferenceLaw, referenceAt } from "./reference-law.ts";

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

export function nodeAt(use: PathUse, reference: ReferenceLaw, u: number, at?: number): GridNode {
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
