/**
 * Where the tool is and how it moves when the joints move along a path parameter s: position, first, second and third
 * derivatives of the tool centre point, and angular velocity with its first and second derivatives, all with respect to s
 * and in base axes. Recursion over the joint axes in base axes, no allocation.
 */
import type { Arm } from "../../arm/model.ts";
import type { Pose } from "../../math/pose.ts";

/** Tool position and turning with derivatives with respect to a path parameter, base axes. */
export interface ToolPoint {
  /** Tool centre point and its first, second and third derivative, 3 numbers each: m, m/[s], m/[s]², m/[s]³. */
  readonly p: Float64Array;
  readonly p1: Float64Array;
  readonly p2: Float64Array;
  readonly p3: Float64Array;
  /** Rotation matrix baseFromTcp, 9 numbers, row-major. */
  readonly r: Float64Array;
  /** Angular velocity and its first and second derivative, 3 numbers each: rad/[s], rad/[s]², rad/[s]³. */
  readonly w: Float64Array;
  readonly w1: Float64Array;
  readonly w2: Float64Array;
}

/** A tool point at the base origin, at rest. */
export function createToolPoint(): ToolPoint {
  const three = () => new Float64Array(3);
  return {
    p: three(),
    p1: three(),
    p2: three(),
    p3: three(),
    r: new Float64Array(9),
    w: three(),
    w1: three(),
    w2: three(),
  };
}

/** Writes the pose of a tool point. */
export function poseOfPoint(point: ToolPoint, out: Pose = new Float64Array(16)): Pose {
  for (let row = 0; row < 3; row++) {
    for (let column = 0; column < 3; column++) out[4 * row + column] = point.r[3 * row + column];
    out[4 * row + 3] = point.p[row];
  }
  out[12] = out[13] = out[14] = 0;
  out[15] = 1;
  return out;
}

/** Forward kinematics to any order needed along a path; keeps the axes of the last `place`. */
export interface ToolRates {
  /** Tool in use. The array must not change while it is in use: the same array again is taken as the same tool. */
  setTool(flangeFromTcp: Pose): void;
  /** Tool position and rotation at `q` (rad or m), written to `point.p` and `point.r`. */
  place(q: Float64Array, point: ToolPoint): void;
  /** Geometric Jacobian at the tool centre point for the last `place`, base axes, row-major 6 x n: rows vx vy vz wx wy wz. */
  jacobian(out: Float64Array): void;
  /**
   * Derivatives of the tool for joint derivatives q1, q2, q3 with respect to the path parameter at the last `place`,
   * written to p1, p2, p3, w, w1, w2. Zero arrays give the terms that do not depend on the missing derivative.
   */
  rates(q1: Float64Array, q2: Float64Array, q3: Float64Array, point: ToolPoint): void;
}

