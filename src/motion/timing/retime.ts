/** Jerk-limited re-timing of one stretch: grid, program, interior point, check between the knots, repair. */
import { InteriorPoint } from "./interior-point.ts";
import { intervalOf } from "./interval-of.ts";
import type { PathUse } from "./path-use.ts";
import { type ReferenceLaw, referenceAt, referenceLaw } from "./reference-law.ts";
import type { FixedEnd, RetimeProblem } from "./retime-problem.ts";
import { SplineLaw } from "./spline-law.ts";
import { StretchCheck } from "./stretch-check.ts";
import { refineGrid, type StretchGrid, stretchGrid, stretchProblem, uniformLimit } from "./stretch-grid.ts";

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

/** Kept over the largest demand found between the check points. */
const MARGIN = 2e-5;

export function retimeStretch(
  use: PathUse,
  from: number,
  to: number,
  start: MovingEnd | undefined,
  end: MovingEnd | undefined,
  borders: readonly number[],
  options: RetimeOptions,
): Retimed {
  const bounds = roughBounds(use, from, to);
  const reference = referenceLaw(from, to, start?.sd ?? 0, end?.sd ?? 0, bounds);
  let grid = stretchGrid(use, reference, borders, options.intervals, options.least);
  const first = start && fixedEnd(reference, 0, start);
  const last = end && fixedEnd(reference, 1, end);
  let iterations = 0;
  // First a rough solution; then the grid is made finer where it spends much time.
  let attempt = solveOn(use, grid, first, last, undefined, 1e-2, 1);
  iterations += attempt.iterations;
  const finer = halvings(attempt.spline, 2 * options.intervals);
  if (finer) grid = refineGrid(use, grid, finer);
  attempt = solveOn(use, grid, first, last, attempt.spline, 1e-3, start || end ? EXACT_ROUNDS : ROUNDS);
  iterations += attempt.iterations;
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

/** x(u) as values and slopes at knots and second derivatives on intervals, 1/s². */
interface Spline {
  readonly u: Float64Array;
  readonly x: Float64Array;
  readonly x1: Float64Array;
  readonly x2: Float64Array;
}

interface Attempt {
  readonly spline: Spline;
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
): Attempt {
  const n = grid.middles.length;
  const unit = Math.min(
    uniformLimit(use, grid),
    first ? first.x : Number.POSITIVE_INFINITY,
    last ? last.x : Number.POSITIVE_INFINITY,
  );
  const scaled = (fixed: FixedEnd | undefined): FixedEnd | undefined =>
    fixed && { x: fixed.x / unit, slope: fixed.slope / unit };
  const problem = stretchProblem(use, grid, unit, scaled(first), scaled(last));
  const solver = new InteriorPoint(problem);
  const u = Float64Array.from(grid.nodes, (node) => node.u);
  if (before) {
    const shrink = 0.9 / unit;
    solver.start((k) => shrink * splineValue(before, u[k]!));
  } else solver.start(() => 0.8);
  const check = new StretchCheck(use, grid);
  const x = new Float64Array(n + 1);
  const x1 = new Float64Array(n + 1);
  const x2 = new Float64Array(n);
  let iterations = 0;
  let need = 0;
  const exact = first !== undefined || last !== undefined;
  const close = exact ? 1 - 1e-6 : CLOSE;
  for (let round = 0; round < rounds; round++) {
    const result = solver.solve(gap, round > 0 ? 0.01 : before ? 0.1 : 0.5, 60, round > 0);
    iterations += result.iterations;
    if (result.broken) return uniform(u, unit, exact, iterations);
    for (let k = 0; k <= n; k++) {
      x[k] = solver.x[k]! * unit;
      x1[k] = solver.x1[k]! * unit;
    }
    for (let k = 0; k < n; k++) x2[k] = solver.x2[k]! * unit;
    if (rounds === 1) break;
    check.measure(x, x1, x2);
    need = 0;
    for (let k = 0; k < n; k++) need = Math.max(need, check.knotNeed[k]!, check.jerkNeed[k]!);
    if (need < close || round === rounds - 1) break;
    tighten(problem, check, exact ? 1 + 1e-5 : 1);
  }
  return { spline: { u, x, x1, x2 }, need, iterations };
}

/** Slow motion that keeps all limits (between rests), for when the iteration breaks down; no solution between moving ends. */
function uniform(u: Float64Array, x: number, exact: boolean, iterations: number): Attempt {
  const n = u.length - 1;
  const spline = { u, x: new Float64Array(n + 1).fill(x), x1: new Float64Array(n + 1), x2: new Float64Array(n) };
  return { spline, need: exact ? Number.POSITIVE_INFINITY : 1, iterations };
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

/** How often each interval is to be halved so that none takes more than the `parts`-th part of the time, at most 3 times. */
function halvings(spline: Spline, parts: number): Int32Array | undefined {
  const { u, x } = spline;
  const n = x.length - 1;
  const times = new Float64Array(n);
  let total = 0;
  for (let k = 0; k < n; k++) {
    times[k] = (u[k + 1]! - u[k]!) / Math.sqrt(splineValue(spline, (u[k]! + u[k + 1]!) / 2));
    total += times[k]!;
  }
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

/** Points at which the rough bounds are taken. */
const PROBES = 12;

/**
 * Typical bounds of ṡ, s̈ and s⃛ on a stretch: harmonic means over a few points of what channels and groups allow at each.
 * They shape the reference law only, so they need not be safe.
 */
function roughBounds(use: PathUse, from: number, to: number): { velocity: number; acceleration: number; jerk: number } {
  const { limits } = use;
  let slow = 0;
  let lazy = 0;
  let soft = 0;
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
    slow += v;
    lazy += a;
    soft += j;
  }
  const bound = (sum: number): number => (sum > 0 ? PROBES / sum : Number.POSITIVE_INFINITY);
  const velocity = bound(slow);
  const acceleration = bound(lazy);
  // Without a jerk limit any smooth start serves.
  const jerk = soft > 0 ? bound(soft) : (40 * acceleration) / Math.sqrt((to - from) / acceleration);
  return { velocity, acceleration, jerk };
}
