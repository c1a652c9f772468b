/**
 * All solutions of a six-axis arm whose axes 4, 5 and 6 meet in one point w, in closed form (decomposition after Pieper
 * 1968; subproblems after Paden 1986, Kahan, and Elias & Wen 2022).
 *
 * Position: E2·E3·w = E1⁻¹·G·w. A turn about axis 2 keeps the height along it and the distance from it, which are two
 * equations in q1 and q3 (circle-pair.ts); q2 follows. Parallel or intersecting axes 1 2 or 2 3 decouple the two equations;
 * a general position chain needs a quartic. Orientation: the remaining rotation fixes q5 twice, then q4 and q6.
 */
import type { Axes } from "./axes.ts";
import { PAIR_CLOSE, PAIR_OUT, PAIR_SIZE, PAIR_SLACK, type PairMode, solveCirclePair } from "./circle-pair.ts";
import {
  ALIGNED,
  type FamilySolver,
  frameAlong,
  placeFrame,
  SMALL_ROW,
  TOUCHING,
  WorkFrame,
  wrap,
  ZERO_ROW,
} from "./family.ts";

/** Sine below which the common normal of axes 1 and 2 is not used: its feet would lie far off. */
const PARALLEL = 1e-3;

export class SphericalWristSolver implements FamilySolver {
  doubtful = 0;
  slack = TOUCHING;
  private readonly frame = new WorkFrame();
  private readonly pair = new Float64Array(PAIR_SIZE);
  /** Rotations W1 and W3 (z along axes 1 and 3), W4ᵀW3 is `turn34`, W6 the frame that the wrist ends in; row-major 3 x 3. */
  private readonly w1 = new Float64Array(9);
  private readonly w3 = new Float64Array(9);
  private readonly w4 = new Float64Array(9);
  private readonly turn34 = new Float64Array(9);
  private readonly w6 = new Float64Array(9);
  private mode: PairMode = "together";
  private nearly = false;
  /** Slack of the pair: a row left out moves its touching solutions. */
  private rowSlack = 0;
  private scale = 1;
  /** Rows of the pair: row combination that makes the last equation free of one angle. */
  private r00 = 1;
  private r01 = 0;
  private r10 = 0;
  private r11 = 1;
  /** Circle of the wrist point about axis 3: centre a, and b cos q3 + c sin q3. */
  private ax = 0;
  private ay = 0;
  private az = 0;
  private bx = 0;
  private by = 0;
  private bz = 0;
  private cx = 0;
  private cy = 0;
  private cz = 0;
  private a2 = 0;
  private ab = 0;
  private ac = 0;
  private ca = 0;
  private sa = 0;
  private cb = 0;
  private sb = 0;
  /** 1 - cos(α-β) and 1 + cos(α+β). */
  private oneMinus = 0;
  private onePlus = 0;
  private offset5 = 0;

