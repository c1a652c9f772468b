/** Where the bodies of an arm get to during a stretch of a motion, as boxes, and which other bodies they may come near. */
import {
  type Arm,
  axisDistances,
  chordOf,
  jointFrames,
  jointsMoving,
  placeExtent,
  wayOfBody,
} from "../../arm/index.ts";
import type { SweptMotion } from "../../clearance/index.ts";
import { extentOf } from "../../clearance/swept/extent.ts";
import type { Element } from "./elements.ts";
import { armFrames } from "./settled-pairs.ts";

/** Stretches of time that are boxed one by one: about this long, s, and at most so many. */
const STRETCH = 0.05;
const MOST = 40;
/** Numbers per box: middle (3) and half extents (3). */
const BOX = 6;

/** Which of the arm's bodies come near something during a stretch of a motion. */
export interface Reach {
  /** Whether anything of the arm comes near a box: false is certain. */
  mayBeNear(box: Float64Array): boolean;
  /** Indices of the bodies whose boxes come within the margin of the other body's box at some time. */
  near(other: Element): readonly number[];
  /** Whether the boxes of two of them come so near. */
  nearEachOther(i: number, j: number): boolean;
}

/** What has been found about one stretch with the same bodies: lists by the number of the other body, yes and no by two indices. */
export interface KnownReach {
  /** Box around everything at all times, once it is known. */
  whole: Float64Array | undefined;
  readonly near: Map<number, readonly number[]>;
  readonly eachOther: Map<number, boolean>;
}

export interface Reaches {
  /**
   * @param moving bodies carried by the arm (or fixed to its base)
   * @param margin of all questions, m
   * @param known answers from before for the same motion, bodies and margin; new ones are added
   */
  of(motion: SweptMotion, moving: readonly Element[], margin: number, known: KnownReach): Reach;
}

export function createReaches(arm: Arm): Reaches {
  const { n } = arm;
  const placeFrames = armFrames(arm);
  const q = new Float64Array(n),
    spread = new Float64Array(n),
    ways = new Float64Array(n);
  const axes = new Float64Array(12 * (n + 1)),
    distances = new Float64Array(n);
  const pose = new Float64Array(12);

  const boxesOf = (motion: SweptMotion, moving: readonly Element[]) => {
    const parts = Math.max(1, Math.min(MOST, Math.ceil(motion.duration / STRETCH)));
    const boxes = new Float64Array(BOX * parts * moving.length);
    const extents = moving.map(({ body }) => extentOf(body));
    const placed = new Float64Array(Math.max(...extents.map(({ points }) => points.length), 0));
    for (let part = 0; part < parts; part++) {
      const from = (part * motion.duration) / parts,
        to = ((part + 1) * motion.duration) / parts;
      motion.position((from + to) / 2, q);
      motion.spread(from, to, spread);
      for (let j = 0; j < n; j++) ways[j] = arm.prismatic[j] === 1 ? spread[j]! : chordOf(spread[j]!);
      const frames = placeFrames(q);
      jointFrames(arm, q, axes);
      moving.forEach(({ frame, frameFromBody }, i) => {
        placeAt(frames, frame, frameFromBody, pose);
        const { points, radius } = extents[i]!;
        placeExtent(points, pose, 0, placed, 0);
        let way = 0;
        if (frame >= 0) {
          const joints = jointsMoving(arm, frame);
          axisDistances(arm, axes, placed, 0, points.length, radius, 0, joints, distances, 0);
          way = wayOfBody(ways, distances, 0, 0, joints);
        }
        boxAround(placed, points.length, radius + way, boxes, BOX * (part * moving.length + i));
      });
    }
    return { parts, boxes };
  };

  return {
    of(motion, moving, margin, known) {
      const { near, eachOther } = known;
      const count = moving.length;
      let made: ReturnType<typeof boxesOf> | undefined;
      const boxesNow = () => {
        made ??= boxesOf(motion, moving);
        return made;
      };
      const mayBeNear = (box: Float64Array): boolean => {
        known.whole ??= boxAroundBoxes(boxesNow().boxes);
        return gapBelow(known.whole, 0, box, 0, margin);
      };
      const nearTo = (box: Float64Array): readonly number[] => {
        const { parts, boxes } = boxesNow();
        const found: number[] = [];
        for (let i = 0; i < count; i++)
          for (let part = 0; part < parts; part++)
            if (gapBelow(boxes, BOX * (part * count + i), box, 0, margin)) {
              found.push(i);
              break;
            }
        return found;
      };
      const areNear = (i: number, j: number): boolean => {
        const { parts, boxes } = boxesNow();
        for (let part = 0; part < parts; part++)
          if (gapBelow(boxes, BOX * (part * count + i), boxes, BOX * (part * count + j), margin)) return true;
        return false;
      };
      return {
        mayBeNear,
        near(other) {
          const box = boxOf(other);
          if (!mayBeNear(box)) return NOBODY;
          let list = near.get(other.id);
          if (list === undefined) {
            list = nearTo(box);
            near.set(other.id, list);
          }
          return list;
        },
        nearEachOther(i, j) {
          const pair = i * count + j;
          let yes = eachOther.get(pair);
          if (yes === undefined) {
            yes = areNear(i, j);
            eachOther.set(pair, yes);
          }
          return yes;
        },
      };
    },
  };
}

