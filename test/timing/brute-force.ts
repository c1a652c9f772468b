/**
 * Slow optima to compare the timing laws with, by formulations of their own: jerk piecewise constant in time on a uniform
 * grid, all limits at all grid points, dense Newton steps of a log barrier. Such laws are a subset of all laws, so they can
 * never beat a true optimum; they come close to it as the grid gets finer.
 */
import type { TimedPath } from "../../src/motion/timing/index.ts";

/** Solves A x = b in place by elimination with row exchanges; b becomes x. */
function solveDense(a: Float64Array[], b: Float64Array): void {
  const n = b.length;
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(a[i]![k]!) > Math.abs(a[best]![k]!)) best = i;
    [a[k], a[best]] = [a[best]!, a[k]!];
    [b[k], b[best]] = [b[best]!, b[k]!];
    for (let i = k + 1; i < n; i++) {
      const f = a[i]![k]! / a[k]![k]!;
      if (f === 0) continue;
      for (let j = k; j < n; j++) a[i]![j]! -= f * a[k]![j]!;
      b[i]! -= f * b[k]!;
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    for (let j = k + 1; j < n; j++) b[k]! -= a[k]![j]! * b[j]!;
    b[k]! /= a[k]![k]!;
  }
}

/** Value and gradient of g(z) > 0 for all constraints: calls `each` with value and gradient, or returns false if one is <= 0. */
type Constraints = (z: Float64Array, each?: (value: number, gradient: Float64Array) => void) => boolean;

/** min z[n-1] subject to the constraints and E z = const, from a strictly feasible z. */
function minimiseLast(z: Float64Array, constraints: Constraints, equalities: Float64Array[], gap: number): number {
  const n = z.length;
  const m = equalities.length;
  let count = 0;
  constraints(z, () => count++);
  const value = (at: Float64Array, weight: number): number => {
    let sum = weight * at[n - 1]!;
    const fine = constraints(at, (v) => {
      sum -= Math.log(v);
    });
    return fine ? sum : Number.POSITIVE_INFINITY;
  };
  for (let weight = count / Math.abs(z[n - 1]!); weight < (10 * count) / gap; weight *= 4) {
    for (let iteration = 0; iteration < 40; iteration++) {
      const kkt = Array.from({ length: n + m }, () => new Float64Array(n + m));
      const rhs = new Float64Array(n + m);
      rhs[n - 1] = -weight;
      constraints(z, (v, g) => {
        for (let i = 0; i < n; i++) {
          if (g[i] === 0) continue;
          rhs[i]! += g[i]! / v;
          const f = g[i]! / (v * v);
          for (let j = 0; j < n; j++) kkt[i]![j]! += f * g[j]!;
        }
      });
      for (let i = 0; i < n; i++) kkt[i]![i]! += 1e-12 * (kkt[i]![i]! + 1e-12);
      for (let e = 0; e < m; e++) {
        for (let i = 0; i < n; i++) {
          kkt[n + e]![i] = equalities[e]![i]!;
          kkt[i]![n + e] = equalities[e]![i]!;
        }
      }
      const gradient = rhs.slice();
      solveDense(kkt, rhs);
      let slope = 0;
      for (let i = 0; i < n; i++) slope -= gradient[i]! * rhs[i]!;
      if (!(slope < -1e-6)) break;
      const before = value(z, weight);
      let step = 1;
      let moved = false;
      for (let half = 0; half < 40; half++, step /= 2) {
        const next = z.map((v, i) => v + step * rhs[i]!);
        if (value(next, weight) < before + 1e-4 * step * slope) {
          z.set(next);
          moved = true;
          break;
        }
      }
      if (!moved) break;
    }
  }
  return z[n - 1]!;
}

