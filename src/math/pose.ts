/**
 * Rigid transforms as 4 x 4 homogeneous matrices in row-major order: 16 numbers, translation in metres at indices 3, 7
 * and 11, last row 0 0 0 1. A transform is named destination-from-source: `worldFromTool = compose(worldFromBase, baseFromTool)`.
 */
import { ContractError } from "./contract-error.ts";
import type { Metres, Radians } from "./units.ts";

/** Row-major 4 x 4 homogeneous transform (length 16). */
export type Pose = Float64Array;

/** A new identity transform. */
export function identityPose(): Pose {
  const out = new Float64Array(16);
  out[0] = out[5] = out[10] = out[15] = 1;
  return out;
}

/** Copies `from` into `out`. */
export function copyPose(from: ArrayLike<number>, out: Pose = new Float64Array(16)): Pose {
  for (let i = 0; i < 16; i++) out[i] = from[i]!;
  return out;
}

/** Product a·b written to `out`, which may be `a` or `b`. */
export function compose(a: Pose, b: Pose, out: Pose = new Float64Array(16)): Pose {
  return withLastRow(multiply34(a, b, out));
}

/** Inverse of a rigid transform (transposed rotation), written to `out`, which may be `a`. */
export function invert(a: Pose, out: Pose = new Float64Array(16)): Pose {
  return withLastRow(invert34(a, out));
}

function withLastRow(out: Pose): Pose {
  out[12] = out[13] = out[14] = 0;
  out[15] = 1;
  return out;
}

/** Product a·b of the upper three rows (row-major 3 x 4, 12 numbers) written to `out`, which may be `a` or `b`. */
export function multiply34(a: ArrayLike<number>, b: ArrayLike<number>, out: Float64Array): Float64Array {
  const b0 = b[0]!,
    b1 = b[1]!,
    b2 = b[2]!,
    b3 = b[3]!;
  const b4 = b[4]!,
    b5 = b[5]!,
    b6 = b[6]!,
    b7 = b[7]!;
  const b8 = b[8]!,
    b9 = b[9]!,
    b10 = b[10]!,
    b11 = b[11]!;
  for (let r = 0; r < 12; r += 4) {
    const x = a[r]!,
      y = a[r + 1]!,
      z = a[r + 2]!,
      w = a[r + 3]!;
    out[r] = x * b0 + y * b4 + z * b8;
    out[r + 1] = x * b1 + y * b5 + z * b9;
    out[r + 2] = x * b2 + y * b6 + z * b10;
    out[r + 3] = x * b3 + y * b7 + z * b11 + w;
  }
  return out;
}

/** Inverse of a rigid row-major 3 x 4 transform (transposed rotation), written to `out`, which may be `a`. */
export function invert34(a: ArrayLike<number>, out: Float64Array): Float64Array {
  const r0 = a[0]!,
    r1 = a[1]!,
    r2 = a[2]!,
    r4 = a[4]!,
    r5 = a[5]!,
    r6 = a[6]!,
    r8 = a[8]!,
    r9 = a[9]!,
    r10 = a[10]!;
  const x = a[3]!,
    y = a[7]!,
    z = a[11]!;
  out[0] = r0;
  out[1] = r4;
  out[2] = r8;
  out[3] = -(r0 * x + r4 * y + r8 * z);
  out[4] = r1;
  out[5] = r5;
  out[6] = r9;
  out[7] = -(r1 * x + r5 * y + r9 * z);
  out[8] = r2;
  out[9] = r6;
  out[10] = r10;
  out[11] = -(r2 * x + r6 * y + r10 * z);
  return out;
}

/** A direction or free vector in the axes of the destination: only the rotation of the transform acts on it. */
export function turnVector(t: Pose, x: number, y: number, z: number): [x: number, y: number, z: number] {
  return [t[0]! * x + t[1]! * y + t[2]! * z, t[4]! * x + t[5]! * y + t[6]! * z, t[8]! * x + t[9]! * y + t[10]! * z];
}

/** Pure translation, metres. */
export function translation(x: Metres, y: Metres, z: Metres): Pose {
  const out = identityPose();
  out[3] = x;
  out[7] = y;
  out[11] = z;
  return out;
}

/**
 * Position and rotations A, B, C about the fixed axes X, Y and Z, applied in that order: R = Rz(c)·Ry(b)·Rx(a)
 * (the same rotation as moving axes Z, Y, X by c, b, a). Letters after ISO 9787:2013.
 */
export function poseFromAbc(position: ArrayLike<number>, a: Radians, b: Radians, c: Radians): Pose {
  const ca = Math.cos(a),
    sa = Math.sin(a),
    cb = Math.cos(b),
    sb = Math.sin(b),
    cc = Math.cos(c),
    sc = Math.sin(c);
  return Float64Array.of(
    cc * cb,
    cc * sb * sa - sc * ca,
    cc * sb * ca + sc * sa,
    position[0]!,
    sc * cb,
    sc * sb * sa + cc * ca,
    sc * sb * ca - cc * sa,
    position[1]!,
    -sb,
    cb * sa,
    cb * ca,
    position[2]!,
    0,
    0,
    0,
    1,
  );
}

/** Rotations A, B, C (rad) about fixed X, Y, Z of a pose; where B is ±90° the split between A and C is not unique and A is 0. */
export function abcFromPose(pose: Pose): [a: Radians, b: Radians, c: Radians] {
  const sb = -pose[8]!;
  const cb = Math.hypot(pose[0]!, pose[4]!);
  const b = Math.atan2(sb, cb);
  if (cb < 1e-9) return [0, b, Math.atan2(-pose[1]!, pose[5]!)];
  return [Math.atan2(pose[9]!, pose[10]!), b, Math.atan2(pose[4]!, pose[0]!)];
}

/** Rotation by `angle` about the unit vector `axis` (Rodrigues), with no translation. @throws ContractError if the axis has no length */
export function rotationAbout(axis: ArrayLike<number>, angle: Radians): Pose {
  const length = Math.hypot(axis[0]!, axis[1]!, axis[2]!);
  if (!(length > 0)) throw new ContractError(`rotationAbout: axis must have a length above 0, got ${length}`);
  const x = axis[0]! / length,
    y = axis[1]! / length,
    z = axis[2]! / length;
  const c = Math.cos(angle),
    s = Math.sin(angle),
    v = 1 - c;
  return Float64Array.of(
    x * x * v + c,
    x * y * v - z * s,
    x * z * v + y * s,
    0,
    x * y * v + z * s,
    y * y * v + c,
    y * z * v - x * s,
    0,
    x * z * v - y * s,
    y * z * v + x * s,
    z * z * v + c,
    0,
    0,
    0,
    0,
    1,
  );
}

/** Angle (rad, 0..π) of the rotation that takes the orientation of `a` to that of `b`; accurate to rounding for small angles. */
export function angleBetween(a: Pose, b: Pose): Radians {
  // Frobenius distance of two rotations is 2√2·sin(θ/2).
  let sum = 0;
  for (let r = 0; r < 12; r += 4) for (let c = 0; c < 3; c++) sum += (a[r + c]! - b[r + c]!) ** 2;
  return 2 * Math.asin(Math.min(1, Math.sqrt(sum / 8)));
}

/** Distance (m) between the origins of two poses. */
export function distanceBetween(a: Pose, b: Pose): Metres {
  return Math.hypot(a[3]! - b[3]!, a[7]! - b[7]!, a[11]! - b[11]!);
}
