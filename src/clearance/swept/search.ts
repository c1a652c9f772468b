/**
 * Branch and bound over the time of a motion and the shares of slides. A node is an interval of time (and of one or two shares)
 * with the pairs that may still decide there. In its middle the pairs are measured; the signed distance of two bodies changes
 * by no more than the ways of their points, so that distance less way bounds the whole interval. What cannot come below the
 * threshold is dropped for the interval and all its parts; the rest is halved, the more promising half first.
 */
import { ContractError } from "../../math/contract-error.ts";
import { type Distance, newDistance, placedDistance } from "../distance.ts";
import { keepsFromMesh } from "./mesh-gap.ts";
import { BOX_STRIDE, type MovingBodies } from "./moving-bodies.ts";
import type { SweptMotion } from "./types.ts";
import { NODE, work } from "./work-space.ts";

/** Taken off every bound for the rounding of distances and frames, m. */
export const ROUNDING = 1e-9;
/** Halvings of one direction after which a node is given up: its width is then rounding. */
const MOST_HALVINGS = 45;

/** Pairs that depend on the same directions. */
export interface Group {
  readonly arm: boolean;
  /** Slides of its pairs, none to two. */
  readonly slides: readonly number[];
  readonly pairs: Int32Array;
}

export class Search {
  /** Least distance measured, and where. */
  upper = 0;
  pair = -1;
  time = 0;
  share = 0;
  secondShare = 0;
  hasSecond = false;
  readonly witness: Distance = newDistance();
  /** Least bound of all that was dropped. */
  lower = 0;
  states = 0;
  /** Middle of the node that was given up at last; undefined when none was. */
  unsettled: { readonly pair: number; readonly time: number; readonly share: number } | undefined;

  private readonly bodies: MovingBodies;
  private readonly pairs: Int32Array;
  private readonly groups: readonly Group[];
  /** First freedom that moves the bodies of each pair against each other, of its first and of its second body. */
  private readonly from: Int32Array;
  private readonly joints: number;

  private motion: SweptMotion | undefined;
  private tolerance = 0;
  private cutoff = 0;
  /** Stop as soon as a distance below this is measured. */
  private stopBelow = 0;
  /** Nodes whose ways are all below this are given up, m; the search then ends. */
  private finest = 0;

  constructor(joints: number, bodies: MovingBodies, pairs: Int32Array, groups: readonly Group[]) {
    const count = pairs.length / 2;
    this.bodies = bodies;
    this.pairs = pairs;
    this.groups = groups;
    this.joints = joints;
    this.from = new Int32Array(2 * count);
    for (let k = 0; k < count; k++) {
      const a = pairs[2 * k]!,
        b = pairs[2 * k + 1]!;
      const { first, end } = bodies;
      // Freedoms that both have move them together.
      const shared = first[a] === first[b] ? Math.min(end[a]!, end[b]!) : -1;
      this.from[2 * k] = shared < 0 ? first[a]! : shared;
      this.from[2 * k + 1] = shared < 0 ? first[b]! : shared;
    }
  }

  /**
   * Looks for the least distance until it lies within `tolerance` or is known to be above `cutoff`, or until a distance below
   * `stopBelow` has been measured, or a node has been found whose ways are below `finest` and which still cannot be dropped.
   * Ends after `most` states in any case; what has not been taken apart then counts with the bounds that it has.
   */
  run(
    motion: SweptMotion,
    tolerance: number,
    cutoff: number,
    stopBelow: number,
    finest: number,
    among: Uint8Array | undefined,
    most = Number.POSITIVE_INFINITY,
  ): void {
    this.motion = motion;
    this.tolerance = tolerance;
    this.cutoff = cutoff;
    this.stopBelow = stopBelow;
    this.finest = finest;
    this.upper = Number.POSITIVE_INFINITY;
    this.lower = Number.POSITIVE_INFINITY;
    this.pair = -1;
    this.time = this.share = this.secondShare = 0;
    this.hasSecond = false;
    this.witness.fill(0);
    this.states = 0;
    this.unsettled = undefined;
    work.begin(this.pairs.length / 2);
    const { duration } = motion;
    if (!(duration >= 0 && duration < Number.POSITIVE_INFINITY))
      throw new ContractError(`swept: motion.duration must be finite and at least 0 s, got ${duration}`);
    for (let g = 0; g < this.groups.length; g++) {
      const count = this.startList(this.groups[g]!.pairs, among);
      if (count === 0) continue;
      this.probe(g, count, 0);
      if (duration > 0 && this.groups[g]!.arm) this.probe(g, count, duration);
    }
    for (let g = 0; g < this.groups.length && !(this.upper < stopBelow); g++) {
      const { arm, slides, pairs } = this.groups[g]!;
      const count = this.startList(pairs, among);
      if (count === 0) continue;
      const half = arm ? duration / 2 : 0;
      work.setMade(0, half, half, 0.5, slides.length > 0 ? 0.5 : 0, 0.5, slides.length > 1 ? 0.5 : 0);
      work.push(g, 0, this.measure(g, 0, count));
    }
    while (work.top > 0 && !(this.upper < stopBelow) && !(finest > 0 && this.unsettled !== undefined)) {
      if (this.states >= most) {
        for (let i = 0; i < work.listTop; i++) this.lower = Math.min(this.lower, work.listBounds[i]!);
        break;
      }
      this.open();
    }
    this.motion = undefined;
  }

