/** Where a grid is to be made finer. */
import type { PathUse } from "./path-use.ts";
import { type Attempt, intervalTimes, type Spline, splineValue } from "./solve-grid.ts";
import type { StretchGrid } from "./stretch-grid.ts";

/** Share of the time spent below all limits that is worth a finer grid. */
const WORTH = 0.012;
/** What refinement aims at. */
const LITTLE = 0.009;
/** A need for more time than this that tightening could not take away calls for a finer grid. */
const BULGE = 1.004;
/** A need from which an interval is halved twice. */
const WIDE = 1.03;

/** Demand over limit that is still taken for kept, where time cannot be stretched. */
export const KEPT = 1 + 1e-6;

/** Uncertainty of the check that calls for a finer one. */
const UNSURE = 2e-4;

/** How often to halve the intervals in which most of the time is spent below all limits; undefined if that is little. */
export function slackIntervals(attempt: Attempt): Int32Array | undefined {
  const { spline, fill, needs, need } = attempt;
  if (!fill || !needs) return undefined;
  const times = intervalTimes(spline);
  const n = times.length;
  let total = 0;
  let lost = 0;
  for (let k = 0; k < n; k++) {
    total += times[k]!;
    lost += times[k]! * (1 - fill[k]!);
  }
  const out = new Int32Array(n);
  if (need > BULGE) {
    for (let k = 0; k < n; k++) if (needs[k]! > 1 + (need - 1) / 3) out[k] = needs[k]! > WIDE ? 2 : 1;
    return out;
  }
  if (!(lost > WORTH * total)) return undefined;
  // Those that lose most, until what is left, each halving winning back about half, is little.
  const losses = times.map((time, k) => time * (1 - fill[k]!));
  const order = Array.from(losses.keys()).sort((a, b) => losses[b]! - losses[a]!);
  let left = lost;
  for (const k of order) {
    if (left < LITTLE * total) break;
    out[k] = 1;
    left -= losses[k]! / 2;
  }
  return out;
}

/** How often each interval is to be halved so that none takes more than the `parts`-th part of the time, at most 3 times. */
export function halvings(spline: Spline, parts: number): Int32Array | undefined {
  const times = intervalTimes(spline);
  const n = times.length;
  let total = 0;
  for (let k = 0; k < n; k++) total += times[k]!;
  const out = new Int32Array(n);
  let any = false;
  for (let k = 0; k < n; k++) {
    const share = (times[k]! * parts) / total;
    out[k] = share <= 1.2 ? 0 : Math.min(3, Math.ceil(Math.log2(share / 1.2)));
    if (out[k]! > 0) any = true;
  }
  return any ? out : undefined;
}

/** An acceleration demand whose middle lies this far from the mean of its ends, in parts of the limit, needs more knots. */
const BOWED = 0.01;

/** The intervals over which an acceleration near its limit bends so much under the given law that they are to be halved. */
export function bowedIntervals(use: PathUse, grid: StretchGrid, before: Spline): Int32Array | undefined {
  const n = grid.middles.length;
  const out = new Int32Array(n);
  const { acceleration } = use.limits;
  const { groups } = use.limits;
  const channels = use.path.channels;
  let any = false;
  for (let k = 0; k < n; k++) {
    const from = grid.nodes[k]!;
    const to = grid.nodes[k + 1]!;
    const a = from.right.r;
    const middle = grid.middles[k]!.right;
    const b = middle.r;
    const c = to.left.r;
    const x0 = splineValue(before, from.u);
    const xm = splineValue(before, grid.middles[k]!.u);
    const x1 = splineValue(before, to.u);
    // Slopes of the parabola through the three values.
    const h = to.u - from.u;
    const slope = (x1 - x0) / h / 2;
    const change = (2 * (x0 - 2 * xm + x1)) / h;
    const start = slope - change;
    const end = slope + change;
    const bowed = (demand: number, bow: number): boolean => demand > 0.7 && Math.abs(bow) > BOWED;
    for (let i = 0; i < channels && out[k] === 0; i++) {
      const o = 3 * i;
      const limit = 1 / acceleration[i]!;
      if (limit === 0) continue;
      const first = limit * (a[o]! * start + a[o + 1]! * x0);
      const between = limit * (b[o]! * slope + b[o + 1]! * xm);
      const last = limit * (c[o]! * end + c[o + 1]! * x1);
      const most = Math.max(Math.abs(first), Math.abs(between), Math.abs(last));
      if (bowed(most, between - (first + last) / 2)) out[k] = 1;
    }
    for (let q = 0; q < groups.length && out[k] === 0; q++) {
      const { first, size } = groups[q]!;
      const limit = 1 / middle.limits.groups[3 * q + 1]!;
      if (limit === 0) continue;
      let one = 0;
      let two = 0;
      let three = 0;
      for (let o = 3 * first; o < 3 * (first + size); o += 3) {
        one += (a[o]! * start + a[o + 1]! * x0) ** 2;
        two += (b[o]! * slope + b[o + 1]! * xm) ** 2;
        three += (c[o]! * end + c[o + 1]! * x1) ** 2;
      }
      const between = limit * Math.sqrt(two);
      const ends = limit * (Math.sqrt(one) + Math.sqrt(three));
      if (bowed(Math.max(between, ends / 2), between - ends / 2)) out[k] = 1;
    }
    if (out[k] === 1) any = true;
  }
  return any ? out : undefined;
}

/** The intervals to be halved so that the check of a solution becomes surer; undefined: sure enough. */
export function unsureIntervals({ doubts }: Attempt): Int32Array | undefined {
  if (!doubts?.some((doubt) => doubt > UNSURE)) return undefined;
  return Int32Array.from(doubts, (doubt) => (doubt > UNSURE ? 1 : 0));
}

/** The intervals to be halved because a limit is exceeded there by more than rounding; undefined: none. */
export function exceededIntervals({ needs }: Attempt): Int32Array | undefined {
  if (!needs?.some((need) => need > KEPT)) return undefined;
  return Int32Array.from(needs, (need) => (need > KEPT ? 1 : 0));
}
