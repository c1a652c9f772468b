/** Jerk-limited re-timing of one stretch: grid, program, interior point, check between the knots, repair. */
import { InteriorPoint } from "./interior-point.ts";
import { intervalOf } from "./interval-of.ts";
import type { GroupLimits, PathLimits } from "./path-types.ts";
import { PathUse } from "./path-use.ts";
import { reachability } from "./reachability.ts";
import { type ReferenceLaw, referenceAt, referenceLaw } from "./reference-law.ts";
import type { FixedEnd, RetimeProblem } from "./retime-problem.ts";
import { SplineLaw } from "./spline-law.ts";
import { StretchCheck } from "./stretch-check.ts";
import { heaviest, refineGrid, type StretchGrid, stretchGrid, stretchProblem, uniformLimit } from "./stretch-grid.ts";

/** State at an end of a stretch that does not rest there. */
export interface MovingEnd {
  readonly sd: number;
  readonly sdd: number;
}

export interface Retimed {
  readonly law: SplineLaw;
  /** Factor (>= about 1) by which time still had to be, or for moving ends would have to be, stretched. */
  readonly need: number;
  readonly iterations: number;
}

export interface RetimeOptions {
  readonly intervals: number;
  /** Intervals between two borders, at least. */
  readonly least: number;
}

/** Share of a torque limit that holding still may take. */
export const MOST_AT_REST = 1 - 1e-6;

/** Kept over the largest demand found between the check points. */
const MARGIN = 2e-5;

export function retimeStretch(
  given: PathUse,
  from: number,
  to: number,
  start: MovingEnd | undefined,
  end: MovingEnd | undefined,
  borders: readonly number[],
  options: RetimeOptions,
): Retimed | { readonly law: undefined; readonly s: number; readonly row: number; readonly share: number } {
  const rough = referenceLaw(from, to, start?.sd ?? 0, end?.sd ?? 0, roughBounds(given, from, to));
  const use = softened(given, rough.duration);
  const reference =
    use === given ? rough : referenceLaw(from, to, start?.sd ?? 0, end?.sd ?? 0, roughBounds(use, from, to));
  let grid = stretchGrid(use, reference, borders, options.intervals, options.least);
  const heavy = heaviest(use, grid);
  if (heavy.share > MOST_AT_REST) return { law: undefined, ...heavy };
  const first = start && fixedEnd(reference, 0, start);
  const last = end && fixedEnd(reference, 1, end);
  let iterations = 0;
  // First a rough solution; then the grid is made finer where it spends much time.
  let attempt = solveOn(use, grid, first, last, undefined, ROUGH_GAP, 1, Number.POSITIVE_INFINITY);
  iterations += attempt.iterations;
  const finer = halvings(attempt.spline, 2 * options.intervals);
  if (finer) grid = refineGrid(use, grid, finer);
  const rounds = start || end ? EXACT_ROUNDS : ROUNDS;
  attempt = solveOn(use, grid, first, last, attempt.spline, GAP, rounds, COARSE, attempt.busy);
  iterations += attempt.iterations;
  // Where no limit is met over a share of the time worth having, the grid was too coarse to switch quickly.
  for (let level = 0; level < LEVELS && grid.middles.length < MOST_INTERVALS; level++) {
    const slack = slackIntervals(attempt);
    if (!slack) break;
    grid = refineGrid(use, grid, slack);
    const more = level + 1 < LEVELS && grid.middles.length < MOST_INTERVALS;
    attempt = solveOn(
      use,
      grid,
      first,
      last,
      attempt.spline,
      GAP,
      rounds,
      more ? COARSE : Number.POSITIVE_INFINITY,
      // A law that breaks limits may break those left out.
      attempt.need > COARSE ? undefined : attempt.busy,
    );
    iterations += attempt.iterations;
  }
  const { u, x, x1, x2 } = attempt.spline;
  const exact = start !== undefined || end !== undefined;
  const need = exact ? attempt.need : attempt.need * (1 + MARGIN);
  if (!exact) {
    const shrink = 1 / (need * need);
    for (let k = 0; k < u.length; k++) {
      x[k] = x[k]! * shrink;
      x1[k] = x1[k]! * shrink;
      if (k < x2.length) x2[k] = x2[k]! * shrink;
    }
  }
  return { law: new SplineLaw(reference, u, x, x1, x2), need, iterations };
}

