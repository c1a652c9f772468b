/** From the description of an arm to the typed arrays that the kernels work on. */
import type { ArmDescription, InertiaDescription } from "../cell/arm-description.ts";
import { reframeInertia } from "../cell/reframe.ts";
import { ContractError } from "../math/contract-error.ts";
import { compose, identityPose, invert, type Pose } from "../math/pose.ts";
import { buildChain } from "./chain.ts";
import type { Arm } from "./model.ts";

/** Fewest and most joints of an arm. */
export const MIN_JOINTS = 3;
export const MAX_JOINTS = 7;

/** Largest departure of an axis from unit length, and of a rotation from orthonormal. */
const UNIT_TOLERANCE = 1e-6;

/**
 * Kernel form of a serial arm of 3 to 7 joints.
 * @throws ContractError if the number of joints or links, an axis, a pose, a limit or a mass is not what ArmDescription promises
 */
export function buildArm(description: ArmDescription): Arm {
  const { joints, links } = description;
  const n = joints.length;
  if (n < MIN_JOINTS || n > MAX_JOINTS)
    throw new ContractError(`buildArm: joints must be ${MIN_JOINTS} to ${MAX_JOINTS}, got ${n}`);
  if (links.length !== n + 1)
    throw new ContractError(`buildArm: links must be one more than joints (${n + 1}), got ${links.length}`);

  const turns = joints.map((joint, i) => poseWithZAlong(joint.axis, `joints[${i}].axis`));
  const prismatic = Uint8Array.from(joints, (joint) => (joint.kind === "prismatic" ? 1 : 0));
  const fixed = new Float64Array(12 * (n + 1));
  for (let i = 0; i <= n; i++) {
    const what = i < n ? `joints[${i}].parentFromJoint` : "lastFromFlange";
    const step = i < n ? joints[i]!.parentFromJoint : description.lastFromFlange;
    requirePose(step, what);
    const before = i === 0 ? identityPose() : invert(turns[i - 1]!);
    const product = compose(compose(before, step), i < n ? turns[i]! : identityPose());
    fixed.set(product.subarray(0, 12), 12 * i);
  }

  const hasMasses = links.slice(1).every((link) => link.inertia !== undefined);
  const mass = new Float64Array(n);
  const centre = new Float64Array(3 * n);
  const inertia = new Float64Array(6 * n);
  const describedFromKernel = new Float64Array(9 * n);
  for (let i = 0; i < n; i++) {
    const turn = turns[i]!;
    for (let r = 0; r < 3; r++) describedFromKernel.set(turn.subarray(4 * r, 4 * r + 3), 9 * i + 3 * r);
    const stated = links[i + 1]!.inertia;
    if (stated === undefined) continue;
    requireInertia(stated, `links[${i + 1}].inertia`);
    const turned = reframeInertia(stated, invert(turn));
    mass[i] = turned.mass;
    centre.set(turned.centre, 3 * i);
    inertia.set(turned.tensor, 6 * i);
  }

  for (const [i, joint] of joints.entries()) {
    if (!(joint.min <= joint.max))
      throw new ContractError(`buildArm: joints[${i}]: min must not be above max, got ${joint.min} and ${joint.max}`);
    for (const key of ["velocity", "acceleration", "jerk", "torque"] as const) {
      if (!(joint[key] > 0)) throw new ContractError(`buildArm: joints[${i}].${key} must be > 0, got ${joint[key]}`);
    }
    if (!(joint.motorInertia >= 0 && joint.motorInertia < Number.POSITIVE_INFINITY))
      throw new ContractError(
        `buildArm: joints[${i}].motorInertia must be finite and not below 0, got ${joint.motorInertia}`,
      );
  }

  return {
    name: description.name,
    n,
    jointNames: joints.map((joint, i) => joint.name || `J${i + 1}`),
    prismatic,
    fixed,
    min: Float64Array.from(joints, (joint) => joint.min),
    max: Float64Array.from(joints, (joint) => joint.max),
    velocity: Float64Array.from(joints, (joint) => joint.velocity),
    acceleration: Float64Array.from(joints, (joint) => joint.acceleration),
    jerk: Float64Array.from(joints, (joint) => joint.jerk),
    torque: Float64Array.from(joints, (joint) => joint.torque),
    motorInertia: Float64Array.from(joints, (joint) => joint.motorInertia),
    hasMasses,
    mass,
    centre,
    inertia,
    describedFromKernel,
    chain: buildChain(n, fixed),
  };
}

/**
 * A rotation whose z column is the axis. Exact for the coordinate axes; otherwise the shortest turn from z (or from -z
 * where the axis points down).
 */
function poseWithZAlong(axis: readonly [number, number, number], what: string): Pose {
  const length = Math.hypot(axis[0], axis[1], axis[2]);
  if (!(Math.abs(length - 1) < UNIT_TOLERANCE))
    throw new ContractError(`buildArm: ${what} must be a unit vector, got (${axis.join(", ")})`);
  const x = axis[0] / length,
    y = axis[1] / length,
    z = axis[2] / length;
  const out = identityPose();
  // Shortest turn from z (Rodrigues); for a downward axis preceded by a half turn about x, which keeps 1 + |z| away from 0.
  const up = z >= 0 ? 1 : -1;
  const k = 1 / (1 + up * z);
  out[0] = 1 - x * x * k;
  out[4] = -x * y * k;
  out[8] = -up * x;
  out[1] = -up * x * y * k;
  out[5] = up * (1 - y * y * k);
  out[9] = -y;
  out[2] = x;
  out[6] = y;
  out[10] = z;
  for (let i = 0; i < 11; i++) out[i]! += 0;
  return out;
}

function requirePose(pose: Pose, what: string): void {
  if (pose.length !== 16) throw new ContractError(`buildArm: ${what} must have 16 numbers, got ${pose.length}`);
  for (let i = 0; i < 12; i++)
    if (!Number.isFinite(pose[i]!)) throw new ContractError(`buildArm: ${what}[${i}] must be finite, got ${pose[i]}`);
  for (let a = 0; a < 3; a++) {
    for (let b = 0; b <= a; b++) {
      const dot = pose[a]! * pose[b]! + pose[a + 4]! * pose[b + 4]! + pose[a + 8]! * pose[b + 8]!;
      if (Math.abs(dot - (a === b ? 1 : 0)) > UNIT_TOLERANCE)
        throw new ContractError(`buildArm: ${what} must have an orthonormal rotation`);
    }
  }
  const determinant =
    pose[0]! * (pose[5]! * pose[10]! - pose[6]! * pose[9]!) -
    pose[1]! * (pose[4]! * pose[10]! - pose[6]! * pose[8]!) +
    pose[2]! * (pose[4]! * pose[9]! - pose[5]! * pose[8]!);
  if (determinant < 0) throw new ContractError(`buildArm: ${what} must be right-handed`);
}

function requireInertia(stated: InertiaDescription, what: string): void {
  const numbers = [stated.mass, ...stated.centre, ...stated.tensor];
  if (!numbers.every(Number.isFinite)) throw new ContractError(`buildArm: ${what} must be finite, got ${numbers}`);
  if (stated.mass < 0) throw new ContractError(`buildArm: ${what}.mass must not be below 0 kg, got ${stated.mass}`);
}
