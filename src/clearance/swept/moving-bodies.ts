/**
 * The bodies of a swept scene in the middle of an interval, with bounds of how far each can move within it.
 *
 * Every body has a run of freedoms, base first: the joints that move it, or the shift and the turn of its slide. A freedom is
 * a line (direction and a point, base axes, at the middle) and how far it may go. Two bounds follow, both for every
 * combination of the freedoms:
 *
 * - the way of any point of the core (arm/travel; the radius around it adds nothing to what a distance can lose): the sum of
 *   chord · distance from the axis;
 * - the reach of the body against a direction n. A turn R by δ about the axis z through o takes a point p that the freedoms
 *   further out have moved by e to R(p + e). Along n that is n·p + n·e + n·(R p - p) + (Rᵀn - n)·e, where
 *   R p - p = sin δ · z×r + (1 - cos δ) · z×(z×r) with r = p - o: at least n·p + n·e less
 *   |sin δ|·|(n×z)·r| + |n×z|·((1 - cos δ)·|z×r| + chord·|e|).
 *   The first part is taken at each corner of the body (n·p less it is concave in p, so it is least at a corner), the rest
 *   is a constant. A body that slides along a face or turns near the normal thus loses next to nothing.
 */
import { jointFrames } from "../../arm/forward.ts";
import type { Arm } from "../../arm/model.ts";
import { chordOf, farthestFromLine, jointsMoving, placeExtent } from "../../arm/travel.ts";
import { type Body, CYLINDER, MESH } from "../body.ts";
import { fitBox } from "../body-set.ts";
import { multiply } from "../frames.ts";
import { support } from "../support.ts";
import { coreExtent, isExact } from "./extent.ts";
import { poseOnSlide, type SlidePath } from "./slide-path.ts";
import type { SweptBody } from "./types.ts";

/** Numbers per box. */
export const BOX_STRIDE = 6;

const tip = new Float64Array(3);
const kernel = new Float64Array(12);
const few = new Float64Array(24);

export class MovingBodies {
  readonly bodies: readonly Body[];
  /** Freedoms of each body: first and end index. Joints are 0 to n - 1; slide k is n + 2k (shift) and n + 2k + 1 (turn). */
  readonly first: Int32Array;
  readonly end: Int32Array;
  readonly poses: Float64Array;
  /** Boxes along the base axes, middle and half extents. */
  readonly boxes: Float64Array;
  /** Bound of the way of any point of each body's core, relative to the base, m. */
  readonly ways: Float64Array;
  private readonly arm: Arm;
  private readonly slides: readonly SlidePath[];
  private readonly frame: Int32Array;
  private readonly slide: Int32Array;
  private readonly local: Float64Array;
  private readonly exact: Uint8Array;
  /** Corners of the bodies, in their frames and placed: where each begins and ends, their radii. */
  private readonly points: readonly Float64Array[];
  private readonly pointAt: Int32Array;
  private readonly placed: Float64Array;
  private readonly radius: Float64Array;
  /** Distances of each body from the axes of its freedoms, `perBody` apart. */
  private readonly reaches: Float64Array;
  private readonly perBody: number;
  /** The joint frames and the slides' owners at the middle. */
  private readonly frames: Float64Array;
  private readonly owners: Float64Array;
  /** Freedoms: 1 where it shifts; line; chord, sine and 1 - cosine of how far it may go (for a shift the way itself, m). */
  private readonly shifts: Uint8Array;
  private readonly lines: Float64Array;
  private readonly chord: Float64Array;
  private readonly sine: Float64Array;
  private readonly versine: Float64Array;
  /** Which call of `begin` each body was placed in; never again for those that cannot move. */
  private readonly placedIn: Float64Array;
  private turn = 0;
  /** Sum of |n×z| · sine of the last `turnTowards`. */
  private turned = 0;
  private rest = 0;
  private aimFrom = 0;
  private aimX = 0;
  private aimY = 0;
  private aimZ = 0;
  /** Scratch of `leastAlong`, per freedom: (n×z)·sine (3) and its product with the axis' point. */
  private readonly gradient: Float64Array;

