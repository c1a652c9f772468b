/** Geometric Jacobian, its rate, and the manipulability measure. Base axes, at the TCP; rows vx vy vz wx wy wz. */
import { identityPose, type Pose } from "../math/pose.ts";
import { MAX_JOINTS } from "./build.ts";
import { walkChain } from "./forward.ts";
import type { Arm } from "./model.ts";

const flange = identityPose();
const lines = new Float64Array(6 * MAX_JOINTS);
const work = new Float64Array(6 * MAX_JOINTS);

/**
 * Geometric Jacobian J with (v, w) = J·q̇, row-major 6 x n in `out`. Turning joint: column (z × (p - o), z); slide: (z, 0).
 * @param flangeFromTcp undefined: at the flange origin
 */
export function geometricJacobian(
  arm: Arm,
  q: ArrayLike<number>,
  flangeFromTcp: Pose | undefined,
  out: Float64Array,
): Float64Array {
  const { n, prismatic } = arm;
  walkChain(arm, q, flange, lines);
  let p0 = flange[3]!,
    p1 = flange[7]!,
    p2 = flange[11]!;
  if (flangeFromTcp !== undefined) {
    const x = flangeFromTcp[3]!,
      y = flangeFromTcp[7]!,
      z = flangeFromTcp[11]!;
    p0 += flange[0]! * x + flange[1]! * y + flange[2]! * z;
    p1 += flange[4]! * x + flange[5]! * y + flange[6]! * z;
    p2 += flange[8]! * x + flange[9]! * y + flange[10]! * z;
  }
  for (let i = 0; i < n; i++) {
    const at = 6 * i;
    const z0 = lines[at]!,
      z1 = lines[at + 1]!,
      z2 = lines[at + 2]!;
    if (prismatic[i] === 1) {
      out[i] = z0;
      out[n + i] = z1;
      out[2 * n + i] = z2;
      out[3 * n + i] = out[4 * n + i] = out[5 * n + i] = 0;
      continue;
    }
    const r0 = p0 - lines[at + 3]!,
      r1 = p1 - lines[at + 4]!,
      r2 = p2 - lines[at + 5]!;
    out[i] = z1 * r2 - z2 * r1;
    out[n + i] = z2 * r0 - z0 * r2;
    out[2 * n + i] = z0 * r1 - z1 * r0;
    out[3 * n + i] = z0;
    out[4 * n + i] = z1;
    out[5 * n + i] = z2;
  }
  return out;
}

/**
 * J̇·q̇: the acceleration (m/s², rad/s²) of the TCP when the joints move at `qd` without accelerating, 6 numbers in `out`.
 */
export function biasAcceleration(
  arm: Arm,
  q: ArrayLike<number>,
  qd: ArrayLike<number>,
  flangeFromTcp: Pose | undefined,
  out: Float64Array,
): Float64Array {
  const { n, prismatic } = arm;
  walkChain(arm, q, flange, lines);
  // Walk out along the chain with the angular velocity w, angular acceleration e and acceleration a of each origin.
  let w0 = 0,
    w1 = 0,
    w2 = 0,
    e0 = 0,
    e1 = 0,
    e2 = 0,
    a0 = 0,
    a1 = 0,
    a2 = 0;
  let o0 = 0,
    o1 = 0,
    o2 = 0;
  const carry = (x: number, y: number, z: number) => {
    const r0 = x - o0,
      r1 = y - o1,
      r2 = z - o2;
    const c0 = w1 * r2 - w2 * r1,
      c1 = w2 * r0 - w0 * r2,
      c2 = w0 * r1 - w1 * r0;
    a0 += e1 * r2 - e2 * r1 + w1 * c2 - w2 * c1;
    a1 += e2 * r0 - e0 * r2 + w2 * c0 - w0 * c2;
    a2 += e0 * r1 - e1 * r0 + w0 * c1 - w1 * c0;
    o0 = x;
    o1 = y;
    o2 = z;
  };
  for (let i = 0; i < n; i++) {
    const at = 6 * i;
    const z0 = lines[at]!,
      z1 = lines[at + 1]!,
      z2 = lines[at + 2]!,
      rate = qd[i]!;
    carry(lines[at + 3]!, lines[at + 4]!, lines[at + 5]!);
    const c0 = w1 * z2 - w2 * z1,
      c1 = w2 * z0 - w0 * z2,
      c2 = w0 * z1 - w1 * z0;
    if (prismatic[i] === 1) {
      a0 += 2 * rate * c0;
      a1 += 2 * rate * c1;
      a2 += 2 * rate * c2;
    } else {
      e0 += rate * c0;
      e1 += rate * c1;
      e2 += rate * c2;
      w0 += rate * z0;
      w1 += rate * z1;
      w2 += rate * z2;
    }
  }
  const x = flangeFromTcp === undefined ? 0 : flangeFromTcp[3]!,
    y = flangeFromTcp === undefined ? 0 : flangeFromTcp[7]!,
    z = flangeFromTcp === undefined ? 0 : flangeFromTcp[11]!;
  carry(
    flange[3]! + flange[0]! * x + flange[1]! * y + flange[2]! * z,
    flange[7]! + flange[4]! * x + flange[5]! * y + flange[6]! * z,
    flange[11]! + flange[8]! * x + flange[9]! * y + flange[10]! * z,
  );
  out[0] = a0;
  out[1] = a1;
  out[2] = a2;
  out[3] = e0;
  out[4] = e1;
  out[5] = e2;
  return out;
}

/**
 * Manipulability: the product of the singular values of the Jacobian at the TCP, √det(J·Jᵀ) for n >= 6 (Yoshikawa 1985)
 * and √det(Jᵀ·J) for fewer joints. 0 at a singularity; its unit mixes metres and radians.
 */
export function manipulability(arm: Arm, q: ArrayLike<number>, flangeFromTcp?: Pose): number {
  const { n } = arm;
  geometricJacobian(arm, q, flangeFromTcp, work);
  // The volume spanned by the rows (n >= 6) or the columns: Gram-Schmidt, largest remaining vector first.
  const rows = n >= 6;
  const count = rows ? 6 : n,
    length = rows ? n : 6;
  const step = rows ? 1 : n,
    stride = rows ? n : 1;
  let volume = 1;
  for (let a = 0; a < count; a++) {
    let largest = a,
      size = -1;
    for (let b = a; b < count; b++) {
      let sum = 0;
      for (let k = 0; k < length; k++) sum += work[b * stride + k * step]! ** 2;
      if (sum > size) {
        size = sum;
        largest = b;
      }
    }
    if (size === 0) return 0;
    volume *= Math.sqrt(size);
    for (let k = 0; k < length; k++) {
      const from = largest * stride + k * step,
        to = a * stride + k * step;
      const value = work[from]!;
      work[from] = work[to]!;
      work[to] = value;
    }
    for (let b = a + 1; b < count; b++) {
      let dot = 0;
      for (let k = 0; k < length; k++) dot += work[a * stride + k * step]! * work[b * stride + k * step]!;
      const share = dot / size;
      for (let k = 0; k < length; k++) work[b * stride + k * step]! -= share * work[a * stride + k * step]!;
    }
  }
  return volume;
}
