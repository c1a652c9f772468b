/**
 * All solutions of a six-axis arm whose axes 2, 3 and 4 are parallel, in closed form (decomposition as in Elias & Wen 2022).
 *
 * With h the common direction, E2·E3·E4 leaves the component along h of every direction and of every point: the direction of
 * axis 6 and a point on axis 6 give two equations in q1 and q5 (circle-pair.ts). Then q6 follows from h seen by the flange,
 * q2 + q3 + q4 from the remaining turn about h, and q3 and q2 from a planar two-link arm.
 */
import type { Axes } from "./axes.ts";
import {
  PAIR_CLOSE,
  PAIR_OUT,
  PAIR_SIZE,
  PAIR_SLACK,
  type PairMode,
  solveCirclePair,
  solveLastAngle,
} from "./circle-pair.ts";
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

export class ParallelAxesSolver implements FamilySolver {
  doubtful = 0;
  slack = TOUCHING;
  private readonly frame = new WorkFrame();
  private readonly rotation = new Float64Array(9);
  private readonly pair = new Float64Array(PAIR_SIZE);
  private mode: PairMode = "together";
  private nearly = false;
  /** Slack of the pair: a row left out moves its touching solutions. */
  private rowSlack = 0;
  /** The second equation is the height alone and the first the direction alone (axes 5 and 6 intersect). */
  private direct = false;
  private scale = 1;
  private r00 = 1;
  private r01 = 0;
  private r10 = 0;
  private r11 = 1;
  /** Signs that make axes 3 and 4 point along axis 2. */
  private sign3 = 1;
  private sign4 = 1;
  private a00 = 0;
  private a01 = 0;
  private a10 = 0;
  private a11 = 0;
  private k0 = 0;
  private k1 = 0;
  private ca = 0;
  private sa = 0;
  private cb = 0;
  private sb = 0;
  private oneMinus = 0;
  private onePlus = 0;
  /** Angle about axis 5 at which cos(q5 - offset) alone appears in the direction equation. */
  private c5 = 1;
  private s5 = 0;

  setAxes(axes: Axes): void {
    const { frame } = this;
    frameAlong(axes.h, 3, this.rotation, 0);
    placeFrame(this.rotation, axes.p[3]!, axes.p[4]!, axes.p[5]!, frame.base);
    frame.setAxes(axes);
    const H = frame.h,
      P = frame.p;
    this.sign3 = H[8]! >= 0 ? 1 : -1;
    this.sign4 = H[11]! >= 0 ? 1 : -1;
    const k5x = H[12]!,
      k5y = H[13]!,
      k5z = H[14]!;
    const dot56 = k5x * H[15]! + k5y * H[16]! + k5z * H[17]!;
    const ex = P[15]! - P[12]!,
      ey = P[16]! - P[13]!,
      ez = P[17]! - P[14]!;
    const along = k5x * ex + k5y * ey + k5z * ez;
    this.scale =
      Math.hypot(P[0]!, P[1]!, P[2]!) +
      Math.hypot(P[6]!, P[7]!) +
      Math.hypot(P[9]! - P[6]!, P[10]! - P[7]!) +
      Math.hypot(ex, ey, ez) +
      Math.hypot(P[12]! - P[9]!, P[13]! - P[10]!, P[14]! - P[11]!);
    const { scale } = this;
    // Rows: direction (times `scale`, so that both are lengths) and height.
    this.a00 = scale * (H[17]! - dot56 * k5z);
    this.a01 = scale * (k5x * H[16]! - k5y * H[15]!);
    this.k0 = scale * dot56 * k5z;
    this.a10 = ez - along * k5z;
    this.a11 = k5x * ey - k5y * ex;
    this.k1 = P[14]! + along * k5z;
    const first = Math.hypot(this.a00, this.a01),
      second = Math.hypot(this.a10, this.a11);
    this.r00 = this.r11 = 1;
    this.r01 = this.r10 = 0;
    this.direct = false;
    this.mode = "together";
    const size = Math.max(first, second);
    const dependent = Math.abs(this.a00 * this.a11 - this.a01 * this.a10) / (size * scale);
    this.nearly = dependent > ZERO_ROW;
    this.rowSlack = this.nearly && dependent <= SMALL_ROW ? 100 * dependent : 0;
    if (second <= ZERO_ROW * scale) {
      this.mode = "x-last";
      this.nearly = false;
      this.rowSlack = 0;
      this.direct = true;
      this.a10 = this.a11 = 0;
    } else if (dependent <= SMALL_ROW) {
      this.mode = "x-last";
      const l = Math.hypot(first, second);
      const sign = this.a00 * this.a10 + this.a01 * this.a11 >= 0 ? 1 : -1;
      this.r00 = first / l;
      this.r01 = (sign * second) / l;
      this.r10 = (-sign * second) / l;
      this.r11 = first / l;
    }
    // Angles between h and axis 5, and between axes 5 and 6.
    this.ca = k5z;
    this.sa = Math.hypot(k5x, k5y);
    this.cb = dot56;
    this.sb = Math.hypot(k5y * H[17]! - k5z * H[16]!, k5z * H[15]! - k5x * H[17]!, k5x * H[16]! - k5y * H[15]!);
    const alpha = Math.atan2(this.sa, this.ca),
      beta = Math.atan2(this.sb, this.cb);
    const half = Math.sin(0.5 * (alpha - beta)),
      other = Math.cos(0.5 * (alpha + beta));
    this.oneMinus = 2 * half * half;
    this.onePlus = 2 * other * other;
    this.c5 = this.a00 / first;
    this.s5 = this.a01 / first;
  }

