/**
 * What in the geometry of six turning axes allows a closed form: three consecutive axes through one point, three
 * consecutive parallel axes, and intersecting or parallel pairs. Only distances and angles of the axes are looked at.
 */
import { cross, dot, minus } from "../../math/vectors.ts";
import type { Axes, Reading } from "./axes.ts";

/** Departure (m or rad) up to which a structure counts as exact: the poses it costs are well inside 1e-9. */
export const EXACT_STRUCTURE = 1e-11;

export interface Triple {
  readonly kind: "meeting" | "parallel";
  /** First of the three joints, 0 to 3. */
  readonly first: number;
  /** Largest distance (m) of an axis from the common point, or angle (rad) between two axes. */
  readonly departure: number;
  /** Common point of meeting axes, m. */
  readonly point: readonly [number, number, number];
}

const at = (v: Float64Array, i: number): [number, number, number] => [v[3 * i]!, v[3 * i + 1]!, v[3 * i + 2]!];
type Vector = readonly [number, number, number];
const length = (a: Vector) => Math.hypot(a[0], a[1], a[2]);

/** Sine of the angle between axes i and j. */
export function skewOf(axes: Axes, i: number, j: number): number {
  return length(cross(at(axes.h, i), at(axes.h, j)));
}

/** Shortest distance between axes i and j, m. */
export function distanceOf(axes: Axes, i: number, j: number): number {
  const n = cross(at(axes.h, i), at(axes.h, j));
  const d = minus(at(axes.p, j), at(axes.p, i));
  const s = length(n);
  if (s > 1e-9) return Math.abs(dot(n, d)) / s;
  return length(cross(at(axes.h, i), d));
}

/** Point of axis i nearest to axis j (any point of i for parallel axes). */
export function footOn(axes: Axes, i: number, j: number): [number, number, number] {
  const a = at(axes.h, i),
    b = at(axes.h, j);
  const d = minus(at(axes.p, i), at(axes.p, j));
  const c = dot(a, b);
  const s2 = dot(cross(a, b), cross(a, b));
  const t = s2 > 1e-18 ? (c * dot(b, d) - dot(a, d)) / s2 : 0;
  const p = at(axes.p, i);
  return [p[0] + t * a[0], p[1] + t * a[1], p[2] + t * a[2]];
}

/** Least angle (as a sine) at which neighbouring axes of a triple still count as different directions. */
const DIFFERENT = 0.02;

/** Every triple of consecutive axes with a departure up to `tolerance`, nearest first. */
export function findTriples(axes: Axes, tolerance: number): Triple[] {
  const found: Triple[] = [];
  for (let first = 0; first < 4; first++) {
    const turning = skewOf(axes, first, first + 1) > DIFFERENT && skewOf(axes, first + 1, first + 2) > DIFFERENT;
    if (turning) {
      const point = meetingPoint(axes, first);
      let departure = 0;
      for (let i = first; i < first + 3; i++) {
        departure = Math.max(departure, length(cross(at(axes.h, i), minus(point, at(axes.p, i)))));
      }
      if (departure <= tolerance) found.push({ kind: "meeting", first, departure, point });
    }
    const departure = Math.max(
      skewOf(axes, first, first + 1),
      skewOf(axes, first + 1, first + 2),
      skewOf(axes, first, first + 2),
    );
    if (departure <= tolerance && parallelUsable(axes, first)) {
      found.push({ kind: "parallel", first, departure, point: [0, 0, 0] });
    }
  }
  return found.sort((a, b) => a.departure - b.departure);
}

/** Three parallel axes decompose when the two links between them have a length. */
function parallelUsable(axes: Axes, first: number): boolean {
  return distanceOf(axes, first, first + 1) > 1e-6 && distanceOf(axes, first + 1, first + 2) > 1e-6;
}

