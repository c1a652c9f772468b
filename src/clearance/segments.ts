/**
 * Closest points of two segments or points, and of a segment or point with a box or a cylinder: closed forms, and for the
 * last two the least value of a convex function along the segment.
 *
 * All write a core result (see core-result): signed distance of the cores, a point of each, unit normal from A to B.
 */
import type { Body } from "./body.ts";
import { type CoreResult, writeApart } from "./core-result.ts";

/** Below this sine squared two directions are parallel to rounding. */
const PARALLEL = 1e-30;
/** Squared share of the segments' size below which a gap is rounding. */
const ROUNDING = 1e-30;

/**
 * Two spheres or capsules with their radii, each about the origin of its pose along its z axis, in the frame that the poses
 * are given in. Poses are row-major 3 x 4 or 4 x 4, beginning at `ia` and `ib`.
 */
export function capsules(
  a: Body,
  pa: Float64Array,
  ia: number,
  b: Body,
  pb: Float64Array,
  ib: number,
  out: CoreResult,
): void {
  const ha = a.hz,
    ra = a.radius,
    hb = b.hz,
    rb = b.radius;
  const ux = pa[ia + 2]!,
    uy = pa[ia + 6]!,
    uz = pa[ia + 10]!;
  const vx = pb[ib + 2]!,
    vy = pb[ib + 6]!,
    vz = pb[ib + 10]!;
  const dx = pa[ia + 3]! - pb[ib + 3]!,
    dy = pa[ia + 7]! - pb[ib + 7]!,
    dz = pa[ia + 11]! - pb[ib + 11]!;
  // The difference d + s·u - t·v is normal to both lines where s·n² = -(d x v)·n and t·n² = -(d x u)·n, n = u x v:
  // cross products keep this exact to rounding for nearly parallel lines too.
  const nx = uy * vz - uz * vy,
    ny = uz * vx - ux * vz,
    nz = ux * vy - uy * vx;
  const nn = nx * nx + ny * ny + nz * nz;
  let s = 0;
  if (nn > PARALLEL) {
    s = -((dy * vz - dz * vy) * nx + (dz * vx - dx * vz) * ny + (dx * vy - dy * vx) * nz) / nn;
    if (s > ha) s = ha;
    else if (s < -ha) s = -ha;
  }
  let t = vx * (dx + s * ux) + vy * (dy + s * uy) + vz * (dz + s * uz);
  if (t > hb || t < -hb) {
    t = t > hb ? hb : -hb;
    s = ux * (t * vx - dx) + uy * (t * vy - dy) + uz * (t * vz - dz);
    if (s > ha) s = ha;
    else if (s < -ha) s = -ha;
  }
  const ex = dx + s * ux - t * vx,
    ey = dy + s * uy - t * vy,
    ez = dz + s * uz - t * vz;
  const square = ex * ex + ey * ey + ez * ez;
  const ax = pa[ia + 3]! + s * ux,
    ay = pa[ia + 7]! + s * uy,
    az = pa[ia + 11]! + s * uz;
  if (square > ROUNDING * (ha + hb) * (ha + hb)) {
    const distance = Math.sqrt(square),
      k = -1 / distance;
    const nearX = k * ex,
      nearY = k * ey,
      nearZ = k * ez;
    out[0] = distance - ra - rb;
    out[1] = ax + ra * nearX;
    out[2] = ay + ra * nearY;
    out[3] = az + ra * nearZ;
    out[4] = ax - ex - rb * nearX;
    out[5] = ay - ey - rb * nearY;
    out[6] = az - ez - rb * nearZ;
    out[7] = nearX;
    out[8] = nearY;
    out[9] = nearZ;
    return;
  }
  // The segments meet: they are parted along the normal of both, or across the one where they are in line.
  let mx = nx,
    my = ny,
    mz = nz;
  if (!(nn > PARALLEL && ha > 0 && hb > 0)) {
    const p = ha > 0 ? pa : pb,
      i = ha > 0 ? ia : ib;
    mx = p[i]!;
    my = p[i + 4]!;
    mz = p[i + 8]!;
  }
  const length = Math.sqrt(mx * mx + my * my + mz * mz);
  mx /= length;
  my /= length;
  mz /= length;
  out[0] = -ra - rb;
  out[1] = ax + ra * mx;
  out[2] = ay + ra * my;
  out[3] = az + ra * mz;
  out[4] = ax - rb * mx;
  out[5] = ay - rb * my;
  out[6] = az - rb * mz;
  out[7] = mx;
  out[8] = my;
  out[9] = mz;
}

