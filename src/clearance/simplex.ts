/**
 * Points of the difference of two cores, A - B, and the point of their simplex nearest to the origin. The simplex has one to
 * four points; its weights come from signed volumes with the origin as a corner, so that no small difference of large
 * products decides a region; where rounding leaves a choice, the nearest of all candidates is taken.
 *
 * Storage of point i: nine numbers from 9·i: difference, its point of A, its point of B.
 */
export interface Simplex {
  readonly points: Float64Array;
  /** Weight of each point in the nearest point. */
  readonly weights: Float64Array;
  /** Nearest point to the origin, and its square. */
  readonly nearest: Float64Array;
}

/** Points that a simplex takes, with one more as room. */
export const newSimplex = (): Simplex => ({
  points: new Float64Array(36),
  weights: new Float64Array(4),
  nearest: new Float64Array(4),
});

/** Below this share of the product of the sides a triangle or a tetrahedron has no area or volume worth dividing by. */
const FLAT = 1e-14;

/** Mask of nearestOn when the origin is inside the tetrahedron. */
export const INSIDE = 15;

/** Nearest point of the first `count` points. @returns bits of the points that carry it; INSIDE when the tetrahedron holds the origin */
export function nearestOn(simplex: Simplex, count: number): number {
  const { weights, nearest } = simplex;
  weights[0] = weights[1] = weights[2] = weights[3] = 0;
  nearest[3] = Number.POSITIVE_INFINITY;
  if (count === 1) {
    corner(simplex, 0);
    return 1;
  }
  if (count === 2) return edge(simplex, 1, 0, 0);
  if (count === 3) return face(simplex, 2, 1, 0, 0);
  return tetrahedron(simplex);
}

function corner({ points: p, weights, nearest }: Simplex, i: number): void {
  const x = p[9 * i]!,
    y = p[9 * i + 1]!,
    z = p[9 * i + 2]!;
  weights[0] = weights[1] = weights[2] = weights[3] = 0;
  weights[i] = 1;
  nearest[0] = x;
  nearest[1] = y;
  nearest[2] = z;
  nearest[3] = x * x + y * y + z * z;
}

/** Takes the edge's nearest point if it is nearer than what is known; `mask` is the known answer. */
function edge(simplex: Simplex, i: number, j: number, mask: number): number {
  const { points: p, weights, nearest } = simplex;
  const a = 9 * i,
    b = 9 * j;
  const ax = p[a]!,
    ay = p[a + 1]!,
    az = p[a + 2]!;
  const bx = p[b]!,
    by = p[b + 1]!,
    bz = p[b + 2]!;
  const dx = bx - ax,
    dy = by - ay,
    dz = bz - az;
  const toB = -(ax * dx + ay * dy + az * dz),
    toA = bx * dx + by * dy + bz * dz;
  let wb: number;
  if (!(toB > 0)) wb = 0;
  else if (!(toA > 0)) wb = 1;
  else wb = toB / (toA + toB);
  const wa = 1 - wb;
  // From the nearer corner, so that a long edge does not cost digits.
  const x = wb < 0.5 ? ax + wb * dx : bx - wa * dx,
    y = wb < 0.5 ? ay + wb * dy : by - wa * dy,
    z = wb < 0.5 ? az + wb * dz : bz - wa * dz;
  const square = x * x + y * y + z * z;
  if (!(square < nearest[3]!)) return mask;
  weights[0] = weights[1] = weights[2] = weights[3] = 0;
  weights[i] = wa;
  weights[j] = wb;
  nearest[0] = x;
  nearest[1] = y;
  nearest[2] = z;
  nearest[3] = square;
  return wb === 0 ? 1 << i : wb === 1 ? 1 << j : (1 << i) | (1 << j);
}

