/**
 * Measures a re-timed stretch between its knots: eight parts per interval, the path data interpolated from both ends and
 * the middle (degree 8, matching r', r'', r''' at the three points).
 */

import type { PathUse } from "./path-use.ts";
import { referenceAt } from "./reference-law.ts";
import type { GridNode, PathSample, StretchGrid } from "./stretch-grid.ts";

const PARTS = 8;
/** Share of a torque limit from which its coefficients are evaluated at every point instead of interpolated. */
const TORQUE_NEAR = 0.9;
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

/** Path data of all intervals at the inner points, computed once per grid. */
export class StretchCheck {
  /** Per interval: factor by which time must be stretched for speed, acceleration and torque, and for jerk. */
  readonly knotNeed: Float64Array;
  readonly jerkNeed: Float64Array;
  /** Per interval: mean factor by which time could be shortened if each moment stood alone: 1 where a limit is met throughout. */
  readonly fill: Float64Array;
  /** Relative uncertainty of the needs near or above 1, per interval and at most. */
  readonly doubts: Float64Array;
  doubt = 0;
  private readonly use: PathUse;
  private readonly grid: StretchGrid;
  private readonly inner: Float64Array;
  private readonly torques: (Float64Array | undefined)[];
  private readonly channels: number;
  /** Per group: first channel, size. */
  private readonly groups: Int32Array;

  constructor(use: PathUse, grid: StretchGrid) {
    this.use = use;
    this.grid = grid;
    const n = grid.middles.length;
    this.channels = use.path.channels;
    this.knotNeed = new Float64Array(n);
    this.jerkNeed = new Float64Array(n);
    this.fill = new Float64Array(n);
    this.doubts = new Float64Array(n);
    this.groups = Int32Array.from(use.limits.groups.flatMap((group) => [group.first, group.size]));
    this.torques = new Array(n).fill(undefined);
    const size = 3 * this.channels;
    this.inner = new Float64Array(n * (PARTS + 1) * size);
    for (let k = 0; k < n; k++) this.interpolate(k, grid.nodes[k]!, grid.middles[k]!, grid.nodes[k + 1]!);
  }

