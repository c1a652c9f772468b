/** One grid of the re-timing: program, interior point, check between the knots, limits tightened where exceeded. */
import { InteriorPoint } from "./interior-point.ts";
import { intervalOf } from "./interval-of.ts";
import type { PathUse } from "./path-use.ts";
import type { FixedEnd, RetimeProblem } from "./retime-problem.ts";
import { type RowScreen, usedLimits } from "./row-screen.ts";
import { startingGuess } from "./starting-guess.ts";
import { StretchCheck } from "./stretch-check.ts";
import type { StretchGrid } from "./stretch-grid.ts";
import { stretchProblem } from "./stretch-problem.ts";

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
  readonly need: number;
  readonly iterations: number;
}

/** Rounds of solving with limits tightened where they were exceeded between the points. */
export const ROUNDS = 4;
/** The same where time cannot be stretched afterwards, because the motion goes on at an end. */
export const EXACT_ROUNDS = 16;
/** Excess over a constraint that a solution may have left; what is left is taken back by stretching time, if that can be. */
const EXCESS = 1e-3;
const EXACT_EXCESS = 1e-8;
/** A solution that needs its time stretched by less than this is not tightened any more. */
const CLOSE = 1.0015;

/** A limit used to a smaller share than this near a place is left out there; the check still sees it. */
const BUSY = 0.5;
/** A limit that was left out is taken in from this share on. */
const MISSED = 1.002;

const solver = new InteriorPoint();

/**
 * Solves the program of a grid.
 * @param unit x (1/s²) that, kept over the whole stretch, breaks no limit, about; the scale of the program
 * @param before law to start from, which also says what limits may be left out; undefined: the second-order law, all limits
 * @param gap relative gap to stop at
 * @param rounds solutions with limits tightened in between, at most; 1: nothing is checked
 * @param costly share of the duration from which tightening is given up
 */
export function solveOn(
  use: PathUse,
  grid: StretchGrid,
  unit: number,
  first: FixedEnd | undefined,
  last: FixedEnd | undefined,
  before: Spline | undefined,
  gap: number,
  rounds: number,
  costly: number,
): Attempt {
  const n = grid.middles.length;
  const scaled = (fixed: FixedEnd | undefined): FixedEnd | undefined =>
    fixed && { x: fixed.x / unit, slope: fixed.slope / unit };
  const u = Float64Array.from(grid.nodes, (node) => node.u);
  const x = new Float64Array(n + 1);
  const x1 = new Float64Array(n + 1);
  const x2 = new Float64Array(n);
  let screen: RowScreen | undefined;
  if (before) {
    copySpline(before, u, unit, x, x1, x2);
    screen = usedLimits(use, grid, x, x1, x2, BUSY);
    screen.spread();
  }
  let problem = stretchProblem(use, grid, unit, scaled(first), scaled(last), screen, rounds === 1);
  solver.load(problem);
  if (before) solver.start((k) => (0.9 / unit) * x[k]!);
  else {
    const guess = startingGuess(problem);
    solver.start((k) => 0.7 * guess[k]!);
  }
  const check = rounds > 1 ? new StretchCheck(use, grid) : undefined;
  const result = { spline: { u, x, x1, x2 }, fill: check?.fill, doubts: check?.doubts };
  let iterations = 0;
  let need = 0;
  let steady = false;
  let anew = false;
  const exact = first !== undefined || last !== undefined;
  const close = exact ? 1 - 1e-6 : CLOSE;
  for (let round = 0; round < rounds; round++) {
    const heat = anew ? 0.05 : round > 0 ? 0.01 : before && !steady ? 0.1 : 0.5;
    const solved = solver.solve(gap, heat, steady ? 150 : 60, round > 0 && !anew, exact ? EXACT_EXCESS : EXCESS);
    iterations += solved.iterations;
    if (solved.broken) {
      if (round > 0) break;
      if (!steady) {
        // Once more from the slow steady motion that keeps all limits.
        steady = true;
        solver.start(() => 0.8);
        round--;
        continue;
      }
      if (exact)
        return {
          ...result,
          fill: undefined,
          doubts: undefined,
          needs: undefined,
          need: Number.POSITIVE_INFINITY,
          iterations,
        };
      // What there was before, or the steady motion itself.
      copySpline(before, u, unit, x, x1, x2);
      check?.measure(x, x1, x2);
      need = check ? largestNeed(check) : 1;
      break;
    }
    for (let k = 0; k <= n; k++) {
      x[k] = solver.x[k]! * unit;
      x1[k] = solver.x1[k]! * unit;
    }
    for (let k = 0; k < n; k++) x2[k] = solver.x2[k]! * unit;
    if (!check) break;
    check.measure(x, x1, x2);
    need = largestNeed(check);
    if (need < close || round === rounds - 1) break;
    anew = screen?.add(usedLimits(use, grid, x, x1, x2, MISSED, check)) ?? false;
    if (anew) {
      // Limits that were left out turn out to bind: the program is written anew, the tightened limits kept.
      screen!.spread();
      const next = stretchProblem(use, grid, unit, scaled(first), scaled(last), screen);
      keepTightened(problem, next);
      problem = next;
      solver.load(problem);
      continue;
    }
    if (costOfTightening(check, intervalTimes(result.spline)) > costly) break;
    tighten(problem, check, exact ? 1 + 1e-5 : 1);
  }
  const needs = check?.knotNeed.map((value, k) => Math.max(value, check.jerkNeed[k]!));
  return { ...result, needs, need, iterations };
}

