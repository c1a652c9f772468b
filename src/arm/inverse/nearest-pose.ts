/** The attainable pose nearest to one out of reach. */
import type { Pose } from "../../math/pose.ts";
import { SeededRandom } from "../../math/seeded-random.ts";
import type { Arm } from "../model.ts";
import type { Descent } from "./descent.ts";
import { EXACT, type InverseResult } from "./result.ts";
import { dropRepeats } from "./rows.ts";

/** Starts of the descent; the first is the arm at joint values 0. */
const STARTS = 24;

/**
 * Writes to row 0 the joint values that minimise |Δp|² + (L·Δθ)², with L half the sum of the link lengths, over a fixed set
 * of starts; joint limits are not regarded. Should the descent meet the pose after all, the result says so (exact).
 */
export function nearestPose(arm: Arm, descent: Descent, goal: Pose, out: InverseResult): void {
  const { n } = arm;
  random.restart(1);
  let best = Number.POSITIVE_INFINITY;
  const q = rows[n]!;
  for (let s = 0; s < STARTS; s++) {
    for (let k = 0; k < n; k++) q[k] = s === 0 ? 0 : (arm.prismatic[k] ? 0.5 : Math.PI) * (2 * random.next() - 1);
    const error = descent.minimise(goal, q, 40, false);
    if (error < best - 1e-12) {
      best = error;
      out.q.set(q);
      out.positionError = descent.positionError;
      out.rotationError = descent.rotationError;
    }
  }
  q.set(out.q.subarray(0, n));
  const last = descent.minimise(goal, q, 200, false);
  if (last <= best) {
    out.q.set(q);
    out.positionError = descent.positionError;
    out.rotationError = descent.rotationError;
  }
  out.count = dropRepeats(arm, out.q, 1);
  out.exact = out.positionError <= EXACT && out.rotationError <= EXACT;
}

const random = new SeededRandom(1);
const rows: Float64Array[] = [];
for (let n = 0; n < 8; n++) rows.push(new Float64Array(n));