/** Square of the distance of two segments of half lengths ha and hb (0: a point), placed as for capsules. */
export function segmentSegmentSquared(
  ha: number,
  pa: Float64Array,
  ia: number,
  hb: number,
  pb: Float64Array,
  ib: number,
): number {
  const ux = pa[ia + 2]!,
    uy = pa[ia + 6]!,
    uz = pa[ia + 10]!;
  const vx = pb[ib + 2]!,
    vy = pb[ib + 6]!,
    vz = pb[ib + 10]!;
  const dx = pa[ia + 3]! - pb[ib + 3]!,
    dy = pa[ia + 7]! - pb[ib + 7]!,
    dz = pa[ia + 11]! - pb[ib + 11]!;
  const nx = uy * vz - uz * vy,
    ny = uz * vx - ux * vz,
    nz = ux * vy - uy * vx;
  const nn = nx * nx + ny * ny + nz * nz;
  let s = 0;
  if (nn > PARALLEL) {
    s = -((dy * vz - dz * vy) * nx + (dz * vx - dx * vz) * ny + (dx * vy - dy * vx) * nz) / nn;
    if (s > ha) s = ha;
    else if (s < -ha) s = -ha;
  }
  let t = vx * (dx + s * ux) + vy * (dy + s * uy) + vz * (dz + s * uz);
  if (t > hb || t < -hb) {
    t = t > hb ? hb : -hb;
    s = ux * (t * vx - dx) + uy * (t * vy - dy) + uz * (t * vz - dz);
    if (s > ha) s = ha;
    else if (s < -ha) s = -ha;
  }
  const ex = dx + s * ux - t * vx,
    ey = dy + s * uy - t * vy,
    ez = dz + s * uz - t * vz;
  return ex * ex + ey * ey + ez * ez;
}

/**
 * Where along the segment centre + t·direction, |t| <= half, the square of the distance to the box is least. That square is
 * a convex chain of parabolas; Newton's steps between brackets end on the right one. Everything in the box's frame.
 */
function nearestOnSegmentToBox(
  cx: number,
  cy: number,
  cz: number,
  dx: number,
  dy: number,
  dz: number,
  half: number,
  hx: number,
  hy: number,
  hz: number,
): number {
  let low = -half,
    high = half;
  let t = -(cx * dx + cy * dy + cz * dz);
  if (t > half) t = half;
  else if (t < -half) t = -half;
  for (let turn = 0; turn < 60; turn++) {
    let slope = 0,
      bend = 0;
    const px = cx + t * dx,
      py = cy + t * dy,
      pz = cz + t * dz;
    if (px > hx) {
      slope += dx * (px - hx);
      bend += dx * dx;
    } else if (px < -hx) {
      slope += dx * (px + hx);
      bend += dx * dx;
    }
    if (py > hy) {
      slope += dy * (py - hy);
      bend += dy * dy;
    } else if (py < -hy) {
      slope += dy * (py + hy);
      bend += dy * dy;
    }
    if (pz > hz) {
      slope += dz * (pz - hz);
      bend += dz * dz;
    } else if (pz < -hz) {
      slope += dz * (pz + hz);
      bend += dz * dz;
    }
    if (slope > 0) {
      if (t <= -half) return t;
      high = t;
    } else if (slope < 0) {
      if (t >= half) return t;
      low = t;
    } else return t;
    let next = t - slope / bend;
    if (next <= low) next = low === -half ? low : (low + high) / 2;
    else if (next >= high) next = high === half ? high : (low + high) / 2;
    const step = next - t;
    if (step * step <= 1e-32 * half * half || !(high > low)) return next;
    t = next;
  }
  return t;
}

/** Square of the distance of the segment centre + t·direction, |t| <= half, and the box; in the box's frame. */
export function segmentBoxSquared(
  cx: number,
  cy: number,
  cz: number,
  dx: number,
  dy: number,
  dz: number,
  half: number,
  hx: number,
  hy: number,
  hz: number,
): number {
  const t = half > 0 ? nearestOnSegmentToBox(cx, cy, cz, dx, dy, dz, half, hx, hy, hz) : 0;
  const x = Math.abs(cx + t * dx) - hx,
    y = Math.abs(cy + t * dy) - hy,
    z = Math.abs(cz + t * dz) - hz;
  return (x > 0 ? x * x : 0) + (y > 0 ? y * y : 0) + (z > 0 ? z * z : 0);
}

const clamp = (value: number, half: number) => (value > half ? half : Math.max(value, -half));

/** Segment or point `a`, placed by `rel` in the frame of box `b`. @returns false when they overlap; then nothing is written */
export function segmentBox(a: Body, b: Body, rel: Float64Array, out: CoreResult): boolean {
  const { hx, hy, hz } = b;
  const cx = rel[3]!,
    cy = rel[7]!,
    cz = rel[11]!,
    dx = rel[2]!,
    dy = rel[6]!,
    dz = rel[10]!;
  const t = a.hz > 0 ? nearestOnSegmentToBox(cx, cy, cz, dx, dy, dz, a.hz, hx, hy, hz) : 0;
  const px = cx + t * dx,
    py = cy + t * dy,
    pz = cz + t * dz;
  const ex = px - clamp(px, hx),
    ey = py - clamp(py, hy),
    ez = pz - clamp(pz, hz);
  return writeApart(px, py, pz, ex, ey, ez, a.bound + b.bound, out);
}

