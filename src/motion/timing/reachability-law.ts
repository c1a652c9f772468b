/** Second-order time-optimal law along a path (no jerk limits), by reachability analysis. */
import { intervalOf } from "./interval-of.ts";
import type { Law } from "./joined-law.ts";
import type { PathState } from "./path-types.ts";
import type { PathUse } from "./path-use.ts";
import { type ReachabilityProblem, reachability } from "./reachability.ts";

/** Law of piecewise constant s̈. */
export class StepLaw implements Law {
  readonly duration: number;
  readonly s: Float64Array;
  /** ṡ² at the points, s̈ on the intervals. */
  readonly x: Float64Array;
  readonly u: Float64Array;
  private readonly times: Float64Array;

  constructor(s: Float64Array, x: Float64Array, u: Float64Array) {
    this.s = s;
    this.x = x;
    this.u = u;
    const n = u.length;
    this.times = new Float64Array(n + 1);
    for (let i = 0; i < n; i++) {
      this.times[i + 1] = this.times[i]! + (2 * (s[i + 1]! - s[i]!)) / (Math.sqrt(x[i]!) + Math.sqrt(x[i + 1]!));
    }
    this.duration = this.times[n]!;
  }

  sample(time: number, out: PathState): void {
    const t = Math.min(this.duration, Math.max(0, time));
    const k = intervalOf(this.times, t, this.u.length);
    const d = t - this.times[k]!;
    const v = Math.sqrt(this.x[k]!);
    out.s = Math.min(this.s[k + 1]!, this.s[k]! + d * (v + (d * this.u[k]!) / 2));
    out.sd = Math.max(0, v + d * this.u[k]!);
    out.sdd = this.u[k]!;
    out.sddd = 0;
  }

  timeAt(s: number): number {
    const at = Math.min(this.s[this.s.length - 1]!, Math.max(this.s[0]!, s));
    const k = intervalOf(this.s, at, this.u.length);
    const x = Math.max(0, this.x[k]! + 2 * this.u[k]! * (at - this.s[k]!));
    const speeds = Math.sqrt(this.x[k]!) + Math.sqrt(x);
    return this.times[k]! + (speeds > 0 ? (2 * (at - this.s[k]!)) / speeds : 0);
  }
}

/** Grid of `intervals` equal intervals over the path with the borders moved in. */
function pathGrid(length: number, borders: readonly number[], intervals: number): Float64Array {
  const grid: number[] = [0];
  for (const to of [...borders, length]) {
    const from = grid[grid.length - 1]!;
    const parts = Math.max(2, Math.round((intervals * (to - from)) / length));
    for (let i = 1; i <= parts; i++) grid.push(i === parts ? to : from + ((to - from) * i) / parts);
  }
  return Float64Array.from(grid);
}

/** Rows of all limits but jerk at the grid points. */
function reachabilityProblem(use: PathUse, s: Float64Array): ReachabilityProblem {
  const { path, limits } = use;
  const points = s.length;
  const channels: number[] = [];
  for (let i = 0; i < path.channels; i++) if (limits.acceleration[i]! < Number.POSITIVE_INFINITY) channels.push(i);
  const torque = limits.torque;
  const rows = channels.length + (torque?.rows ?? 0);
  const norms = limits.groups.length;
  const right = new Float64Array(points * rows * 4);
  const normRight = new Float64Array(points * norms * 6);
  const cap = new Float64Array(points).fill(Number.POSITIVE_INFINITY);
  const floor = new Float64Array(points);
  let left = right;
  let normLeft = normRight;
  const write = (k: number, data: Float64Array, vectors: Float64Array): void => {
    const { c1, c2, stretch } = use;
    let most = cap[k]!;
    for (let i = 0; i < path.channels; i++) {
      const rate = Math.abs(c1[i]!);
      if (rate > 0) most = Math.min(most, (stretch.velocity[i]! / rate) ** 2);
    }
    let o = k * rows * 4;
    for (const i of channels) {
      const limit = limits.acceleration[i]!;
      data[o] = c1[i]! / limit;
      data[o + 1] = c2[i]! / limit;
      data[o + 2] = -1;
      data[o + 3] = 1;
      o += 4;
    }
    for (let i = 0; torque && i < torque.rows; i++) {
      const limit = torque.limit[i]!;
      const still = use.tc[i]! / limit;
      data[o] = use.ta[i]! / limit;
      data[o + 1] = use.tb[i]! / limit;
      data[o + 2] = -1 - still;
      data[o + 3] = 1 - still;
      o += 4;
    }
    o = k * norms * 6;
    for (let q = 0; q < norms; q++, o += 6) {
      const { first, size } = limits.groups[q]!;
      let rate = 0;
      const acceleration = stretch.groups[3 * q + 1]!;
      for (let d = 0; d < size; d++) {
        rate += c1[first + d]! ** 2;
        vectors[o + d] = c1[first + d]! / acceleration;
        vectors[o + 3 + d] = c2[first + d]! / acceleration;
      }
      if (rate > 0) most = Math.min(most, stretch.groups[3 * q]! ** 2 / rate);
      if (q === 0 && stretch.constantSpeed !== undefined) {
        const x = stretch.constantSpeed ** 2 / rate;
        floor[k] = Math.max(floor[k]!, x);
        most = Math.min(most, x);
      }
    }
    cap[k] = most;
  };
  for (let k = 0; k < points; k++) {
    use.load(s[k]!, k === points - 1 ? -1 : 1);
    write(k, right, normRight);
    if (k > 0 && k < points - 1 && (use.onBreak(s[k]!) || use.limitsAt(s[k]!, -1) !== use.stretch)) {
      if (left === right) {
        left = right.slice();
        normLeft = normRight.slice();
      }
      use.load(s[k]!, -1);
      write(k, left, normLeft);
    } else if (left !== right) {
      left.set(right.subarray(k * rows * 4, (k + 1) * rows * 4), k * rows * 4);
      normLeft.set(normRight.subarray(k * norms * 6, (k + 1) * norms * 6), k * norms * 6);
    }
  }
  return { s, rows, right, left, norms, normRight, normLeft, cap, floor };
}

/**
 * Law of the whole path, or the place where no speed is possible. Between the grid points limits may be exceeded a little
 * (by the curvature of the path within one interval); unless a constant speed is asked for, time is stretched by that.
 */
export function reachabilityLaw(
  use: PathUse,
  borders: readonly number[],
  intervals: number,
): { readonly ok: true; readonly law: StepLaw } | { readonly ok: false; readonly s: number } {
  const s = pathGrid(use.path.length, borders, intervals);
  const problem = reachabilityProblem(use, s);
  const result = reachability(problem, 0, 0);
  if (!result.ok) return { ok: false, s: s[result.point]! };
  const { x, u } = result;
  if (!problem.floor.some((value) => value > 0)) {
    let need = 1;
    for (let i = 0; i < u.length; i++) {
      use.load((s[i]! + s[i + 1]!) / 2, 1);
      use.measure(Math.sqrt((x[i]! + x[i + 1]!) / 2), u[i]!, 0);
      need = Math.max(need, use.need);
    }
    need = need > 1 + 1e-9 ? need * (1 + 1e-7) : 1;
    for (let i = 0; i < x.length; i++) x[i] = x[i]! / (need * need);
    for (let i = 0; i < u.length; i++) u[i] = u[i]! / (need * need);
  }
  return { ok: true, law: new StepLaw(s, x, u) };
}
