/**
 * Measures a re-timed stretch between its knots: eight parts per interval, the path data interpolated from both ends and
 * the middle (degree 8, matching r', r'', r''' at the three points). Channels and groups that are far below their limits at
 * the three points, and do not bend between them, are not interpolated.
 */

import type { PathUse } from "./path-use.ts";
import { referenceAt } from "./reference-law.ts";
import type { GridNode, StretchGrid } from "./stretch-grid.ts";

const PARTS = 8;
/** Share of a torque limit from which its coefficients are evaluated at every point instead of interpolated. */
const TORQUE_NEAR = 0.9;
/**
 * A channel whose demand over limit at the ends and the middle of an interval, with QUIET_BEND times their second difference
 * on top, stays below this cannot come near its limit between them: a parabola rises above its three points by no more than
 * an eighth of it.
 */
const QUIET = 0.75;
const QUIET_BEND = 2;
const g = new Float64Array(4);
/** Interpolation weights: [point 0..8][derivative order 0..2 of the result][9 data: ends and middle, orders 0..2]. */
const weights = hermiteWeights();

function hermiteWeights(): Float64Array {
  // Columns: value, first and second derivative at -1, 0, 1 of the monomials z^0..z^8, z = 2τ - 1.
  const power = (z: number, k: number, d: number): number => {
    if (d > k) return 0;
    let f = 1;
    for (let i = 0; i < d; i++) f *= k - i;
    return f * z ** (k - d);
  };
  const n = 9;
  const points = [-1, 0, 1];
  const m: number[][] = [];
  for (let q = 0; q < n; q++) {
    const row: number[] = [];
    for (let k = 0; k < n; k++) row.push(power(points[Math.floor(q / 3)]!, k, q % 3));
    for (let k = 0; k < n; k++) row.push(k === q ? 1 : 0);
    m.push(row);
  }
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let q = k + 1; q < n; q++) if (Math.abs(m[q]![k]!) > Math.abs(m[best]![k]!)) best = q;
    [m[k], m[best]] = [m[best]!, m[k]!];
    const pivot = m[k]![k]!;
    for (let j = 0; j < 2 * n; j++) m[k]![j] = m[k]![j]! / pivot;
    for (let q = 0; q < n; q++) {
      const factor = m[q]![k]!;
      if (q === k || factor === 0) continue;
      for (let j = 0; j < 2 * n; j++) m[q]![j] = m[q]![j]! - factor * m[k]![j]!;
    }
  }
  const out = new Float64Array((PARTS + 1) * 3 * n);
  for (let p = 0; p <= PARTS; p++) {
    const z = (2 * p) / PARTS - 1;
    for (let d = 0; d < 3; d++) {
      for (let q = 0; q < n; q++) {
        let sum = 0;
        for (let k = 0; k < n; k++) sum += power(z, k, d) * m[k]![n + q]!;
        out[(p * 3 + d) * n + q] = sum;
      }
    }
  }
  return out;
}

/** Per point: x, half its slope, 3/2 of its slope, √x. */
const state = new Float64Array(4 * (PARTS + 1));
/** Derivatives of the path of up to three channels at the points. */
const inner = new Float64Array(3 * 3 * (PARTS + 1));
const three = new Float64Array(9);
const norms = new Float64Array(12);
/** Speed, acceleration and jerk of what is not interpolated, in parts of the limit, in the middle of the interval. */
const lows = new Float64Array(3);
const heavy = new Float64Array(PARTS + 1);
const speeds = new Float64Array(PARTS + 1);
const squares = new Float64Array(PARTS + 1);
const cubes = new Float64Array(PARTS + 1);