  constructor(arm: Arm, swept: readonly SweptBody[], slides: readonly SlidePath[]) {
    const { n } = arm;
    const count = swept.length;
    this.arm = arm;
    this.slides = slides;
    this.bodies = swept.map(({ body }) => body);
    this.frame = Int32Array.from(swept, ({ frame }) => frame);
    this.slide = Int32Array.from(swept, ({ slide }) => slide ?? -1);
    const extents = this.bodies.map(coreExtent);
    this.points = extents.map(({ points }) => points);
    this.perBody = Math.max(n, 2);
    const freedoms = n + 2 * slides.length;
    const corners = this.points.reduce((sum, points) => sum + points.length, 0);
    // One block of memory each: a scene of a few bodies is made often.
    const whole = new Int32Array(5 * count + 1),
      real = new Float64Array(
        (12 + 12 + BOX_STRIDE + 3 + this.perBody) * count + corners + 12 * (n + 1 + slides.length) + 13 * freedoms,
      );
    let nextWhole = 0,
      nextReal = 0;
    const wholes = (length: number) => {
      nextWhole += length;
      return whole.subarray(nextWhole - length, nextWhole);
    };
    const reals = (length: number) => {
      nextReal += length;
      return real.subarray(nextReal - length, nextReal);
    };
    this.first = wholes(count);
    this.end = wholes(count);
    this.frame = wholes(count);
    this.slide = wholes(count);
    this.pointAt = wholes(count + 1);
    this.exact = new Uint8Array(count);
    this.local = reals(12 * count);
    this.poses = reals(12 * count);
    this.boxes = reals(BOX_STRIDE * count);
    this.ways = reals(count);
    this.radius = reals(count);
    this.placedIn = reals(count);
    this.reaches = reals(this.perBody * count);
    this.placed = reals(corners);
    this.frames = reals(12 * (n + 1));
    this.owners = reals(12 * slides.length);
    this.lines = reals(6 * freedoms);
    this.chord = reals(freedoms);
    this.sine = reals(freedoms);
    this.versine = reals(freedoms);
    this.gradient = reals(4 * freedoms);
    this.shifts = new Uint8Array(freedoms);
    this.shifts.set(arm.prismatic);
    for (let k = 0; k < slides.length; k++) this.shifts[n + 2 * k] = 1;
    for (const [i, { body, frame, frameFromBody, slide }] of swept.entries()) {
      this.frame[i] = frame;
      this.slide[i] = slide ?? -1;
      this.first[i] = slide === undefined ? 0 : n + 2 * slide;
      this.end[i] = slide === undefined ? jointsMoving(arm, frame) : n + 2 * slide + 2;
      this.exact[i] = isExact(body) ? 1 : 0;
      this.radius[i] = extents[i]!.radius;
      this.pointAt[i + 1] = this.pointAt[i]! + this.points[i]!.length;
      this.placedIn[i] = -1;
      if (frame < 0 || frame >= n) for (let k = 0; k < 12; k++) this.local[12 * i + k] = frameFromBody[k]!;
      else multiply(kernelFromDescribed(arm, frame), 0, frameFromBody, 0, this.local, 12 * i);
    }
    for (let i = 0; i < count; i++) {
      if (this.end[i]! > this.first[i]!) continue;
      this.poses.set(this.local.subarray(12 * i, 12 * i + 12), 12 * i);
      this.settle(i);
      this.placedIn[i] = Number.POSITIVE_INFINITY;
    }
  }

  /** A new middle: what `placeArm`, `placeSlide` and `place` tell from now on belongs to it. */
  begin(): void {
    this.turn++;
  }

  /** Joint values at the middle and how far each may be from them (rad or m). */
  placeArm(q: Float64Array, spread: Float64Array): void {
    const { arm, frames, lines } = this;
    jointFrames(arm, q, frames);
    for (let j = 0, f = 0, at = 0; j < arm.n; j++, f += 12, at += 6) {
      lines[at] = frames[f + 2]!;
      lines[at + 1] = frames[f + 6]!;
      lines[at + 2] = frames[f + 10]!;
      lines[at + 3] = frames[f + 3]!;
      lines[at + 4] = frames[f + 7]!;
      lines[at + 5] = frames[f + 11]!;
      this.allow(j, spread[j]!);
    }
  }

