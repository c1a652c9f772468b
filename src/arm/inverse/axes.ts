/**
 * The six axes of an arm as a product of exponentials (Brockett 1984): with the arm at joint values 0 every axis is a unit
 * direction h and a point p on it in base axes, and
 *
 *   exp(h1,p1;q1) · exp(h2,p2;q2) · … · exp(h6,p6;q6) = G,    G = baseFromFlange · homeFromFlange⁻¹
 *
 * The product may be read backwards (axes and signs reversed, G inverted), and it is a closed loop, so it may be begun at
 * any axis: E(k+1)…E6 · E1'…Ek' = G with the axes 1..k carried by G⁻¹. A family known at one place of the chain is thereby
 * solved at every place of it.
 */
import { invert34, multiply34 } from "../../math/pose.ts";
import type { Arm } from "../model.ts";

export interface Axes {
  /** Unit directions, 3 per axis. */
  readonly h: Float64Array;
  /** A point on each axis, 3 per axis, m. */
  readonly p: Float64Array;
}

export interface HomeAxes extends Axes {
  /** Inverse of baseFromFlange at joint values 0, row-major 3 x 4. */
  readonly flangeFromHome: Float64Array;
}

/** Axes of a turning-joint arm at joint values 0. */
export function homeAxes(arm: Arm): HomeAxes {
  const { n, fixed } = arm;
  const h = new Float64Array(3 * n);
  const p = new Float64Array(3 * n);
  const t = new Float64Array([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]);
  for (let i = 0; i <= n; i++) {
    multiply34(t, fixed.subarray(12 * i, 12 * i + 12), t);
    if (i === n) break;
    for (let r = 0; r < 3; r++) {
      h[3 * i + r] = t[4 * r + 2]!;
      p[3 * i + r] = t[4 * r + 3]!;
    }
    normalise(h, 3 * i);
  }
  return { h, p, flangeFromHome: invert34(t, new Float64Array(12)) };
}

/** Scales the 3-vector at `at` to unit length. */
export function normalise(v: Float64Array, at: number): void {
  const l = Math.hypot(v[at]!, v[at + 1]!, v[at + 2]!);
  v[at]! /= l;
  v[at + 1]! /= l;
  v[at + 2]! /= l;
}

/** The axes as they appear when the product is read from another joint and possibly backwards. */
export interface Reading {
  /** Joints carried by G⁻¹ to the end of the product: 0 reads it as it stands. */
  readonly shift: number;
  readonly reversed: boolean;
}

/**
 * A reading of the six axes prepared for a solver that wants them in its own order. The axes of a reading with a shift
 * depend on the pose; those without are fixed.
 */
export class AxisReading {
  readonly axes: { h: Float64Array; p: Float64Array };
  /** Joint at each place of the reading. */
  readonly joint = new Uint8Array(6);
  readonly target = new Float64Array(12);
  private readonly inverse = new Float64Array(12);

  constructor(
    private readonly home: Axes,
    readonly reading: Reading,
  ) {
    this.axes = { h: new Float64Array(18), p: new Float64Array(18) };
    const { shift, reversed } = reading;
    for (let i = 0; i < 6; i++) {
      const j = (i + shift) % 6;
      this.joint[i] = reversed ? 5 - j : j;
    }
    // Backwards: exp(h6;-q6)…exp(h1;-q1) = G⁻¹, and a turn by -q about h is a turn by q about -h.
    const sign = reversed ? -1 : 1;
    for (let i = 0; i < 6; i++) {
      for (let r = 0; r < 3; r++) {
        this.axes.h[3 * i + r] = sign * home.h[3 * this.joint[i]! + r]!;
        this.axes.p[3 * i + r] = home.p[3 * this.joint[i]! + r]!;
      }
    }
  }

  /** Takes the goal G; returns true when the axes changed with it. */
  aim(goal: Float64Array): boolean {
    const { shift, reversed } = this.reading;
    if (reversed) invert34(goal, this.target);
    else this.target.set(goal);
    if (shift === 0) return false;
    const inv = invert34(this.target, this.inverse);
    const sign = reversed ? -1 : 1;
    const { h, p } = this.home;
    for (let i = 6 - shift; i < 6; i++) {
      const j = 3 * this.joint[i]!;
      for (let r = 0; r < 3; r++) {
        const a = inv[4 * r]!,
          b = inv[4 * r + 1]!,
          c = inv[4 * r + 2]!;
        this.axes.h[3 * i + r] = sign * (a * h[j]! + b * h[j + 1]! + c * h[j + 2]!);
        this.axes.p[3 * i + r] = a * p[j]! + b * p[j + 1]! + c * p[j + 2]! + inv[4 * r + 3]!;
      }
    }
    return true;
  }
}