/** Takes the triangle's nearest point if it is nearer than what is known. */
function face(simplex: Simplex, i: number, j: number, k: number, mask: number): number {
  const { points: p, weights, nearest } = simplex;
  const a = 9 * i,
    b = 9 * j,
    c = 9 * k;
  const ax = p[a]!,
    ay = p[a + 1]!,
    az = p[a + 2]!;
  const bx = p[b]!,
    by = p[b + 1]!,
    bz = p[b + 2]!;
  const cx = p[c]!,
    cy = p[c + 1]!,
    cz = p[c + 2]!;
  const ux = bx - ax,
    uy = by - ay,
    uz = bz - az;
  const vx = cx - ax,
    vy = cy - ay,
    vz = cz - az;
  const nx = uy * vz - uz * vy,
    ny = uz * vx - ux * vz,
    nz = ux * vy - uy * vx;
  const nn = nx * nx + ny * ny + nz * nz;
  const flat = FLAT * FLAT * (ux * ux + uy * uy + uz * uz) * (vx * vx + vy * vy + vz * vz);
  if (!(nn > flat)) {
    mask = edge(simplex, i, j, mask);
    mask = edge(simplex, i, k, mask);
    return edge(simplex, j, k, mask);
  }
  const wa = ((by * cz - bz * cy) * nx + (bz * cx - bx * cz) * ny + (bx * cy - by * cx) * nz) / nn;
  const wb = ((cy * az - cz * ay) * nx + (cz * ax - cx * az) * ny + (cx * ay - cy * ax) * nz) / nn;
  const wc = ((ay * bz - az * by) * nx + (az * bx - ax * bz) * ny + (ax * by - ay * bx) * nz) / nn;
  if (wa > 0 && wb > 0 && wc > 0) {
    const k0 = (ax * nx + ay * ny + az * nz) / nn;
    const square = k0 * k0 * nn;
    if (!(square < nearest[3]!)) return mask;
    const sum = wa + wb + wc;
    weights[0] = weights[1] = weights[2] = weights[3] = 0;
    weights[i] = wa / sum;
    weights[j] = wb / sum;
    weights[k] = wc / sum;
    nearest[0] = k0 * nx;
    nearest[1] = k0 * ny;
    nearest[2] = k0 * nz;
    nearest[3] = square;
    return (1 << i) | (1 << j) | (1 << k);
  }
  if (!(wc > 0)) mask = edge(simplex, i, j, mask);
  if (!(wb > 0)) mask = edge(simplex, i, k, mask);
  if (!(wa > 0)) mask = edge(simplex, j, k, mask);
  return mask;
}

function tetrahedron(simplex: Simplex): number {
  const { points: p, weights, nearest } = simplex;
  const ax = p[0]!,
    ay = p[1]!,
    az = p[2]!;
  const bx = p[9]!,
    by = p[10]!,
    bz = p[11]!;
  const cx = p[18]!,
    cy = p[19]!,
    cz = p[20]!;
  const dx = p[27]!,
    dy = p[28]!,
    dz = p[29]!;
  // Volumes of the tetrahedra with the origin in place of a corner; their sum is the whole volume.
  const mx = cy * dz - cz * dy,
    my = cz * dx - cx * dz,
    mz = cx * dy - cy * dx;
  const kx = ay * bz - az * by,
    ky = az * bx - ax * bz,
    kz = ax * by - ay * bx;
  const va = bx * mx + by * my + bz * mz,
    vb = -(ax * mx + ay * my + az * mz),
    vc = dx * kx + dy * ky + dz * kz,
    vd = -(cx * kx + cy * ky + cz * kz);
  const whole = va + vb + vc + vd;
  const size = Math.abs(va) + Math.abs(vb) + Math.abs(vc) + Math.abs(vd);
  const isFlat = !(Math.abs(whole) > FLAT * size);
  const sign = whole > 0 ? 1 : -1;
  const oa = isFlat || !(sign * va > 0),
    ob = isFlat || !(sign * vb > 0),
    oc = isFlat || !(sign * vc > 0),
    od = isFlat || !(sign * vd > 0);
  if (!(oa || ob || oc || od)) {
    weights[0] = va / whole;
    weights[1] = vb / whole;
    weights[2] = vc / whole;
    weights[3] = vd / whole;
    nearest[0] = nearest[1] = nearest[2] = nearest[3] = 0;
    return INSIDE;
  }
  let mask = 0;
  if (oa) mask = face(simplex, 3, 2, 1, mask);
  if (ob) mask = face(simplex, 3, 2, 0, mask);
  if (oc) mask = face(simplex, 3, 1, 0, mask);
  if (od) mask = face(simplex, 2, 1, 0, mask);
  return mask;
}

/** Keeps the points of `mask`, in order, and their weights at the front. @returns how many they are */
export function keep({ points, weights }: Simplex, mask: number): number {
  let count = 0;
  for (let i = 0; i < 4; i++) {
    if ((mask & (1 << i)) === 0) continue;
    if (i !== count) {
      for (let k = 0; k < 9; k++) points[9 * count + k] = points[9 * i + k]!;
      weights[count] = weights[i]!;
    }
    count++;
  }
  return count;
}
