/**
 * Whether a straight edge in joint space is clear over its whole length, certified and not sampled.
 *
 * Along the edge q(t) = middle + t·Δ every point p of a body is a smooth curve. Of a pair at distance d with unit normal n
 * (A to B, seen from A) and s = n·dp/dt, the gap along n, and so the distance, at t is at least
 *
 *   d - r·|t| - ½·A·t²,   r = the greatest of ∓s over the core of B,   A ≥ |d²p/dt²|,
 *
 * since two convex cores stay apart while a plane is between them. s is linear in p, so that its greatest value over the core is a
 * support value. A = Σ over joints j ≤ k of |Δj|·|Δk|·ρk (twice for j ≠ k) with ρk the farthest that p can be from axis k
 * (d²p/dqj dqk = zj × (zk × (p - ok)); derived here). Sliding past a wall costs nothing to first order, unlike with the usual
 * bound by path length. Where there is no plane (meshes) or no exact distance, r is the speed of the fastest point.
 *
 * Intervals are looked at in their middle, coarse to fine, so that an edge that is not clear mostly fails early; each pair is
 * handed on only to what is left of the interval on either side of the part it is certified for.
 */
import { MESH } from "../clearance/body.ts";
import { nearer, newDistance, placedDistance } from "../clearance/distance.ts";
import { ChainState } from "./chain-state.ts";
import { boundMotion, reachOf } from "./edge-motion.ts";
import type { StandingScene } from "./standing-scene.ts";

/** Added to the margin in certificates: above all rounding of the distances. */
const ROUNDING = 1e-9;
/** Travel, m, of an interval below which a pair that is still open counts as not clear. */
const FINEST = 2e-6;
/** Travel, m, above which only overlaps are looked for: a distance would certify nothing. */
const COARSE = 0.15;
/** Distance of cores, m, below which the normal is not exact enough for a plane between them (1e-15 / 1e-4 of the bodies' size). */
const LEAST_NORMAL = 1e-4;
/** Clearance above the margin, m, beyond which no more is told. */
const LARGEST_TOLD = 0.5;
/** Intervals per edge; more count as not clear. */
const MOST_INTERVALS = 20_000;

export class EdgeCheck {
  /** States looked at since the start: a measure of work. */
  states = 0;
  /** Pair (index into the scene's lists) that decided the last "not clear"; -1: none. */
  pair = -1;
  readonly state: ChainState;
  private readonly scene: StandingScene;
  /** Distance that certificates show, m: the margin, or more while a clearance is measured. */
  private need: number;
  /** Least distance met while a clearance is measured. */
  private seen = Number.NEGATIVE_INFINITY;
  private readonly all: Int32Array;
  private readonly speed: Float64Array;
  private readonly bend: Float64Array;
  private readonly bounds = new Float64Array(2);
  private readonly trial = newDistance();
  private readonly delta: Float64Array;
  private readonly q: Float64Array;
  private middles = new Float64Array(256);
  private halves = new Float64Array(256);
  private starts = new Int32Array(256);
  private ends = new Int32Array(256);
  private lists: Int32Array;

  constructor(scene: StandingScene) {
    this.scene = scene;
    this.state = new ChainState(scene);
    this.need = scene.margin + ROUNDING;
    const count = scene.first.length;
    this.all = Int32Array.from({ length: count }, (_, k) => k);
    this.lists = new Int32Array(Math.max(1024, 8 * count));
    this.speed = new Float64Array(scene.groups.length);
    this.bend = new Float64Array(scene.groups.length);
    this.delta = new Float64Array(scene.arm.n);
    this.q = new Float64Array(scene.arm.n);
  }

  /** Whether no pair is nearer than the margin at `q`. */
  stateClear(q: ArrayLike<number>): boolean {
    const { state, scene } = this;
    const { first, second, bodies, margin } = scene;
    this.states++;
    state.moveTo(q);
    const { poses, boxes } = state;
    state.placeAll();
    for (let k = 0; k < first.length; k++) {
      const a = first[k]!,
        b = second[k]!;
      const i = 6 * a,
        j = 6 * b;
      if (
        Math.abs(boxes[i]! - boxes[j]!) > boxes[i + 3]! + boxes[j + 3]! + margin ||
        Math.abs(boxes[i + 1]! - boxes[j + 1]!) > boxes[i + 4]! + boxes[j + 4]! + margin ||
        Math.abs(boxes[i + 2]! - boxes[j + 2]!) > boxes[i + 5]! + boxes[j + 5]! + margin
      )
        continue;
      if (nearer(bodies[a]!, poses, 12 * a, bodies[b]!, poses, 12 * b, margin)) {
        this.pair = k;
        return false;
      }
    }
    this.pair = -1;
    return true;
  }