  setAxes(axes: Axes): void {
    const { h, p } = axes;
    // Work frame: z along axis 2, origin at the foot, on axis 2, of the common normal of axes 1 and 2.
    const dot = h[0]! * h[3]! + h[1]! * h[4]! + h[2]! * h[5]!;
    let onFirst = 0;
    let onSecond = 0;
    const d0 = p[0]! - p[3]!,
      d1 = p[1]! - p[4]!,
      d2 = p[2]! - p[5]!;
    const dFirst = h[0]! * d0 + h[1]! * d1 + h[2]! * d2;
    const dSecond = h[3]! * d0 + h[4]! * d1 + h[5]! * d2;
    const s0 = h[1]! * h[5]! - h[2]! * h[4]!,
      s1 = h[2]! * h[3]! - h[0]! * h[5]!,
      s2 = h[0]! * h[4]! - h[1]! * h[3]!;
    const sin2 = s0 * s0 + s1 * s1 + s2 * s2;
    if (sin2 > PARALLEL * PARALLEL) {
      onFirst = (dot * dSecond - dFirst) / sin2;
      onSecond = (dSecond - dot * dFirst) / sin2;
    } else {
      onFirst = -dFirst;
    }
    const { frame } = this;
    frameAlong(h, 3, this.w4, 0);
    placeFrame(this.w4, p[3]! + onSecond * h[3]!, p[4]! + onSecond * h[4]!, p[5]! + onSecond * h[5]!, frame.base);
    frame.setAxes(axes);
    const H = frame.h;
    const P = frame.p;
    for (let r = 0; r < 3; r++) P[r]! += onFirst * H[r]!;

    const kx = H[6]!,
      ky = H[7]!,
      kz = H[8]!;
    const ex = P[9]! - P[6]!,
      ey = P[10]! - P[7]!,
      ez = P[11]! - P[8]!;
    const along = kx * ex + ky * ey + kz * ez;
    this.ax = P[6]! + along * kx;
    this.ay = P[7]! + along * ky;
    this.az = P[8]! + along * kz;
    this.bx = ex - along * kx;
    this.by = ey - along * ky;
    this.bz = ez - along * kz;
    this.cx = ky * ez - kz * ey;
    this.cy = kz * ex - kx * ez;
    this.cz = kx * ey - ky * ex;
    const { ax, ay, az, bx, by, bz, cx, cy, cz } = this;
    const b2 = bx * bx + by * by + bz * bz;
    this.a2 = ax * ax + ay * ay + az * az + b2;
    this.ab = 2 * (ax * bx + ay * by + az * bz);
    this.ac = 2 * (ax * cx + ay * cy + az * cz);
    this.scale = Math.sqrt(this.a2) + Math.hypot(P[0]!, P[1]!, P[2]!);
    this.decouple();

    frameAlong(H, 0, this.w1, 0);
    frameAlong(H, 6, this.w3, 0);
    this.setWrist(H);
  }

  /** Which equation of the position pair is free of one angle. Rows: height (m), and distance squared over `scale` (m). */
  private decouple(): void {
    const { scale, frame } = this;
    const a00 = this.bz,
      a01 = this.cz,
      a10 = this.ab / scale,
      a11 = this.ac / scale;
    const first = Math.hypot(a00, a01),
      second = Math.hypot(a10, a11);
    const { h, p } = frame;
    const dependent = Math.abs(a00 * a11 - a01 * a10) / (Math.max(first, second) * scale);
    const offset = Math.hypot(p[0]!, p[1]!, p[2]!) / scale;
    const skew = Math.hypot(h[0]!, h[1]!);
    const least = Math.min(dependent, offset, skew);
    this.r00 = this.r11 = 1;
    this.r01 = this.r10 = 0;
    this.mode = "together";
    this.nearly = least > ZERO_ROW;
    this.rowSlack = this.nearly && least <= SMALL_ROW ? 100 * least : 0;
    if (!(least <= SMALL_ROW)) return;
    if (least === dependent) {
      // The rows of A are parallel: rotate them so that the second vanishes.
      this.mode = "x-last";
      const l = Math.hypot(first, second);
      const sign = a00 * a10 + a01 * a11 >= 0 ? 1 : -1;
      this.r00 = first / l;
      this.r01 = (sign * second) / l;
      this.r10 = (-sign * second) / l;
      this.r11 = first / l;
      return;
    }
    this.mode = "y-last";
    if (least === skew) {
      this.r00 = this.r11 = 0;
      this.r01 = this.r10 = 1;
    }
  }

