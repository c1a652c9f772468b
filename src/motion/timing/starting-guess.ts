/** Where the interior-point iteration starts. */
import { reachability } from "./reachability.ts";
import type { RetimeProblem } from "./retime-problem.ts";

/**
 * Least-time x at the knots without jerk limits but for those of steady motion (x' = x'' = 0), by reachability analysis.
 * Where that has no solution, 1: the largest x that can be kept throughout.
 */
export function startingGuess(problem: RetimeProblem): Float64Array {
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
