/** Looks at a planned motion from outside: samples it at 1 kHz and compares what it does with the limits, by difference quotients. */
import { createDynamics, forwardKinematics, geometricJacobian } from "../../src/arm/index.ts";
import type { Arm, Payload } from "../../src/arm/model.ts";
import { compose, identityPose, type Pose } from "../../src/math/pose.ts";
import type { Motion, ToolLimits } from "../../src/motion/index.ts";

/** Largest use of each limit, 1 being all of it, and largest departure of the stated rates from difference quotients. */
export interface Audit {
  velocity: number;
  acceleration: number;
  jerk: number;
  toolSpeed: number;
  toolAcceleration: number;
  turnSpeed: number;
  torque: number;
  /** rad/s and rad/s². */
  speedError: number;
  accelerationError: number;
}

export function audit(
  arm: Arm,
  motion: Motion,
  tool: ToolLimits,
  flangeFromTcp: Pose,
  load?: { readonly payload: Payload; readonly gravity: readonly [number, number, number] },
): Audit {
  const { n } = arm;
  const state = () => ({ q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) });
  const [here, before, after] = [state(), state(), state()];
  const out: Audit = {
    velocity: 0,
    acceleration: 0,
    jerk: 0,
    toolSpeed: 0,
    toolAcceleration: 0,
    turnSpeed: 0,
    torque: 0,
    speedError: 0,
    accelerationError: 0,
  };
  const dynamics = load === undefined ? undefined : createDynamics(arm);
  const jacobian = new Float64Array(6 * n);
  const torque = new Float64Array(n);
  const h = 1e-5;
  const rate = ({ q, qd }: ReturnType<typeof state>) => {
    geometricJacobian(arm, q, flangeFromTcp, jacobian);
    return Array.from({ length: 6 }, (_, r) => qd.reduce((sum, v, i) => sum + jacobian[n * r + i]! * v, 0));
  };
  const most = (key: keyof Audit, value: number) => {
    if (!(value <= out[key])) out[key] = value;
  };
  const count = Math.ceil(1000 * motion.duration);
  for (let k = 0; k <= count; k++) {
    const time = (motion.duration * k) / Math.max(1, count);
    motion.sample(time, here);
    for (let i = 0; i < n; i++) {
      most("velocity", Math.abs(here.qd[i]!) / arm.velocity[i]!);
      most("acceleration", Math.abs(here.qdd[i]!) / arm.acceleration[i]!);
    }
    const v = rate(here);
    most("toolSpeed", Math.hypot(v[0]!, v[1]!, v[2]!) / tool.speed);
    most("turnSpeed", Math.hypot(v[3]!, v[4]!, v[5]!) / tool.turnSpeed);
    if (dynamics !== undefined) {
      dynamics.torque(here.q, here.qd, here.qdd, load!.gravity, load!.payload, torque);
      for (let i = 0; i < n; i++) most("torque", Math.abs(torque[i]!) / arm.torque[i]!);
    }
    if (time < h || time > motion.duration - h) continue;
    motion.sample(time - h, before);
    motion.sample(time + h, after);
    for (let i = 0; i < n; i++) {
      most("jerk", Math.abs(after.qdd[i]! - before.qdd[i]!) / (2 * h) / arm.jerk[i]!);
      most("speedError", Math.abs((after.q[i]! - before.q[i]!) / (2 * h) - here.qd[i]!));
      most("accelerationError", Math.abs((after.qd[i]! - before.qd[i]!) / (2 * h) - here.qdd[i]!));
    }
    const [va, vb] = [rate(before), rate(after)];
    const a = [0, 1, 2].map((r) => (vb[r]! - va[r]!) / (2 * h));
    most("toolAcceleration", Math.hypot(a[0]!, a[1]!, a[2]!) / tool.acceleration);
  }
  return out;
}

/** Tool poses at equal times along a motion, both ends included. */
export function toolPoses(
  arm: Arm,
  motion: Motion,
  flangeFromTcp: Pose,
  count: number,
  from = 0,
  to = motion.duration,
): Pose[] {
  const state = { q: new Float64Array(arm.n), qd: new Float64Array(arm.n), qdd: new Float64Array(arm.n) };
  return Array.from({ length: count + 1 }, (_, k) => {
    motion.sample(from + ((to - from) * k) / count, state);
    return compose(forwardKinematics(arm, state.q, identityPose()), flangeFromTcp);
  });
}