/** Rows of the maps from K constant jerks on [0, 1] to position, speed and acceleration at the grid points 0..K. */
function integrators(K: number): { p: Float64Array[]; v: Float64Array[]; a: Float64Array[] } {
  const h = 1 / K;
  const p: Float64Array[] = [];
  const v: Float64Array[] = [];
  const a: Float64Array[] = [];
  for (let k = 0; k <= K; k++) {
    p.push(new Float64Array(K));
    v.push(new Float64Array(K));
    a.push(new Float64Array(K));
    for (let j = 0; j < k; j++) {
      const after = (k - j - 1) * h;
      p[k]![j] = h ** 3 / 6 + (h ** 2 / 2) * after + (h * after ** 2) / 2;
      v[k]![j] = h ** 2 / 2 + h * after;
      a[k]![j] = h;
    }
  }
  return { p, v, a };
}

/**
 * Least factor by which all limits must be multiplied so that one axis can go from (p0, v0, a0) to (p1, v1, a1) in exactly
 * `time` (linear program). At most 1 means the time is possible.
 */
export function leastLoad(
  ends: { p0: number; v0: number; a0: number; p1: number; v1: number; a1: number },
  limits: { velocity: number; acceleration: number; jerk: number },
  time: number,
  K = 40,
): number {
  const maps = integrators(K);
  const T = time;
  const { p0, v0, a0 } = ends;
  // Particular jerks that meet the three end conditions: least squares by the normal equations.
  const rows = [maps.p[K]!, maps.v[K]!, maps.a[K]!];
  const want = Float64Array.of(
    (ends.p1 - p0 - v0 * T - (a0 * T * T) / 2) / T ** 3,
    (ends.v1 - v0 - a0 * T) / T ** 2,
    (ends.a1 - a0) / T,
  );
  const normal = rows.map((r) => Float64Array.from(rows, (q) => r.reduce((sum, value, i) => sum + value * q[i]!, 0)));
  solveDense(normal, want);
  const z = new Float64Array(K + 1);
  for (let j = 0; j < K; j++) z[j] = rows[0]![j]! * want[0]! + rows[1]![j]! * want[1]! + rows[2]![j]! * want[2]!;
  const g = new Float64Array(K + 1);
  const constraints: Constraints = (at, each) => {
    const load = at[K]!;
    for (let k = 0; k <= K; k++) {
      let a = a0;
      let v = v0 + a0 * T * (k / K);
      for (let j = 0; j < k; j++) {
        a += maps.a[k]![j]! * at[j]! * T;
        v += maps.v[k]![j]! * at[j]! * T * T;
      }
      const quantities = [v / limits.velocity, a / limits.acceleration, k < K ? at[k]! / limits.jerk : 0];
      for (let q = 0; q < 3; q++) {
        for (const sign of [1, -1]) {
          const value = load - sign * quantities[q]!;
          if (!(value > 0)) return false;
          if (!each) continue;
          g.fill(0);
          g[K] = 1;
          if (q === 0) for (let j = 0; j < k; j++) g[j] = (-sign * maps.v[k]![j]! * T * T) / limits.velocity;
          if (q === 1) for (let j = 0; j < k; j++) g[j] = (-sign * maps.a[k]![j]! * T) / limits.acceleration;
          if (q === 2 && k < K) g[k] = -sign / limits.jerk;
          each(value, g);
        }
      }
    }
    return true;
  };
  z[K] = 1;
  while (!constraints(z)) z[K]! *= 1.5;
  z[K]! *= 1.2;
  const equalities = rows.map((r) => {
    const e = new Float64Array(K + 1);
    e.set(r);
    return e;
  });
  return minimiseLast(z, constraints, equalities, 1e-4);
}

/**
 * Time of the best law s(t) with K constant jerks of s on a uniform time grid, from rest to rest along a path, under limits
 * of speed, acceleration and jerk per channel (interior-point over the jerks and log T; a local optimum).
 */
