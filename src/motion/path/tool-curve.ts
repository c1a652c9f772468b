/**
 * Curves of the tool: where the tool centre point is and how the tool is turned, as functions of a path parameter s in
 * [0, length]. s is the arc length of the tool centre point in metres, except where the tool turns more than
 * 1 rad per TURN_METRES of travel: there s is TURN_METRES times the angle turned, so that turning on the spot has a length.
 */
import { ContractError } from "../../math/contract-error.ts";
import type { Pose } from "../../math/pose.ts";
import type { ToolPoint } from "./tool-rates.ts";

/** Path length counted for one radian of turning, m. */
export const TURN_METRES = 0.1;

/** A line shorter than this (m) that turns the tool counts as turning on the spot. */
const ON_THE_SPOT = 1e-7;

export interface ToolCurve {
  /** Range of s, > 0. */
  readonly length: number;
  /** Travel of the tool centre point per unit of s, constant along lines and arcs: 0..1. */
  readonly travel: number;
  /** True for a straight line of the tool centre point: its distance from an end is then `travel` times s. */
  readonly straight: boolean;
  /** Everything in `out` at s in [0, length] (not clamped). */
  evaluate(s: number, out: ToolPoint): void;
}

/**
 * Axis (unit, base axes) and angle (0..π) of the turn that takes the rotation of pose `a` to that of pose `b`. For half a
 * turn both directions are the same; the one with the first non-zero component positive is taken.
 * The rotation parts need to be orthonormal to about 1e-6 only: the quaternion is normalised.
 */
export function turnBetween(a: Pose, b: Pose, axis: Float64Array): number {
  // m = Rb · Raᵀ
  const e = (i: number, j: number) => b[4 * i] * a[4 * j] + b[4 * i + 1] * a[4 * j + 1] + b[4 * i + 2] * a[4 * j + 2];
  const m00 = e(0, 0);
  const m11 = e(1, 1);
  const m22 = e(2, 2);
  const x0 = e(2, 1) - e(1, 2);
  const y0 = e(0, 2) - e(2, 0);
  const z0 = e(1, 0) - e(0, 1);
  // Four times the products of quaternion components; the largest square decides which row is used.
  const ww = 1 + m00 + m11 + m22;
  const xx = 1 + m00 - m11 - m22;
  const yy = 1 - m00 + m11 - m22;
  const zz = 1 - m00 - m11 + m22;
  let w: number;
  let x: number;
  let y: number;
  let z: number;
  if (ww >= xx && ww >= yy && ww >= zz) [w, x, y, z] = [ww, x0, y0, z0];
  else if (xx >= yy && xx >= zz) [w, x, y, z] = [x0, xx, e(1, 0) + e(0, 1), e(0, 2) + e(2, 0)];
  else if (yy >= zz) [w, x, y, z] = [y0, e(1, 0) + e(0, 1), yy, e(2, 1) + e(1, 2)];
  else [w, x, y, z] = [z0, e(0, 2) + e(2, 0), e(2, 1) + e(1, 2), zz];
  if (w < 0) [w, x, y, z] = [-w, -x, -y, -z];
  const s = Math.hypot(x, y, z);
  if (s === 0) {
    axis[0] = 0;
    axis[1] = 0;
    axis[2] = 1;
    return 0;
  }
  const half = w < 1e-12 * s && (x < 0 || (x === 0 && (y < 0 || (y === 0 && z < 0)))) ? -1 : 1;
  axis[0] = (half * x) / s;
  axis[1] = (half * y) / s;
  axis[2] = (half * z) / s;
  return 2 * Math.atan2(s, w);
}

/** Writes exp(angle · axis) · r0 to r, row-major 3 x 3, axis of unit length (Rodrigues). */
function turn(axis: Float64Array, angle: number, r0: Float64Array, r: Float64Array): void {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const x = axis[0];
  const y = axis[1];
  const z = axis[2];
  for (let k = 0; k < 3; k++) {
    const a = r0[k];
    const b = r0[3 + k];
    const d = r0[6 + k];
    const along = (1 - c) * (x * a + y * b + z * d);
    r[k] = c * a + s * (y * d - z * b) + along * x;
    r[3 + k] = c * b + s * (z * a - x * d) + along * y;
    r[6 + k] = c * d + s * (x * b - y * a) + along * z;
  }
}

/** What lines and arcs share: turning about one fixed axis at a constant rate per s. */
export interface Turning {
  readonly axis: Float64Array;
  readonly angle: number;
  readonly start: Float64Array;
}

export function turningBetween(from: Pose, to: Pose): Turning {
  const axis = new Float64Array(3);
  const angle = turnBetween(from, to, axis);
  return { axis, angle, start: rotationOf(from) };
}

export function rotationOf(pose: Pose): Float64Array {
  return Float64Array.of(pose[0], pose[1], pose[2], pose[4], pose[5], pose[6], pose[8], pose[9], pose[10]);
}

/** Writes rotation and angular velocity at the fraction s/length. */
export function turnAlong(turning: Turning, s: number, length: number, out: ToolPoint): void {
  const rate = turning.angle / length;
  turn(turning.axis, rate * s, turning.start, out.r);
  for (let k = 0; k < 3; k++) {
    out.w[k] = rate * turning.axis[k];
    out.w1[k] = 0;
    out.w2[k] = 0;
  }
}

/**
 * Straight line of the tool centre point from one pose to another, the orientation turned about one fixed axis through the
 * smaller angle, both in proportion (ISO 8373: linear-interpolated motion). Length 0 when the poses are the same.
 */
export function lineCurve(from: Pose, to: Pose): ToolCurve {
  const turning = turningBetween(from, to);
  const dx = to[3] - from[3];
  const dy = to[7] - from[7];
  const dz = to[11] - from[11];
  const distance = Math.hypot(dx, dy, dz);
  const length = Math.max(distance, TURN_METRES * turning.angle);
  if (!Number.isFinite(length)) throw new ContractError(`lineCurve: poses must be finite, got a length of ${length}`);
  const per = length > 0 ? 1 / length : 0;
  return {
    length,
    travel: distance < ON_THE_SPOT ? 0 : distance * per,
    straight: true,
    evaluate(s, out) {
      const u = s * per;
      out.p[0] = from[3] + dx * u;
      out.p[1] = from[7] + dy * u;
      out.p[2] = from[11] + dz * u;
      out.p1[0] = dx * per;
      out.p1[1] = dy * per;
      out.p1[2] = dz * per;
      out.p2.fill(0);
      out.p3.fill(0);
      turnAlong(turning, s, length || 1, out);
    },
  };
}