/**
 * Least-time x at the knots without jerk limits but for those of steady motion (x' = x'' = 0), by reachability analysis.
 * Where that has no solution, 1: the largest x that can be kept throughout.
 */
function startingGuess(problem: RetimeProblem): Float64Array {
  const { n, h, linear, normAcceleration, jerk, normJerk, places, offsets } = problem;
  let rows = 0;
  let norms = 0;
  for (let k = 0; k <= n; k++) {
    rows = Math.max(rows, linear.start[k + 1]! - linear.start[k]!);
    norms = Math.max(norms, normAcceleration.start[k + 1]! - normAcceleration.start[k]!);
  }
  const s = new Float64Array(n + 1);
  for (let k = 0; k < n; k++) s[k + 1] = s[k]! + h[k]!;
  const data = new Float64Array((n + 1) * rows * 4);
  const vectors = new Float64Array((n + 1) * norms * 6);
  const cap = problem.cap.slice();
  for (let k = 0; k <= n; k++) {
    for (let r = linear.start[k]!, o = k * rows * 4; r < linear.start[k + 1]!; r++, o += 4) {
      // With u = x'/2.
      data[o] = 2 * linear.data[4 * r + 1]!;
      data[o + 1] = linear.data[4 * r]!;
      data[o + 2] = -linear.data[4 * r + 3]!;
      data[o + 3] = linear.data[4 * r + 2]!;
    }
    for (let r = normAcceleration.start[k]!, o = k * norms * 6; r < normAcceleration.start[k + 1]!; r++, o += 6) {
      for (let d = 0; d < 3; d++) {
        vectors[o + d] = 2 * normAcceleration.data[6 * r + 3 + d]!;
        vectors[o + 3 + d] = normAcceleration.data[6 * r + d]!;
      }
    }
  }
  for (let e = 0; e < places.length; e++) {
    const knot = offsets[e]! > h[places[e]!]! / 2 ? places[e]! + 1 : places[e]!;
    let most = 0;
    for (let r = jerk.start[e]!; r < jerk.start[e + 1]!; r++) most = Math.max(most, Math.abs(jerk.data[3 * r]!));
    for (let r = normJerk.start[e]!; r < normJerk.start[e + 1]!; r++) {
      most = Math.max(most, Math.hypot(normJerk.data[9 * r]!, normJerk.data[9 * r + 1]!, normJerk.data[9 * r + 2]!));
    }
    if (most > 0) cap[knot] = Math.min(cap[knot]!, most ** (-2 / 3));
  }
  const { first, last } = problem;
  const result = reachability(
    {
      s,
      rows,
      right: data,
      left: data,
      norms,
      normRight: vectors,
      normLeft: vectors,
      cap,
      floor: new Float64Array(n + 1),
    },
    first?.x,
    last?.x,
  );
  return result.ok ? result.x : new Float64Array(n + 1).fill(1);
}

/** x(u) as values and slopes at knots and second derivatives on intervals, 1/s². */
interface Spline {
  readonly u: Float64Array;
  readonly x: Float64Array;
  readonly x1: Float64Array;
  readonly x2: Float64Array;
}

interface Attempt {
  readonly spline: Spline;
  /** See StretchCheck.fill; undefined if not measured. */
  readonly fill: Float64Array | undefined;
  /** Per interval: factor by which time must be stretched for it. */
  readonly needs: Float64Array | undefined;
  /** Limits that come into play anywhere; undefined: perhaps all. */
  readonly busy: ReadonlySet<number> | undefined;
  readonly need: number;
  readonly iterations: number;
}

