/** Whether the arm's joints can give the force of a `press` step where it is pressed. */
import { createDynamics, geometricJacobian } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import type { PressStep } from "../cell/steps.ts";
import type { Pose } from "../math/pose.ts";
import type { MotionFailure } from "../motion/index.ts";

/**
 * Joint torques of a push along the tool's z axis, τ = g(q) + Jᵀ F, against the torque limits.
 * @returns undefined when every joint can give it, or when masses or limits are not stated
 * @source virtual work, any textbook of robotics
 */
export function pressTorqueFailure(
  arm: Arm,
  q: Float64Array,
  baseFromTcp: Pose,
  flangeFromTcp: Pose,
  step: PressStep,
  gravity: readonly [number, number, number],
  payload: Payload | undefined,
): MotionFailure | undefined {
  const { n } = arm;
  if (!arm.hasMasses || payload === undefined) return undefined;
  const still = new Float64Array(n);
  const torque = new Float64Array(n);
  createDynamics(arm).torque(q, still, still, gravity, payload, torque);
  const jacobian = geometricJacobian(arm, q, flangeFromTcp, new Float64Array(6 * n));
  const force = [2, 6, 10].map((i) => baseFromTcp[i]! * step.force);
  for (let i = 0; i < n; i++) {
    const push = jacobian[i]! * force[0]! + jacobian[n + i]! * force[1]! + jacobian[2 * n + i]! * force[2]!;
    const needed = torque[i]! + push;
    const limit = arm.torque[i]!;
    if (Math.abs(needed) <= limit) continue;
    const room = limit - Math.abs(torque[i]!);
    const most = Math.abs(push) > 0 ? Math.max(0, (step.force * room) / Math.abs(push)) : 0;
    return {
      kind: "torque",
      segment: 0,
      fraction: 0,
      joint: i,
      baseFromTcp,
      message: `pressing with ${step.force.toFixed(0)} N asks ${Math.abs(needed).toFixed(1)} N m of joint ${i + 1}, whose limit is ${limit.toFixed(1)} N m`,
      mend: `Press with at most ${most.toFixed(0)} N here, or press with the arm less stretched.`,
    };
  }
  return undefined;
}
