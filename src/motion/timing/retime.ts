/** Jerk-limited re-timing of one stretch: a first solution on a rough grid, then on finer ones. */
import type { PathUse } from "./path-use.ts";
import { type ReferenceLaw, referenceAt, referenceLaw } from "./reference-law.ts";
import { bowedIntervals, exceededIntervals, halvings, slackIntervals, unsureIntervals } from "./refinement.ts";
import type { FixedEnd } from "./retime-problem.ts";
import { passingTime, roughBounds, softened } from "./rough-bounds.ts";
import { type Attempt, checkedOn, EXACT_ROUNDS, ROUNDS, solveOn, steadyOn } from "./solve-grid.ts";
import { SplineLaw } from "./spline-law.ts";
import { heaviest, refineGrid, stretchGrid } from "./stretch-grid.ts";
import { uniformLimit } from "./stretch-problem.ts";

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

/** Relative gaps to the optimum of its program at which the first and the later solutions stop. */
const ROUGH_GAP = 3e-2;
const GAP = 1e-3;
/** A need for more time than this shows a grid too coarse to be mended by tighter limits. */
const COSTLY = 1.2e-3;
/** Refinements after the first full solution, and intervals beyond which there are none. */
const LEVELS = 5;
const EXACT_LEVELS = 8;
const MOST_INTERVALS = 320;

export function retimeStretch(
  given: PathUse,
  from: number,
  to: number,
  start: MovingEnd | undefined,
  end: MovingEnd | undefined,
  borders: readonly number[],
  options: RetimeOptions,
): Retimed | { readonly law: undefined; readonly s: number; readonly row: number; readonly share: number } {
  const bounds = roughBounds(given, from, to);
  const rough = referenceLaw(from, to, start?.sd ?? 0, end?.sd ?? 0, bounds);
  const duration = Math.max(rough.duration, passingTime(given, from, to, borders));
  const use = softened(given, duration, bounds);
  const reference =
    use === given ? rough : referenceLaw(from, to, start?.sd ?? 0, end?.sd ?? 0, roughBounds(use, from, to));
  let grid = stretchGrid(use, reference, borders, options.intervals, options.least);
  const heavy = heaviest(use, grid);
  if (heavy.share > MOST_AT_REST) return { law: undefined, ...heavy };
  const first = start && fixedEnd(reference, 0, start);
  const last = end && fixedEnd(reference, 1, end);
  const unit = Math.min(
    uniformLimit(use, grid),
    first ? first.x : Number.POSITIVE_INFINITY,
    last ? last.x : Number.POSITIVE_INFINITY,
  );
  let iterations = 0;
  // First a rough solution; then the grid is made finer where it spends much time.
  let attempt = solveOn(use, grid, unit, first, last, undefined, ROUGH_GAP, 1, Number.POSITIVE_INFINITY);
  iterations += attempt.iterations;
  const finer = halvings(attempt.spline, 2 * options.intervals);
  if (finer) grid = refineGrid(use, grid, finer);
  const bowed = bowedIntervals(use, grid, attempt.spline);
  if (bowed) grid = refineGrid(use, grid, bowed);
  const exact = start !== undefined || end !== undefined;
  const rounds = exact ? EXACT_ROUNDS : ROUNDS;
  const levels = exact ? EXACT_LEVELS : LEVELS;
  attempt = solveOn(use, grid, unit, first, last, attempt.spline, GAP, rounds, COSTLY);
  iterations += attempt.iterations;
  // Where no limit is met over a share of the time worth having, the grid was too coarse to switch quickly.
  for (let level = 0; level < levels && grid.middles.length < MOST_INTERVALS; level++) {
    const unsure = unsureIntervals(attempt);
    if (unsure) {
      grid = refineGrid(use, grid, unsure);
      attempt = checkedOn(use, grid, attempt);
    }
    // Where time cannot be stretched afterwards, what is exceeded by a hair calls for a finer grid too.
    const slack = exact ? (exceededIntervals(attempt) ?? slackIntervals(attempt)) : slackIntervals(attempt);
    if (!slack) {
      if (unsure && unsureIntervals(attempt)) continue;
      break;
    }
    grid = refineGrid(use, grid, slack);
    const more = level + 1 < levels && grid.middles.length < MOST_INTERVALS;
    const costly = more ? COSTLY : Number.POSITIVE_INFINITY;
    attempt = solveOn(use, grid, unit, first, last, attempt.spline, GAP, rounds, costly);
    iterations += attempt.iterations;
  }
  const found = passable(attempt);
  if (!found) attempt = steadyOn(use, grid, unit);
  const { u, x, x1, x2 } = attempt.spline;
  const need = !exact ? attempt.need * (1 + MARGIN) : found ? attempt.need : Number.POSITIVE_INFINITY;
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

/** Whether x stays above 0 at the knots and between them and its need is a number; extreme limits may leave neither. */
function passable({ spline, need }: Attempt): boolean {
  const { u, x, x1, x2 } = spline;
  if (!(need < Number.POSITIVE_INFINITY)) return false;
  for (let k = 0; k < x2.length; k++) {
    const h = u[k + 1]! - u[k]!;
    const last = x[k]! + h * (x1[k]! + (h * x2[k]!) / 2);
    if (!(x[k]! > 0 && last > 0)) return false;
    const turn = -x1[k]! / x2[k]!;
    if (turn > 0 && turn < h && !(x[k]! + (turn * x1[k]!) / 2 > 0)) return false;
  }
  return true;
}

const g = new Float64Array(4);

/** ẇ² and its slope from ṡ and s̈: ṡ = g'u̇, s̈ = g''u̇² + g'x'/2. */
function fixedEnd(reference: ReferenceLaw, u: number, end: MovingEnd): FixedEnd {
  referenceAt(reference, u, u > 0.5 ? -1 : 1, g);
  const x = (end.sd / g[1]!) ** 2;
  return { x, slope: (2 * (end.sdd - g[2]! * x)) / g[1]! };
}