/** Rounds of solving with limits tightened where they were exceeded between the points. */
const ROUNDS = 4;
/** The same where time cannot be stretched afterwards, because the motion goes on at an end. */
const EXACT_ROUNDS = 16;
/** A solution that needs its time stretched by less than this is not tightened any more. */
const CLOSE = 1.0015;

function solveOn(
  use: PathUse,
  grid: StretchGrid,
  first: FixedEnd | undefined,
  last: FixedEnd | undefined,
  before: Spline | undefined,
  gap: number,
  rounds: number,
  coarse: number,
  only?: ReadonlySet<number>,
): Attempt {
  const n = grid.middles.length;
  const unit = Math.min(
    uniformLimit(use, grid),
    first ? first.x : Number.POSITIVE_INFINITY,
    last ? last.x : Number.POSITIVE_INFINITY,
  );
  const scaled = (fixed: FixedEnd | undefined): FixedEnd | undefined =>
    fixed && { x: fixed.x / unit, slope: fixed.slope / unit };
  const problem = stretchProblem(use, grid, unit, scaled(first), scaled(last), only);
  const solver = new InteriorPoint(problem);
  const u = Float64Array.from(grid.nodes, (node) => node.u);
  if (before) {
    const shrink = 0.9 / unit;
    solver.start((k) => shrink * splineValue(before, u[k]!));
  } else {
    const guess = startingGuess(problem);
    solver.start((k) => 0.7 * guess[k]!);
  }
  const check = new StretchCheck(use, grid);
  const x = new Float64Array(n + 1);
  const x1 = new Float64Array(n + 1);
  const x2 = new Float64Array(n);
  let iterations = 0;
  let need = 0;
  let steady = false;
  let broken = false;
  const exact = first !== undefined || last !== undefined;
  const close = exact ? 1 - 1e-6 : CLOSE;
  for (let round = 0; round < rounds; round++) {
    const heat = round > 0 ? 0.01 : before && !steady ? 0.1 : 0.5;
    const result = solver.solve(gap, heat, steady ? 150 : 60, round > 0);
    iterations += result.iterations;
    if (result.broken) {
      broken = true;
      if (round > 0) break;
      broken = false;
      if (!steady) {
        // Once more from the slow steady motion that keeps all limits.
        steady = true;
        solver.start(() => 0.8);
        round--;
        continue;
      }
      if (exact)
        return {
          spline: { u, x, x1, x2 },
          fill: undefined,
          needs: undefined,
          busy: undefined,
          need: Number.POSITIVE_INFINITY,
          iterations,
        };
      // What there was before, or the steady motion itself.
      broken = true;
      copySpline(before, u, unit, x, x1, x2);
      check.measure(x, x1, x2);
      need = largestNeed(check);
      break;
    }
    for (let k = 0; k <= n; k++) {
      x[k] = solver.x[k]! * unit;
      x1[k] = solver.x1[k]! * unit;
    }
    for (let k = 0; k < n; k++) x2[k] = solver.x2[k]! * unit;
    if (rounds === 1) break;
    check.measure(x, x1, x2);
    need = largestNeed(check);
    if (need < close || need > coarse || round === rounds - 1) break;
    tighten(problem, check, exact ? 1 + 1e-5 : 1);
  }
  const needs = check.knotNeed.map((value, k) => Math.max(value, check.jerkNeed[k]!));
  return {
    spline: { u, x, x1, x2 },
    fill: check.fill,
    needs,
    busy: broken ? undefined : solver.busy(BUSY),
    need,
    iterations,
  };
}

/** `before` on the finer knots u, or 0.8 of the steady x where there is none. */
function copySpline(
  before: Spline | undefined,
  u: Float64Array,
  steady: number,
  x: Float64Array,
  x1: Float64Array,
  x2: Float64Array,
): void {
  for (let k = 0; k < u.length; k++) {
    const i = before ? intervalOf(before.u, u[k]!, before.x2.length) : 0;
    x[k] = before ? splineValue(before, u[k]!) : 0.8 * steady;
    x1[k] = before ? before.x1[i]! + (u[k]! - before.u[i]!) * before.x2[i]! : 0;
    if (k < x2.length) x2[k] = before ? before.x2[i]! : 0;
  }
}

