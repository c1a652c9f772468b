/** Law of a stretch given by x(u) = u̇² as a quadratic spline over a reference law. */
import { intervalOf } from "./interval-of.ts";
import type { PathState } from "./path-types.ts";
import { invertReference, type ReferenceLaw, referenceAt } from "./reference-law.ts";

/** Six-point Gauss-Legendre rule on [0, 1] (M. Abramowitz, I. Stegun, 1964, table 25.4). */
const NODES = [0.2386191860831969, 0.6612093864662645, 0.9324695142031521];
const WEIGHTS = [0.467913934572691, 0.3607615730481386, 0.1713244923791704];

/** ∫ du/√(a + b u + c u²/2) from 0 to d. */
function passTime(a: number, b: number, c: number, d: number): number {
  let sum = 0;
  const half = d / 2;
  for (let i = 0; i < 3; i++) {
    const low = half * (1 - NODES[i]!);
    const high = half * (1 + NODES[i]!);
    sum +=
      WEIGHTS[i]! * (1 / Math.sqrt(a + low * (b + (low * c) / 2)) + 1 / Math.sqrt(a + high * (b + (high * c) / 2)));
  }
  return half * sum;
}

export class SplineLaw {
  readonly duration: number;
  private readonly reference: ReferenceLaw;
  private readonly u: Float64Array;
  private readonly x: Float64Array;
  private readonly x1: Float64Array;
  private readonly x2: Float64Array;
  private readonly times: Float64Array;
  private readonly work = new Float64Array(4);

  /** @param u knots, n + 1   @param x, x1 values and slopes at knots, 1/s²   @param x2 second derivative on intervals, n */
  constructor(reference: ReferenceLaw, u: Float64Array, x: Float64Array, x1: Float64Array, x2: Float64Array) {
    this.reference = reference;
    this.u = u;
    this.x = x;
    this.x1 = x1;
    this.x2 = x2;
    const n = u.length - 1;
    this.times = new Float64Array(n + 1);
    for (let k = 0; k < n; k++) {
      this.times[k + 1] = this.times[k]! + passTime(x[k]!, x1[k]!, x2[k]!, u[k + 1]! - u[k]!);
    }
    this.duration = this.times[n]!;
  }

  sample(time: number, out: PathState): void {
    const { times, u, x, x1, x2 } = this;
    const n = u.length - 1;
    const t = Math.min(this.duration, Math.max(0, time));
    const k = intervalOf(times, t, n);
    const width = u[k + 1]! - u[k]!;
    const target = t - times[k]!;
    const a = x[k]!;
    const b = x1[k]!;
    const c = x2[k]!;
    let d = (width * target) / (times[k + 1]! - times[k]! || 1);
    for (let i = 0; i < 20; i++) {
      const step = (target - passTime(a, b, c, d)) * Math.sqrt(a + d * (b + (d * c) / 2));
      d = Math.min(width, Math.max(0, d + step));
      if (Math.abs(step) <= 1e-15 + 1e-14 * width) break;
    }
    const xx = a + d * (b + (d * c) / 2);
    const slope = b + d * c;
    const g = this.work;
    referenceAt(this.reference, u[k]! + d, d > width / 2 ? -1 : 1, g);
    const root = Math.sqrt(xx);
    out.s = g[0]!;
    out.sd = g[1]! * root;
    out.sdd = g[2]! * xx + (g[1]! * slope) / 2;
    out.sddd = root * (g[3]! * xx + 1.5 * g[2]! * slope + 0.5 * g[1]! * c);
  }

  timeAt(s: number): number {
    const { u, x, x1, x2, times } = this;
    const at = invertReference(this.reference, s);
    const k = intervalOf(u, at, u.length - 1);
    return times[k]! + passTime(x[k]!, x1[k]!, x2[k]!, at - u[k]!);
  }
}