  /** Signed distance of a pair of the scene's lists at the state looked at last, m. */
  pairDistance(k: number): number {
    const { state, scene, trial } = this;
    const a = scene.first[k]!,
      b = scene.second[k]!;
    state.place(a);
    state.place(b);
    const { bodies } = scene;
    placedDistance(bodies[a]!, state.poses, 12 * a, bodies[b]!, state.poses, 12 * b, Number.POSITIVE_INFINITY, trial);
    return trial[0]!;
  }

  /** Least distance of any pair at `q`, m, as far as it is below `limit`; else `limit`. */
  stateDistance(q: ArrayLike<number>, limit: number): number {
    const { state, scene, trial } = this;
    const { first, second, bodies } = scene;
    this.states++;
    state.moveTo(q);
    state.placeAll();
    const { poses } = state;
    let least = limit;
    for (let k = 0; k < first.length; k++) {
      const a = first[k]!,
        b = second[k]!;
      if (least >= 0 && this.boxesSquare(a, b) >= least * least) continue;
      placedDistance(bodies[a]!, poses, 12 * a, bodies[b]!, poses, 12 * b, least, trial);
      if (trial[0]! < least) least = trial[0]!;
    }
    return least;
  }

  /**
   * Lower bound of the least distance of any pair along a route already certified clear, m; at least the margin, and at
   * least nine tenths of what there is above it, less 10 µm, up to `LARGEST_TOLD`.
   */
  leastAlong(path: readonly ArrayLike<number>[]): number {
    const { margin } = this.scene;
    this.seen = Math.min(...path.map((q) => this.stateDistance(q, margin + LARGEST_TOLD)));
    this.need = this.aim();
    let certified = true;
    for (let k = 1; k < path.length && certified; k++) certified = this.edgeClear(path[k - 1]!, path[k]!);
    const least = certified ? this.need - ROUNDING : margin;
    this.seen = Number.NEGATIVE_INFINITY;
    this.need = margin + ROUNDING;
    return least;
  }

  /** What to certify of a clearance of which the least distance met so far is an upper bound. */
  private aim(): number {
    const above = this.seen - this.scene.margin;
    return this.scene.margin + ROUNDING + Math.max(0, 0.9 * above - 1e-5);
  }

  private boxesSquare(a: number, b: number): number {
    const { boxes } = this.state;
    const i = 6 * a,
      j = 6 * b;
    const x = Math.max(Math.abs(boxes[i]! - boxes[j]!) - boxes[i + 3]! - boxes[j + 3]!, 0),
      y = Math.max(Math.abs(boxes[i + 1]! - boxes[j + 1]!) - boxes[i + 4]! - boxes[j + 4]!, 0),
      z = Math.max(Math.abs(boxes[i + 2]! - boxes[j + 2]!) - boxes[i + 5]! - boxes[j + 5]!, 0);
    return x * x + y * y + z * z;
  }

  /** Whether every state of the straight edge is certified to be clear. Ends that are not clear make the answer no. */
  edgeClear(from: ArrayLike<number>, to: ArrayLike<number>, slack = 0): boolean {
    this.least = Math.max(0, slack - ROUNDING);
    const { scene, delta, q, all, state } = this;
    const { n } = scene.arm;
    // t runs from -½ to ½.
    for (let i = 0; i < n; i++) delta[i] = to[i]! - from[i]!;
    this.boundSpeeds(from, to);
    let { middles, halves, starts, ends } = this;
    this.lists.set(all);
    middles[0] = 0;
    halves[0] = 0.5;
    starts[0] = 0;
    ends[0] = all.length;
    let used = all.length,
      count = 1;
    for (let node = 0; node < count; node++) {
      if (node === MOST_INTERVALS) return false;
      const t = middles[node]!,
        h = halves[node]!;
      for (let i = 0; i < n; i++) q[i] = from[i]! + (0.5 + t) * delta[i]!;
      this.states++;
      state.moveTo(q);
      state.twist(delta);
      const size = ends[node]! - starts[node]!;
      if (used + 2 * size > this.lists.length) this.growLists(used + 2 * size);
      const left = used,
        right = used + size;
      const open = this.look(starts[node]!, ends[node]!, h, left, right);
      if (!open) return false;
      const { leftCount, rightCount, leftCut, rightCut } = this;
      if (count + 2 > middles.length) {
        this.growIntervals();
        ({ middles, halves, starts, ends } = this);
      }
      if (leftCount > 0) {
        middles[count] = t - (h + leftCut) / 2;
        halves[count] = (h - leftCut) / 2;
        starts[count] = left;
        ends[count++] = left + leftCount;
      }
      if (rightCount > 0) {
        middles[count] = t + (h + rightCut) / 2;
        halves[count] = (h - rightCut) / 2;
        starts[count] = right;
        ends[count++] = right + rightCount;
      }
      used = right + rightCount;
    }
    this.pair = -1;
    return true;
  }