  private setWrist(H: Float64Array): void {
    const { w3, w4, w6, turn34 } = this;
    // W4: z along axis 4, x along the common normal of axes 4 and 5; W6: z along 6, x along the normal of 5 and 6.
    const sa = column(H, 9, 12, w4, 9);
    const sb = column(H, 12, 15, w6, 15);
    this.sa = sa;
    this.sb = sb;
    this.ca = H[9]! * H[12]! + H[10]! * H[13]! + H[11]! * H[14]!;
    this.cb = H[12]! * H[15]! + H[13]! * H[16]! + H[14]! * H[17]!;
    const alpha = Math.atan2(sa, this.ca),
      beta = Math.atan2(sb, this.cb);
    const half = Math.sin(0.5 * (alpha - beta)),
      other = Math.cos(0.5 * (alpha + beta));
    this.oneMinus = 2 * half * half;
    this.onePlus = 2 * other * other;
    // Angle about axis 5 from the first normal to the second.
    const c = w4[0]! * w6[0]! + w4[3]! * w6[3]! + w4[6]! * w6[6]!;
    const s =
      H[12]! * (w4[3]! * w6[6]! - w4[6]! * w6[3]!) +
      H[13]! * (w4[6]! * w6[0]! - w4[0]! * w6[6]!) +
      H[14]! * (w4[0]! * w6[3]! - w4[3]! * w6[0]!);
    this.offset5 = Math.atan2(s, c);
    for (let r = 0; r < 3; r++) {
      for (let k = 0; k < 3; k++) {
        turn34[3 * r + k] = w4[r]! * w3[k]! + w4[3 + r]! * w3[3 + k]! + w4[6 + r]! * w3[6 + k]!;
      }
    }
  }