  private startList(pairs: Int32Array, among: Uint8Array | undefined): number {
    let count = 0;
    for (let i = 0; i < pairs.length; i++) {
      const k = pairs[i]!;
      if (among !== undefined && among[k] !== 1) continue;
      work.parentPairs[count] = k;
      work.parentBounds[count++] = Number.NEGATIVE_INFINITY;
    }
    return count;
  }

  /** Measures one state for an upper bound. */
  private probe(group: number, count: number, time: number): void {
    const before = this.lower;
    work.setMade(0, time, 0, 0, 0, 0, 0);
    this.measure(group, 0, count);
    this.lower = before;
  }

  private threshold(): number {
    return Math.min(this.cutoff, this.upper - this.tolerance);
  }

  /** Takes the node on top of the stack apart. */
  private open(): void {
    const { nodes, listPairs, listBounds, parentPairs, parentBounds } = work;
    const node = --work.top,
      at = node * NODE;
    const start = work.listStart[node]!,
      end = start + work.listCount[node]!;
    work.listTop = start;
    const threshold = this.threshold();
    let count = 0,
      least = 0;
    for (let i = start; i < end; i++) {
      const bound = listBounds[i]!;
      if (bound >= threshold) {
        if (bound < this.lower) this.lower = bound;
        continue;
      }
      if (count === 0 || bound < parentBounds[least]!) least = count;
      parentPairs[count] = listPairs[i]!;
      parentBounds[count++] = bound;
    }
    if (count === 0) return;
    const t = nodes[at]!,
      ht = nodes[at + 1]!,
      u = nodes[at + 2]!,
      hu = nodes[at + 3]!,
      v = nodes[at + 4]!,
      hv = nodes[at + 5]!;
    const byTime = nodes[at + 6]!,
      byShare = nodes[at + 7]!,
      bySecond = nodes[at + 8]!;
    const group = work.nodeGroup[node]!;
    const direction = byTime >= byShare && byTime >= bySecond ? 0 : byShare >= bySecond ? 1 : 2;
    const width = direction === 0 ? ht / (this.motion!.duration / 2) : direction === 1 ? 2 * hu : 2 * hv;
    // Also gives up what has no width to halve.
    if (!(width > 2 ** -MOST_HALVINGS) || Math.max(byTime, byShare, bySecond) < this.finest) {
      if (parentBounds[least]! < this.lower) this.lower = parentBounds[least]!;
      this.unsettled = { pair: parentPairs[least]!, time: t, share: u };
      return;
    }
    for (let side = 0; side < 2; side++) {
      const sign = side === 0 ? -1 : 1;
      if (direction === 0) work.setMade(side, t + (sign * ht) / 2, ht / 2, u, hu, v, hv);
      else if (direction === 1) work.setMade(side, t, ht, u + (sign * hu) / 2, hu / 2, v, hv);
      else work.setMade(side, t, ht, u, hu, v + (sign * hv) / 2, hv / 2);
    }
    const first = this.measure(group, 0, count);
    if (this.upper < this.stopBelow) return;
    const second = this.measure(group, 1, count);
    // The half with the least bound is opened next.
    if (work.madeLeast[0]! < work.madeLeast[1]!) {
      work.push(group, 1, second);
      work.push(group, 0, first);
    } else {
      work.push(group, 0, first);
      work.push(group, 1, second);
    }
  }