/** Parameter of the point of the segment nearest to the cylinder (radius, half length, along z), in the cylinder's frame. */
function nearestOnSegmentToCylinder(
  cx: number,
  cy: number,
  cz: number,
  dx: number,
  dy: number,
  dz: number,
  half: number,
  radius: number,
  hz: number,
): number {
  const across = dx * dx + dy * dy;
  let low = -half,
    high = half;
  let t = clamp(-(cx * dx + cy * dy + cz * dz), half);
  for (let turn = 0; turn < 100; turn++) {
    let slope = 0,
      bend = 0;
    const px = cx + t * dx,
      py = cy + t * dy,
      pz = cz + t * dz;
    const rho = Math.sqrt(px * px + py * py);
    if (rho > radius) {
      const drho = (px * dx + py * dy) / rho;
      slope += (rho - radius) * drho;
      bend += drho * drho + ((rho - radius) / rho) * (across - drho * drho);
    }
    const z = pz > hz ? pz - hz : pz < -hz ? pz + hz : 0;
    if (z !== 0) {
      slope += z * dz;
      bend += dz * dz;
    }
    if (slope > 0) {
      if (t <= -half) return t;
      high = t;
    } else if (slope < 0) {
      if (t >= half) return t;
      low = t;
    } else return t;
    let next = bend > 0 ? t - slope / bend : (low + high) / 2;
    if (!(next > low)) next = low === -half && turn < 3 ? low : (low + high) / 2;
    else if (!(next < high)) next = high === half && turn < 3 ? high : (low + high) / 2;
    const step = next - t;
    if (step * step <= 1e-32 * half * half || !(high > low)) return next;
    t = next;
  }
  return t;
}

/** Square of the distance of the segment centre + t·direction, |t| <= half, and the cylinder; in the cylinder's frame. */
export function segmentCylinderSquared(
  cx: number,
  cy: number,
  cz: number,
  dx: number,
  dy: number,
  dz: number,
  half: number,
  radius: number,
  hz: number,
): number {
  const t = half > 0 ? nearestOnSegmentToCylinder(cx, cy, cz, dx, dy, dz, half, radius, hz) : 0;
  const px = cx + t * dx,
    py = cy + t * dy;
  const r = Math.sqrt(px * px + py * py) - radius,
    z = Math.abs(cz + t * dz) - hz;
  return (r > 0 ? r * r : 0) + (z > 0 ? z * z : 0);
}

/** Segment or point `a`, placed by `rel` in the frame of cylinder `b`. @returns false when they overlap; then nothing is written */
export function segmentCylinder(a: Body, b: Body, rel: Float64Array, out: CoreResult): boolean {
  const radius = b.hx,
    hz = b.hz;
  const cx = rel[3]!,
    cy = rel[7]!,
    cz = rel[11]!,
    dx = rel[2]!,
    dy = rel[6]!,
    dz = rel[10]!;
  const t = a.hz > 0 ? nearestOnSegmentToCylinder(cx, cy, cz, dx, dy, dz, a.hz, radius, hz) : 0;
  const px = cx + t * dx,
    py = cy + t * dy,
    pz = cz + t * dz;
  const rho = Math.sqrt(px * px + py * py);
  const share = rho > radius ? (rho - radius) / rho : 0;
  return writeApart(px, py, pz, px * share, py * share, pz - clamp(pz, hz), a.bound + b.bound, out);
}

/** Point `a` inside cylinder `b`: out through the nearer of the wall and the ends. */
export function pointInCylinder(b: Body, rel: Float64Array, out: CoreResult): void {
  const x = rel[3]!,
    y = rel[7]!,
    z = rel[11]!;
  const rho = Math.sqrt(x * x + y * y);
  const wall = b.hx - rho,
    end = b.hz - Math.abs(z);
  out[1] = out[4] = x;
  out[2] = out[5] = y;
  out[3] = out[6] = z;
  out[7] = out[8] = out[9] = 0;
  if (end <= wall) {
    out[0] = -end;
    const up = z < 0 ? -1 : 1;
    out[6] = up * b.hz;
    out[9] = -up;
    return;
  }
  out[0] = -wall;
  const ux = rho > 0 ? x / rho : 1,
    uy = rho > 0 ? y / rho : 0;
  out[4] = b.hx * ux;
  out[5] = b.hx * uy;
  out[7] = -ux;
  out[8] = -uy;
}
