/** Damped least squares on the pose error (Levenberg 1944, Marquardt 1963; for arms: Nakamura & Hanafusa 1986). */
import { identityPose, type Pose } from "../../math/pose.ts";
import { forwardKinematics } from "../forward.ts";
import { geometricJacobian } from "../jacobian.ts";
import type { Arm } from "../model.ts";

/** Pose errors and damped steps of one arm; keeps its own scratch, so that nothing is allocated per call. */
export class Descent {
  /** Distance (m) and angle (rad) of the last evaluation. */
  positionError = 0;
  rotationError = 0;
  /** Length that one radian of orientation error is worth, m. */
  readonly radianLength: number;
  private readonly pose: Pose = identityPose();
  private readonly jacobian: Float64Array;
  private readonly error = new Float64Array(6);
  private readonly square: Float64Array;
  private readonly step: Float64Array;
  private readonly trial: Float64Array;
  private readonly gradient: Float64Array;
  private readonly pinned: Uint8Array;

  constructor(private readonly arm: Arm) {
    const n = arm.n;
    this.jacobian = new Float64Array(6 * n);
    this.square = new Float64Array(Math.max(36, n * n));
    this.step = new Float64Array(Math.max(6, n));
    this.trial = new Float64Array(n);
    this.gradient = new Float64Array(n);
    this.pinned = new Uint8Array(n);
    this.radianLength = reachOf(arm) / 2 || 1;
  }

  /** Weighted squared error of the joint values at q[at…]; sets the two errors and the error vector. */
  evaluate(goal: Pose, q: ArrayLike<number>): number {
    const t = forwardKinematics(this.arm, q, this.pose);
    const e = this.error;
    e[0] = goal[3]! - t[3]!;
    e[1] = goal[7]! - t[7]!;
    e[2] = goal[11]! - t[11]!;
    // Rotation D = R_goal·R_flangeᵀ as a rotation vector: axis part (sin) and trace (cos).
    const g0 = goal[0]!,
      g1 = goal[1]!,
      g2 = goal[2]!,
      g4 = goal[4]!,
      g5 = goal[5]!,
      g6 = goal[6]!,
      g8 = goal[8]!,
      g9 = goal[9]!,
      g10 = goal[10]!;
    const t0 = t[0]!,
      t1 = t[1]!,
      t2 = t[2]!,
      t4 = t[4]!,
      t5 = t[5]!,
      t6 = t[6]!,
      t8 = t[8]!,
      t9 = t[9]!,
      t10 = t[10]!;
    const d01 = g0 * t4 + g1 * t5 + g2 * t6,
      d02 = g0 * t8 + g1 * t9 + g2 * t10,
      d10 = g4 * t0 + g5 * t1 + g6 * t2,
      d12 = g4 * t8 + g5 * t9 + g6 * t10,
      d20 = g8 * t0 + g9 * t1 + g10 * t2,
      d21 = g8 * t4 + g9 * t5 + g10 * t6;
    const d00 = g0 * t0 + g1 * t1 + g2 * t2,
      d11 = g4 * t4 + g5 * t5 + g6 * t6,
      d22 = g8 * t8 + g9 * t9 + g10 * t10;
    const x = 0.5 * (d21 - d12),
      y = 0.5 * (d02 - d20),
      z = 0.5 * (d10 - d01);
    const s = Math.sqrt(x * x + y * y + z * z);
    const angle = Math.atan2(s, 0.5 * (d00 + d11 + d22 - 1));
    if (s > 1e-6 || angle < 1) {
      const k = s > 1e-12 ? angle / s : 1;
      e[3] = k * x;
      e[4] = k * y;
      e[5] = k * z;
    } else {
      // Half a turn: the axis from the diagonal of D, its signs from the sums across it.
      const ax = Math.sqrt(Math.max(0, 0.5 * (d00 + 1))),
        ay = Math.sqrt(Math.max(0, 0.5 * (d11 + 1))),
        az = Math.sqrt(Math.max(0, 0.5 * (d22 + 1)));
      const xy = d01 + d10,
        xz = d02 + d20,
        yz = d12 + d21;
      const big = ax >= ay && ax >= az ? 0 : ay >= az ? 1 : 2;
      e[3] = angle * (big === 0 || (big === 1 ? xy : xz) >= 0 ? ax : -ax);
      e[4] = angle * (big === 1 || (big === 0 ? xy : yz) >= 0 ? ay : -ay);
      e[5] = angle * (big === 2 || (big === 0 ? xz : yz) >= 0 ? az : -az);
    }
    const p2 = e[0]! * e[0]! + e[1]! * e[1]! + e[2]! * e[2]!;
    this.positionError = Math.sqrt(p2);
    this.rotationError = angle;
    const w = this.radianLength;
    return p2 + w * w * angle * angle;
  }

