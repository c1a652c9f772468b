/**
 * The convex-concave program behind jerk-limited timing, on a grid.
 *
 * A reference law s(w) turns the path into r(w) = path(s(w)). The unknown is x(w) = ẇ², a quadratic spline with a
 * continuous first derivative. Then q̇ = r'√x, q̈ = r''x + ½r'x', q⃛ = √x (r'''x + 3/2 r''x' + ½r'x''), so speed and
 * acceleration limits are linear in x, and a jerk limit reads |linear in x| <= J/√x. Every row below is divided by its
 * limit: linear rows -lo <= αx + βx' <= hi, jerk rows |αx + βx' + γx''| <= room/√x, norm rows the same for vectors.
 */

/** Rows grow while a problem is written; `start[k]` is the first row of place k. */
export class RowList {
  data: Float64Array;
  readonly start: Int32Array;
  /** Which limit each row is, see path-use.ts. */
  ids: Int32Array;
  rows = 0;
  readonly stride: number;

  /** @param places number of places rows belong to   @param stride numbers per row   @param expected rows expected */
  constructor(places: number, stride: number, expected: number) {
    this.stride = stride;
    this.start = new Int32Array(places + 1);
    this.data = new Float64Array(Math.max(1, expected) * stride);
    this.ids = new Int32Array(Math.max(1, expected));
  }

  /** Offset in `data` of a new row. */
  add(id: number): number {
    if ((this.rows + 1) * this.stride > this.data.length) {
      const data = new Float64Array(this.data.length * 2);
      data.set(this.data);
      this.data = data;
      const ids = new Int32Array(this.ids.length * 2);
      ids.set(this.ids);
      this.ids = ids;
    }
    this.ids[this.rows] = id;
    return this.rows++ * this.stride;
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