/** Takes over how far the limits are tightened from a program on the same grid. */
function keepTightened(from: RetimeProblem, to: RetimeProblem): void {
  to.cap.set(from.cap);
  to.knotRoom.set(from.knotRoom);
  const rooms = new Float64Array(from.n).fill(1);
  for (let e = 0; e < from.places.length; e++) rooms[from.places[e]!] = from.jerkRoom[e]!;
  for (let e = 0; e < to.places.length; e++) to.jerkRoom[e] = rooms[to.places[e]!]!;
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

function largestNeed(check: StretchCheck): number {
  let need = 0;
  for (let k = 0; k < check.knotNeed.length; k++) need = Math.max(need, check.knotNeed[k]!, check.jerkNeed[k]!);
  return need;
}

/** Share by which the duration grows, about, if the limits are tightened where they are exceeded. */
function costOfTightening(check: StretchCheck, times: Float64Array): number {
  let total = 0;
  let cost = 0;
  for (let k = 0; k < times.length; k++) {
    total += times[k]!;
    cost += times[k]! * Math.max(0, check.knotNeed[k]! - 1, check.jerkNeed[k]! - 1);
  }
  return cost / total;
}

/** The same law on a finer grid, checked there. */
export function checkedOn(use: PathUse, grid: StretchGrid, { spline: before, iterations }: Attempt): Attempt {
  const u = Float64Array.from(grid.nodes, (node) => node.u);
  const n = grid.middles.length;
  const spline = { u, x: new Float64Array(n + 1), x1: new Float64Array(n + 1), x2: new Float64Array(n) };
  copySpline(before, u, 0, spline.x, spline.x1, spline.x2);
  const check = new StretchCheck(use, grid);
  check.measure(spline.x, spline.x1, spline.x2);
  const needs = check.knotNeed.map((value, k) => Math.max(value, check.jerkNeed[k]!));
  return { spline, fill: check.fill, doubts: check.doubts, needs, need: largestNeed(check), iterations };
}

/** The slow law of constant x, which keeps all limits, about; for where no other can be found. */
export function steadyOn(use: PathUse, grid: StretchGrid, unit: number): Attempt {
  const n = grid.middles.length;
  const u = Float64Array.from(grid.nodes, (node) => node.u);
  const x = new Float64Array(n + 1).fill(0.8 * unit);
  const spline = { u, x, x1: new Float64Array(n + 1), x2: new Float64Array(n) };
  return checkedOn(use, grid, { spline, fill: undefined, needs: undefined, doubts: undefined, need: 1, iterations: 0 });
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

/** Time taken by each interval, s, about. */
export function intervalTimes(spline: Spline): Float64Array {
  const { u } = spline;
  const times = new Float64Array(u.length - 1);
  for (let k = 0; k < times.length; k++) {
    times[k] = (u[k + 1]! - u[k]!) / Math.sqrt(splineValue(spline, (u[k]! + u[k + 1]!) / 2));
  }
  return times;
}
