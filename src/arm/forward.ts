/**
 * Forward kinematics. The chain form (arm/chain) costs one sine, one cosine and 33 products per joint.
 * Nothing is allocated: results go to the caller's arrays.
 */
import type { Pose } from "../math/pose.ts";
import type { Arm } from "./model.ts";

/**
 * baseFromFlange at joint values `q` (rad or m, length n), written to `out` and returned. Differs from the exact product of
 * the placements by rounding only: below 1e-14 of the arm's reach on 1,000 random arms against KDL (test/reference/kdl).
 * @example forwardKinematics(buildArm(description), [0, 0.5, -1, 0, 0.5, 0], identityPose())
 */
export function forwardKinematics(arm: Arm, q: ArrayLike<number>, out: Pose): Pose {
  return walkChain(arm, q, out, undefined);
}

/**
 * baseFromFlange, and with `lines` (6n) for each joint after its motion the direction of its axis and a point on it
 * (the joint frame's origin), base axes; with `frames` (12n) the chain's frame after each joint's motion, row-major 3 x 4.
 */
export function walkChain(
  arm: Arm,
  q: ArrayLike<number>,
  out: Pose,
  lines: Float64Array | undefined,
  frames?: Float64Array,
): Pose {
  const { chain, prismatic, fixed, n } = arm;
  let x0 = fixed[0]!,
    y0 = fixed[1]!,
    z0 = fixed[2]!,
    p0 = fixed[3]!;
  let x1 = fixed[4]!,
    y1 = fixed[5]!,
    z1 = fixed[6]!,
    p1 = fixed[7]!;
  let x2 = fixed[8]!,
    y2 = fixed[9]!,
    z2 = fixed[10]!,
    p2 = fixed[11]!;
  for (let i = 0, at = 0; i < n; i++, at += 6) {
    if (i > 0) {
      const ca = chain[at]!,
        sa = chain[at + 1]!,
        px = chain[at + 2]!,
        py = chain[at + 3]!,
        pz = chain[at + 4]!;
      p0 += px * x0 + py * y0 + pz * z0;
      p1 += px * x1 + py * y1 + pz * z1;
      p2 += px * x2 + py * y2 + pz * z2;
      const w0 = ca * z0 - sa * y0,
        w1 = ca * z1 - sa * y1,
        w2 = ca * z2 - sa * y2;
      y0 = ca * y0 + sa * z0;
      y1 = ca * y1 + sa * z1;
      y2 = ca * y2 + sa * z2;
      z0 = w0;
      z1 = w1;
      z2 = w2;
    }
    let angle = chain[at + 5]!;
    const value = q[i]!;
    if (prismatic[i] === 0) {
      angle += value;
    } else {
      p0 += value * z0;
      p1 += value * z1;
      p2 += value * z2;
    }
    if (lines !== undefined) {
      lines[at] = z0;
      lines[at + 1] = z1;
      lines[at + 2] = z2;
      lines[at + 3] = p0;
      lines[at + 4] = p1;
      lines[at + 5] = p2;
    }
    const c = Math.cos(angle),
      s = Math.sin(angle);
    const u0 = c * x0 + s * y0,
      u1 = c * x1 + s * y1,
      u2 = c * x2 + s * y2;
    y0 = c * y0 - s * x0;
    y1 = c * y1 - s * x1;
    y2 = c * y2 - s * x2;
    x0 = u0;
    x1 = u1;
    x2 = u2;
    if (frames !== undefined) {
      const to = 2 * at;
      frames[to] = x0;
      frames[to + 1] = y0;
      frames[to + 2] = z0;
      frames[to + 3] = p0;
      frames[to + 4] = x1;
      frames[to + 5] = y1;
      frames[to + 6] = z1;
      frames[to + 7] = p1;
      frames[to + 8] = x2;
      frames[to + 9] = y2;
      frames[to + 10] = z2;
      frames[to + 11] = p2;
    }
  }
  const f = 12 * n;
  const px = fixed[f + 3]!,
    py = fixed[f + 7]!,
    pz = fixed[f + 11]!;
  out[3] = p0 + px * x0 + py * y0 + pz * z0;
  out[7] = p1 + px * x1 + py * y1 + pz * z1;
  out[11] = p2 + px * x2 + py * y2 + pz * z2;
  if (chain[6 * n] === 1) {
    out[0] = x0;
    out[1] = y0;
    out[2] = z0;
    out[4] = x1;
    out[5] = y1;
    out[6] = z1;
    out[8] = x2;
    out[9] = y2;
    out[10] = z2;
  } else {
    for (let column = 0; column < 3; column++) {
      const a = fixed[f + column]!,
        b = fixed[f + 4 + column]!,
        c = fixed[f + 8 + column]!;
      out[column] = a * x0 + b * y0 + c * z0;
      out[4 + column] = a * x1 + b * y1 + c * z1;
      out[8 + column] = a * x2 + b * y2 + c * z2;
    }
  }
  out[12] = out[13] = out[14] = 0;
  out[15] = 1;
  return out;
}