/** Largest value of the points and of the parabolas through neighbouring points. */
function peak(values: Float64Array): number {
  let most = Math.max(values[0]!, values[PARTS]!);
  for (let p = 1; p < PARTS; p++) {
    const a = values[p - 1]!;
    const b = values[p]!;
    const c = values[p + 1]!;
    if (b > most) most = b;
    const bend = a - 2 * b + c;
    // The vertex counts where it lies among the three points; the first and last point may be the highest of them.
    if (bend < 0 && Math.abs(a - c) <= -2 * bend) most = Math.max(most, b - (c - a) ** 2 / (8 * bend));
  }
  return most;
}

function largest(values: Float64Array): number {
  let most = 0;
  for (let p = 0; p <= PARTS; p++) if (values[p]! > most) most = values[p]!;
  return most;
}

/** Whether a demand with these values at the ends and the middle, in parts of its limit, stays well below it. */
function quiet(from: number, middle: number, to: number): boolean {
  const most = Math.max(Math.abs(from), Math.abs(middle), Math.abs(to));
  return most + QUIET_BEND * Math.abs(from - 2 * middle + to) < QUIET;
}

export class StretchCheck {
  /** Per interval: factor by which time must be stretched for speed, acceleration and torque, and for jerk; doubts on top. */
  readonly knotNeed: Float64Array;
  readonly jerkNeed: Float64Array;
  /** Per interval: mean factor by which time could be shortened if each moment stood alone: 1 where a limit is met throughout. */
  readonly fill: Float64Array;
  /** Relative uncertainty of the needs near or above 1, per interval; twice of it is part of the needs. */
  readonly doubts: Float64Array;
  private readonly use: PathUse;
  private readonly grid: StretchGrid;
  private readonly torques: (Float64Array | undefined)[] | undefined;

  constructor(use: PathUse, grid: StretchGrid) {
    this.use = use;
    this.grid = grid;
    const n = grid.middles.length;
    this.knotNeed = new Float64Array(n);
    this.jerkNeed = new Float64Array(n);
    this.fill = new Float64Array(n);
    this.doubts = new Float64Array(n);
    this.torques = use.limits.torque ? new Array(n).fill(undefined) : undefined;
  }

  /** Data of one channel at all points into `inner` from `base` on. */
  private interpolate(channel: number, from: GridNode, middle: GridNode, to: GridNode, base: number): void {
    const i = 3 * channel;
    // z = 2τ - 1, so d/dz = h/2 d/du.
    const s1 = (to.u - from.u) / 2;
    const s2 = s1 * s1;
    const a = from.right.r;
    const b = middle.right.r;
    const c = to.left.r;
    const a0 = a[i]!;
    const a1 = s1 * a[i + 1]!;
    const a2 = s2 * a[i + 2]!;
    const b0 = b[i]!;
    const b1 = s1 * b[i + 1]!;
    const b2 = s2 * b[i + 2]!;
    const c0 = c[i]!;
    const c1 = s1 * c[i + 1]!;
    const c2 = s2 * c[i + 2]!;
    const i1 = 1 / s1;
    const i2 = 1 / s2;
    for (let p = 0; p <= PARTS; p++) {
      const o = base + 3 * p;
      if (p === 0 || p === PARTS / 2 || p === PARTS) {
        const whole = p === 0 ? a : p === PARTS ? c : b;
        inner[o] = whole[i]!;
        inner[o + 1] = whole[i + 1]!;
        inner[o + 2] = whole[i + 2]!;
        continue;
      }
      for (let d = 0, w = p * 27; d < 3; d++, w += 9) {
        const value =
          weights[w]! * a0 +
          weights[w + 1]! * a1 +
          weights[w + 2]! * a2 +
          weights[w + 3]! * b0 +
          weights[w + 4]! * b1 +
          weights[w + 5]! * b2 +
          weights[w + 6]! * c0 +
          weights[w + 7]! * c1 +
          weights[w + 8]! * c2;
        inner[o + d] = d === 0 ? value : d === 1 ? value * i1 : value * i2;
      }
    }
  }

