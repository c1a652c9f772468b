/**
 * Effective mass of the arm at a pose: what a body feels that is struck by one point of the tool in one direction,
 * m_u = 1 / (uᵀ J M⁻¹ Jᵀ u), joints free, drives as inertia at the joint.
 *
 * Source: Khatib, Inertial properties in robotic manipulation, IJRR 14(1), 1995 (formula recalled). M is the joint-space inertia
 * matrix with motor inertia and load, J the translational Jacobian of the point.
 */
import { type Arm, createDynamics, geometricJacobian, type Payload } from "../arm/index.ts";
import type { Pose } from "../math/pose.ts";

export interface EffectiveMass {
  /**
   * kg; Infinity where the arm cannot move that way at all.
   * @param direction unit vector, base axes   @param flangeFromPoint place of the point on the flange
   */
  of(
    q: ArrayLike<number>,
    direction: ArrayLike<number>,
    flangeFromPoint: Pose | undefined,
    payload: Payload | undefined,
  ): number;
}

/** Not reentrant; allocates nothing per call. @throws ContractError when the arm's masses are not known */
export function createEffectiveMass(arm: Arm): EffectiveMass {
  const { n } = arm;
  const dynamics = createDynamics(arm);
  const m = new Float64Array(n * n);
  const jacobian = new Float64Array(6 * n);
  const x = new Float64Array(n);
  return {
    of(q, direction, flangeFromPoint, payload) {
      dynamics.massMatrix(q, payload, m);
      geometricJacobian(arm, q, flangeFromPoint, jacobian);
      for (let i = 0; i < n; i++)
        x[i] = direction[0]! * jacobian[i]! + direction[1]! * jacobian[n + i]! + direction[2]! * jacobian[2 * n + i]!;
      // M = L Lᵀ; with L y = Jᵀu the mobility is yᵀ y.
      let mobility = 0;
      for (let i = 0; i < n; i++) {
        for (let j = 0; j <= i; j++) {
          let sum = m[i * n + j]!;
          for (let k = 0; k < j; k++) sum -= m[i * n + k]! * m[j * n + k]!;
          if (j < i) m[i * n + j] = sum / m[j * n + j]!;
          else m[i * n + i] = Math.sqrt(Math.max(sum, Number.MIN_VALUE));
        }
        let y = x[i]!;
        for (let k = 0; k < i; k++) y -= m[i * n + k]! * x[k]!;
        x[i] = y / m[i * n + i]!;
        mobility += x[i]! * x[i]!;
      }
      return mobility > 0 ? 1 / mobility : Number.POSITIVE_INFINITY;
    },
  };
}