/** Point with the least sum of squared distances from three axes: Σ(I - hhᵀ)x = Σ(I - hhᵀ)p. */
function meetingPoint(axes: Axes, first: number): [number, number, number] {
  const m = new Float64Array(9);
  const b: [number, number, number] = [0, 0, 0];
  const origin = at(axes.p, first + 1);
  for (let i = first; i < first + 3; i++) {
    const h = at(axes.h, i);
    const p = minus(at(axes.p, i), origin);
    const along = dot(h, p);
    for (let r = 0; r < 3; r++) {
      for (let c = 0; c < 3; c++) m[3 * r + c]! += (r === c ? 1 : 0) - h[r]! * h[c]!;
      b[r]! += p[r]! - along * h[r]!;
    }
  }
  const r0: Vector = [m[0]!, m[1]!, m[2]!],
    r1: Vector = [m[3]!, m[4]!, m[5]!],
    r2: Vector = [m[6]!, m[7]!, m[8]!];
  const c12 = cross(r1, r2),
    c20 = cross(r2, r0),
    c01 = cross(r0, r1);
  const det = dot(r0, c12);
  const x: [number, number, number] = [0, 0, 0];
  for (let k = 0; k < 3; k++) x[k] = (b[0] * c12[k]! + b[1] * c20[k]! + b[2] * c01[k]!) / det + origin[k]!;
  return x;
}

/** How to read the product so that meeting axes come last (places 4 5 6), or parallel axes at places 2 3 4. */
export function readingFor(triple: Triple): Reading {
  if (triple.kind === "meeting") {
    const readings = [
      { shift: 0, reversed: true },
      { shift: 4, reversed: false },
      { shift: 5, reversed: false },
      { shift: 0, reversed: false },
    ];
    return readings[triple.first]!;
  }
  const readings = [
    { shift: 5, reversed: false },
    { shift: 0, reversed: false },
    { shift: 0, reversed: true },
    { shift: 2, reversed: false },
  ];
  return readings[triple.first]!;
}

/**
 * The axes with points moved along them to where the solver wants them, and made exactly to the structure: the common
 * point on meeting axes, the mean direction on parallel axes, and the intersection of the pair at places 5 6.
 */
export function idealAxes(axes: Axes, triple: Triple, joint: ArrayLike<number>): { h: Float64Array; p: Float64Array } {
  const h = Float64Array.from(axes.h);
  const p = Float64Array.from(axes.p);
  const { first } = triple;
  if (triple.kind === "meeting") {
    for (let i = first; i < first + 3; i++) p.set(triple.point, 3 * i);
  } else {
    const mean: [number, number, number] = [0, 0, 0];
    const lead = at(h, first);
    const sides: number[] = [];
    for (let i = first; i < first + 3; i++) {
      const side = dot(at(h, i), lead) >= 0 ? 1 : -1;
      sides.push(side);
      for (let r = 0; r < 3; r++) mean[r]! += side * h[3 * i + r]!;
    }
    const l = length(mean);
    for (let i = 0; i < 3; i++) for (let r = 0; r < 3; r++) h[3 * (first + i) + r] = (sides[i]! * mean[r]!) / l;
    const fifth = joint[4]!,
      sixth = joint[5]!;
    if (skewOf(axes, fifth, sixth) > 1e-6) {
      const a = footOn(axes, fifth, sixth),
        b = footOn(axes, sixth, fifth);
      p.set(a, 3 * fifth);
      p.set(length(minus(a, b)) <= EXACT_STRUCTURE ? a : b, 3 * sixth);
    }
  }
  return { h, p };
}

/** "axes 1 2 parallel, axes 2 3 intersect" for the neighbouring pairs of a list of joints (0-based). */
export function pairsOf(axes: Axes, pairs: readonly (readonly [number, number])[], tolerance: number): string[] {
  const words: string[] = [];
  for (const [i, j] of pairs) {
    if (skewOf(axes, i, j) <= tolerance) words.push(`axes ${i + 1} ${j + 1} parallel`);
    else if (distanceOf(axes, i, j) <= tolerance) words.push(`axes ${i + 1} ${j + 1} intersect`);
  }
  return words;
}
