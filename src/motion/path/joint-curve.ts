/** Joint values as functions of the path parameter. */
import { SEPTIC_SIZE, septicAt } from "./septic.ts";

export interface JointCurve {
  /** Range of s, > 0. */
  readonly length: number;
  /** Joint values (rad or m) and their first three derivatives with respect to s, at s in [0, length]. */
  evaluate(s: number, q: Float64Array, q1: Float64Array, q2: Float64Array, q3: Float64Array): void;
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
