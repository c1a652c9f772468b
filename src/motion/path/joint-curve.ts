/** Joint values as functions of the path parameter. */
import { encloseSeptic, SEPTIC_SIZE, septicAt, septicValue } from "./septic.ts";

export interface JointCurve {
  /** Range of s, > 0. */
  readonly length: number;
  /** Joint values (rad or m) and their first three derivatives with respect to s, at s in [0, length]. */
  evaluate(s: number, q: Float64Array, q1: Float64Array, q2: Float64Array, q3: Float64Array): void;
  /** Joint values alone. */
  value(s: number, q: Float64Array): void;
  /** Lowers `low` and raises `high` per joint to enclose every value over [from, to], both in [0, length]. */
  enclose(from: number, to: number, low: Float64Array, high: Float64Array): void;
}

/** Straight line in joint space (joint-interpolated motion). @param length > 0 */
export function straightJoints(from: ArrayLike<number>, to: ArrayLike<number>, length: number): JointCurve {
  const n = from.length;
  const start = Float64Array.from(from);
  const rate = Float64Array.from(from, (v, i) => (to[i] - v) / length);
  return {
    length,
    evaluate(s, q, q1, q2, q3) {
      for (let i = 0; i < n; i++) {
        q[i] = start[i] + rate[i] * s;
        q1[i] = rate[i];
        q2[i] = 0;
        q3[i] = 0;
      }
    },
    value(s, q) {
      for (let i = 0; i < n; i++) q[i] = start[i] + rate[i] * s;
    },
    enclose(s0, s1, low, high) {
      for (let i = 0; i < n; i++) {
        const a = start[i] + rate[i] * s0;
        const b = start[i] + rate[i] * s1;
        low[i] = Math.min(low[i], a, b);
        high[i] = Math.max(high[i], a, b);
      }
    },
  };
}

/** A chain of degree-7 pieces: `knots` (count + 1 parameters, rising from 0) and the pieces' coefficients, see septic.ts. */
export class SepticCurve implements JointCurve {
  readonly length: number;
  private readonly stride: number;
  private last = 0;

  constructor(
    private readonly n: number,
    readonly knots: Float64Array,
    private readonly coefficients: Float64Array,
  ) {
    this.length = knots[knots.length - 1];
    this.stride = SEPTIC_SIZE * n;
  }

  evaluate(s: number, q: Float64Array, q1: Float64Array, q2: Float64Array, q3: Float64Array): void {
    const k = this.pieceAt(s);
    const h = this.knots[k + 1] - this.knots[k];
    septicAt(this.n, h, (s - this.knots[k]) / h, this.coefficients, k * this.stride, q, q1, q2, q3);
  }

  value(s: number, q: Float64Array): void {
    const k = this.pieceAt(s);
    const { knots } = this;
    septicValue(this.n, (s - knots[k]) / (knots[k + 1] - knots[k]), this.coefficients, k * this.stride, q);
  }

  enclose(from: number, to: number, low: Float64Array, high: Float64Array): void {
    const { knots, n, stride, coefficients } = this;
    const count = knots.length - 1;
    for (let k = this.pieceAt(from); k < count && (knots[k] <= to || knots[k] <= from); k++) {
      const h = knots[k + 1] - knots[k];
      const a = Math.max(0, (from - knots[k]) / h);
      const b = Math.min(1, (to - knots[k]) / h);
      encloseSeptic(n, a, b, coefficients, k * stride, low, high);
    }
  }

  private pieceAt(s: number): number {
    const { knots } = this;
    const count = knots.length - 1;
    let k = this.last;
    // Callers mostly walk forward.
    if (s >= knots[k] && s <= knots[k + 1]) return k;
    if (k + 1 < count && s >= knots[k + 1] && s <= knots[k + 2]) {
      this.last = k + 1;
      return k + 1;
    }
    let low = 0;
    let high = count - 1;
    while (low < high) {
      k = (low + high + 1) >> 1;
      if (knots[k] <= s) low = k;
      else high = k - 1;
    }
    this.last = low;
    return low;
  }
}
