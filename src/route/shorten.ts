/** Making a clear route shorter. Every new edge is certified before it replaces an old one. */
import type { EdgeCheck } from "./edge-check.ts";
import type { Box } from "./joint-range.ts";
import { between, type Metric } from "./metric.ts";
import { normal } from "./random.ts";

/** Way, rad, that counts as none. */
const NOTHING = 1e-9;
/** First step of a nudge as a share of the shorter of the two edges, and its factors after success and failure. */
const FIRST_STEP = 0.3;
const GROW = 2;
const SHRINK = 0.85;
/** Way, rad, that a nudge must save. */
const LEAST_GAIN = 1e-6;

export class Shorten {
  private readonly check: EdgeCheck;
  private readonly metric: Metric;

  constructor(check: EdgeCheck, metric: Metric) {
    this.check = check;
    this.metric = metric;
  }

  /** Drops corners that a straight edge can do without. */
  drop(path: Float64Array[], slack: number): void {
    const { check, metric } = this;
    for (let k = 1; k < path.length - 1; ) {
      const before = path[k - 1]!,
        after = path[k + 1]!;
      if (metric.distance(before, path[k]!) < NOTHING || check.edgeClear(before, after, slack)) path.splice(k, 1);
      else k++;
    }
  }

  /** Joins two random points of the route by a straight edge where that is clear. */
  cut(path: Float64Array[], slack: number, random: () => number): void {
    const length = this.metric.length(path);
    const a = random() * length,
      b = random() * length;
    const [i, from] = this.pointAt(path, Math.min(a, b));
    const [j, to] = this.pointAt(path, Math.max(a, b));
    if (i !== j && this.check.edgeClear(from, to, slack)) path.splice(i, j - i, from, to);
  }

  /**
   * Moves random corners by random steps to where the route is shorter, `tries` times. Steps grow after success and shrink
   * after failure, so that corners slide along what stops them.
   */
  nudge(path: Float64Array[], box: Box, slack: number, random: () => number, tries: number): void {
    const { check } = this;
    if (path.length < 3) return;
    let step = FIRST_STEP;
    for (let t = 0; t < tries; t++) {
      const k = 1 + Math.floor(random() * (path.length - 2));
      const a = path[k - 1]!,
        b = path[k + 1]!;
      const moved = this.stepped(a, path[k]!, b, step, box, random);
      if (moved !== undefined && check.edgeClear(a, moved, slack) && check.edgeClear(moved, b, slack)) {
        path[k] = moved;
        step = Math.min(1, step * GROW);
      } else step *= SHRINK;
    }
  }

  /** The corner moved in a random direction, or against it where that is towards its neighbours; undefined: not shorter. */
  private stepped(
    a: Float64Array,
    corner: Float64Array,
    b: Float64Array,
    step: number,
    { min, max }: Box,
    random: () => number,
  ): Float64Array | undefined {
    const { metric } = this;
    const { n, weights } = metric;
    const before = metric.distance(a, corner),
      after = metric.distance(corner, b);
    const moved = new Float64Array(n);
    let square = 0,
      towards = 0;
    for (let i = 0; i < n; i++) {
      const v = normal(random);
      moved[i] = v;
      square += v * v;
      towards += v * weights[i]! * ((a[i]! - corner[i]!) / before + (b[i]! - corner[i]!) / after);
    }
    const scale = ((towards < 0 ? -1 : 1) * step * Math.min(before, after)) / Math.sqrt(square);
    for (let i = 0; i < n; i++) {
      const value = corner[i]! + (scale * moved[i]!) / weights[i]!;
      if (!(value >= min[i]! && value <= max[i]!)) return undefined;
      moved[i] = value;
    }
    return metric.distance(a, moved) + metric.distance(moved, b) < before + after - LEAST_GAIN ? moved : undefined;
  }

  /** The point at `way` along the route, and the corner after it. */
  private pointAt(path: readonly Float64Array[], way: number): [number, Float64Array] {
    let left = way;
    for (let k = 1; ; k++) {
      const a = path[k - 1]!,
        b = path[k]!;
      const edge = this.metric.distance(a, b);
      if (left <= edge || k === path.length - 1)
        return [k, between(a, b, edge > 0 ? Math.min(1, left / edge) : 1, new Float64Array(a.length))];
      left -= edge;
    }
  }
}
