/** Which way a `press` step pushes, and whether the arm's joints can give its force there. */
import { createDynamics, forwardKinematics, geometricJacobian } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import { compose, copyPose, type Pose } from "../math/pose.ts";
import type { Metres, Newtons } from "../math/units.ts";
import type { MotionFailure } from "../motion/index.ts";

/** A push at joint values `q`: along the z axis of the gripper's TCP, through the point in force. */
export interface Push {
  readonly q: Float64Array;
  /** The gripper's own TCP, whose z axis points from the flange to the work, whatever axes a held part has. */
  readonly flangeFromGripper: Pose;
  /** The point pushed with: the frame of the held part, or the gripper's TCP. */
  readonly flangeFromPoint: Pose;
}

/** Direction of a push, unit vector in the arm's base axes. */
export function pushDirection(arm: Arm, { q, flangeFromGripper }: Push): [number, number, number] {
  const baseFromGripper = compose(forwardKinematics(arm, q, new Float64Array(16)), flangeFromGripper);
  return [baseFromGripper[2]!, baseFromGripper[6]!, baseFromGripper[10]!];
}

/** The point in force after a travel (m) along the push, in the arm's base frame; its axes do not turn. */
export function pushedTo(arm: Arm, push: Push, travel: Metres): Pose {
  const direction = pushDirection(arm, push);
  const moved = copyPose(compose(forwardKinematics(arm, push.q, new Float64Array(16)), push.flangeFromPoint));
  direction.forEach((d, i) => {
    moved[4 * i + 3]! += d * travel;
  });
  return moved;
}

/** The largest force (N) that the joints can push with, and the joint that allows no more. */
export interface PressLimit {
  /** At most; negative where the joint cannot even hold the arm still; Infinity where no joint limits it. */
  readonly force: Newtons;
  /** -1 where no joint limits it. */
  readonly joint: number;
  /** Torque of that joint at rest, N m, and what each newton of the push adds. */
  readonly holding: number;
  readonly perNewton: number;
}

/**
 * Joint torques of a push, τ = g(q) + Jᵀ F with F the force that the tool exerts, against the torque limits.
 * @returns undefined when masses are not stated
 * @source virtual work, any textbook of robotics
 */
export function pressLimit(
  arm: Arm,
  push: Push,
  gravity: readonly [number, number, number],
  payload: Payload | undefined,
): PressLimit | undefined {
  const { n } = arm;
  if (!arm.hasMasses || payload === undefined) return undefined;
  const { q, flangeFromPoint } = push;
  const still = new Float64Array(n);
  const holding = new Float64Array(n);
  createDynamics(arm).torque(q, still, still, gravity, payload, holding);
  const jacobian = geometricJacobian(arm, q, flangeFromPoint, new Float64Array(6 * n));
  const [x, y, z] = pushDirection(arm, push);
  let least: PressLimit = { force: Number.POSITIVE_INFINITY, joint: -1, holding: 0, perNewton: 0 };
  for (let i = 0; i < n; i++) {
    const perNewton = jacobian[i]! * x + jacobian[n + i]! * y + jacobian[2 * n + i]! * z;
    if (perNewton === 0) continue;
    // A push that works against the torque at rest leaves more room than one that adds to it.
    const force = (arm.torque[i]! - Math.sign(perNewton) * holding[i]!) / Math.abs(perNewton);
    if (force < least.force) least = { force, joint: i, holding: holding[i]!, perNewton };
  }
  return least;
}

/**
 * Whether the arm's joints can give the force of a push.
 * @param force N, > 0
 * @returns undefined when every joint can give it, or when masses or limits are not stated; else the joint that allows the
 * least force
 */
export function pressTorqueFailure(
  arm: Arm,
  push: Push,
  force: Newtons,
  gravity: readonly [number, number, number],
  payload: Payload | undefined,
): MotionFailure | undefined {
  const limit = pressLimit(arm, push, gravity, payload);
  if (limit === undefined || limit.force >= force) return undefined;
  const { force: most, joint, holding, perNewton } = limit;
  const needed = Math.abs(holding + perNewton * force);
  const unit = arm.prismatic[joint] === 1 ? "N" : "N m";
  return {
    kind: "torque",
    segment: 0,
    fraction: 0,
    joint,
    baseFromTcp: pushedTo(arm, push, 0 as Metres),
    message: `pressing with ${force.toFixed(0)} N asks ${needed.toFixed(1)} ${unit} of joint ${arm.jointNames[joint]}, whose limit is ${arm.torque[joint]!.toFixed(1)} ${unit}`,
    mend:
      most >= 1
        ? `Press with at most ${Math.floor(most)} N here, or press with the arm less stretched.`
        : "Press with the arm less stretched or with a lighter tool: here the joint has no torque left to press with.",
  };
}
