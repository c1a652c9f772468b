/** Jerk-limited re-timing of one stretch: grid, program, interior point, check between the knots, repair. */
import { InteriorPoint } from "./interior-point.ts";
import type { PathUse } from "./path-use.ts";
import { referenceAt, referenceLaw } from "./reference-law.ts";
import type { FixedEnd } from "./retime-problem.ts";
import { SplineLaw } from "./spline-law.ts";
import { StretchCheck } from "./stretch-check.ts";
import { stretchGrid, stretchProblem, uniformLimit } from "./stretch-grid.ts";

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
  const reference = referenceLaw(from, to, start === undefined, end === undefined);
  const grid = stretchGrid(use, reference, borders, options.intervals, options.least);
  const n = grid.middles.length;
  const first = start && fixedEnd(reference, 0, start);
  const last = end && fixedEnd(reference, 1, end);
  const unit = Math.min(uniformLimit(use, grid), first ? first.x : Infinity, last ? last.x : Infinity);
  const scaled = (fixed: FixedEnd | undefined): FixedEnd | undefined =>
    fixed && { x: fixed.x / unit, slope: fixed.slope / unit };
  const problem = stretchProblem(use, grid, unit, scaled(first), scaled(last));
  const solver = new InteriorPoint(problem);
  solver.start(() => 0.8);
  const check = new StretchCheck(use, grid);
  const x = new Float64Array(n + 1);
  const x1 = new Float64Array(n + 1);
  const x2 = new Float64Array(n);
  let iterations = 0;
  let need = 0;
  for (let round = 0; round < 4; round++) {
    const result = solver.solve(1e-3, round === 0 ? 0.5 : 0.01, 60, round > 0);
    iterations += result.iterations;
    for (let k = 0; k <= n; k++) {
      x[k] = solver.x[k]! * unit;
      x1[k] = solver.x1[k]! * unit;
    }
    for (let k = 0; k < n; k++) x2[k] = solver.x2[k]! * unit;
    check.measure(x, x1, x2);
    need = 0;
    for (let k = 0; k < n; k++) need = Math.max(need, check.knotNeed[k]!, check.jerkNeed[k]!);
    if (need < 1.0015 || round === 3) break;
    for (let k = 0; k < n; k++) {
      const a = check.knotNeed[k]!;
      if (a > 1) {
        problem.knotRoom[k] = problem.knotRoom[k]! / (a * a);
        problem.knotRoom[k + 1] = problem.knotRoom[k + 1]! / (a * a);
      }
    }
    for (let e = 0; e < problem.places.length; e++) {
      const j = check.jerkNeed[problem.places[e]!]!;
      if (j > 1) problem.jerkRoom[e] = problem.jerkRoom[e]! / j ** 3;
    }
  }
  need *= 1 + MARGIN;
  if (!start && !end) {
    const shrink = 1 / (need * need);
    for (let k = 0; k <= n; k++) {
      x[k] = x[k]! * shrink;
      x1[k] = x1[k]! * shrink;
      if (k < n) x2[k] = x2[k]! * shrink;
    }
  }
  const u = Float64Array.from(grid.nodes, (node) => node.u);
  return { law: new SplineLaw(reference, u, x, x1, x2), need, iterations };
}

const g = new Float64Array(4);

/** ẇ² and its slope from ṡ and s̈: ṡ = g'u̇, s̈ = g''u̇² + g'x'/2. */
function fixedEnd(reference: ReturnType<typeof referenceLaw>, u: number, end: MovingEnd): FixedEnd {
  referenceAt(reference, u, g);
  const x = (end.sd / g[1]!) ** 2;
  return { x, slope: (2 * (end.sdd - g[2]! * x)) / g[1]! };
}
