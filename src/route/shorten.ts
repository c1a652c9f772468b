/** Making a clear route shorter. Every new edge is certified before it replaces an old one. */
import type { EdgeCheck } from "./edge-check.ts";
import { between, type Metric } from "./metric.ts";

/** Halvings of a pull towards the chord. */
const HALVINGS = 6;
/** Way, rad, that counts as none. */
const NOTHING = 1e-9;

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
  cut(path: Float64Array[], slack: number, random: () => number): boolean {
    const { check, metric } = this;
    const length = metric.length(path);
    const a = random() * length,
      b = random() * length;
    const [i, from] = this.pointAt(path, Math.min(a, b));
    const [j, to] = this.pointAt(path, Math.max(a, b));
    if (i === j || !check.edgeClear(from, to, slack)) return false;
    path.splice(i, j - i, from, to);
    return true;
  }

  /** Moves each corner towards the chord of its neighbours, as far as halving the way finds it clear. */
  pull(path: Float64Array[], slack: number): void {
    const { check, metric } = this;
    const { n, weights } = metric;
    for (let k = 1; k < path.length - 1; k++) {
      const a = path[k - 1]!,
        b = path[k + 1]!,
        corner = path[k]!;
      let along = 0,
        square = 0;
      for (let i = 0; i < n; i++) {
        const w = weights[i]! * weights[i]!,
          way = b[i]! - a[i]!;
        along += w * (corner[i]! - a[i]!) * way;
        square += w * way * way;
      }
      const foot = between(a, b, square > 0 ? Math.min(1, Math.max(0, along / square)) : 0, new Float64Array(n));
      const moved = new Float64Array(n);
      for (let half = 0, share = 1; half < HALVINGS; half++, share /= 2) {
        between(corner, foot, share, moved);
        if (!check.edgeClear(a, moved, slack) || !check.edgeClear(moved, b, slack)) continue;
        path[k] = moved;
        break;
      }
    }
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
