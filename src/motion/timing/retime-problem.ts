/**
 * The convex-concave program behind jerk-limited timing, on a grid.
 *
 * A reference law s(w) turns the path into r(w) = path(s(w)). The unknown is x(w) = ẇ², a quadratic spline with a
 * continuous first derivative. Then q̇ = r'√x, q̈ = r''x + ½r'x', q⃛ = √x (r'''x + 3/2 r''x' + ½r'x''), so speed and
 * acceleration limits are linear in x, and a jerk limit reads |linear in x| <= J/√x. Every row below is divided by its
 * limit: linear rows -lo <= αx + βx' <= hi, jerk rows |αx + βx' + γx''| <= room/√x, norm rows the same for vectors.
 */

const DOMINATED = 0.8;

/** Rows grow while a problem is written; `start[k]` is the first row of place k. Used again for one problem after another. */
export class RowList {
  data = new Float64Array(0);
  start = new Int32Array(0);
  rows = 0;
  readonly stride: number;

  /** @param stride numbers per row */
  constructor(stride: number) {
    this.stride = stride;
  }

  /** Empties the list. @param places number of places rows will belong to */
  reset(places: number): void {
    if (this.start.length <= places) this.start = new Int32Array(places + 1 + (places >> 1));
    this.start[0] = 0;
    this.rows = 0;
  }

  /** Offset in `data` of a new row. */
  add(): number {
    if ((this.rows + 1) * this.stride > this.data.length) {
      const data = new Float64Array(2 * this.data.length + 64 * this.stride);
      data.set(this.data);
      this.data = data;
    }
    return this.rows++ * this.stride;
  }

  /**
   * Takes out those of the rows from `from` on whose first `count` numbers are all smaller, in size, than another's there by
   * a fifth: that one as a rule binds first.
   */
  dropDominated(from: number, count: number): void {
    const { data, stride } = this;
    let kept = from;
    for (let r = from; r < this.rows; r++) {
      let dominated = false;
      for (let q = from; q < this.rows && !dominated; q++) {
        // Rows already taken out were moved over; what dominated them remains and dominates what they did.
        if (q === r || (q >= kept && q < r)) continue;
        dominated = true;
        for (let d = 0; d < count && dominated; d++) {
          dominated = Math.abs(data[r * stride + d]!) < DOMINATED * Math.abs(data[q * stride + d]!);
        }
      }
      if (dominated) continue;
      if (kept < r) data.copyWithin(kept * stride, r * stride, (r + 1) * stride);
      kept++;
    }
    this.rows = kept;
  }

  /** Ends the rows of `place`; places must be closed in order. */
  close(place: number): void {
    this.start[place + 1] = this.rows;
  }
}

export interface FixedEnd {
  readonly x: number;
  readonly slope: number;
}

export interface RetimeProblem {
  /** Number of intervals. */
  readonly n: number;
  /** Interval widths, n. */
  readonly h: Float64Array;
  /** Upper bound of x at each knot, n + 1. */
  readonly cap: Float64Array;
  /** Per knot: α, β, hi, lo. */
  readonly linear: RowList;
  /** Jerk points, ascending: the interval each lies in, and its distance from the left end of that interval. */
  readonly places: Int32Array;
  readonly offsets: Float64Array;
  /** Per jerk point: α, β, γ. */
  readonly jerk: RowList;
  /** Per knot: 3 α, 3 β of a vector whose norm is at most 1. */
  readonly normAcceleration: RowList;
  /** Per jerk point: 3 α, 3 β, 3 γ of a vector whose norm is at most room/√x. */
  readonly normJerk: RowList;
  /** Share of the limits that may be used at each knot (linear and norm rows), and at each jerk point. */
  readonly knotRoom: Float64Array;
  readonly jerkRoom: Float64Array;
  /** x and x' at the ends when they are given (motion goes on there); undefined at rest. */
  readonly first: FixedEnd | undefined;
  readonly last: FixedEnd | undefined;
}