export function bestTimeAlong(
  path: TimedPath,
  velocity: ArrayLike<number>,
  acceleration: ArrayLike<number>,
  jerk: ArrayLike<number>,
  K = 50,
): number {
  const maps = integrators(K);
  const n = path.channels;
  const c = new Float64Array(n);
  const c1 = new Float64Array(n);
  const c2 = new Float64Array(n);
  const c3 = new Float64Array(n);
  const d1 = new Float64Array(n);
  const d2 = new Float64Array(n);
  const d3 = new Float64Array(n);
  const z = new Float64Array(K + 1);
  // Symmetric start: jerk + - - + scaled to the length.
  for (let j = 0; j < K; j++) z[j] = j < K / 4 || j >= (3 * K) / 4 ? 1 : -1;
  let reach = 0;
  for (let j = 0; j < K; j++) reach += maps.p[K]![j]! * z[j]!;
  for (let j = 0; j < K; j++) z[j]! *= path.length / reach;
  const g = new Float64Array(K + 1);
  const constraints: Constraints = (at, each) => {
    const T = Math.exp(at[K]!);
    for (let k = 0; k <= K; k++) {
      let s = 0;
      let s1 = 0;
      let s2 = 0;
      for (let j = 0; j < k; j++) {
        s += maps.p[k]![j]! * at[j]!;
        s1 += maps.v[k]![j]! * at[j]!;
        s2 += maps.a[k]![j]! * at[j]!;
      }
      const here = Math.min(path.length, Math.max(0, s));
      path.evaluate(here, c, c1, c2, c3);
      const step = 1e-6 * path.length;
      if (each) path.evaluate(here + step, c, d1, d2, d3);
      for (let i = 0; i < n; i++) {
        for (let side = 0; side < 2; side++) {
          const index = k - 1 + side;
          if (index < 0 || index >= K) continue;
          const s3 = at[index]!;
          const quantities = [
            c1[i]! * s1,
            c1[i]! * s2 + c2[i]! * s1 * s1,
            c1[i]! * s3 + 3 * c2[i]! * s1 * s2 + c3[i]! * s1 ** 3,
          ];
          for (let q = side === 0 ? 2 : 0; q < 3; q++) {
            const limit = (q === 0 ? velocity : q === 1 ? acceleration : jerk)[i]! * T ** (q + 1);
            for (const sign of [1, -1]) {
              const value = 1 - (sign * quantities[q]!) / limit;
              if (!(value > 0)) return false;
              if (!each) continue;
              let ds: number;
              let ds1: number;
              let ds2: number;
              if (q === 0) {
                ds = c2[i]! * s1;
                ds1 = c1[i]!;
                ds2 = 0;
              } else if (q === 1) {
                ds = c2[i]! * s2 + c3[i]! * s1 * s1;
                ds1 = 2 * c2[i]! * s1;
                ds2 = c1[i]!;
              } else {
                ds = c2[i]! * s3 + 3 * c3[i]! * s1 * s2 + ((d3[i]! - c3[i]!) / step) * s1 ** 3;
                ds1 = 3 * c2[i]! * s2 + 3 * c3[i]! * s1 * s1;
                ds2 = 3 * c2[i]! * s1;
              }
              const f = -sign / limit;
              g.fill(0);
              for (let j = 0; j < k; j++) {
                g[j] = f * (ds * maps.p[k]![j]! + ds1 * maps.v[k]![j]! + ds2 * maps.a[k]![j]!);
              }
              if (q === 2) g[index]! += f * c1[i]!;
              g[K] = ((q + 1) * (sign * quantities[q]!)) / limit;
              each(value, g);
            }
          }
        }
      }
    }
    return true;
  };
  z[K] = 0;
  while (!constraints(z)) z[K]! += 0.3;
  z[K]! += 0.05;
  const equalities = [maps.p[K]!, maps.v[K]!, maps.a[K]!].map((r) => {
    const e = new Float64Array(K + 1);
    e.set(r);
    return e;
  });
  // Shift so that the last unknown is a positive quantity for the weights.
  return Math.exp(minimiseLast(z, constraints, equalities, 2e-3));
}
