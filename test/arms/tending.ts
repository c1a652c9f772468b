/**
 * Two arms with limits and masses for motion tests: the invented offset-wrist arm of the bench scene (its joint table; limits
 * and masses invented here for the tests) and the Puma 560 with limits of its size (invented as well).
 */
import type { ArmDescription, JointDescription } from "../../src/cell/arm-description.ts";
import { describeDh } from "./describe.ts";
import { puma560 } from "./puma560.ts";

const right = Math.PI / 2;
const rad = Math.PI / 180;

export interface JointLimits {
  readonly range: number;
  readonly velocity: number;
  readonly acceleration: number;
  readonly jerk: number;
  readonly torque: number;
}

export function withLimits(description: ArmDescription, limits: readonly JointLimits[]): ArmDescription {
  return {
    ...description,
    joints: description.joints.map(
      (joint, i): JointDescription => ({
        ...joint,
        min: -limits[i]!.range,
        max: limits[i]!.range,
        velocity: limits[i]!.velocity,
        acceleration: limits[i]!.acceleration,
        jerk: limits[i]!.jerk,
        torque: limits[i]!.torque,
      }),
    ),
  };
}

const limit = (range: number, velocity: number, acceleration: number, jerk: number, torque: number): JointLimits => ({
  range: range * rad,
  velocity: velocity * rad,
  acceleration: acceleration * rad,
  jerk: jerk * rad,
  torque,
});

/** Offset-wrist arm of the bench scene, three parallel axes; ±360° on every joint. */
export function offsetWrist(): ArmDescription {
  const body = (mass: number, x: number, y: number, z: number, t: number) => ({
    mass,
    centre: [x, y, z] as const,
    tensor: [t, t, t, 0, 0, 0] as const,
  });
  const table = [
    { a: 0, alpha: right, d: 0.16, inertia: body(4, 0, -0.02, 0, 0.01) },
    { a: -0.43, alpha: 0, d: 0, inertia: body(9, 0.2, 0, 0.1, 0.15) },
    { a: -0.39, alpha: 0, d: 0, inertia: body(3, 0.2, 0, 0.02, 0.04) },
    { a: 0, alpha: right, d: 0.13, inertia: body(1.2, 0, 0, 0, 0.002) },
    { a: 0, alpha: -right, d: 0.1, inertia: body(1.2, 0, 0, 0, 0.002) },
    { a: 0, alpha: 0, d: 0.09, inertia: body(0.3, 0, 0, -0.03, 0.0003) },
  ];
  return withLimits(describeDh("offset-wrist test arm", table), [
    limit(360, 180, 700, 7000, 330),
    limit(360, 180, 700, 7000, 330),
    limit(360, 180, 900, 9000, 150),
    limit(360, 260, 1500, 20000, 56),
    limit(360, 260, 1500, 20000, 56),
    limit(360, 260, 1500, 20000, 56),
  ]);
}

/** Puma 560 geometry and masses; limits of an arm of its size. */
export function limitedPuma(): ArmDescription {
  return withLimits(puma560({ motors: true }), [
    limit(160, 110, 500, 6000, 98),
    limit(225, 110, 500, 6000, 186),
    limit(225, 110, 600, 8000, 90),
    limit(266, 250, 1200, 15000, 25),
    limit(100, 250, 1200, 15000, 22),
    limit(266, 250, 1200, 15000, 22),
  ]);
}

/** TCP of the bench scene: 120 mm out along the flange z axis. */
export const benchTcp = Float64Array.of(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0.12, 0, 0, 0, 1);