  solve(goal: Float64Array, out: Float64Array): number {
    this.doubtful = 0;
    const G = this.frame.setGoal(goal);
    const H = this.frame.h,
      P = this.frame.p;
    const s = this.pair;
    const { scale, r00, r01, r10, r11 } = this;
    const g0 = G[0]!,
      g1 = G[1]!,
      g2 = G[2]!,
      g3 = G[3]!,
      g4 = G[4]!,
      g5 = G[5]!,
      g6 = G[6]!,
      g7 = G[7]!,
      g8 = G[8]!,
      g9 = G[9]!,
      g10 = G[10]!,
      g11 = G[11]!;
    const k1x = H[0]!,
      k1y = H[1]!,
      k1z = H[2]!,
      p1x = P[0]!,
      p1y = P[1]!,
      p1z = P[2]!;
    const k5x = H[12]!,
      k5y = H[13]!,
      k5z = H[14]!,
      p5x = P[12]!,
      p5y = P[13]!,
      p5z = P[14]!;
    const k6x = H[15]!,
      k6y = H[16]!,
      k6z = H[17]!,
      p6x = P[15]!,
      p6y = P[16]!,
      p6z = P[17]!;
    // m: goal direction of axis 6; d: goal point on axis 6 from a point on axis 1.
    const mx = g0 * k6x + g1 * k6y + g2 * k6z,
      my = g4 * k6x + g5 * k6y + g6 * k6z,
      mz = g8 * k6x + g9 * k6y + g10 * k6z;
    const dx = g0 * p6x + g1 * p6y + g2 * p6z + g3 - p1x,
      dy = g4 * p6x + g5 * p6y + g6 * p6z + g7 - p1y,
      dz = g8 * p6x + g9 * p6y + g10 * p6z + g11 - p1z;
    const km = k1x * mx + k1y * my + k1z * mz,
      kd = k1x * dx + k1y * dy + k1z * dz;
    const b00 = scale * (mz - k1z * km),
      b01 = -scale * (k1x * my - k1y * mx);
    const b10 = dz - k1z * kd,
      b11 = -(k1x * dy - k1y * dx);
    const c0 = scale * k1z * km - this.k0,
      c1 = p1z + k1z * kd - this.k1;
    s[0] = r00 * this.a00 + r01 * this.a10;
    s[1] = r00 * this.a01 + r01 * this.a11;
    s[2] = r10 * this.a00 + r11 * this.a10;
    s[3] = r10 * this.a01 + r11 * this.a11;
    s[4] = r00 * b00 + r01 * b10;
    s[5] = r00 * b01 + r01 * b11;
    s[6] = r10 * b00 + r11 * b10;
    s[7] = r10 * b01 + r11 * b11;
    s[8] = r00 * c0 + r01 * c1;
    s[9] = r10 * c0 + r11 * c1;
    const { slack } = this;
    s[PAIR_SLACK] = Math.max(slack, this.rowSlack);
    const branches = this.direct ? solveLastAngle(s, scale) : solveCirclePair(s, this.mode, this.nearly, scale);
    const close = s[PAIR_CLOSE] !== 0;

    const l3x = P[6]!,
      l3y = P[7]!,
      p4x = P[9]!,
      p4y = P[10]!,
      p4z = P[11]!;
    const l4x = p4x - l3x,
      l4y = p4y - l3y;
    const n3 = l3x * l3x + l3y * l3y,
      n4 = l4x * l4x + l4y * l4y;
    const l3 = Math.sqrt(n3),
      l4 = Math.sqrt(n4);
    const links = l3 * l4;
    const P0 = (l3x * l4x + l3y * l4y) / links,
      Q0 = (l3y * l4x - l3x * l4y) / links;
    const far = (l3 + l4) * (l3 + l4),
      near = (l3 - l4) * (l3 - l4);
    let count = 0;
    for (let i = 0; i < branches; i++) {
      const o = PAIR_OUT + 4 * i;
      let cos5 = s[o]!,
        sin5 = s[o + 1]!;
      const cos1 = s[o + 2]!,
        sin1 = s[o + 3]!;
      let doubt = close;
      // t = R_Gᵀ·R1·h: the common direction seen from the flange side.
      const hx = k1x * k1z * (1 - cos1) + sin1 * k1y,
        hy = k1y * k1z * (1 - cos1) - sin1 * k1x,
        hz = k1z * k1z + cos1 * (1 - k1z * k1z);
      const tx = g0 * hx + g4 * hy + g8 * hz,
        ty = g1 * hx + g5 * hy + g9 * hz,
        tz = g2 * hx + g6 * hy + g10 * hz;
      const kt = k6x * tx + k6y * ty + k6z * tz;
      const ax = k6y * tz - k6z * ty,
        ay = k6z * tx - k6x * tz,
        az = k6x * ty - k6y * tx;
      const a2 = ax * ax + ay * ay + az * az;
      if (this.direct) {
        // cos(q5 - offset) from h·R5·h6 = kt; near alignment the transverse part of t keeps the digits that 1 ∓ kt loses.
        const { ca, sa, cb, sb } = this;
        let up = 1 - this.oneMinus - kt,
          down = kt + 1 - this.onePlus;
        if (a2 < 0.1) {
          if (kt > 0) up = a2 / (1 + kt) - this.oneMinus;
          else down = a2 / (1 - kt) - this.onePlus;
        }
        const sin2 = up * down;
        if (sin2 < -slack) continue;
        const single = sin2 <= 0 || a2 < ALIGNED * ALIGNED;
        if (single && sin5 < 0) continue;
        if (single || sin2 < slack) doubt = true;
        let st = sin2 > 0 ? (sin5 * Math.sqrt(sin2)) / (sa * sb) : 0,
          ct = (kt - ca * cb) / (sa * sb);
        const l = 1 / Math.sqrt(ct * ct + st * st);
        ct *= l;
        st *= l;
        cos5 = this.c5 * ct - this.s5 * st;
        sin5 = this.s5 * ct + this.c5 * st;
      }
      // r = R5ᵀ·h and w = R5ᵀ·x; y5 = E5⁻¹·p4.
      const v5 = 1 - cos5;
      const rx = k5x * k5z * v5 - sin5 * k5y,
        ry = k5y * k5z * v5 + sin5 * k5x,
        rz = k5z * k5z + cos5 * (1 - k5z * k5z);
      // q6 from k6 × t to k6 × r: these keep their digits where both vectors are nearly along axis 6.
      let c6 = ax * (k6y * rz - k6z * ry) + ay * (k6z * rx - k6x * rz) + az * (k6x * ry - k6y * rx),
        s6 = ax * rx + ay * ry + az * rz;
      if (a2 < 1e-12) doubt = true;
      const free = a2 < ALIGNED * ALIGNED;
      if (free) {
        // Axis 6 along h: q6 is free, and 0 unless the links then miss their goal.
        c6 = 1;
        s6 = 0;
      } else {
        const l = 1 / Math.sqrt(c6 * c6 + s6 * s6);
        c6 *= l;
        s6 *= l;
      }
      const wx = cos5 + k5x * k5x * v5,
        wy = k5x * k5y * v5 - sin5 * k5z,
        wz = k5x * k5z * v5 + sin5 * k5y;
      const fx = p4x - p5x,
        fy = p4y - p5y,
        fz = p4z - p5z;
      const kf = (k5x * fx + k5y * fy + k5z * fz) * v5;
      const yx = p5x + cos5 * fx - sin5 * (k5y * fz - k5z * fy) + kf * k5x - p6x,
        yy = p5y + cos5 * fy - sin5 * (k5z * fx - k5x * fz) + kf * k5y - p6y,
        yz = p5z + cos5 * fz - sin5 * (k5x * fy - k5y * fx) + kf * k5z - p6z;
      // Back through axis 6, the goal and axis 1.
      const v6 = 1 - c6;
      const kw = (k6x * wx + k6y * wy + k6z * wz) * v6;
      const w6x = c6 * wx - s6 * (k6y * wz - k6z * wy) + kw * k6x,
        w6y = c6 * wy - s6 * (k6z * wx - k6x * wz) + kw * k6y,
        w6z = c6 * wz - s6 * (k6x * wy - k6y * wx) + kw * k6z;
      const ky = (k6x * yx + k6y * yy + k6z * yz) * v6;
      const y6x = p6x + c6 * yx - s6 * (k6y * yz - k6z * yy) + ky * k6x,
        y6y = p6y + c6 * yy - s6 * (k6z * yx - k6x * yz) + ky * k6y,
        y6z = p6z + c6 * yz - s6 * (k6x * yy - k6y * yx) + ky * k6z;
      const wgx = g0 * w6x + g1 * w6y + g2 * w6z,
        wgy = g4 * w6x + g5 * w6y + g6 * w6z,
        wgz = g8 * w6x + g9 * w6y + g10 * w6z;
      const ygx = g0 * y6x + g1 * y6y + g2 * y6z + g3 - p1x,
        ygy = g4 * y6x + g5 * y6y + g6 * y6z + g7 - p1y,
        ygz = g8 * y6x + g9 * y6y + g10 * y6z + g11 - p1z;
      const v1 = 1 - cos1;
      const kw1 = (k1x * wgx + k1y * wgy + k1z * wgz) * v1;
      let cosSum = cos1 * wgx - sin1 * (k1y * wgz - k1z * wgy) + kw1 * k1x,
        sinSum = cos1 * wgy - sin1 * (k1z * wgx - k1x * wgz) + kw1 * k1y;
      const ky1 = (k1x * ygx + k1y * ygy + k1z * ygz) * v1;
      let px = p1x + cos1 * ygx - sin1 * (k1y * ygz - k1z * ygy) + ky1 * k1x,
        py = p1y + cos1 * ygy - sin1 * (k1z * ygx - k1x * ygz) + ky1 * k1y;

      // Planar two-link arm: link l3 turned by q2, link l4 by q2 + q3, to (px, py).
      let reach = px * px + py * py;
      if (free && (reach > far || reach < near)) {
        // Turning q6 carries (px, py) round the place of axis 6; take it to the middle of what the links reach.
        const ox = p1x + k1x * kd + cos1 * (dx - k1x * kd) - sin1 * (k1y * dz - k1z * dy),
          oy = p1y + k1y * kd + cos1 * (dy - k1y * kd) - sin1 * (k1z * dx - k1x * dz);
        const vx = px - ox,
          vy = py - oy;
        const o2 = ox * ox + oy * oy,
          v2 = vx * vx + vy * vy;
        const o1 = Math.sqrt(o2),
          l = Math.sqrt(v2);
        const least = Math.max(near, (o1 - l) * (o1 - l)),
          most = Math.min(far, (o1 + l) * (o1 + l));
        const cosine = (0.5 * (least + most) - o2 - v2) / (2 * o1 * l);
        if (least <= most && Math.abs(cosine) <= 1) {
          const turn = Math.acos(cosine) + Math.atan2(oy, ox) - Math.atan2(vy, vx);
          const c = Math.cos(turn),
            n = Math.sin(turn);
          px = ox + c * vx - n * vy;
          py = oy + n * vx + c * vy;
          const cs = cosSum;
          cosSum = c * cs - n * sinSum;
          sinSum = n * cs + c * sinSum;
          // About h the turn is -q6 where axis 6 points along h, +q6 where it points against it.
          c6 = c;
          s6 = kt > 0 ? -n : n;
          reach = px * px + py * py;
        }
      }
      const up = (far - reach) / (2 * links),
        down = (reach - near) / (2 * links);
      const sin2 = up * down;
      // Near alignment q6 is uncertain by rounding over sin q5, and the place of the links' end with it.
      const margin = a2 < 1e-8 && !free ? slack + 1e-14 / Math.sqrt(a2) : slack;
      if (sin2 < -margin) continue;
      if (sin2 < 1e-10 || sin2 < margin) doubt = true;
      const k = (reach - n3 - n4) / (2 * links);
      let side = sin2 > 0 ? Math.sqrt(sin2) : 0;
      const elbows = sin2 > 0 ? 2 : 1;
      const q1 = Math.atan2(sin1, cos1),
        sum = Math.atan2(sinSum, cosSum),
        q5 = Math.atan2(sin5, cos5),
        q6 = Math.atan2(s6, c6);
      for (let e = 0; e < elbows; e++) {
        const c3 = k * P0 - side * Q0,
          s3 = k * Q0 + side * P0;
        const ex = l3x + c3 * l4x - s3 * l4y,
          ey = l3y + s3 * l4x + c3 * l4y;
        const q2 = reach < 1e-20 * links ? 0 : Math.atan2(ex * py - ey * px, ex * px + ey * py);
        const q3 = Math.atan2(s3, c3);
        const at = 6 * count;
        out[at] = q1;
        out[at + 1] = q2;
        out[at + 2] = this.sign3 * q3;
        out[at + 3] = wrap(this.sign4 * (sum - q2 - q3));
        out[at + 4] = q5;
        out[at + 5] = q6;
        if (doubt) this.doubtful |= 1 << count;
        count++;
        side = -side;
      }
    }
    return count;
  }
}