  /** Torque coefficients at the points of one interval. */
  private torquesOf(from: GridNode, to: GridNode, rows: number): Float64Array {
    const out = new Float64Array(3 * rows * (PARTS + 1));
    const { use } = this;
    for (let p = 0; p <= PARTS; p++) {
      referenceAt(this.grid.reference, from.u + ((to.u - from.u) * p) / PARTS, p === PARTS ? -1 : 1, g);
      use.limits.torque!.coefficients(p === 0 ? from.s : p === PARTS ? to.s : g[0]!, use.ta, use.tb, use.tc);
      for (let i = 0; i < rows; i++) {
        const e = 3 * (p * rows + i);
        out[e] = use.ta[i]!;
        out[e + 1] = use.tb[i]!;
        out[e + 2] = use.tc[i]!;
      }
    }
    return out;
  }

  /** Fills knotNeed and jerkNeed for x (1/s²) given by values and slopes at knots and second derivatives on intervals. */
  measure(x: Float64Array, x1: Float64Array, x2: Float64Array): void {
    const { grid } = this;
    const n = grid.middles.length;
    for (let k = 0; k < n; k++) {
      const from = grid.nodes[k]!;
      const to = grid.nodes[k + 1]!;
      const middle = grid.middles[k]!;
      const h = to.u - from.u;
      const bend = x2[k]!;
      for (let p = 0; p <= PARTS; p++) {
        const d = (h * p) / PARTS;
        const xx = x[k]! + d * (x1[k]! + (d * bend) / 2);
        const slope = x1[k]! + d * bend;
        state[4 * p] = xx;
        state[4 * p + 1] = slope / 2;
        state[4 * p + 2] = 1.5 * slope;
        state[4 * p + 3] = Math.sqrt(Math.max(0, xx));
      }
      speeds.fill(0);
      squares.fill(0);
      cubes.fill(0);
      lows.fill(0);
      this.channels(from, middle, to, bend / 2);
      this.groups(from, middle, to, bend / 2);
      if (this.torques) this.torque(k, from, middle, to);
      const knot = Math.max(peak(speeds), Math.sqrt(peak(squares)));
      const jerkNeed = Math.cbrt(peak(cubes));
      // How far the parabolas go beyond the points says how far they may be off themselves.
      const most = Math.max(knot, jerkNeed);
      let doubt = 0;
      if (most > 0.99) {
        const seen = Math.max(largest(speeds), Math.sqrt(largest(squares)), Math.cbrt(largest(cubes)));
        doubt = most / seen - 1;
      }
      this.doubts[k] = doubt;
      this.knotNeed[k] = knot * (1 + 2 * doubt);
      this.jerkNeed[k] = jerkNeed * (1 + 2 * doubt);
      const low = Math.max(lows[0]!, Math.sqrt(lows[1]!), Math.cbrt(lows[2]!));
      let sum = 0;
      for (let p = 0; p <= PARTS; p++) {
        const v = speeds[p]!;
        const a = squares[p]!;
        const j = cubes[p]!;
        const met = v >= 1 || a >= 1 || j >= 1 ? 1 : Math.max(low, v, Math.sqrt(a), Math.cbrt(j));
        sum += p === 0 || p === PARTS ? met / 2 : met;
      }
      this.fill[k] = sum / PARTS;
    }
  }

