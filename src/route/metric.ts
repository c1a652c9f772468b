/** Lengths in joint space: Euclidean, each joint with a weight. */

export class Metric {
  readonly n: number;
  readonly weights: Float64Array;

  constructor(n: number, weights: ArrayLike<number> | undefined) {
    this.n = n;
    this.weights = weights === undefined ? new Float64Array(n).fill(1) : Float64Array.from(weights);
  }

  distance(a: ArrayLike<number>, b: ArrayLike<number>): number {
    const { n, weights } = this;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const d = weights[i]! * (b[i]! - a[i]!);
      sum += d * d;
    }
    return Math.sqrt(sum);
  }

  length(path: readonly ArrayLike<number>[]): number {
    let sum = 0;
    for (let k = 1; k < path.length; k++) sum += this.distance(path[k - 1]!, path[k]!);
    return sum;
  }
}

/** The state at `share` (0 to 1) of the way from `a` to `b`, written to `out`; exactly the ends at 0 and 1. */
export function between(a: ArrayLike<number>, b: ArrayLike<number>, share: number, out: Float64Array): Float64Array {
  for (let i = 0; i < out.length; i++) out[i] = share === 1 ? b[i]! : a[i]! + share * (b[i]! - a[i]!);
  return out;
}