  /** Places the scene in the middle of the node in the making. */
  private placeMiddle(group: number, side: number): void {
    const { bodies, joints } = this;
    const { made } = work,
      q = work.q[joints]!,
      spread = work.spread[joints]!;
    const { arm, slides } = this.groups[group]!;
    const at = side * NODE;
    bodies.begin();
    if (arm) {
      const motion = this.motion!;
      const t = made[at]!,
        half = made[at + 1]!;
      motion.position(t, q);
      if (half > 0) motion.spread(t - half, t + half, spread);
      else spread.fill(0);
      for (let j = 0; j < joints; j++)
        if (!(Number.isFinite(q[j]!) && spread[j]! >= 0))
          throw new ContractError(
            `swept: the motion must give finite joint values and spreads of at least 0, joint ${j + 1} has ${q[j]} and ${spread[j]} about ${t} s`,
          );
      bodies.placeArm(q, spread);
    }
    if (slides.length > 0) bodies.placeSlide(slides[0]!, made[at + 2]!, made[at + 3]!);
    if (slides.length > 1) bodies.placeSlide(slides[1]!, made[at + 4]!, made[at + 5]!);
    this.states++;
  }

  /**
   * Measures the parent's pairs in the middle of the node in the making, and lists what remains.
   * @returns how many pairs remain
   */
  private measure(group: number, side: number, count: number): number {
    const { bodies, pairs, from, joints } = this;
    const { gaps, parentPairs, madePairs, madeBounds, made } = work,
      to = side * work.room;
    const { boxes, first } = bodies;
    this.placeMiddle(group, side);
    let start = 0,
      smallest = Number.POSITIVE_INFINITY;
    for (let i = 0; i < count; i++) {
      const k = parentPairs[i]!,
        a = pairs[2 * k]!,
        b = pairs[2 * k + 1]!;
      bodies.place(a);
      bodies.place(b);
      const p = BOX_STRIDE * a,
        r = BOX_STRIDE * b;
      const x = Math.abs(boxes[p]! - boxes[r]!) - boxes[p + 3]! - boxes[r + 3]!,
        y = Math.abs(boxes[p + 1]! - boxes[r + 1]!) - boxes[p + 4]! - boxes[r + 4]!,
        z = Math.abs(boxes[p + 2]! - boxes[r + 2]!) - boxes[p + 5]! - boxes[r + 5]!;
      const px = Math.max(x, 0),
        py = Math.max(y, 0),
        pz = Math.max(z, 0);
      const square = px * px + py * py + pz * pz;
      gaps[i] = square;
      if (square < smallest) {
        smallest = square;
        start = i;
      }
    }
    const { slides } = this.groups[group]!;
    const at = side * NODE,
      firstSlide = slides.length > 0 ? joints + 2 * slides[0]! : -1;
    let kept = 0,
      least = Number.POSITIVE_INFINITY,
      byTime = 0,
      byShare = 0,
      bySecond = 0;
    // The pair whose boxes are nearest first: what it tells rules out most of the others.
    for (let n = 0; n < count; n++) {
      const i = n === 0 ? start : n <= start ? n - 1 : n;
      const k = parentPairs[i]!,
        a = pairs[2 * k]!,
        b = pairs[2 * k + 1]!;
      const fromA = from[2 * k]!,
        fromB = from[2 * k + 1]!;
      const wayA = fromA === first[a] ? bodies.ways[a]! : bodies.wayFrom(a, fromA),
        wayB = fromB === first[b] ? bodies.ways[b]! : bodies.wayFrom(b, fromB);
      const loss = wayA + wayB + ROUNDING;
      let threshold = this.threshold();
      const gap = Math.sqrt(gaps[i]!);
      // Boxes that overlap bound nothing once bodies do.
      let bound = gap > 0 ? gap - loss : Number.NEGATIVE_INFINITY;
      // How deep something lies in a mesh is not certified (see `distance`): once an overlap is known, meshes add nothing to it.
      if (bound < threshold && this.upper < 0 && (bodies.isMesh(a) || bodies.isMesh(b))) continue;
      if (bound < threshold) {
        const limit = threshold + loss;
        const d = this.look(k, a, b, limit, at, slides.length);
        if (this.upper < this.stopBelow) return 0;
        threshold = this.threshold();
        // A mesh beyond the limit of the look tells no distance, only that it is beyond.
        bound = Math.max(bound, d < Number.POSITIVE_INFINITY ? d - loss : threshold);
        if (bound < threshold) {
          if (!(bodies.isMesh(a) || bodies.isMesh(b))) bound = Math.max(bound, this.boundAlong(a, b, fromA, fromB));
          else if (this.keepsFromMesh(a, b, fromA, fromB, d, threshold, loss)) bound = threshold;
        }
      }
      if (bound >= threshold) {
        if (bound < this.lower) this.lower = bound;
        continue;
      }
      madePairs[to + kept] = k;
      madeBounds[to + kept++] = bound;
      if (bound < least) least = bound;
      // Which direction the ways come from: the arm's bodies have their first freedom at 0.
      for (let s = 0; s < 2; s++) {
        const body = s === 0 ? a : b,
          way = s === 0 ? wayA : wayB;
        if (first[body] === 0) byTime = Math.max(byTime, way);
        else if (first[body] === firstSlide) byShare = Math.max(byShare, way);
        else bySecond = Math.max(bySecond, way);
      }
    }
    made[at + 6] = byTime;
    made[at + 7] = byShare;
    made[at + 8] = bySecond;
    work.madeLeast[side] = least;
    return kept;
  }

