/** Rows of joint values. */
import type { Arm } from "../model.ts";
import { wrap } from "./family.ts";
import { DISTINCT } from "./result.ts";

/** Wraps turning joints into (-π, π] and drops rows that repeat an earlier one; returns the number of rows kept. */
export function dropRepeats(arm: Arm, q: Float64Array, count: number): number {
  const { n, prismatic } = arm;
  let kept = 0;
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < n; k++) q[n * i + k] = prismatic[k] ? q[n * i + k]! : wrap(q[n * i + k]!);
    let repeated = false;
    for (let j = 0; j < kept && !repeated; j++) repeated = sameRow(arm, q, n * i, q, n * j, DISTINCT);
    if (repeated) continue;
    if (kept !== i) q.copyWithin(n * kept, n * i, n * i + n);
    kept++;
  }
  return kept;
}

/** Whether two rows agree to `tolerance` in every joint, full turns apart. */
export function sameRow(
  arm: Arm,
  a: ArrayLike<number>,
  atA: number,
  b: ArrayLike<number>,
  atB: number,
  tolerance: number,
): boolean {
  for (let k = 0; k < arm.n; k++) {
    const d = a[atA + k]! - b[atB + k]!;
    if (Math.abs(arm.prismatic[k] ? d : wrap(d)) >= tolerance) return false;
  }
  return true;
}
