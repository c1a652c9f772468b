/**
 * Many bodies at once: some fixed, some carried by moving frames (the links of an arm), and the pairs of them that matter.
 * A query first compares the boxes of all pairs along the world axes and looks closely at what is left only.
 */
import { ContractError } from "../math/contract-error.ts";
import type { Pose } from "../math/pose.ts";
import { BOX, type Body, CYLINDER, HULL } from "./body.ts";
import { type Distance, nearer, newDistance, placedDistance } from "./distance.ts";
import { multiply } from "./frames.ts";

/** Numbers per body: box (least and greatest x, y, z). */
const STRIDE = 6;

export interface CarriedBody {
  readonly body: Body;
  /** Moving frame that carries it; -1 for a body fixed in the world. */
  readonly frame: number;
  /** Place in that frame, or in the world. */
  readonly frameFromBody: Pose;
}

export interface BodySet {
  /**
   * Places the carried bodies. @param frames world (or base) from each moving frame, row-major 3 x 4 one after the other, as
   * linkFrames of the arm floor writes them
   */
  place(frames: Float64Array): void;
  /** Whether any pair is nearer than `margin`, m (0: overlaps). Stops at the first pair found; `pair` is then its index, else -1. */
  collides(margin?: number): boolean;
  /**
   * Least signed distance over all pairs, m, with witnesses in `out` and the index of its pair in `pair`. Infinity when there
   * are no pairs. Pairs whose lower bound is above the least found are not looked at.
   */
  minimumDistance(out: Distance): number;
  /** Pair that decided the last query; -1 for none. */
  readonly pair: number;
  /** Signed distance of one pair as placed now. */
  pairDistance(pair: number, out: Distance): number;
  /** Bodies of pair k: pairs[2k] and pairs[2k + 1]. */
  readonly pairs: Int32Array;
  /** Close looks since the set was made: a measure of work. */
  readonly looks: number;
}

/**
 * @param carried all bodies @param frames how many moving frames there are
 * @param pairs pairs of indices into `carried`; pairs of two fixed bodies are allowed
 * @throws ContractError if a frame or an index is out of range or a pair is one body twice
 */
export function createBodySet(
  carried: readonly CarriedBody[],
  frames: number,
  pairs: readonly (readonly [number, number])[],
): BodySet {
  for (const [i, { frame }] of carried.entries())
    if (!(Number.isInteger(frame) && frame >= -1 && frame < frames))
      throw new ContractError(`createBodySet: carried[${i}].frame must be -1 to ${frames - 1}, got ${frame}`);
  for (const [k, [i, j]] of pairs.entries())
    if (!(i in carried && j in carried && i !== j))
      throw new ContractError(
        `createBodySet: pairs[${k}] must name two bodies below ${carried.length}, got ${i}, ${j}`,
      );
  return new PlacedBodies(carried, frames, pairs);
}

class PlacedBodies implements BodySet {
  readonly pairs: Int32Array;
  pair = -1;
  looks = 0;
  private readonly bodies: readonly Body[];
  private readonly frame: Int32Array;
  private readonly frameCount: number;
  private readonly local: Float64Array;
  private readonly poses: Float64Array;
  private readonly boxes: Float64Array;
  /** Pairs in the order in which they are tried, body indices; and which pair each is. */
  private readonly first: Int32Array;
  private readonly second: Int32Array;
  private readonly number: Int32Array;
  private readonly bounds: Float64Array;
  private readonly trial = newDistance();

  constructor(carried: readonly CarriedBody[], frames: number, pairs: readonly (readonly [number, number])[]) {
    this.bodies = carried.map(({ body }) => body);
    this.frame = Int32Array.from(carried, ({ frame }) => frame);
    this.frameCount = frames;
    this.local = new Float64Array(12 * carried.length);
    this.poses = new Float64Array(12 * carried.length);
    this.boxes = new Float64Array(STRIDE * carried.length);
    this.pairs = Int32Array.from(pairs.flat());
    // Cheap pairs first: an overlap found early saves the dear ones.
    const order = pairs.map((_, k) => k);
    const cost = (k: number) => costOf(this.bodies[pairs[k]![0]]!, this.bodies[pairs[k]![1]]!);
    order.sort((a, b) => cost(a) - cost(b) || a - b);
    this.number = Int32Array.from(order);
    this.first = Int32Array.from(order, (k) => pairs[k]![0]);
    this.second = Int32Array.from(order, (k) => pairs[k]![1]);
    this.bounds = new Float64Array(pairs.length);
    for (const [i, { frame, frameFromBody }] of carried.entries()) {
      this.local.set(frameFromBody.subarray(0, 12), 12 * i);
      if (frame < 0) {
        this.poses.set(frameFromBody.subarray(0, 12), 12 * i);
        fitBox(this.bodies[i]!, this.poses, 12 * i, this.boxes, STRIDE * i);
      }
    }
  }

