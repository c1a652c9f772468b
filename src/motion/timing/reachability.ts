/**
 * Time-optimal path parameterisation by reachability analysis: the backward pass computes at each grid point the interval
 * of squared path speeds x = ṡ² from which the end can be reached, the forward pass then takes the greatest path
 * acceleration u = s̈ that stays inside. With u constant on an interval of width Δ, x grows by 2Δu.
 *
 * Every limit at a point is a convex set in (u, x), so for given x the admissible u form an interval [low(x), high(x)] with
 * high concave and low convex; the largest admissible x is the largest root of high(x) - low(x). It is found by Newton's
 * method from above, which cannot overshoot a concave function's root and ends exactly after a few steps when the sets are
 * polygons (it then visits vertices of the two-variable linear program). Norm limits are kept exactly by their quadratic.
 *
 * Limits are imposed at both ends of each interval with the interval's own u: at (s_i, x_i) and at (s_{i+1}, x_i + 2Δu).
 * This is what keeps the law from chattering at zero-inertia points, where a limit does not see u at one point alone.
 *
 * @source H. Pham, Q.-C. Pham, "A new approach to time-optimal path parameterization based on reachability analysis",
 * IEEE Transactions on Robotics 34(3), 2018
 */

export interface ReachabilityProblem {
  /** Grid, ascending, n + 1 points. */
  readonly s: Float64Array;
  /** Two-sided rows lo <= a u + b x <= hi per point and side: a, b, lo, hi; `rows` of them. */
  readonly rows: number;
  /** Coefficients seen from the right of each point (used by the interval after it): (n + 1) * rows * 4. */
  readonly right: Float64Array;
  /** Coefficients seen from the left of each point (used by the interval before it). */
  readonly left: Float64Array;
  /** Norm limits |a u + b x| <= 1 with vectors of 3: a, b per point; `norms` of them, 6 numbers each. */
  readonly norms: number;
  readonly normRight: Float64Array;
  readonly normLeft: Float64Array;
  /** Bounds of x at each point; floor is 0 unless a speed is prescribed. */
  readonly cap: Float64Array;
  readonly floor: Float64Array;
}

export type ReachabilityResult =
  | {
      readonly ok: true;
      /** ṡ² at the points, s̈ on the intervals. */
      readonly x: Float64Array;
      readonly u: Float64Array;
      readonly duration: number;
    }
  /** No speed at all is possible at this point, or it cannot be reached. */
  | { readonly ok: false; readonly point: number };

/** |a| below this share of |b| (both in units of the limit) counts as no influence of u. */
const NO_INERTIA = 1e-12;

/** Interval of u for a given x, and how its ends move with x. */
class Range {
  low = 0;
  high = 0;
  lowSlope = 0;
  highSlope = 0;
  /** x itself is impossible: a limit that does not depend on u is broken by `excess`, growing with slope. */
  excess = 0;
  excessSlope = 0;
}

/**
 * The two passes.
 * @param start squared path speed at the start   @param end at the end, both >= 0; undefined: free
 */
export function reachability(
  problem: ReachabilityProblem,
  start: number | undefined,
  end: number | undefined,
): ReachabilityResult {
  const { s, cap, floor } = problem;
  const n = s.length - 1;
  const high = new Float64Array(n + 1);
  const low = new Float64Array(n + 1);
  high[n] = end ?? Math.min(cap[n]!, MOST);
  low[n] = end ?? floor[n]!;
  const range = new Range();
  for (let i = n - 1; i >= 0; i--) {
    const top = largest(problem, i, low[i + 1]!, high[i + 1]!, Math.min(cap[i]!, MOST), floor[i]!, range);
    if (!(top >= floor[i]!)) return { ok: false, point: i };
    high[i] = top;
    low[i] = smallest(problem, i, low[i + 1]!, high[i + 1]!, top, floor[i]!, range);
  }
  const x0 = start ?? high[0]!;
  if (x0 > high[0]! * (1 + 1e-9) || x0 < low[0]! * (1 - 1e-9)) return { ok: false, point: 0 };
  const x = new Float64Array(n + 1);
  const u = new Float64Array(n);
  x[0] = x0;
  let duration = 0;
  for (let i = 0; i < n; i++) {
    const width = s[i + 1]! - s[i]!;
    admissible(problem, i, low[i + 1]!, high[i + 1]!, x[i]!, range);
    // Rounding may leave a hair of an empty interval; its middle is then as good as any.
    const best = range.high >= range.low ? range.high : (range.high + range.low) / 2;
    const next = Math.max(low[i + 1]!, Math.min(high[i + 1]!, x[i]! + 2 * width * best, cap[i + 1]!));
    x[i + 1] = Math.max(next, 0);
    u[i] = (x[i + 1]! - x[i]!) / (2 * width);
    const speeds = Math.sqrt(x[i]!) + Math.sqrt(x[i + 1]!);
    if (!(speeds > 0)) return { ok: false, point: i };
    duration += (2 * width) / speeds;
  }
  return { ok: true, x, u, duration };
}

/** Stands for no bound of x. */
const MOST = 1e12;

