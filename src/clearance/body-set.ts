/**
 * Many bodies at once: some fixed, some carried by moving frames (the links of an arm), and the pairs of them that matter.
 * A query first compares the boxes of all pairs along the world axes and looks closely at what is left only.
 */
import { ContractError } from "../math/contract-error.ts";
import type { Pose } from "../math/pose.ts";
import { BOX, type Body, CYLINDER, MESH } from "./body.ts";
import { type Distance, nearer, newDistance, placedDistance } from "./distance.ts";
import { multiply } from "./frames.ts";

/** Numbers per body: its box along the common axes, middle (3) and half extents (3). */
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
  /** Pairs in the order in which they are tried, in runs that share their first body: which pair each is, second bodies. */
  private readonly number: Int32Array;
  private readonly second: Int32Array;
  /** First body of each run, and where the runs begin (and the last ends). */
  private readonly heads: Int32Array;
  private readonly starts: Int32Array;
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
    const bodyOf = (k: number, side: 0 | 1) => carried[pairs[k]![side]]!;
    // Meshes last: an overlap found before saves them. Far links first: they meet most.
    const isDear = (k: number) => (bodyOf(k, 0).body.kind === MESH || bodyOf(k, 1).body.kind === MESH ? 1 : 0);
    const order = pairs.map((_, k) => k);
    order.sort(
      (a, b) =>
        isDear(a) - isDear(b) ||
        bodyOf(b, 0).frame - bodyOf(a, 0).frame ||
        pairs[a]![0] - pairs[b]![0] ||
        pairs[a]![1] - pairs[b]![1] ||
        a - b,
    );
    const isHead = order.map(
      (k, i) => i === 0 || isDear(k) !== isDear(order[i - 1]!) || pairs[k]![0] !== pairs[order[i - 1]!]![0],
    );
    const starts = order.flatMap((_, i) => (isHead[i] ? [i] : []));
    this.number = Int32Array.from(order);
    this.second = Int32Array.from(order, (k) => pairs[k]![1]);
    this.heads = Int32Array.from(starts, (i) => pairs[order[i]!]![0]);
    this.starts = Int32Array.from([...starts, order.length]);
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
    const { heads, starts, second, boxes, bodies, poses } = this;
    for (let h = 0; h < heads.length; h++) {
      const i = heads[h]!,
        a = STRIDE * i;
      const ax = boxes[a]!,
        ay = boxes[a + 1]!,
        az = boxes[a + 2]!,
        hx = boxes[a + 3]! + margin,
        hy = boxes[a + 4]! + margin,
        hz = boxes[a + 5]! + margin;
      const end = starts[h + 1]!;
      for (let k = starts[h]!; k < end; k++) {
        const j = second[k]!,
          b = STRIDE * j;
        if (
          Math.abs(ax - boxes[b]!) > hx + boxes[b + 3]! ||
          Math.abs(ay - boxes[b + 1]!) > hy + boxes[b + 4]! ||
          Math.abs(az - boxes[b + 2]!) > hz + boxes[b + 5]!
        )
          continue;
        this.looks++;
        if (nearer(bodies[i]!, poses, 12 * i, bodies[j]!, poses, 12 * j, margin)) {
          this.pair = this.number[k]!;
          return true;
        }
      }
    }
    this.pair = -1;
    return false;
  }

  minimumDistance(out: Distance): number {
    const { bounds, trial, heads, starts } = this;
    this.pair = -1;
    out[0] = Number.POSITIVE_INFINITY;
    if (bounds.length === 0) return out[0];
    // The pair with the least bound first: what it tells rules out most of the others.
    const start = this.writeBounds();
    let run = 0;
    while (starts[run + 1]! <= start) run++;
    this.look(heads[run]!, start, Number.POSITIVE_INFINITY, out);
    this.pair = this.number[start]!;
    let known = out[0]!;
    let square = known > 0 ? known * known : 0;
    for (let h = 0; h < heads.length; h++) {
      const end = starts[h + 1]!;
      for (let k = starts[h]!; k < end; k++) {
        const bound = bounds[k]!;
        // Boxes that overlap bound nothing once bodies do.
        if ((bound > 0 && bound >= square) || k === start) continue;
        this.look(heads[h]!, k, known, trial);
        if (!(trial[0]! < known)) continue;
        for (let n = 0; n < 10; n++) out[n] = trial[n]!;
        known = trial[0]!;
        square = known > 0 ? known * known : 0;
        this.pair = this.number[k]!;
      }
    }
    return out[0]!;
  }

  /** Square of the gap of the boxes of each pair; no branches, since which gaps are open is not to be guessed. @returns the least one's index */
  private writeBounds(): number {
    const { heads, starts, second, boxes, bounds } = this;
    let least = Number.POSITIVE_INFINITY,
      index = 0;
    for (let h = 0; h < heads.length; h++) {
      const a = STRIDE * heads[h]!;
      const ax = boxes[a]!,
        ay = boxes[a + 1]!,
        az = boxes[a + 2]!,
        hx = boxes[a + 3]!,
        hy = boxes[a + 4]!,
        hz = boxes[a + 5]!;
      const end = starts[h + 1]!;
      for (let k = starts[h]!; k < end; k++) {
        const b = STRIDE * second[k]!;
        const x = Math.abs(ax - boxes[b]!) - hx - boxes[b + 3]!,
          y = Math.abs(ay - boxes[b + 1]!) - hy - boxes[b + 4]!,
          z = Math.abs(az - boxes[b + 2]!) - hz - boxes[b + 5]!;
        // v + |v| is twice the positive part.
        const px = x + Math.abs(x),
          py = y + Math.abs(y),
          pz = z + Math.abs(z);
        const square = 0.25 * (px * px + py * py + pz * pz);
        bounds[k] = square;
        if (square < least) {
          least = square;
          index = k;
        }
      }
    }
    return index;
  }

  pairDistance(pair: number, out: Distance): number {
    const i = this.pairs[2 * pair]!,
      j = this.pairs[2 * pair + 1]!;
    const { bodies, poses } = this;
    placedDistance(bodies[i]!, poses, 12 * i, bodies[j]!, poses, 12 * j, Number.POSITIVE_INFINITY, out);
    return out[0]!;
  }

  private look(i: number, k: number, limit: number, out: Distance): void {
    const j = this.second[k]!;
    this.looks++;
    placedDistance(this.bodies[i]!, this.poses, 12 * i, this.bodies[j]!, this.poses, 12 * j, limit, out);
  }
}

/** Box along the common axes around a placed body with its radius; a little wider than it by rounding. */
export function fitBox(body: Body, p: Float64Array, ip: number, boxes: Float64Array, at: number): void {
  const { kind, radius, cx, cy, cz, ex, ey, ez } = body;
  for (let r = 0; r < 3; r++) {
    const x = p[ip + 4 * r]!,
      y = p[ip + 4 * r + 1]!,
      z = p[ip + 4 * r + 2]!;
    const middle = x * cx + y * cy + z * cz + p[ip + 4 * r + 3]!;
    const across =
      kind === CYLINDER ? body.hx * Math.sqrt(x * x + y * y) : kind < BOX ? 0 : Math.abs(x) * ex + Math.abs(y) * ey;
    boxes[at + r] = middle;
    boxes[at + 3 + r] = (across + Math.abs(z) * ez + radius) * (1 + 1e-15) + Math.abs(middle) * 1e-15;
  }
}