  private least = 0;
  private leftCount = 0;
  private rightCount = 0;
  private leftCut = 0;
  private rightCut = 0;

  /**
   * Looks at the listed pairs in the middle of an interval. Pairs that are not certified down to -h go to the list at `left`,
   * up to h to that at `right`; the cuts are the parts that all of these are certified for. @returns false: not clear
   */
  private look(start: number, end: number, h: number, left: number, right: number): boolean {
    const { scene, state, lists, speed, bend, trial, least } = this;
    const { first, second, group, bodies, depth, margin } = scene;
    const { poses, boxes } = state;
    let { need } = this;
    let leftCount = 0,
      rightCount = 0,
      leftCut = h,
      rightCut = h;
    for (let at = start; at < end; at++) {
      const k = lists[at]!,
        a = first[k]!,
        b = second[k]!,
        g = group[k]!;
      state.place(a);
      state.place(b);
      const fastest = speed[g]!;
      const travel = fastest * h;
      const limit = need + travel;
      const i = 6 * a,
        j = 6 * b;
      const x = Math.abs(boxes[i]! - boxes[j]!) - boxes[i + 3]! - boxes[j + 3]!;
      if (x >= limit) continue;
      const y = Math.abs(boxes[i + 1]! - boxes[j + 1]!) - boxes[i + 4]! - boxes[j + 4]!;
      if (y >= limit) continue;
      const z = Math.abs(boxes[i + 2]! - boxes[j + 2]!) - boxes[i + 5]! - boxes[j + 5]!;
      if (z >= limit) continue;
      const px = Math.max(x, 0),
        py = Math.max(y, 0),
        pz = Math.max(z, 0);
      const square = px * px + py * py + pz * pz;
      if (square >= limit * limit) continue;
      let minus: number, plus: number;
      if (travel > COARSE) {
        if (square <= margin * margin && nearer(bodies[a]!, poses, 12 * a, bodies[b]!, poses, 12 * b, margin)) {
          this.pair = k;
          return false;
        }
        minus = plus = square > need * need ? (Math.sqrt(square) - need) / fastest : 0;
      } else {
        placedDistance(bodies[a]!, poses, 12 * a, bodies[b]!, poses, 12 * b, limit, trial, false);
        if (trial[0]! - need >= travel) continue;
        // Below the limit, so this is the distance and no bound of it.
        if (trial[0]! < this.seen) {
          this.seen = trial[0]!;
          need = this.need = this.aim();
        }
        const gap = trial[0]! - need;
        if (gap < least || travel < FINEST) {
          this.pair = k;
          return false;
        }
        const A = bend[g]!;
        const anyWay =
          bodies[a]!.kind === MESH ||
          bodies[b]!.kind === MESH ||
          trial[0]! + bodies[a]!.radius + bodies[b]!.radius < LEAST_NORMAL;
        state.approach(depth[a]!, depth[b]!, b, anyWay, trial);
        const slow = gap / fastest;
        minus = Math.max(slow, reachOf(gap, state.minus, A));
        plus = Math.max(slow, reachOf(gap, state.plus, A));
      }
      if (minus < h) {
        lists[left + leftCount++] = k;
        if (minus < leftCut) leftCut = minus;
      }
      if (plus < h) {
        lists[right + rightCount++] = k;
        if (plus < rightCut) rightCut = plus;
      }
    }
    this.leftCount = leftCount;
    this.rightCount = rightCount;
    this.leftCut = leftCut;
    this.rightCut = rightCut;
    return true;
  }

  /** Greatest speed and bend of each group's points along the edge, per unit of t. */
  private boundSpeeds(from: ArrayLike<number>, to: ArrayLike<number>): void {
    const { speed, bend, bounds } = this;
    const { groups, arm } = this.scene;
    for (let g = 0; g < groups.length; g++) {
      const { from: low, to: high, radius } = groups[g]!;
      boundMotion(arm, low, high, radius, from, to, bounds);
      speed[g] = bounds[0]!;
      bend[g] = bounds[1]!;
    }
  }

  private growLists(length: number): void {
    const grown = new Int32Array(2 * length);
    grown.set(this.lists);
    this.lists = grown;
  }

  private growIntervals(): void {
    for (const key of ["middles", "halves"] as const) {
      const grown = new Float64Array(2 * this[key].length);
      grown.set(this[key]);
      this[key] = grown;
    }
    for (const key of ["starts", "ends"] as const) {
      const grown = new Int32Array(2 * this[key].length);
      grown.set(this[key]);
      this[key] = grown;
    }
  }
}