  solve(goal: Float64Array, out: Float64Array): number {
    this.doubtful = 0;
    const G = this.frame.setGoal(goal);
    const H = this.frame.h,
      P = this.frame.p;
    const s = this.pair;
    const { scale, r00, r01, r10, r11, ax, ay, az, bx, by, bz, cx, cy, cz } = this;
    const k1x = H[0]!,
      k1y = H[1]!,
      k1z = H[2]!,
      p1x = P[0]!,
      p1y = P[1]!,
      p1z = P[2]!;
    const wx = P[9]!,
      wy = P[10]!,
      wz = P[11]!;
    // d: the goal's wrist point from the foot on axis 1; t = k1 x d.
    const dx = G[0]! * wx + G[1]! * wy + G[2]! * wz + G[3]! - p1x;
    const dy = G[4]! * wx + G[5]! * wy + G[6]! * wz + G[7]! - p1y;
    const dz = G[8]! * wx + G[9]! * wy + G[10]! * wz + G[11]! - p1z;
    const tx = k1y * dz - k1z * dy,
      ty = k1z * dx - k1x * dz,
      tz = k1x * dy - k1y * dx;
    const kd = k1x * dx + k1y * dy + k1z * dz;
    const inv = 1 / scale;
    const b00 = dz - k1z * kd,
      b01 = -tz,
      b10 = 2 * inv * (p1x * dx + p1y * dy + p1z * dz),
      b11 = -2 * inv * (p1x * tx + p1y * ty + p1z * tz);
    const c0 = p1z + k1z * kd - az;
    const c1 = inv * (p1x * p1x + p1y * p1y + p1z * p1z + dx * dx + dy * dy + dz * dz - this.a2);
    const a10 = inv * this.ab,
      a11 = inv * this.ac;
    s[0] = r00 * bz + r01 * a10;
    s[1] = r00 * cz + r01 * a11;
    s[2] = r10 * bz + r11 * a10;
    s[3] = r10 * cz + r11 * a11;
    s[4] = r00 * b00 + r01 * b10;
    s[5] = r00 * b01 + r01 * b11;
    s[6] = r10 * b00 + r11 * b10;
    s[7] = r10 * b01 + r11 * b11;
    s[8] = r00 * c0 + r01 * c1;
    s[9] = r10 * c0 + r11 * c1;
    const { slack } = this;
    s[PAIR_SLACK] = Math.max(slack, this.rowSlack);
    const branches = solveCirclePair(s, this.mode, this.nearly, scale);
    const close = s[PAIR_CLOSE] !== 0;

    const w1 = this.w1,
      w3 = this.w3,
      w6 = this.w6,
      turn = this.turn34;
    // First and third column of R_G·W6, which axis 1 then turns back.
    const xx = G[0]! * w6[0]! + G[1]! * w6[3]! + G[2]! * w6[6]!,
      xy = G[4]! * w6[0]! + G[5]! * w6[3]! + G[6]! * w6[6]!,
      xz = G[8]! * w6[0]! + G[9]! * w6[3]! + G[10]! * w6[6]!;
    const zx = G[0]! * w6[2]! + G[1]! * w6[5]! + G[2]! * w6[8]!,
      zy = G[4]! * w6[2]! + G[5]! * w6[5]! + G[6]! * w6[8]!,
      zz = G[8]! * w6[2]! + G[9]! * w6[5]! + G[10]! * w6[8]!;
    const x1 = w1[0]! * xx + w1[3]! * xy + w1[6]! * xz,
      x2 = w1[1]! * xx + w1[4]! * xy + w1[7]! * xz,
      x3 = w1[2]! * xx + w1[5]! * xy + w1[8]! * xz;
    const z1 = w1[0]! * zx + w1[3]! * zy + w1[6]! * zz,
      z2 = w1[1]! * zx + w1[4]! * zy + w1[7]! * zz,
      z3 = w1[2]! * zx + w1[5]! * zy + w1[8]! * zz;
    let count = 0;
    for (let i = 0; i < branches; i++) {
      const o = PAIR_OUT + 4 * i;
      const c3 = s[o]!,
        s3 = s[o + 1]!,
        cos1 = s[o + 2]!,
        sin1 = s[o + 3]!;
      const ux = ax + c3 * bx + s3 * cx,
        uy = ay + c3 * by + s3 * cy;
      const vx = p1x + k1x * kd + cos1 * (dx - k1x * kd) - sin1 * tx,
        vy = p1y + k1y * kd + cos1 * (dy - k1y * kd) - sin1 * ty;
      let c2 = ux * vx + uy * vy,
        s2 = ux * vy - uy * vx;
      const n2 = Math.sqrt(c2 * c2 + s2 * s2);
      let doubt = close;
      if (n2 > 1e-20 * scale * scale) {
        c2 /= n2;
        s2 /= n2;
      } else {
        c2 = 1;
        s2 = 0;
      }
      // Both columns through R1ᵀ, R2ᵀ, R3ᵀ into the frame W4.
      let px = cos1 * x1 + sin1 * x2,
        py = cos1 * x2 - sin1 * x1;
      let qx = w1[0]! * px + w1[1]! * py + w1[2]! * x3,
        qy = w1[3]! * px + w1[4]! * py + w1[5]! * x3,
        qz = w1[6]! * px + w1[7]! * py + w1[8]! * x3;
      px = c2 * qx + s2 * qy;
      py = c2 * qy - s2 * qx;
      qx = w3[0]! * px + w3[3]! * py + w3[6]! * qz;
      qy = w3[1]! * px + w3[4]! * py + w3[7]! * qz;
      qz = w3[2]! * px + w3[5]! * py + w3[8]! * qz;
      px = c3 * qx + s3 * qy;
      py = c3 * qy - s3 * qx;
      const nx = turn[0]! * px + turn[1]! * py + turn[2]! * qz,
        ny = turn[3]! * px + turn[4]! * py + turn[5]! * qz,
        nz = turn[6]! * px + turn[7]! * py + turn[8]! * qz;
      px = cos1 * z1 + sin1 * z2;
      py = cos1 * z2 - sin1 * z1;
      qx = w1[0]! * px + w1[1]! * py + w1[2]! * z3;
      qy = w1[3]! * px + w1[4]! * py + w1[5]! * z3;
      qz = w1[6]! * px + w1[7]! * py + w1[8]! * z3;
      px = c2 * qx + s2 * qy;
      py = c2 * qy - s2 * qx;
      qx = w3[0]! * px + w3[3]! * py + w3[6]! * qz;
      qy = w3[1]! * px + w3[4]! * py + w3[7]! * qz;
      qz = w3[2]! * px + w3[5]! * py + w3[8]! * qz;
      px = c3 * qx + s3 * qy;
      py = c3 * qy - s3 * qx;
      const mx = turn[0]! * px + turn[1]! * py + turn[2]! * qz,
        my = turn[3]! * px + turn[4]! * py + turn[5]! * qz,
        mz = turn[6]! * px + turn[7]! * py + turn[8]! * qz;

      // Orientation: Rz(q4) Rx(α) Rz(θ) Rx(β) Rz(q6) = N, of which m and n are the third and first column.
      const { ca, sa, cb, sb } = this;
      const m2 = mx * mx + my * my;
      let up = 1 - this.oneMinus - mz,
        down = mz + 1 - this.onePlus;
      if (m2 < 0.1) {
        // Near alignment 1 ∓ mz loses digits; the transverse part keeps them.
        if (mz > 0) up = m2 / (1 + mz) - this.oneMinus;
        else down = m2 / (1 - mz) - this.onePlus;
      }
      const ss = sa * sb;
      const sin2 = up * down;
      let sinT = 0;
      if (sin2 > 0) sinT = Math.sqrt(sin2) / ss;
      else if (sin2 < -slack) continue;
      else doubt = true;
      let cosT = (ca * cb - mz) / ss;
      const nT = 1 / Math.sqrt(cosT * cosT + sinT * sinT);
      cosT *= nT;
      sinT *= nT;
      const aligned = m2 < ALIGNED * ALIGNED;
      const wrists = aligned || sinT === 0 ? 1 : 2;
      if (aligned || sinT < 1e-6 || n2 < 1e-6 * scale * scale) doubt = true;
      const q1 = Math.atan2(sin1, cos1),
        q2 = Math.atan2(s2, c2),
        q3 = Math.atan2(s3, c3);
      for (let w = 0; w < wrists; w++) {
        const ey = -ca * cosT * sb - sa * cb;
        const ex = sinT * sb;
        let c4 = ex * mx + ey * my,
          s4 = ex * my - ey * mx;
        if (aligned) {
          c4 = 1;
          s4 = 0;
        } else {
          const l = 1 / Math.sqrt(c4 * c4 + s4 * s4);
          c4 *= l;
          s4 *= l;
        }
        // Rx(-β) Rz(-θ) Rx(-α) Rz(-q4) n = (cos q6, sin q6, 0)
        const fx = c4 * nx + s4 * ny,
          fy = c4 * ny - s4 * nx;
        const gy = ca * fy + sa * nz,
          gz = ca * nz - sa * fy;
        const c6 = cosT * fx + sinT * gy,
          s6 = cb * (cosT * gy - sinT * fx) + sb * gz;
        const at = 6 * count;
        out[at] = q1;
        out[at + 1] = q2;
        out[at + 2] = q3;
        out[at + 3] = Math.atan2(s4, c4);
        out[at + 4] = wrap(Math.atan2(sinT, cosT) - this.offset5);
        out[at + 5] = Math.atan2(s6, c6);
        if (doubt) this.doubtful |= 1 << count;
        count++;
        sinT = -sinT;
      }
    }
    return count;
  }
}

/** Frame with z along axis `z` and x along the common normal of axes `a` and `b`; returns the sine of their angle. */
function column(H: Float64Array, a: number, b: number, out: Float64Array, z: number): number {
  let x = H[a + 1]! * H[b + 2]! - H[a + 2]! * H[b + 1]!,
    y = H[a + 2]! * H[b]! - H[a]! * H[b + 2]!,
    w = H[a]! * H[b + 1]! - H[a + 1]! * H[b]!;
  const s = Math.hypot(x, y, w);
  x /= s;
  y /= s;
  w /= s;
  const zx = H[z]!,
    zy = H[z + 1]!,
    zz = H[z + 2]!;
  out[0] = x;
  out[3] = y;
  out[6] = w;
  out[1] = zy * w - zz * y;
  out[4] = zz * x - zx * w;
  out[7] = zx * y - zy * x;
  out[2] = zx;
  out[5] = zy;
  out[8] = zz;
  return s;
}