  /**
   * Newton steps from a start near a solution; q is improved in place and keeps the best values met.
   * @returns the weighted error (m) reached; positionError and rotationError belong to it
   */
  polish(goal: Pose, q: Float64Array, steps: number): number {
    const { trial, arm } = this;
    let best = this.evaluate(goal, q);
    let p = this.positionError,
      r = this.rotationError;
    for (let i = 0; i < steps && best > 1e-30; i++) {
      if (!this.newtonStep(q, 1e-9)) break;
      for (let k = 0; k < arm.n; k++) trial[k] = q[k]! + this.step[k]!;
      const now = this.evaluate(goal, trial);
      if (!(now < best)) break;
      const slow = now > 0.5 * best;
      best = now;
      p = this.positionError;
      r = this.rotationError;
      q.set(trial);
      if (slow && i > 3 && best < 1e-24) break;
    }
    this.positionError = p;
    this.rotationError = r;
    return Math.sqrt(best);
  }

  /**
   * Levenberg-Marquardt from any start, to a local minimum of |Δp|² + (radianLength·Δθ)².
   * @param limits joint values are kept inside min and max of the arm
   * @returns the weighted error (m) reached; positionError and rotationError belong to it
   */
  minimise(goal: Pose, q: Float64Array, iterations: number, limits: boolean): number {
    const { trial, arm, gradient, pinned } = this;
    const n = arm.n;
    if (limits) clampToLimits(arm, q);
    let best = this.evaluate(goal, q);
    let p = this.positionError,
      r = this.rotationError;
    let damping = 1e-3;
    for (let i = 0; i < iterations && best > 1e-26; i++) {
      geometricJacobian(arm, q, undefined, this.jacobian);
      this.evaluate(goal, q);
      const { square, step, jacobian, error, radianLength: w } = this;
      let trace = 0;
      for (let a = 0; a < n; a++) {
        let g = 0;
        for (let k = 0; k < 6; k++) g += (k < 3 ? 1 : w * w) * jacobian[k * n + a]! * error[k]!;
        gradient[a] = g;
        // A joint at its limit that the descent would push further out takes no part in this step.
        pinned[a] = limits && ((q[a]! >= arm.max[a]! && g > 0) || (q[a]! <= arm.min[a]! && g < 0)) ? 1 : 0;
      }
      for (let a = 0; a < n; a++) {
        for (let b = 0; b <= a; b++) {
          let sum = 0;
          for (let k = 0; k < 6; k++) sum += (k < 3 ? 1 : w * w) * jacobian[k * n + a]! * jacobian[k * n + b]!;
          if (pinned[a]! | pinned[b]!) sum = a === b ? 1 : 0;
          square[a * n + b] = sum;
          if (a === b) trace += sum;
        }
      }
      let improved = false;
      for (let attempt = 0; attempt < 12; attempt++) {
        for (let a = 0; a < n; a++) step[a] = pinned[a] ? 0 : gradient[a]!;
        if (solveDamped(square, step, n, (damping * trace) / n)) {
          for (let k = 0; k < n; k++) trial[k] = q[k]! + step[k]!;
          if (limits) clampToLimits(arm, trial);
          const now = this.evaluate(goal, trial);
          if (now < best) {
            const gain = best - now;
            best = now;
            p = this.positionError;
            r = this.rotationError;
            q.set(trial);
            damping = Math.max(damping * 0.1, 1e-12);
            improved = gain > 1e-13 * best;
            break;
          }
        }
        damping *= 8;
      }
      if (!improved) break;
    }
    this.positionError = p;
    this.rotationError = r;
    return Math.sqrt(best);
  }