const NOBODY: readonly number[] = [];

/** Box around boxes that stand one after the other. */
export function boxAroundBoxes(boxes: Float64Array): Float64Array {
  const out = new Float64Array(BOX);
  for (let r = 0; r < 3; r++) {
    let min = Number.POSITIVE_INFINITY,
      max = Number.NEGATIVE_INFINITY;
    for (let k = r; k < boxes.length; k += BOX) {
      min = Math.min(min, boxes[k]! - boxes[k + 3]!);
      max = Math.max(max, boxes[k]! + boxes[k + 3]!);
    }
    out[r] = (min + max) / 2;
    out[3 + r] = ((max - min) / 2) * (1 + 1e-12) + 1e-12;
  }
  return out;
}

const boxesKnown = new WeakMap<Element, Float64Array>();

/** Box, along the base axes, of a body that the arm does not carry, wherever on its slide it is. */
export function boxOf(element: Element): Float64Array {
  let box = boxesKnown.get(element);
  if (box === undefined) {
    box = new Float64Array(BOX);
    boxOfFixed(element, box);
    boxesKnown.set(element, box);
  }
  return box;
}

/** Base from body for a body in frame `frame` (-1: in base axes). */
function placeAt(frames: Float64Array, frame: number, frameFromBody: Float64Array, out: Float64Array): void {
  if (frame < 0) {
    for (let k = 0; k < 12; k++) out[k] = frameFromBody[k]!;
    return;
  }
  const f = 12 * frame;
  for (let r = 0; r < 3; r++) {
    const a = frames[f + 4 * r]!,
      b = frames[f + 4 * r + 1]!,
      c = frames[f + 4 * r + 2]!;
    for (let k = 0; k < 4; k++)
      out[4 * r + k] =
        a * frameFromBody[k]! +
        b * frameFromBody[4 + k]! +
        c * frameFromBody[8 + k]! +
        (k === 3 ? frames[f + 4 * r + 3]! : 0);
  }
}

/** Box around points with a radius; a hair wider, for rounding. */
function boxAround(points: Float64Array, end: number, radius: number, out: Float64Array, to: number): void {
  for (let r = 0; r < 3; r++) {
    let min = points[r]!,
      max = min;
    for (let k = r + 3; k < end; k += 3) {
      if (points[k]! < min) min = points[k]!;
      if (points[k]! > max) max = points[k]!;
    }
    out[to + r] = (min + max) / 2;
    out[to + 3 + r] = (max - min) / 2 + radius + 1e-9;
  }
}

function boxOfFixed({ body, frameFromBody, slide }: Element, out: Float64Array): void {
  const { points, radius } = extentOf(body);
  if (slide === undefined) {
    const placed = new Float64Array(points.length);
    placeExtent(points, frameFromBody, 0, placed, 0);
    boxAround(placed, placed.length, radius, out, 0);
    return;
  }
  const { baseFromOwnerStart: a, baseFromOwnerEnd: b } = slide;
  const inOwner = new Float64Array(points.length);
  placeExtent(points, frameFromBody, 0, inOwner, 0);
  const turned = [0, 1, 2, 4, 5, 6, 8, 9, 10].some((k) => Math.abs(a[k]! - b[k]!) > 1e-12);
  if (turned) {
    // The origin goes straight, and no point is farther from it than in the owner's frame.
    let most = 0;
    for (let k = 0; k < inOwner.length; k += 3)
      most = Math.max(most, Math.hypot(inOwner[k]!, inOwner[k + 1]!, inOwner[k + 2]!));
    const ends = Float64Array.of(a[3]!, a[7]!, a[11]!, b[3]!, b[7]!, b[11]!);
    boxAround(ends, 6, most + radius, out, 0);
    return;
  }
  const placed = new Float64Array(2 * points.length);
  placeExtent(inOwner, a, 0, placed, 0);
  placeExtent(inOwner, b, 0, placed, points.length);
  boxAround(placed, placed.length, radius, out, 0);
}

function gapBelow(a: Float64Array, i: number, b: Float64Array, j: number, margin: number): boolean {
  let square = 0;
  for (let r = 0; r < 3; r++) {
    const gap = Math.abs(a[i + r]! - b[j + r]!) - a[i + 3 + r]! - b[j + 3 + r]!;
    if (gap > 0) square += gap * gap;
  }
  return square < margin * margin || square === 0;
}