/** With the uncertainty of the check put on top. */
function largestNeed(check: StretchCheck): number {
  let need = 0;
  for (let k = 0; k < check.knotNeed.length; k++) need = Math.max(need, check.knotNeed[k]!, check.jerkNeed[k]!);
  return need * (1 + check.doubt);
}

/** Lowers the limits where they are exceeded; `over` times more than needed. */
function tighten(problem: RetimeProblem, check: StretchCheck, over: number): void {
  for (let k = 0; k < problem.n; k++) {
    const a = check.knotNeed[k]! * over;
    if (a > 1) {
      problem.knotRoom[k] = problem.knotRoom[k]! / (a * a);
      problem.knotRoom[k + 1] = problem.knotRoom[k + 1]! / (a * a);
      problem.cap[k] = problem.cap[k]! / (a * a);
      problem.cap[k + 1] = problem.cap[k + 1]! / (a * a);
    }
  }
  for (let e = 0; e < problem.places.length; e++) {
    const j = check.jerkNeed[problem.places[e]!]! * over;
    if (j > 1) problem.jerkRoom[e] = problem.jerkRoom[e]! / j ** 3;
  }
}

function splineValue(spline: Spline, u: number): number {
  const k = intervalOf(spline.u, u, spline.x2.length);
  const d = u - spline.u[k]!;
  return spline.x[k]! + d * (spline.x1[k]! + (d * spline.x2[k]!) / 2);
}

/** Relative gaps to the optimum of its program at which the first and the later solutions stop. */
const ROUGH_GAP = 1e-2;
const GAP = 1e-3;
/** A limit used to a smaller share than this in a solution is left out of the next, finer one; the check still sees it. */
const BUSY = 0.6;
/** A need for more time than this shows a grid too coarse to be mended by tighter limits. */
const COARSE = 1.01;

/** Refinements after the first full solution, intervals beyond which there are none, and the share of time worth another. */
const LEVELS = 5;
const MOST_INTERVALS = 320;
const WORTH = 0.012;
/** A need for more time than this that tightening could not take away calls for a finer grid. */
const BULGE = 1.004;

/** How often to halve the intervals in which most of the time is spent below all limits; undefined if that is little. */
function slackIntervals(attempt: Attempt): Int32Array | undefined {
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
    for (let k = 0; k < n; k++) if (needs[k]! > 1 + (need - 1) / 3) out[k] = 2;
    return out;
  }
  if (!(lost > WORTH * total)) return undefined;
  for (let k = 0; k < n; k++) if (times[k]! * (1 - fill[k]!) > (0.5 * lost) / n) out[k] = 1;
  return out;
}

function intervalTimes(spline: Spline): Float64Array {
  const { u } = spline;
  const times = new Float64Array(u.length - 1);
  for (let k = 0; k < times.length; k++) {
    times[k] = (u[k + 1]! - u[k]!) / Math.sqrt(splineValue(spline, (u[k]! + u[k + 1]!) / 2));
  }
  return times;
}

