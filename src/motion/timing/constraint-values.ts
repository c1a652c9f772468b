/** Constraints of the re-timing program: values and first-order changes. */
import type { RetimeProblem } from "./retime-problem.ts";

/**
 * Values of all constraints into `g`. Order: caps, linear hi/lo, jerk hi/lo, norms.
 */
export function constraintValues(
  p: RetimeProblem,
  x: Float64Array,
  x1: Float64Array,
  x2: Float64Array,
  g: Float64Array,
): void {
  const { n } = p;
  let i = 0;
  for (let k = 0; k <= n; k++) g[i++] = Number.isFinite(p.cap[k]!) ? 1 - x[k]! / p.cap[k]! : 1;
  const lin = p.linear;
  for (let k = 0; k <= n; k++) {
    const room = p.knotRoom[k]!;
    const xk = x[k]!;
    const yk = x1[k]!;
    for (let r = lin.start[k]!; r < lin.start[k + 1]!; r++) {
      const o = 4 * r;
      const v = lin.data[o]! * xk + lin.data[o + 1]! * yk;
      g[i++] = room * lin.data[o + 2]! - v;
      g[i++] = room * lin.data[o + 3]! + v;
    }
  }
  const jerk = p.jerk;
  const places = p.places;
  const count = places.length;
  const offsets = p.offsets;
  for (let e = 0; e < count; e++) {
    const k = places[e]!;
    const t = offsets[e]!;
    const zk = x2[k]!;
    const yk = x1[k]! + t * zk;
    const xk = x[k]! + t * (x1[k]! + (t * zk) / 2);
    const room = p.jerkRoom[e]! / Math.sqrt(xk);
    for (let r = jerk.start[e]!; r < jerk.start[e + 1]!; r++) {
      const o = 3 * r;
      const v = jerk.data[o]! * xk + jerk.data[o + 1]! * yk + jerk.data[o + 2]! * zk;
      g[i++] = room - v;
      g[i++] = room + v;
    }
  }
  const na = p.normAcceleration;
  for (let k = 0; k <= n; k++) {
    const room = p.knotRoom[k]!;
    for (let r = na.start[k]!; r < na.start[k + 1]!; r++) {
      const o = 6 * r;
      let sum = 0;
      for (let d = 0; d < 3; d++) {
        const v = na.data[o + d]! * x[k]! + na.data[o + 3 + d]! * x1[k]!;
        sum += v * v;
      }
      g[i++] = (room * room - sum) / 2;
    }
  }
  const nj = p.normJerk;
  for (let e = 0; e < count; e++) {
    const k = places[e]!;
    const t = offsets[e]!;
    const zk = x2[k]!;
    const yk = x1[k]! + t * zk;
    const xk = x[k]! + t * (x1[k]! + (t * zk) / 2);
    const room = p.jerkRoom[e]!;
    for (let r = nj.start[e]!; r < nj.start[e + 1]!; r++) {
      const o = 9 * r;
      let sum = 0;
      for (let d = 0; d < 3; d++) {
        const v = nj.data[o + d]! * xk + nj.data[o + 3 + d]! * yk + nj.data[o + 6 + d]! * zk;
        sum += v * v;
      }
      g[i++] = ((room * room) / xk - sum) / 2;
    }
  }
}

/** First-order change of every constraint for the step dx, dx1, dx2, in the order of the values. */
export function constraintSteps(
  p: RetimeProblem,
  x: Float64Array,
  x1: Float64Array,
  x2: Float64Array,
  dx: Float64Array,
  dx1: Float64Array,
  dx2: Float64Array,
  out: Float64Array,
): void {
  const { n } = p;
  let i = 0;
  for (let k = 0; k <= n; k++) out[i++] = Number.isFinite(p.cap[k]!) ? -dx[k]! / p.cap[k]! : 0;
  const lin = p.linear;
  for (let k = 0; k <= n; k++) {
    const xk = dx[k]!;
    const yk = dx1[k]!;
    for (let r = lin.start[k]!; r < lin.start[k + 1]!; r++) {
      const v = lin.data[4 * r]! * xk + lin.data[4 * r + 1]! * yk;
      out[i++] = -v;
      out[i++] = v;
    }
  }
  const jerk = p.jerk;
  const places = p.places;
  const count = places.length;
  const offsets = p.offsets;
  for (let e = 0; e < count; e++) {
    const k = places[e]!;
    const t = offsets[e]!;
    const zk = dx2[k]!;
    const yk = dx1[k]! + t * zk;
    const xk = dx[k]! + t * (dx1[k]! + (t * zk) / 2);
    const at = x[k]! + t * (x1[k]! + (t * x2[k]!) / 2);
    const room = ((-0.5 * p.jerkRoom[e]!) / (at * Math.sqrt(at))) * xk;
    for (let r = jerk.start[e]!; r < jerk.start[e + 1]!; r++) {
      const o = 3 * r;
      const v = jerk.data[o]! * xk + jerk.data[o + 1]! * yk + jerk.data[o + 2]! * zk;
      out[i++] = room - v;
      out[i++] = room + v;
    }
  }
  const na = p.normAcceleration;
  for (let k = 0; k <= n; k++) {
    for (let r = na.start[k]!; r < na.start[k + 1]!; r++) {
      const o = 6 * r;
      let sum = 0;
      for (let d = 0; d < 3; d++) {
        const a = na.data[o + d]!;
        const b = na.data[o + 3 + d]!;
        sum -= (a * x[k]! + b * x1[k]!) * (a * dx[k]! + b * dx1[k]!);
      }
      out[i++] = sum;
    }
  }
  const nj = p.normJerk;
  for (let e = 0; e < count; e++) {
    const k = places[e]!;
    const t = offsets[e]!;
    const zk = x2[k]!;
    const yk = x1[k]! + t * zk;
    const xk = x[k]! + t * (x1[k]! + (t * zk) / 2);
    const dz = dx2[k]!;
    const dy = dx1[k]! + t * dz;
    const dxk = dx[k]! + t * (dx1[k]! + (t * dz) / 2);
    const room = p.jerkRoom[e]!;
    for (let r = nj.start[e]!; r < nj.start[e + 1]!; r++) {
      const o = 9 * r;
      let sum = ((-0.5 * room * room) / (xk * xk)) * dxk;
      for (let d = 0; d < 3; d++) {
        const a = nj.data[o + d]!;
        const b = nj.data[o + 3 + d]!;
        const g = nj.data[o + 6 + d]!;
        sum -= (a * xk + b * yk + g * zk) * (a * dxk + b * dy + g * dz);
      }
      out[i++] = sum;
    }
  }
}
