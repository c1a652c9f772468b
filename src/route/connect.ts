/**
 * Two trees, one from the start and one from the goals, that grow towards drawn states and each other in turn
 * (RRT-Connect: Kuffner and LaValle 2000), every edge certified. States are drawn where a route no longer than a bound can
 * pass (the ellipsoid of Gammell, Srinivasa and Barfoot 2014), the joint limits cut off.
 */
import type { EdgeCheck } from "./edge-check.ts";
import type { Box } from "./joint-range.ts";
import { between, type Metric } from "./metric.ts";
import { normal } from "./random.ts";
import { Tree } from "./tree.ts";

/** Longest edge that a tree grows at once, rad. */
const RANGE = 1;
/** Draws for one state before the search gives up on the ellipsoid. */
const MOST_DRAWS = 100;

export class Connect {
  private readonly check: EdgeCheck;
  private readonly metric: Metric;
  private readonly trees: [Tree, Tree];
  private readonly drawn: Float64Array;
  private readonly near: Float64Array;
  private readonly next: Float64Array;

  constructor(check: EdgeCheck, metric: Metric) {
    this.check = check;
    this.metric = metric;
    const { n, weights } = metric;
    this.trees = [new Tree(n, weights), new Tree(n, weights)];
    this.drawn = new Float64Array(n);
    this.near = new Float64Array(n);
    this.next = new Float64Array(n);
  }

  /**
   * A clear route from the start to one of the goals.
   * @param bound greatest length of the start's distance plus the goal's that a drawn state may have
   * @param iterations drawn states before giving up
   * @param last number of looked-at states (`check.states`) at which to give up
   */
  find(
    start: Float64Array,
    goals: readonly Float64Array[],
    box: Box,
    bound: number,
    iterations: number,
    last: number,
    slack: number,
    random: () => number,
  ): Float64Array[] | undefined {
    const { check, trees, drawn, near, next } = this;
    for (const tree of trees) tree.clear();
    trees[0].add(start, -1);
    for (const goal of goals) trees[1].add(goal, -1);
    for (let k = 0; k < iterations && check.states < last; k++) {
      const tree = trees[k & 1]!,
        other = trees[1 - (k & 1)]!;
      if (!this.draw(start, goals, box, bound, random)) return undefined;
      const from = tree.nearest(drawn);
      tree.read(from, near);
      const way = this.metric.distance(near, drawn);
      if (way === 0) continue;
      between(near, drawn, Math.min(1, RANGE / way), next);
      if (!check.stateClear(next) || !check.edgeClear(near, next, slack)) continue;
      const added = tree.add(next, from);
      const met = this.reach(other, next, slack, last);
      if (met < 0) continue;
      const here = tree.branch(added).reverse(),
        there = other.branch(met);
      return (k & 1) === 0 ? [...here, ...there] : [...there.reverse(), ...here.reverse()];
    }
    return undefined;
  }

  /** Grows the tree straight towards a state until it is reached or the way is not clear. @returns the node next to it, or -1 */
  private reach(tree: Tree, goal: Float64Array, slack: number, last: number): number {
    const { check, near, metric } = this;
    const step = this.drawn;
    let from = tree.nearest(goal);
    tree.read(from, near);
    while (check.states < last) {
      const way = metric.distance(near, goal);
      if (way <= RANGE) return way === 0 || check.edgeClear(near, goal, slack) ? from : -1;
      between(near, goal, RANGE / way, step);
      if (!check.edgeClear(near, step, slack)) return -1;
      from = tree.add(step, from);
      near.set(step);
    }
    return -1;
  }

  private draw(
    start: Float64Array,
    goals: readonly Float64Array[],
    { min, max }: Box,
    bound: number,
    random: () => number,
  ): boolean {
    const { drawn, metric } = this;
    const { n, weights } = metric;
    if (bound === Number.POSITIVE_INFINITY) {
      for (let i = 0; i < n; i++) drawn[i] = min[i]! + (max[i]! - min[i]!) * random();
      return true;
    }
    for (let attempt = 0; attempt < MOST_DRAWS; attempt++) {
      const goal = goals[Math.floor(goals.length * random())]!;
      const way = metric.distance(start, goal);
      if (!(way < bound)) continue;
      // A uniform point of the unit ball, stretched along the line by bound / 2 and across it by √(bound² - way²) / 2.
      let square = 0;
      for (let i = 0; i < n; i++) {
        const v = normal(random);
        drawn[i] = v;
        square += v * v;
      }
      const radius = random() ** (1 / n) / Math.sqrt(square);
      let along = 0;
      if (way > 0) for (let i = 0; i < n; i++) along += (drawn[i]! * weights[i]! * (goal[i]! - start[i]!)) / way;
      const across = (radius * Math.sqrt(bound * bound - way * way)) / 2,
        stretch = way > 0 ? ((radius * bound) / 2 - across) * (along / way) : 0;
      let inside = true;
      for (let i = 0; i < n; i++) {
        const w = weights[i]!;
        const value = (start[i]! + goal[i]!) / 2 + (across * drawn[i]! + stretch * w * (goal[i]! - start[i]!)) / w;
        drawn[i] = value;
        if (!(value >= min[i]! && value <= max[i]!)) inside = false;
      }
      if (inside) return true;
    }
    return false;
  }
}
