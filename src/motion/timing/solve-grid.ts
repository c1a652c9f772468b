/** One grid of the re-timing: program, interior point, check between the knots, limits tightened where exceeded. */
import { InteriorPoint } from "./interior-point.ts";
import { intervalOf } from "./interval-of.ts";
import type { PathUse } from "./path-use.ts";
import type { FixedEnd, RetimeProblem } from "./retime-problem.ts";
import { startingGuess } from "./starting-guess.ts";
import { StretchCheck } from "./stretch-check.ts";
import type { StretchGrid } from "./stretch-grid.ts";
import { stretchProblem, uniformLimit } from "./stretch-problem.ts";

/** x(u) as values and slopes at knots and second derivatives on intervals, 1/s². */
export interface Spline {
  readonly u: Float64Array;
  readonly x: Float64Array;
  readonly x1: Float64Array;
  readonly x2: Float64Array;
}

export interface Attempt {
  readonly spline: Spline;
  /** See StretchCheck.fill; undefined if not measured. */
  readonly fill: Float64Array | undefined;
  /** Per interval: factor by which time must be stretched for it. */
  readonly needs: Float64Array | undefined;
  /** Per interval: relative uncertainty of its need. */
  readonly doubts: Float64Array | undefined;
  /** Limits that come into play anywhere; undefined: perhaps all. */
  readonly busy: ReadonlySet<number> | undefined;
  readonly need: number;
  readonly iterations: number;
}

/** Rounds of solving with limits tightened where they were exceeded between the points. */
export const ROUNDS = 4;
/** The same where time cannot be stretched afterwards, because the motion goes on at an end. */
export const EXACT_ROUNDS = 16;
/** A solution that needs its time stretched by less than this is not tightened any more. */
const CLOSE = 1.0015;

/** A limit used to a smaller share than this in a solution is left out of the next, finer one; the check still sees it. */
const BUSY = 0.6;

/**
 * Solves the program of a grid.
 * @param before law to start from; undefined: the second-order law   @param gap relative gap to stop at
 * @param rounds solutions with limits tightened in between, at most   @param coarse need from which that is given up
 * @param only limits to take in; undefined: all
 */
export function solveOn(
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
          doubts: undefined,
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
    doubts: check.doubts,
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
  return need * (1 + 2 * check.doubt);
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

export function splineValue(spline: Spline, u: number): number {
  const k = intervalOf(spline.u, u, spline.x2.length);
  const d = u - spline.u[k]!;
  return spline.x[k]! + d * (spline.x1[k]! + (d * spline.x2[k]!) / 2);
}