  private interpolate(k: number, from: GridNode, middle: GridNode, to: GridNode): void {
    const h = to.u - from.u;
    // z = 2τ - 1, so d/dz = h/2 d/du.
    const s1 = h / 2;
    const s2 = s1 * s1;
    const a = from.right.r;
    const b = middle.right.r;
    const c = to.left.r;
    const size = 3 * this.channels;
    for (let p = 0; p <= PARTS; p++) {
      const base = (k * (PARTS + 1) + p) * size;
      const whole: PathSample["r"] | undefined = p === 0 ? a : p === PARTS / 2 ? b : p === PARTS ? c : undefined;
      if (whole) {
        this.inner.set(whole, base);
        continue;
      }
      for (let i = 0; i < size; i += 3) {
        for (let d = 0; d < 3; d++) {
          const w = (p * 3 + d) * 9;
          this.inner[base + i + d] =
            (weights[w]! * a[i]! +
              weights[w + 1]! * s1 * a[i + 1]! +
              weights[w + 2]! * s2 * a[i + 2]! +
              weights[w + 3]! * b[i]! +
              weights[w + 4]! * s1 * b[i + 1]! +
              weights[w + 5]! * s2 * b[i + 2]! +
              weights[w + 6]! * c[i]! +
              weights[w + 7]! * s1 * c[i + 1]! +
              weights[w + 8]! * s2 * c[i + 2]!) /
            (d === 0 ? 1 : d === 1 ? s1 : s2);
        }
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
    const { grid, use, inner, channels, groups } = this;
    const { limits } = use;
    const rows = limits.torque?.rows ?? 0;
    const size = 3 * channels;
    const n = grid.middles.length;
    this.doubt = 0;
    const { acceleration, jerk } = limits;
    for (let k = 0; k < n; k++) {
      const from = grid.nodes[k]!;
      const to = grid.nodes[k + 1]!;
      const middle = grid.middles[k]!;
      const stretch = middle.right.limits;
      const velocity = stretch.velocity;
      const h = to.u - from.u;
      let near = false;
      for (let p = 0; p <= PARTS; p++) {
        const d = (h * p) / PARTS;
        let speedNeed = 0;
        let squareNeed = 0;
        let cubeNeed = 0;
        const xx = x[k]! + d * (x1[k]! + (d * x2[k]!) / 2);
        const slope = x1[k]! + d * x2[k]!;
        const root = Math.sqrt(Math.max(0, xx));
        const half = slope / 2;
        const m2 = 1.5 * slope;
        const m3 = x2[k]! / 2;
        const base = (k * (PARTS + 1) + p) * size;
        for (let i = 0; i < channels; i++) {
          const o = base + 3 * i;
          const r1 = inner[o]!;
          const r2 = inner[o + 1]!;
          const v = Math.abs(r1 * root) / velocity[i]!;
          const a = Math.abs(r1 * half + r2 * xx) / acceleration[i]!;
          const j = Math.abs(root * (r1 * m3 + r2 * m2 + inner[o + 2]! * xx)) / jerk[i]!;
          if (v > speedNeed) speedNeed = v;
          if (a > squareNeed) squareNeed = a;
          if (j > cubeNeed) cubeNeed = j;
        }
        for (let q = 0; 2 * q < groups.length; q++) {
          let vv = 0;
          let aa = 0;
          let jj = 0;
          const first = groups[2 * q]!;
          for (let i = first; i < first + groups[2 * q + 1]!; i++) {
            const o = base + 3 * i;
            const r1 = inner[o]!;
            const r2 = inner[o + 1]!;
            const a = r1 * half + r2 * xx;
            const j = r1 * m3 + r2 * m2 + inner[o + 2]! * xx;
            vv += r1 * r1;
            aa += a * a;
            jj += j * j;
          }
          speedNeed = Math.max(speedNeed, (Math.sqrt(vv) * root) / stretch.groups[3 * q]!);
          squareNeed = Math.max(squareNeed, Math.sqrt(aa) / stretch.groups[3 * q + 1]!);
          cubeNeed = Math.max(cubeNeed, (Math.sqrt(jj) * root) / stretch.groups[3 * q + 2]!);
        }
        if (rows > 0) {
          // Coefficients: parabola through the two ends and the middle; exact where the limit is near.
          const t = p / PARTS;
          const wa = (1 - t) * (1 - 2 * t);
          const wb = 4 * t * (1 - t);
          const wc = t * (2 * t - 1);
          const g1 = wa * from.g1 + wb * middle.g1 + wc * to.g1;
          const g2 = wa * from.g2 + wb * middle.g2 + wc * to.g2;
          const sdd = g1 * half + g2 * xx;
          const sd2 = g1 * g1 * xx;
          const exact = this.torques[k];
          const ta = from.right.torque;
          const tb = middle.right.torque;
          const tc = to.right.torque;
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
            const limit = limits.torque!.limit[i]!;
            const room = moving >= 0 ? limit - still : limit + still;
            const need = room > 0 ? Math.abs(moving) / room : Number.POSITIVE_INFINITY;
            if (need > squareNeed) squareNeed = need;
            if (Math.abs(moving + still) > TORQUE_NEAR * limit) near = true;
          }
        }
        speeds[p] = speedNeed;
        squares[p] = squareNeed;
        cubes[p] = cubeNeed;
      }
      if (near && !this.torques[k]) {
        this.torques[k] = this.torquesOf(from, to, rows);
        k--;
        continue;
      }
      const knot = Math.max(peak(speeds), Math.sqrt(peak(squares)));
      const jerkNeed = Math.cbrt(peak(cubes));
      this.knotNeed[k] = knot;
      this.jerkNeed[k] = jerkNeed;
      // How far the parabolas go beyond the points says how far they may be off themselves.
      const seen = Math.max(largest(speeds), Math.sqrt(largest(squares)), Math.cbrt(largest(cubes)));
      const most = Math.max(knot, jerkNeed);
      this.doubts[k] = most > 0.99 ? most / seen - 1 : 0;
      this.doubt = Math.max(this.doubt, this.doubts[k]!);
      let sum = 0;
      for (let p = 0; p <= PARTS; p++) {
        const met = Math.max(speeds[p]!, Math.sqrt(squares[p]!), Math.cbrt(cubes[p]!));
        sum += (p === 0 || p === PARTS ? 0.5 : 1) * Math.min(1, met);
      }
      this.fill[k] = sum / PARTS;
    }
  }
}
