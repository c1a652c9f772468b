/**
 * Which limits are written into the program at which knot and interval: those a rough law comes near, there or next door.
 * A program of a few limits per knot is solved several times as fast as one of all; the check sees all limits, and what it
 * finds exceeded is taken in.
 */
import type { PathUse } from "./path-use.ts";
import type { GridNode, PathSample, StretchGrid } from "./stretch-grid.ts";

/** Channels first, then torque rows, then groups. */
export class RowScreen {
  /** Limits per knot or interval. */
  readonly width: number;
  /** 1: taken in. Acceleration, torque and norm of acceleration at knots; jerk and norm of jerk on intervals. */
  readonly knots: Uint8Array;
  readonly intervals: Uint8Array;
  /** 1: a jerk demand bends so much over the interval that its middle counts as well. */
  readonly middles: Uint8Array;

  constructor(intervals: number, width: number) {
    this.width = width;
    this.knots = new Uint8Array((intervals + 1) * width);
    this.intervals = new Uint8Array(intervals * width);
    this.middles = new Uint8Array(intervals);
  }

  /** Takes in what `other` has; whether anything was new. */
  add(other: RowScreen): boolean {
    const knots = merge(this.knots, other.knots);
    const intervals = merge(this.intervals, other.intervals);
    return merge(this.middles, other.middles) || intervals || knots;
  }

  /** What is taken in somewhere is taken in at the neighbours too. */
  spread(): void {
    spreadOver(this.knots, this.width);
    spreadOver(this.intervals, this.width);
  }
}

function merge(into: Uint8Array, other: Uint8Array): boolean {
  let any = false;
  for (let i = 0; i < into.length; i++) {
    if (other[i] === 1 && into[i] === 0) {
      into[i] = 1;
      any = true;
    }
  }
  return any;
}

function spreadOver(flags: Uint8Array, width: number): void {
  const before = flags.slice();
  for (let i = 0; i < flags.length; i++) {
    if (before[i] === 0) continue;
    if (i >= width) flags[i - width] = 1;
    if (i + width < flags.length) flags[i + width] = 1;
  }
}

/** A jerk demand whose middle lies this far from the mean of its ends, in parts of the limit, is held down there too. */
const BENT = 0.02;

/** Jerk demands of all limits at the two ends of an interval and in its middle. */
let demands = new Float64Array(0);

/**
 * The limits used to at least `share` under the law given by x (values and slopes at the knots of the grid, second
 * derivative on intervals, 1/s²), at the knots and in the middle of the intervals. On every interval the tightest bound of
 * x'' is among them: without any, values at the knots would leave the spline free to oscillate between them.
 * @param needs where given, intervals in which nothing is exceeded are passed over
 */