/**
 * Kernel joint frames after their motion: n + 1 row-major 3 x 4 transforms in base axes, written to `out` (12(n + 1)).
 * Entry i < n is joint i's frame (z along its axis, moving with link i + 1), entry n the flange.
 */
export function jointFrames(arm: Arm, q: ArrayLike<number>, out: Float64Array): Float64Array {
  const { fixed, prismatic, n } = arm;
  for (let i = 0; i <= n; i++) {
    const at = 12 * i;
    if (i === 0) for (let k = 0; k < 12; k++) out[k] = fixed[k]!;
    else multiply34(out, at - 12, fixed, at, out, at);
    if (i === n) break;
    const value = q[i]!;
    if (prismatic[i] === 1) {
      out[at + 3]! += value * out[at + 2]!;
      out[at + 7]! += value * out[at + 6]!;
      out[at + 11]! += value * out[at + 10]!;
      continue;
    }
    const c = Math.cos(value),
      s = Math.sin(value);
    for (let r = at; r < at + 12; r += 4) {
      const x = out[r]!,
        y = out[r + 1]!;
      out[r] = c * x + s * y;
      out[r + 1] = c * y - s * x;
    }
  }
  return out;
}

/**
 * Frames that the description states link data in (masses, shapes): link 0 (the base, identity) to n, row-major 3 x 4 in
 * base axes, written to `out` (12(n + 1)).
 */
export function linkFrames(arm: Arm, q: ArrayLike<number>, out: Float64Array): Float64Array {
  const { describedFromKernel, n } = arm;
  jointFrames(arm, q, out);
  for (let i = n; i > 0; i--) {
    const turn = 9 * (i - 1);
    // baseFromDescribed = baseFromKernel · (describedFromKernel)ᵀ; the origin is shared.
    for (let r = 0; r < 12; r += 4) {
      const from = 12 * (i - 1) + r,
        to = 12 * i + r;
      const x = out[from]!,
        y = out[from + 1]!,
        z = out[from + 2]!;
      for (let k = 0; k < 3; k++)
        out[to + k] =
          x * describedFromKernel[turn + 3 * k]! +
          y * describedFromKernel[turn + 3 * k + 1]! +
          z * describedFromKernel[turn + 3 * k + 2]!;
      out[to + 3] = out[from + 3]!;
    }
  }
  for (let k = 0; k < 12; k++) out[k] = k % 5 === 0 ? 1 : 0;
  return out;
}

/** Product of two row-major 3 x 4 transforms inside larger arrays; the destination must not overlap the sources. */
function multiply34(a: Float64Array, ai: number, b: Float64Array, bi: number, out: Float64Array, oi: number): void {
  for (let r = 0; r < 12; r += 4) {
    const x = a[ai + r]!,
      y = a[ai + r + 1]!,
      z = a[ai + r + 2]!;
    for (let c = 0; c < 4; c++) out[oi + r + c] = x * b[bi + c]! + y * b[bi + 4 + c]! + z * b[bi + 8 + c]!;
    out[oi + r + 3]! += a[ai + r + 3]!;
  }
}