/** Fills `range` for the interval after point i from x, the next x having to lie in [low, high]. */
function admissible(problem: ReachabilityProblem, i: number, low: number, high: number, x: number, range: Range): void {
  const { s, rows, norms } = problem;
  const width2 = 2 * (s[i + 1]! - s[i]!);
  // Next point: low <= x + width2 u <= high.
  let lo = (low - x) / width2;
  let hi = (high - x) / width2;
  let loSlope = -1 / width2;
  let hiSlope = loSlope;
  let excess = 0;
  let excessSlope = 0;
  for (let end = 0; end < 2; end++) {
    const data = end === 0 ? problem.right : problem.left;
    let o = (i + end) * rows * 4;
    for (let r = 0; r < rows; r++, o += 4) {
      const b = data[o + 1]!;
      const a = end === 0 ? data[o]! : data[o]! + width2 * b;
      const rest = b * x;
      if (a > NO_INERTIA || a < -NO_INERTIA) {
        const inverse = 1 / a;
        let from = (data[o + 2]! - rest) * inverse;
        let to = (data[o + 3]! - rest) * inverse;
        if (a < 0) {
          const t = from;
          from = to;
          to = t;
        }
        if (from > lo) {
          lo = from;
          loSlope = -b * inverse;
        }
        if (to < hi) {
          hi = to;
          hiSlope = -b * inverse;
        }
      } else if (rest - data[o + 3]! > excess) {
        excess = rest - data[o + 3]!;
        excessSlope = b;
      } else if (data[o + 2]! - rest > excess) {
        excess = data[o + 2]! - rest;
        excessSlope = -b;
      }
    }
    const vectors = end === 0 ? problem.normRight : problem.normLeft;
    o = (i + end) * norms * 6;
    for (let r = 0; r < norms; r++, o += 6) {
      let aa = 0;
      let ab = 0;
      let bb = 0;
      for (let d = 0; d < 3; d++) {
        const b = vectors[o + 3 + d]!;
        const a = end === 0 ? vectors[o + d]! : vectors[o + d]! + width2 * b;
        aa += a * a;
        ab += a * b;
        bb += b * b;
      }
      if (aa > NO_INERTIA * NO_INERTIA) {
        // |a u + b x|² = 1: u = (-ab x ± √(ab² x² - aa (bb x² - 1))) / aa.
        const gram = Math.max(0, aa * bb - ab * ab);
        const inside = aa - gram * x * x;
        if (inside >= 0) {
          const root = Math.sqrt(inside);
          const bend = root > 0 ? (gram * x) / root : MOST;
          const from = (-ab * x - root) / aa;
          const to = (-ab * x + root) / aa;
          if (from > lo) {
            lo = from;
            loSlope = (-ab + bend) / aa;
          }
          if (to < hi) {
            hi = to;
            hiSlope = (-ab - bend) / aa;
          }
        } else if (gram * x * x - aa > excess * aa) {
          const root = Math.sqrt(gram / aa);
          excess = root * x - 1;
          excessSlope = root;
        }
      } else if (Math.sqrt(bb) * x - 1 > excess) {
        excess = Math.sqrt(bb) * x - 1;
        excessSlope = Math.sqrt(bb);
      }
    }
  }
  range.low = lo;
  range.high = hi;
  range.lowSlope = loSlope;
  range.highSlope = hiSlope;
  range.excess = excess;
  range.excessSlope = excessSlope;
}

/** Largest x in [floor, cap] with a non-empty interval of u, or NaN. */
function largest(
  problem: ReachabilityProblem,
  i: number,
  low: number,
  high: number,
  cap: number,
  floor: number,
  range: Range,
): number {
  let x = cap;
  // A step down from far above loses digits and may land below the root: then start again from a little above.
  let far = true;
  let lift = 1e-3;
  for (let step = 0; step < 200; step++) {
    admissible(problem, i, low, high, x, range);
    let gap: number;
    let slope: number;
    if (range.excess > 0) {
      gap = -range.excess;
      slope = -range.excessSlope;
    } else {
      gap = range.high - range.low;
      slope = range.highSlope - range.lowSlope;
      if (gap >= 0) {
        if (step === 0 || !far || x >= cap) return x;
        x = Math.min(cap, x + lift * (x > 0 ? x : 1e-9));
        lift *= 4;
        continue;
      }
    }
    if (!(slope < 0)) return Number.NaN;
    const next = x - gap / slope;
    if (!(next < x)) return x;
    // A bound of nearly nothing may round below the floor.
    if (next < floor) return next > floor - 1e-12 * (1 + floor) ? floor : Number.NaN;
    far = x > 8 * next;
    x = next;
  }
  return x;
}

/** Smallest x in [floor, top], top being admissible. */
function smallest(
  problem: ReachabilityProblem,
  i: number,
  low: number,
  high: number,
  top: number,
  floor: number,
  range: Range,
): number {
  let x = floor;
  for (let step = 0; step < 100 && x < top; step++) {
    admissible(problem, i, low, high, x, range);
    const broken = range.excess > 0;
    const gap = broken ? -range.excess : range.high - range.low;
    if (gap >= 0) return x;
    const slope = broken ? -range.excessSlope : range.highSlope - range.lowSlope;
    if (!(slope > 0)) return top;
    const next = x - gap / slope;
    if (!(next > x)) return x;
    x = next;
  }
  return Math.min(x, top);
}