export function usedLimits(
  use: PathUse,
  grid: StretchGrid,
  x: Float64Array,
  x1: Float64Array,
  x2: Float64Array,
  share: number,
  needs?: { readonly knotNeed: Float64Array; readonly jerkNeed: Float64Array },
): RowScreen {
  const n = grid.middles.length;
  const { limits } = use;
  const channels = use.path.channels;
  const rows = limits.torque?.rows ?? 0;
  const groups = limits.groups;
  const width = channels + rows + groups.length;
  const screen = new RowScreen(n, width);
  const { knots, intervals, middles } = screen;
  const { acceleration, jerk } = limits;
  if (demands.length < 3 * width) demands = new Float64Array(3 * width);
  /** One point of an interval: 0 left end, 1 middle, 2 right end. */
  const mark = (
    sample: PathSample,
    node: GridNode,
    xx: number,
    slope: number,
    bend: number,
    k: number,
    point: number,
  ) => {
    const { r, torque } = sample;
    const half = slope / 2;
    const m2 = 1.5 * slope;
    const m3 = bend / 2;
    const root = Math.sqrt(xx);
    const a0 = (point === 2 ? k + 1 : k) * width;
    const b0 = (point === 0 ? k : k + 1) * width;
    const j0 = k * width;
    for (let i = 0; i < channels; i++) {
      const r1 = r[3 * i]!;
      const r2 = r[3 * i + 1]!;
      if (Math.abs(r1 * half + r2 * xx) > share * acceleration[i]!) knots[a0 + i] = knots[b0 + i] = 1;
      const demand = (root * (r1 * m3 + r2 * m2 + r[3 * i + 2]! * xx)) / jerk[i]!;
      demands[3 * i + point] = demand;
      if (demand > share || demand < -share) intervals[j0 + i] = 1;
    }
    if (rows > 0) {
      const { g1, g2 } = node;
      const sdd = g1 * half + g2 * xx;
      const sd2 = g1 * g1 * xx;
      for (let i = 0; i < rows; i++) {
        const total = torque[3 * i]! * sdd + torque[3 * i + 1]! * sd2 + torque[3 * i + 2]!;
        const at = channels + i;
        if (Math.abs(total) > share * limits.torque!.limit[i]!) knots[a0 + at] = knots[b0 + at] = 1;
      }
    }
    for (let q = 0; q < groups.length; q++) {
      const { first, size } = groups[q]!;
      let aa = 0;
      let jj = 0;
      for (let i = first; i < first + size; i++) {
        const r1 = r[3 * i]!;
        const r2 = r[3 * i + 1]!;
        const a = r1 * half + r2 * xx;
        const j = r1 * m3 + r2 * m2 + r[3 * i + 2]! * xx;
        aa += a * a;
        jj += j * j;
      }
      const at = channels + rows + q;
      if (Math.sqrt(aa) > share * sample.limits.groups[3 * q + 1]!) knots[a0 + at] = knots[b0 + at] = 1;
      const demand = (Math.sqrt(jj) * root) / sample.limits.groups[3 * q + 2]!;
      demands[3 * at + point] = demand;
      if (demand > share) intervals[j0 + at] = 1;
    }
  };
  for (let k = 0; k < n; k++) {
    if (needs && needs.knotNeed[k]! <= 1 && needs.jerkNeed[k]! <= 1) continue;
    const from = grid.nodes[k]!;
    const middle = grid.middles[k]!;
    const to = grid.nodes[k + 1]!;
    const h = to.u - from.u;
    const bend = x2[k]!;
    const slope = x1[k]!;
    mark(from.right, from, x[k]!, slope, bend, k, 0);
    const between = x[k]! + (h / 2) * (slope + (h / 4) * bend);
    mark(middle.right, middle, between, slope + (h / 2) * bend, bend, k, 1);
    mark(to.left, to, x[k]! + h * (slope + (h / 2) * bend), slope + h * bend, bend, k, 2);
    for (let i = 0; i < width; i++) {
      if (intervals[k * width + i] === 0) continue;
      const bow = demands[3 * i + 1]! - (demands[3 * i]! + demands[3 * i + 2]!) / 2;
      if (bow > BENT || bow < -BENT) middles[k] = 1;
    }
    let most = 0;
    let tightest = -1;
    for (let i = 0; i < width; i++) {
      const tight = jerkTightness(use, middle.right, i, channels, rows);
      if (tight > most) {
        most = tight;
        tightest = i;
      }
    }
    if (tightest >= 0) intervals[k * width + tightest] = 1;
  }
  return screen;
}

/** |r'| / jerk limit of limit i. */
function jerkTightness(use: PathUse, { r, limits }: PathSample, i: number, channels: number, rows: number): number {
  if (i < channels) return Math.abs(r[3 * i]!) / use.limits.jerk[i]!;
  if (i < channels + rows) return 0;
  const q = i - channels - rows;
  const { first, size } = use.limits.groups[q]!;
  let sum = 0;
  for (let d = first; d < first + size; d++) sum += r[3 * d]! ** 2;
  return Math.sqrt(sum) / limits.groups[3 * q + 2]!;
}