/** @param arm any serial arm; its arrays are read, never written */
export function createToolRates(arm: Arm): ToolRates {
  const { n, prismatic, fixed } = arm;
  const axis = new Float64Array(3 * n);
  // Joint origins and, last, the tool centre point.
  const origin = new Float64Array(3 * (n + 1));
  const values = new Float64Array(n);
  const last = new Float64Array(12);

  let current: Pose | undefined;
  const setTool = (flangeFromTcp: Pose): void => {
    if (flangeFromTcp === current) return;
    current = flangeFromTcp;
    const k = 12 * n;
    for (let row = 0; row < 3; row++) {
      const a = fixed[k + 4 * row];
      const b = fixed[k + 4 * row + 1];
      const c = fixed[k + 4 * row + 2];
      for (let column = 0; column < 4; column++)
        last[4 * row + column] =
          a * flangeFromTcp[column] + b * flangeFromTcp[4 + column] + c * flangeFromTcp[8 + column];
      last[4 * row + 3] += fixed[k + 4 * row + 3];
    }
  };

  const place = (q: Float64Array, point: ToolPoint): void => {
    let r0 = 1;
    let r1 = 0;
    let r2 = 0;
    let r3 = 0;
    let r4 = 1;
    let r5 = 0;
    let r6 = 0;
    let r7 = 0;
    let r8 = 1;
    let x = 0;
    let y = 0;
    let z = 0;
    for (let i = 0; i <= n; i++) {
      const f = i < n ? fixed : last;
      const k = i < n ? 12 * i : 0;
      const f3 = f[k + 3];
      const f7 = f[k + 7];
      const f11 = f[k + 11];
      x += r0 * f3 + r1 * f7 + r2 * f11;
      y += r3 * f3 + r4 * f7 + r5 * f11;
      z += r6 * f3 + r7 * f7 + r8 * f11;
      const f0 = f[k];
      const f1 = f[k + 1];
      const f2 = f[k + 2];
      const f4 = f[k + 4];
      const f5 = f[k + 5];
      const f6 = f[k + 6];
      const f8 = f[k + 8];
      const f9 = f[k + 9];
      const f10 = f[k + 10];
      const a0 = r0 * f0 + r1 * f4 + r2 * f8;
      const a1 = r0 * f1 + r1 * f5 + r2 * f9;
      const a2 = r0 * f2 + r1 * f6 + r2 * f10;
      const a3 = r3 * f0 + r4 * f4 + r5 * f8;
      const a4 = r3 * f1 + r4 * f5 + r5 * f9;
      const a5 = r3 * f2 + r4 * f6 + r5 * f10;
      const a6 = r6 * f0 + r7 * f4 + r8 * f8;
      const a7 = r6 * f1 + r7 * f5 + r8 * f9;
      const a8 = r6 * f2 + r7 * f6 + r8 * f10;
      const o = 3 * i;
      origin[o] = x;
      origin[o + 1] = y;
      origin[o + 2] = z;
      r2 = a2;
      r5 = a5;
      r8 = a8;
      if (i === n) {
        r0 = a0;
        r1 = a1;
        r3 = a3;
        r4 = a4;
        r6 = a6;
        r7 = a7;
        break;
      }
      axis[o] = a2;
      axis[o + 1] = a5;
      axis[o + 2] = a8;
      const value = q[i];
      values[i] = value;
      if (prismatic[i]) {
        r0 = a0;
        r1 = a1;
        r3 = a3;
        r4 = a4;
        r6 = a6;
        r7 = a7;
        x += a2 * value;
        y += a5 * value;
        z += a8 * value;
      } else {
        const c = Math.cos(value);
        const s = Math.sin(value);
        r0 = c * a0 + s * a1;
        r1 = c * a1 - s * a0;
        r3 = c * a3 + s * a4;
        r4 = c * a4 - s * a3;
        r6 = c * a6 + s * a7;
        r7 = c * a7 - s * a6;
      }
    }
    point.p[0] = x;
    point.p[1] = y;
    point.p[2] = z;
    const r = point.r;
    r[0] = r0;
    r[1] = r1;
    r[2] = r2;
    r[3] = r3;
    r[4] = r4;
    r[5] = r5;
    r[6] = r6;
    r[7] = r7;
    r[8] = r8;
  };

  const jacobian = (out: Float64Array): void => {
    const px = origin[3 * n];
    const py = origin[3 * n + 1];
    const pz = origin[3 * n + 2];
    for (let i = 0; i < n; i++) {
      const ax = axis[3 * i];
      const ay = axis[3 * i + 1];
      const az = axis[3 * i + 2];
      if (prismatic[i]) {
        out[i] = ax;
        out[n + i] = ay;
        out[2 * n + i] = az;
        out[3 * n + i] = out[4 * n + i] = out[5 * n + i] = 0;
      } else {
        const dx = px - origin[3 * i];
        const dy = py - origin[3 * i + 1];
        const dz = pz - origin[3 * i + 2];
        out[i] = ay * dz - az * dy;
        out[n + i] = az * dx - ax * dz;
        out[2 * n + i] = ax * dy - ay * dx;
        out[3 * n + i] = ax;
        out[4 * n + i] = ay;
        out[5 * n + i] = az;
      }
    }
  };

  const rates = (q1: Float64Array, q2: Float64Array, q3: Float64Array, point: ToolPoint): void => {
    // Angular velocity and derivatives of the link reached so far.
    let wx = 0;
    let wy = 0;
    let wz = 0;
    let ux = 0;
    let uy = 0;
    let uz = 0;
    let vx = 0;
    let vy = 0;
    let vz = 0;
    // Derivatives of the position of the origin reached so far.
    let ax = 0;
    let ay = 0;
    let az = 0;
    let bx = 0;
    let by = 0;
    let bz = 0;
    let cx = 0;
    let cy = 0;
    let cz = 0;
    for (let i = 0; i < n; i++) {
      const o = 3 * i;
      const zx = axis[o];
      const zy = axis[o + 1];
      const zz = axis[o + 2];
      const d1 = q1[i];
      const d2 = q2[i];
      const d3 = q3[i];
      // z' = ω × z and z'' = ω' × z + ω × z', of the axis carried by the link before.
      const z1x = wy * zz - wz * zy;
      const z1y = wz * zx - wx * zz;
      const z1z = wx * zy - wy * zx;
      const z2x = uy * zz - uz * zy + wy * z1z - wz * z1y;
      const z2y = uz * zx - ux * zz + wz * z1x - wx * z1z;
      const z2z = ux * zy - uy * zx + wx * z1y - wy * z1x;
      if (prismatic[i]) {
        ax += zx * d1;
        ay += zy * d1;
        az += zz * d1;
        bx += 2 * z1x * d1 + zx * d2;
        by += 2 * z1y * d1 + zy * d2;
        bz += 2 * z1z * d1 + zz * d2;
        cx += 3 * (z2x * d1 + z1x * d2) + zx * d3;
        cy += 3 * (z2y * d1 + z1y * d2) + zy * d3;
        cz += 3 * (z2z * d1 + z1z * d2) + zz * d3;
      } else {
        wx += zx * d1;
        wy += zy * d1;
        wz += zz * d1;
        ux += zx * d2 + z1x * d1;
        uy += zy * d2 + z1y * d1;
        uz += zz * d2 + z1z * d1;
        vx += zx * d3 + 2 * z1x * d2 + z2x * d1;
        vy += zy * d3 + 2 * z1y * d2 + z2y * d1;
        vz += zz * d3 + 2 * z1z * d2 + z2z * d1;
      }
      // The vector to the next origin turns with the link.
      const rx = origin[o + 3] - origin[o];
      const ry = origin[o + 4] - origin[o + 1];
      const rz = origin[o + 5] - origin[o + 2];
      const r1x = wy * rz - wz * ry;
      const r1y = wz * rx - wx * rz;
      const r1z = wx * ry - wy * rx;
      const r2x = uy * rz - uz * ry + wy * r1z - wz * r1y;
      const r2y = uz * rx - ux * rz + wz * r1x - wx * r1z;
      const r2z = ux * ry - uy * rx + wx * r1y - wy * r1x;
      ax += r1x;
      ay += r1y;
      az += r1z;
      bx += r2x;
      by += r2y;
      bz += r2z;
      cx += vy * rz - vz * ry + 2 * (uy * r1z - uz * r1y) + wy * r2z - wz * r2y;
      cy += vz * rx - vx * rz + 2 * (uz * r1x - ux * r1z) + wz * r2x - wx * r2z;
      cz += vx * ry - vy * rx + 2 * (ux * r1y - uy * r1x) + wx * r2y - wy * r2x;
    }
    set(point.p1, ax, ay, az);
    set(point.p2, bx, by, bz);
    set(point.p3, cx, cy, cz);
    set(point.w, wx, wy, wz);
    set(point.w1, ux, uy, uz);
    set(point.w2, vx, vy, vz);
  };

  setTool(Float64Array.of(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1));
  return { setTool, place, jacobian, rates };
}

function set(out: Float64Array, x: number, y: number, z: number): void {
  out[0] = x;
  out[1] = y;
  out[2] = z;
}