/** How often each interval is to be halved so that none takes more than the `parts`-th part of the time, at most 3 times. */
function halvings(spline: Spline, parts: number): Int32Array | undefined {
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

const g = new Float64Array(4);

/** ẇ² and its slope from ṡ and s̈: ṡ = g'u̇, s̈ = g''u̇² + g'x'/2. */
function fixedEnd(reference: ReferenceLaw, u: number, end: MovingEnd): FixedEnd {
  referenceAt(reference, u, u > 0.5 ? -1 : 1, g);
  const x = (end.sd / g[1]!) ** 2;
  return { x, slope: (2 * (end.sdd - g[2]! * x)) / g[1]! };
}

/** Least time over which an acceleration is built up, as a share of the duration of the stretch. */
const QUICKEST = 1 / 250;

/**
 * Limits whose jerk limits would build up the acceleration limit within less than QUICKEST of the duration (or which have
 * none), with jerk limits that take as long as that: shorter changes are below the resolution of the grid. Costs about
 * half of QUICKEST per change of acceleration.
 */
function softened(use: PathUse, duration: number): PathUse {
  const least = QUICKEST * duration;
  const { limits } = use;
  let changed = false;
  const soft = (acceleration: number, jerk: number): number => {
    if (acceleration === Number.POSITIVE_INFINITY || jerk * least <= acceleration) return jerk;
    changed = true;
    return acceleration / least;
  };
  const softGroup = <T extends GroupLimits>(group: T): T => ({ ...group, jerk: soft(group.acceleration, group.jerk) });
  const next: PathLimits = {
    ...limits,
    jerk: limits.jerk.map((jerk, i) => soft(limits.acceleration[i]!, jerk)),
    groups: limits.groups.map(softGroup),
    ...(limits.ranges
      ? {
          ranges: limits.ranges.map((range) =>
            range.groups ? { ...range, groups: range.groups.map(softGroup) } : range,
          ),
        }
      : {}),
  };
  return changed ? new PathUse(use.path, next) : use;
}

/** Points at which the rough bounds are taken. */
const PROBES = 12;

/**
 * Typical bounds of ṡ, s̈ and s⃛ on a stretch: medians over a few points of what channels, groups and torques allow at each.
 * They shape the reference law only, so they need not be safe.
 */
function roughBounds(use: PathUse, from: number, to: number): { velocity: number; acceleration: number; jerk: number } {
  const { limits } = use;
  const slow = new Float64Array(PROBES);
  const lazy = new Float64Array(PROBES);
  const soft = new Float64Array(PROBES);
  for (let p = 0; p < PROBES; p++) {
    use.load(from + ((to - from) * (p + 0.5)) / PROBES, 1);
    let v = 0;
    let a = 0;
    let j = 0;
    for (let i = 0; i < use.path.channels; i++) {
      const d1 = Math.abs(use.c1[i]!);
      const d2 = Math.abs(use.c2[i]!);
      const d3 = Math.abs(use.c3[i]!);
      const A = limits.acceleration[i]!;
      const J = limits.jerk[i]!;
      v = Math.max(v, d1 / use.stretch.velocity[i]!, Math.sqrt(d2 / A), Math.cbrt(d3 / J));
      a = Math.max(a, d1 / A);
      j = Math.max(j, d1 / J);
    }
    for (let q = 0; q < limits.groups.length; q++) {
      const { first, size } = limits.groups[q]!;
      let d1 = 0;
      let d2 = 0;
      for (let i = first; i < first + size; i++) {
        d1 += use.c1[i]! ** 2;
        d2 += use.c2[i]! ** 2;
      }
      d1 = Math.sqrt(d1);
      const A = use.stretch.groups[3 * q + 1]!;
      v = Math.max(v, d1 / use.stretch.groups[3 * q]!, Math.sqrt(Math.sqrt(d2) / A));
      a = Math.max(a, d1 / A);
      j = Math.max(j, d1 / use.stretch.groups[3 * q + 2]!);
    }
    const torque = limits.torque;
    if (torque) {
      for (let i = 0; i < torque.rows; i++) {
        a = Math.max(a, Math.abs(use.ta[i]!) / (torque.limit[i]! - Math.abs(use.tc[i]!)));
      }
    }
    slow[p] = v;
    lazy[p] = a;
    soft[p] = j;
  }
  const bound = (values: Float64Array): number => {
    const middle = values.sort()[PROBES >> 1]!;
    return middle > 0 ? 1 / middle : Number.POSITIVE_INFINITY;
  };
  return { velocity: bound(slow), acceleration: bound(lazy), jerk: bound(soft) };
}