  /** Share of a slide at the middle and how far it may be from it. */
  placeSlide(k: number, share: number, spread: number): void {
    const path = this.slides[k]!,
      { owners, lines } = this,
      at = 12 * k,
      shift = this.arm.n + 2 * k;
    poseOnSlide(path, share, owners, at);
    const a = 6 * shift,
      b = a + 6;
    for (let i = 0; i < 3; i++) {
      lines[a + i] = path.direction[i]!;
      lines[b + i] = path.axis[i]!;
      lines[a + 3 + i] = lines[b + 3 + i] = owners[at + 4 * i + 3]!;
    }
    this.allow(shift, spread * path.length);
    this.allow(shift + 1, spread * path.angle);
  }

  private allow(freedom: number, spread: number): void {
    if (this.shifts[freedom] === 1) {
      this.chord[freedom] = spread;
      return;
    }
    this.chord[freedom] = chordOf(spread);
    this.sine[freedom] = spread < Math.PI / 2 ? Math.sin(spread) : 1;
    // 1 - cos δ = chord² / 2.
    this.versine[freedom] = this.chord[freedom]! ** 2 / 2;
  }

  /** Places a body at the middle, if it is not yet. */
  place(i: number): void {
    if (this.placedIn[i]! >= this.turn) return;
    this.placedIn[i] = this.turn;
    const slide = this.slide[i]!;
    if (slide < 0) multiply(this.frames, 12 * this.frame[i]!, this.local, 12 * i, this.poses, 12 * i);
    else multiply(this.owners, 12 * slide, this.local, 12 * i, this.poses, 12 * i);
    this.settle(i);
    const { lines, placed, reaches, shifts } = this;
    const from = this.pointAt[i]!,
      to = this.pointAt[i + 1]!,
      radius = this.radius[i]!;
    const first = this.first[i]!,
      end = this.end[i]!,
      base = this.perBody * i - first;
    for (let j = first, at = 6 * first; j < end; j++, at += 6)
      if (shifts[j] === 0)
        reaches[base + j] = farthestFromLine(
          placed,
          from,
          to,
          radius,
          lines[at]!,
          lines[at + 1]!,
          lines[at + 2]!,
          lines[at + 3]!,
          lines[at + 4]!,
          lines[at + 5]!,
        );
    this.ways[i] = this.wayFrom(i, first);
  }

  private settle(i: number): void {
    fitBox(this.bodies[i]!, this.poses, 12 * i, this.boxes, BOX_STRIDE * i);
    placeExtent(this.points[i]!, this.poses, 12 * i, this.placed, this.pointAt[i]!);
  }

  /** Bound of the way of any point of a body's core, m, relative to what carries its freedom `from`. */
  wayFrom(i: number, from: number): number {
    const { chord, shifts, reaches } = this;
    const base = this.perBody * i - this.first[i]!;
    let way = 0;
    for (let j = this.end[i]! - 1; j >= from; j--) way += shifts[j] === 1 ? chord[j]! : chord[j]! * reaches[base + j]!;
    return way;
  }

  /**
   * Lower bound of n·p over all points p of a convex body and all states within the interval, relative to what carries its
   * freedom `from`; n is a unit vector.
   */
  leastAlong(i: number, from: number, nx: number, ny: number, nz: number): number {
    const body = this.bodies[i]!,
      exact = this.exact[i] === 1,
      radius = this.radius[i]!;
    const rest = this.turnTowards(i, from, nx, ny, nz);
    const least =
      this.leastCorner(i, from, this.placed, this.pointAt[i]!, this.pointAt[i + 1]!, exact, nx, ny, nz) - rest;
    const p = this.poses,
      at = 12 * i;
    if (body.kind === CYLINDER) {
      const along = nx * p[at + 2]! + ny * p[at + 6]! + nz * p[at + 10]!;
      return least - radius * (this.turned + Math.sqrt(Math.max(0, 1 - along * along)));
    }
    if (exact) return least - body.radius;
    const lx = nx * p[at]! + ny * p[at + 4]! + nz * p[at + 8]!,
      ly = nx * p[at + 1]! + ny * p[at + 5]! + nz * p[at + 9]!,
      lz = nx * p[at + 2]! + ny * p[at + 6]! + nz * p[at + 10]!;
    support(body, -lx, -ly, -lz, tip, 0);
    const origin = nx * p[at + 3]! + ny * p[at + 7]! + nz * p[at + 11]!;
    return origin + lx * tip[0]! + ly * tip[1]! + lz * tip[2]! + least - body.radius;
  }