  private channels(from: GridNode, middle: GridNode, to: GridNode, m3: number): void {
    const { limits, path } = this.use;
    const { acceleration, jerk } = limits;
    const { velocity } = middle.right.limits;
    const a = from.right.r;
    const b = middle.right.r;
    const c = to.left.r;
    const m = 4 * (PARTS / 2);
    const e = 4 * PARTS;
    for (let i = 0; i < path.channels; i++) {
      const v = 1 / velocity[i]!;
      const w = 1 / acceleration[i]!;
      const z = 1 / jerk[i]!;
      if (v === 0 && w === 0 && z === 0) continue;
      const o = 3 * i;
      const mv = v * b[o]! * state[m + 3]!;
      const ma = w * (b[o]! * state[m + 1]! + b[o + 1]! * state[m]!);
      const mj = z * state[m + 3]! * (b[o]! * m3 + b[o + 1]! * state[m + 2]! + b[o + 2]! * state[m]!);
      if (
        quiet(v * a[o]! * state[3]!, mv, v * c[o]! * state[e + 3]!) &&
        quiet(
          w * (a[o]! * state[1]! + a[o + 1]! * state[0]!),
          ma,
          w * (c[o]! * state[e + 1]! + c[o + 1]! * state[e]!),
        ) &&
        quiet(
          z * state[3]! * (a[o]! * m3 + a[o + 1]! * state[2]! + a[o + 2]! * state[0]!),
          mj,
          z * state[e + 3]! * (c[o]! * m3 + c[o + 1]! * state[e + 2]! + c[o + 2]! * state[e]!),
        )
      ) {
        lows[0] = Math.max(lows[0]!, Math.abs(mv));
        lows[1] = Math.max(lows[1]!, Math.abs(ma));
        lows[2] = Math.max(lows[2]!, Math.abs(mj));
        continue;
      }
      this.interpolate(i, from, middle, to, 0);
      for (let p = 0; p <= PARTS; p++) {
        const r1 = inner[3 * p]!;
        const r2 = inner[3 * p + 1]!;
        const xx = state[4 * p]!;
        const root = state[4 * p + 3]!;
        const speed = Math.abs(r1) * root * v;
        const square = Math.abs(r1 * state[4 * p + 1]! + r2 * xx) * w;
        const cube = Math.abs(r1 * m3 + r2 * state[4 * p + 2]! + inner[3 * p + 2]! * xx) * root * z;
        if (speed > speeds[p]!) speeds[p] = speed;
        if (square > squares[p]!) squares[p] = square;
        if (cube > cubes[p]!) cubes[p] = cube;
      }
    }
  }

  private groups(from: GridNode, middle: GridNode, to: GridNode, m3: number): void {
    const { groups } = this.use.limits;
    const limits = middle.right.limits.groups;
    for (let q = 0; q < groups.length; q++) {
      const { first, size } = groups[q]!;
      const v = 1 / limits[3 * q]!;
      const w = 1 / limits[3 * q + 1]!;
      const z = 1 / limits[3 * q + 2]!;
      if (v === 0 && w === 0 && z === 0) continue;
      if (this.quietGroup(first, size, v, w, z, from, middle, to, m3)) continue;
      for (let i = 0; i < size; i++) this.interpolate(first + i, from, middle, to, i * 3 * (PARTS + 1));
      for (let p = 0; p <= PARTS; p++) {
        const xx = state[4 * p]!;
        const half = state[4 * p + 1]!;
        const m2 = state[4 * p + 2]!;
        const root = state[4 * p + 3]!;
        let vv = 0;
        let aa = 0;
        let jj = 0;
        for (let i = 0; i < size; i++) {
          const o = 3 * (i * (PARTS + 1) + p);
          const r1 = inner[o]!;
          const r2 = inner[o + 1]!;
          const a = r1 * half + r2 * xx;
          const j = r1 * m3 + r2 * m2 + inner[o + 2]! * xx;
          vv += r1 * r1;
          aa += a * a;
          jj += j * j;
        }
        const speed = Math.sqrt(vv) * root * v;
        const square = Math.sqrt(aa) * w;
        const cube = Math.sqrt(jj) * root * z;
        if (speed > speeds[p]!) speeds[p] = speed;
        if (square > squares[p]!) squares[p] = square;
        if (cube > cubes[p]!) cubes[p] = cube;
      }
    }
  }