  place(frames: Float64Array): void {
    if (frames.length < 12 * this.frameCount)
      throw new ContractError(`place: frames must have ${12 * this.frameCount} numbers, got ${frames.length}`);
    const { frame, bodies, poses, local, boxes } = this;
    for (let i = 0; i < bodies.length; i++) {
      const f = frame[i]!;
      if (f < 0) continue;
      multiply(frames, 12 * f, local, 12 * i, poses, 12 * i);
      fitBox(bodies[i]!, poses, 12 * i, boxes, STRIDE * i);
    }
  }

  collides(margin = 0): boolean {
    const { first, second, boxes, bodies, poses } = this;
    for (let k = 0; k < first.length; k++) {
      const i = first[k]!,
        j = second[k]!;
      const a = STRIDE * i,
        b = STRIDE * j;
      if (
        boxes[a]! - boxes[b + 3]! > margin ||
        boxes[b]! - boxes[a + 3]! > margin ||
        boxes[a + 1]! - boxes[b + 4]! > margin ||
        boxes[b + 1]! - boxes[a + 4]! > margin ||
        boxes[a + 2]! - boxes[b + 5]! > margin ||
        boxes[b + 2]! - boxes[a + 5]! > margin
      )
        continue;
      this.looks++;
      if (nearer(bodies[i]!, poses, 12 * i, bodies[j]!, poses, 12 * j, margin)) {
        this.pair = this.number[k]!;
        return true;
      }
    }
    this.pair = -1;
    return false;
  }

  minimumDistance(out: Distance): number {
    const { first, second, boxes, bounds, trial } = this;
    const count = first.length;
    this.pair = -1;
    out[0] = Number.POSITIVE_INFINITY;
    if (count === 0) return out[0];
    let least = Number.POSITIVE_INFINITY,
      start = 0;
    for (let k = 0; k < count; k++) {
      const a = STRIDE * first[k]!,
        b = STRIDE * second[k]!;
      const x = gap(boxes[a]!, boxes[a + 3]!, boxes[b]!, boxes[b + 3]!),
        y = gap(boxes[a + 1]!, boxes[a + 4]!, boxes[b + 1]!, boxes[b + 4]!),
        z = gap(boxes[a + 2]!, boxes[a + 5]!, boxes[b + 2]!, boxes[b + 5]!);
      const square = x * x + y * y + z * z;
      bounds[k] = square;
      if (square < least) {
        least = square;
        start = k;
      }
    }
    // The pair with the least bound first: what it tells rules out most of the others.
    this.look(start, Number.POSITIVE_INFINITY, out);
    this.pair = this.number[start]!;
    let known = out[0]!;
    let square = known > 0 ? known * known : 0;
    for (let k = 0; k < count; k++) {
      // Boxes that overlap bound nothing once bodies do.
      if (bounds[k]! > 0 && bounds[k]! >= square) continue;
      if (k === start) continue;
      this.look(k, known, trial);
      if (trial[0]! < known) {
        for (let n = 0; n < 10; n++) out[n] = trial[n]!;
        known = trial[0]!;
        square = known > 0 ? known * known : 0;
        this.pair = this.number[k]!;
      }
    }
    return out[0]!;
  }

  pairDistance(pair: number, out: Distance): number {
    const i = this.pairs[2 * pair]!,
      j = this.pairs[2 * pair + 1]!;
    const { bodies, poses } = this;
    placedDistance(bodies[i]!, poses, 12 * i, bodies[j]!, poses, 12 * j, Number.POSITIVE_INFINITY, out);
    return out[0]!;
  }

  private look(k: number, limit: number, out: Distance): void {
    const i = this.first[k]!,
      j = this.second[k]!;
    this.looks++;
    placedDistance(this.bodies[i]!, this.poses, 12 * i, this.bodies[j]!, this.poses, 12 * j, limit, out);
  }
}

const gap = (lowA: number, highA: number, lowB: number, highB: number) =>
  lowA > highB ? lowA - highB : lowB > highA ? lowB - highA : 0;

/** Order of magnitude of a close look. */
function costOf(a: Body, b: Body): number {
  const low = Math.min(a.kind, b.kind),
    high = Math.max(a.kind, b.kind);
  if (high < BOX) return 0;
  if (low < BOX && high < HULL) return high === BOX ? 1 : 2;
  return high < HULL ? 3 : high;
}

/** Box along the common axes around a placed body with its radius; a little wider than it by rounding. */
function fitBox(body: Body, p: Float64Array, ip: number, boxes: Float64Array, at: number): void {
  const { kind, radius, cx, cy, cz, ex, ey, ez } = body;
  for (let r = 0; r < 3; r++) {
    const x = p[ip + 4 * r]!,
      y = p[ip + 4 * r + 1]!,
      z = p[ip + 4 * r + 2]!;
    const middle = x * cx + y * cy + z * cz + p[ip + 4 * r + 3]!;
    const across =
      kind === CYLINDER ? body.hx * Math.sqrt(x * x + y * y) : kind < BOX ? 0 : Math.abs(x) * ex + Math.abs(y) * ey;
    const half = (across + Math.abs(z) * ez + radius) * (1 + 4e-16) + Math.abs(middle) * 4e-16;
    boxes[at + r] = middle - half;
    boxes[at + 3 + r] = middle + half;
  }
}