  /** Chooses body and direction for `leastOf`; anything else asked along a direction in between undoes it. */
  aim(i: number, from: number, nx: number, ny: number, nz: number): void {
    this.rest = this.turnTowards(i, from, nx, ny, nz);
    this.aimFrom = from;
    this.aimX = nx;
    this.aimY = ny;
    this.aimZ = nz;
  }

  /** The same bound as `leastAlong` over a few points (at most 8) of the frame of body `i`, which `aim` was told. */
  leastOf(points: Float64Array, i: number): number {
    placeExtent(points, this.poses, 12 * i, few, 0);
    return this.leastCorner(i, this.aimFrom, few, 0, points.length, true, this.aimX, this.aimY, this.aimZ) - this.rest;
  }

  /**
   * Writes what each freedom does to the reach along n to `gradient` and how much they turn n in all to `turned`.
   * @returns the part that does not depend on the point
   */
  private turnTowards(i: number, from: number, nx: number, ny: number, nz: number): number {
    const { chord, sine, versine, shifts, reaches, lines, gradient } = this;
    const base = this.perBody * i - this.first[i]!;
    let way = 0,
      rest = 0,
      turned = 0;
    for (let j = this.end[i]! - 1; j >= from; j--) {
      const at = 6 * j,
        zx = lines[at]!,
        zy = lines[at + 1]!,
        zz = lines[at + 2]!,
        c = chord[j]!;
      if (shifts[j] === 1) {
        rest += c * Math.abs(nx * zx + ny * zy + nz * zz);
        way += c;
        continue;
      }
      const gx = ny * zz - nz * zy,
        gy = nz * zx - nx * zz,
        gz = nx * zy - ny * zx;
      const size = Math.sqrt(gx * gx + gy * gy + gz * gz),
        s = sine[j]!,
        reach = reaches[base + j]!;
      rest += size * (c * way + versine[j]! * reach);
      turned += s * size;
      way += c * reach;
      const g = 4 * j;
      gradient[g] = s * gx;
      gradient[g + 1] = s * gy;
      gradient[g + 2] = s * gz;
      gradient[g + 3] = s * (gx * lines[at + 3]! + gy * lines[at + 4]! + gz * lines[at + 5]!);
    }
    this.turned = turned;
    return rest;
  }

  /** Least over the points of n·p (left out unless `withReach`) less what the turns may take from it to first order. */
  private leastCorner(
    i: number,
    from: number,
    points: Float64Array,
    begin: number,
    last: number,
    withReach: boolean,
    nx: number,
    ny: number,
    nz: number,
  ): number {
    const { shifts, gradient } = this;
    const end = this.end[i]!;
    let least = Number.POSITIVE_INFINITY;
    for (let k = begin; k < last; k += 3) {
      const x = points[k]!,
        y = points[k + 1]!,
        z = points[k + 2]!;
      let value = withReach ? nx * x + ny * y + nz * z : 0;
      for (let j = from; j < end; j++) {
        if (shifts[j] === 1) continue;
        const g = 4 * j;
        value -= Math.abs(gradient[g]! * x + gradient[g + 1]! * y + gradient[g + 2]! * z - gradient[g + 3]!);
      }
      if (value < least) least = value;
    }
    return least;
  }

  isMesh(i: number): boolean {
    return this.bodies[i]!.kind === MESH;
  }
}

/** Link data are stated in the description's frames; the kernel's differ by the turn that puts the axis on z. */
function kernelFromDescribed(arm: Arm, frame: number): Float64Array {
  const t = arm.describedFromKernel,
    at = 9 * frame;
  for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) kernel[4 * r + c] = t[at + 3 * c + r]!;
  return kernel;
}