  /** The test of `quiet` for vectors: largest norm at the three points, norm of the second difference. */
  private quietGroup(
    first: number,
    size: number,
    v: number,
    w: number,
    z: number,
    from: GridNode,
    middle: GridNode,
    to: GridNode,
    m3: number,
  ): boolean {
    norms.fill(0);
    for (let i = first; i < first + size; i++) {
      for (let point = 0; point < 3; point++) {
        const r = point === 0 ? from.right.r : point === 1 ? middle.right.r : to.left.r;
        const p = 4 * ((PARTS / 2) * point);
        const r1 = r[3 * i]!;
        const r2 = r[3 * i + 1]!;
        const root = state[p + 3]!;
        three[3 * point] = r1 * root;
        three[3 * point + 1] = r1 * state[p + 1]! + r2 * state[p]!;
        three[3 * point + 2] = root * (r1 * m3 + r2 * state[p + 2]! + r[3 * i + 2]! * state[p]!);
      }
      for (let d = 0; d < 3; d++) {
        const a = three[d]!;
        const b = three[3 + d]!;
        const c = three[6 + d]!;
        norms[4 * d] = norms[4 * d]! + a * a;
        norms[4 * d + 1] = norms[4 * d + 1]! + b * b;
        norms[4 * d + 2] = norms[4 * d + 2]! + c * c;
        norms[4 * d + 3] = norms[4 * d + 3]! + (a - 2 * b + c) ** 2;
      }
    }
    for (let d = 0; d < 3; d++) {
      const most = Math.sqrt(Math.max(norms[4 * d]!, norms[4 * d + 1]!, norms[4 * d + 2]!));
      const share = d === 0 ? v : d === 1 ? w : z;
      if (!((most + QUIET_BEND * Math.sqrt(norms[4 * d + 3]!)) * share < QUIET)) return false;
    }
    for (let d = 0; d < 3; d++) {
      lows[d] = Math.max(lows[d]!, Math.sqrt(norms[4 * d + 1]!) * (d === 0 ? v : d === 1 ? w : z));
    }
    return true;
  }

  private torque(k: number, from: GridNode, middle: GridNode, to: GridNode): void {
    const { rows, limit } = this.use.limits.torque!;
    const ta = from.right.torque;
    const tb = middle.right.torque;
    const tc = to.right.torque;
    for (;;) {
      let near = false;
      const exact = this.torques![k];
      for (let p = 0; p <= PARTS; p++) {
        // Coefficients: parabola through the two ends and the middle; exact where the limit is near.
        const t = p / PARTS;
        const wa = (1 - t) * (1 - 2 * t);
        const wb = 4 * t * (1 - t);
        const wc = t * (2 * t - 1);
        const g1 = wa * from.g1 + wb * middle.g1 + wc * to.g1;
        const g2 = wa * from.g2 + wb * middle.g2 + wc * to.g2;
        const sdd = g1 * state[4 * p + 1]! + g2 * state[4 * p]!;
        const sd2 = g1 * g1 * state[4 * p]!;
        let most = 0;
        for (let i = 0; i < rows; i++) {
          const o = 3 * i;
          let a: number;
          let b: number;
          let still: number;
          if (exact) {
            const e = 3 * (p * rows + i);
            a = exact[e]!;
            b = exact[e + 1]!;
            still = exact[e + 2]!;
          } else {
            a = wa * ta[o]! + wb * tb[o]! + wc * tc[o]!;
            b = wa * ta[o + 1]! + wb * tb[o + 1]! + wc * tc[o + 1]!;
            still = wa * ta[o + 2]! + wb * tb[o + 2]! + wc * tc[o + 2]!;
          }
          const moving = a * sdd + b * sd2;
          const room = moving >= 0 ? limit[i]! - still : limit[i]! + still;
          const need = room > 0 ? Math.abs(moving) / room : Number.POSITIVE_INFINITY;
          if (need > most) most = need;
          if (Math.abs(moving + still) > TORQUE_NEAR * limit[i]!) near = true;
        }
        heavy[p] = most;
      }
      if (exact || !near) break;
      this.torques![k] = this.torquesOf(from, to, rows);
    }
    for (let p = 0; p <= PARTS; p++) if (heavy[p]! > squares[p]!) squares[p] = heavy[p]!;
  }
}