  /** Signed distance of a pair as placed; above `limit` any lower bound of it that is above. */
  private look(k: number, a: number, b: number, limit: number, at: number, slides: number): number {
    const { bodies } = this;
    const { trial, made } = work;
    const { poses } = bodies;
    placedDistance(bodies.bodies[a]!, poses, 12 * a, bodies.bodies[b]!, poses, 12 * b, limit, trial);
    const d = trial[0]!;
    if (d < this.upper && d <= limit) {
      this.upper = d;
      this.pair = k;
      this.time = made[at]!;
      this.share = slides > 0 ? made[at + 2]! : 0;
      this.secondShare = slides > 1 ? made[at + 4]! : 0;
      this.hasSecond = slides > 1;
      for (let i = 0; i < 10; i++) this.witness[i] = trial[i]!;
    }
    return d;
  }

  /**
   * Bound of the signed distance along the normal just measured, for convex bodies: it is the greatest separation along any
   * direction, so the separation along this one is a bound of it.
   */
  private boundAlong(a: number, b: number, fromA: number, fromB: number): number {
    const { bodies } = this;
    const { trial } = work;
    const nx = trial[7]!,
      ny = trial[8]!,
      nz = trial[9]!;
    if (!(Math.abs(nx * nx + ny * ny + nz * nz - 1) < 1e-12)) return Number.NEGATIVE_INFINITY;
    return bodies.leastAlong(b, fromB, nx, ny, nz) + bodies.leastAlong(a, fromA, -nx, -ny, -nz) - ROUNDING;
  }

  /** Whether a pair with one mesh, `d` apart in the middle, keeps the threshold in the whole interval. */
  private keepsFromMesh(
    a: number,
    b: number,
    fromA: number,
    fromB: number,
    d: number,
    threshold: number,
    loss: number,
  ): boolean {
    const { bodies } = this;
    const meshFirst = bodies.isMesh(a);
    if ((meshFirst && bodies.isMesh(b)) || !(d > 0 && threshold > 0 && d < Number.POSITIVE_INFINITY)) return false;
    const { trial } = work;
    const sign = meshFirst ? -1 : 1;
    const nx = sign * trial[7]!,
      ny = sign * trial[8]!,
      nz = sign * trial[9]!;
    if (!(Math.abs(nx * nx + ny * ny + nz * nz - 1) < 1e-12)) return false;
    const keep = threshold + ROUNDING,
      w = meshFirst ? 1 : 4,
      out = nx * trial[w]! + ny * trial[w + 1]! + nz * trial[w + 2]!;
    return meshFirst
      ? keepsFromMesh(bodies, b, a, fromB, fromA, nx, ny, nz, out, keep, loss)
      : keepsFromMesh(bodies, a, b, fromA, fromB, nx, ny, nz, out, keep, loss);
  }
}