  /** Least-norm step for the current error vector: Jᵀ(JJᵀ + λ)⁻¹e. Valid after `evaluate(goal, q)` of the same q. */
  private newtonStep(q: Float64Array, relativeDamping: number): boolean {
    const { arm, jacobian, square, step, error, radianLength: w } = this;
    const n = arm.n;
    geometricJacobian(arm, q, undefined, jacobian);
    for (let k = 3 * n; k < 6 * n; k++) jacobian[k]! *= w;
    let trace = 0;
    for (let a = 0; a < 6; a++) {
      for (let b = 0; b <= a; b++) {
        let sum = 0;
        for (let k = 0; k < n; k++) sum += jacobian[a * n + k]! * jacobian[b * n + k]!;
        square[6 * a + b] = sum;
        if (a === b) trace += sum;
      }
    }
    const rhs = rhs6;
    for (let k = 0; k < 6; k++) rhs[k] = k < 3 ? error[k]! : w * error[k]!;
    // Damping falls with the error, so that convergence stays quadratic and a singular pose stays bounded.
    const size = Math.abs(rhs[0]!) + Math.abs(rhs[1]!) + Math.abs(rhs[2]!) + Math.abs(rhs[3]!) + Math.abs(rhs[4]!);
    const lambda = trace * Math.min(relativeDamping, 1e-15 + size * size * 1e-3);
    if (!solveDamped(square, rhs, 6, lambda)) return false;
    for (let k = 0; k < n; k++) {
      let sum = 0;
      for (let a = 0; a < 6; a++) sum += jacobian[a * n + k]! * rhs[a]!;
      step[k] = sum;
    }
    return true;
  }
}

const rhs6 = new Float64Array(6);
const factor = new Float64Array(49);

/** Solves (A + λI)x = b in place by Cholesky; A symmetric, lower half given, n at most 7. False when not positive definite. */
function solveDamped(a: Float64Array, b: Float64Array, n: number, lambda: number): boolean {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[n * i + j]!;
      if (i === j) sum += lambda;
      for (let k = 0; k < j; k++) sum -= factor[7 * i + k]! * factor[7 * j + k]!;
      if (i === j) {
        if (!(sum > 0)) return false;
        factor[7 * i + i] = Math.sqrt(sum);
      } else factor[7 * i + j] = sum / factor[7 * j + j]!;
    }
  }
  for (let i = 0; i < n; i++) {
    let sum = b[i]!;
    for (let k = 0; k < i; k++) sum -= factor[7 * i + k]! * b[k]!;
    b[i] = sum / factor[7 * i + i]!;
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[i]!;
    for (let k = i + 1; k < n; k++) sum -= factor[7 * k + i]! * b[k]!;
    b[i] = sum / factor[7 * i + i]!;
  }
  return true;
}

function clampToLimits(arm: Arm, q: Float64Array): void {
  for (let i = 0; i < arm.n; i++) q[i] = Math.min(arm.max[i]!, Math.max(arm.min[i]!, q[i]!));
}

/** Sum of the link lengths, m: an upper bound of the reach of a turning-joint arm from its first axis. */
export function reachOf(arm: Arm): number {
  let sum = 0;
  for (let i = 1; i <= arm.n; i++) {
    const f = 12 * i;
    sum += Math.hypot(arm.fixed[f + 3]!, arm.fixed[f + 7]!, arm.fixed[f + 11]!);
  }
  return sum;
}
