/**
 * Joint values along a tool curve. From known joint values at the start the joints are followed continuously (so a joint
 * may pass ±180° and keeps its turn): predicted from the derivatives, corrected by Newton's method until the pose is met to
 * rounding, and differentiated exactly,
 *
 *   J q' = x',   J q'' = x'' − (J' q'),   J q''' = x''' − (J'' q' + 2 J' q''),
 *
 * the brackets being what the tool does when the unknown derivative is zero. Between two such knots the joints are the
 * degree-7 polynomial with these values; its middle is compared with the tool curve, and the step is halved until they
 * agree to POSITION_TOLERANCE and ANGLE_TOLERANCE, doubled again where the curve is easy.
 *
 * Fewer than six joints: least squares, and the residual must vanish, i.e. the arm must be able to hold the pose. Seven
 * joints: the motion is kept orthogonal to a fixed direction in joint space (see `redundancy`), so that the seventh
 * equation is linear and the derivatives stay exact.
 */
import type { Arm } from "../../arm/model.ts";
import { SepticCurve } from "./joint-curve.ts";
import { SEPTIC_SIZE, septic, septicValue } from "./septic.ts";
import { createSmallSolver } from "./small-solve.ts";
import type { ToolCurve } from "./tool-curve.ts";
import type { ToolRates } from "./tool-rates.ts";
import { createToolPoint } from "./tool-rates.ts";

/** Largest distance (m) of the followed joints' tool from the tool curve between knots. */
const POSITION_TOLERANCE = 2e-10;
/** Largest angle (rad) between them. */
const ANGLE_TOLERANCE = 5e-10;
/** Largest error (rad or m) of a joint between knots: what the tool's error means to the joints, more near a singularity. */
const JOINT_TOLERANCE = 1e-9;
/** A Jacobian whose smallest pivot is this small a share of the largest is singular. */
const SINGULAR_PIVOT = 1e-9;
/** Newton's method hands over to one last correction with the Jacobian at hand below this error (m, rad). */
const NEARLY_THERE = 1e-9;
const MAX_ITERATIONS = 12;
/** More knots than this are only needed where the path runs along a singularity. */
const MAX_KNOTS = 4000;
/** Residual (m, rad) up to which an arm of fewer than six joints counts as holding the pose. */
const HELD = 1e-8;

export type FollowStop =
  /** Newton's method finds no joint values near: the branch ends, or the pose is out of reach. */
  | "lost"
  /** The Jacobian loses its rank, or passes a singularity (its determinant changes sign). */
  | "singular"
  /** A joint turns faster per path length than `fastest` allows. */
  | "fast"
  /** Fewer than six joints: the position can be kept, the orientation cannot. */
  | "orientation";

export interface Followed {
  /** Up to `reached`; undefined when not even the first step could be made. */
  readonly curve: SepticCurve | undefined;
  /** Joint values at `reached`. */
  readonly end: Float64Array;
  /** Parameter up to which the joints follow the curve: its length when `stop` is undefined. */
  readonly reached: number;
  readonly stop: FollowStop | undefined;
  /** For "fast": the joint and its |dq/ds| there. */
  readonly joint: number;
  readonly rate: number;
}

export interface FollowOptions {
  /** Largest step of the first attempt, in s. */
  readonly step: number;
  /** Largest |dq/ds| per joint. */
  readonly fastest: Float64Array;
  /** Seven joints only: direction in joint space along which the joints do not move; see `redundancy`. */
  readonly hold?: Float64Array;
}

export interface Follower {
  /** @param start joint values whose tool pose is the start of the curve (within about 1e-3; polished) */
  follow(curve: ToolCurve, start: Float64Array, options: FollowOptions): Followed;
  /** Unit direction in joint space in which the joints of a seven-joint arm can move while the tool stands still. */
  redundancy(q: Float64Array, out: Float64Array): boolean;
}

export function createFollower(arm: Arm, tool: ToolRates): Follower {
  const { n } = arm;
  const rows = Math.max(6, n);
  const solver = createSmallSolver(n);
  const jacobian = new Float64Array(6 * n);
  const target = createToolPoint();
  const actual = createToolPoint();
  const none = new Float64Array(n);
  const error = new Float64Array(rows);
  const step = new Float64Array(n);
  const short = new Float64Array(n);
  const middle = new Float64Array(n);
  const [qa, qa1, qa2, qa3, qb, qb1, qb2, qb3] = Array.from({ length: 8 }, () => new Float64Array(n));
  const piece = new Float64Array(SEPTIC_SIZE * n);
  let hold: Float64Array | undefined;
  /** Signed pivot ratio of the last factorisation. */
  let pivot = 0;

  const factor = (): boolean => {
    tool.jacobian(jacobian);
    const m = solver.matrix;
    if (n >= 6) {
      m.set(jacobian);
      if (n === 7) for (let j = 0; j < 7; j++) m[42 + j] = hold === undefined ? 0 : hold[j];
    } else {
      for (let i = 0; i < n; i++)
        for (let j = 0; j < n; j++) {
          let sum = 0;
          for (let k = 0; k < 6; k++) sum += jacobian[k * n + i] * jacobian[k * n + j];
          m[i * n + j] = sum;
        }
    }
    pivot = solver.factor();
    return Math.abs(pivot) > (n >= 6 ? SINGULAR_PIVOT : SINGULAR_PIVOT * SINGULAR_PIVOT);
  };

  /** Least-squares or exact solution of J x = b with the last factorisation; b has max(6, n) entries. */
  const apply = (b: Float64Array, x: Float64Array): void => {
    if (n >= 6) {
      solver.solve(b, x);
      return;
    }
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let k = 0; k < 6; k++) sum += jacobian[k * n + i] * b[k];
      short[i] = sum;
    }
    solver.solve(short, x);
  };

  /** Difference of the target from the tool at `q`: error[0..2] m, error[3..5] rad. @returns its largest entry */
  const compare = (q: Float64Array): number => {
    tool.place(q, actual);
    const r = actual.r;
    const t = target.r;
    for (let k = 0; k < 3; k++) error[k] = target.p[k] - actual.p[k];
    let x = 0;
    let y = 0;
    let z = 0;
    for (let k = 0; k < 3; k++) {
      x += r[3 + k] * t[6 + k] - r[6 + k] * t[3 + k];
      y += r[6 + k] * t[k] - r[k] * t[6 + k];
      z += r[k] * t[3 + k] - r[3 + k] * t[k];
    }
    error[3] = x / 2;
    error[4] = y / 2;
    error[5] = z / 2;
    if (n === 7) error[6] = 0;
    let most = 0;
    for (let k = 0; k < 6; k++) most = Math.max(most, Math.abs(error[k]));
    // A turn near 180° has a small sine: the trace tells.
    return r[0] * t[0] +
      r[1] * t[1] +
      r[2] * t[2] +
      r[3] * t[3] +
      r[4] * t[4] +
      r[5] * t[5] +
      r[6] * t[6] +
      r[7] * t[7] +
      r[8] * t[8] >
      1
      ? most
      : Math.max(most, 1);
  };

  /** Corrects q to the target and leaves the factorised Jacobian there. @returns why it failed, or undefined */
  const correct = (q: Float64Array): FollowStop | undefined => {
    let before = Number.POSITIVE_INFINITY;
    for (let iteration = 0; iteration < MAX_ITERATIONS; iteration++) {
      const most = compare(q);
      if (!(most < 1)) return "lost";
      if (!factor()) return "singular";
      apply(error, step);
      let size = 0;
      for (let i = 0; i < n; i++) size = Math.max(size, Math.abs(step[i]));
      if (!(size < 0.7)) return "lost";
      for (let i = 0; i < n; i++) q[i] += step[i];
      if (most < NEARLY_THERE) return undefined;
      if (n < 6 && size < 1e-11) {
        if (most < HELD) return undefined;
        return Math.max(Math.abs(error[0]), Math.abs(error[1]), Math.abs(error[2])) < HELD ? "orientation" : "lost";
      }
      if (iteration > 3 && most > 0.5 * before) return "lost";
      before = most;
    }
    return "lost";
  };

  /** Derivatives at q, which `correct` has just met. */
  const differentiate = (q1: Float64Array, q2: Float64Array, q3: Float64Array): void => {
    load(target.p1, target.w);
    apply(error, q1);
    tool.rates(q1, none, none, actual);
    loadDifference(target.p2, actual.p2, target.w1, actual.w1);
    apply(error, q2);
    tool.rates(q1, q2, none, actual);
    loadDifference(target.p3, actual.p3, target.w2, actual.w2);
    apply(error, q3);
  };
  const load = (p: Float64Array, w: Float64Array): void => {
    for (let k = 0; k < 3; k++) {
      error[k] = p[k];
      error[3 + k] = w[k];
    }
    if (n === 7) error[6] = 0;
  };
  const loadDifference = (p: Float64Array, p0: Float64Array, w: Float64Array, w0: Float64Array): void => {
    for (let k = 0; k < 3; k++) {
      error[k] = p[k] - p0[k];
      error[3 + k] = w[k] - w0[k];
    }
    if (n === 7) error[6] = 0;
  };

  /** How far the polynomial's middle is from the curve, as a share of the tolerance; with the Jacobian of the end. */
  const middleError = (): number => {
    compare(middle);
    const p = Math.hypot(error[0], error[1], error[2]) / POSITION_TOLERANCE;
    const w = Math.hypot(error[3], error[4], error[5]) / ANGLE_TOLERANCE;
    apply(error, step);
    let joint = 0;
    for (let i = 0; i < n; i++) joint = Math.max(joint, Math.abs(step[i]));
    return Math.max(p, w, joint / JOINT_TOLERANCE);
  };

  const follow = (curve: ToolCurve, start: Float64Array, options: FollowOptions): Followed => {
    const { length } = curve;
    const { fastest } = options;
    hold = options.hold;
    const knots: number[] = [0];
    const pieces: number[] = [];
    let s = 0;
    let stop: FollowStop | undefined;
    let fastJoint = -1;
    let fastRate = 0;
    const tooFast = (q1: Float64Array): boolean => {
      for (let i = 0; i < n; i++)
        if (!(Math.abs(q1[i]) <= fastest[i])) {
          fastJoint = i;
          fastRate = Math.abs(q1[i]);
          return true;
        }
      return false;
    };
    const finish = (): Followed => ({
      curve: pieces.length > 0 ? new SepticCurve(n, Float64Array.from(knots), Float64Array.from(pieces)) : undefined,
      end: Float64Array.from(qa),
      reached: s,
      stop,
      joint: fastJoint,
      rate: fastRate,
    });

    qa.set(start);
    curve.evaluate(0, target);
    stop = correct(qa);
    if (stop !== undefined) return finish();
    differentiate(qa1, qa2, qa3);
    if (tooFast(qa1)) {
      stop = "fast";
      return finish();
    }
    const sign = n >= 6 ? Math.sign(pivot) : 1;
    let h = Math.min(length, options.step);
    const least = 1e-6 * Math.min(length, Math.max(options.step, 1e-3));
    while (s < length) {
      // A short remainder is taken in one step or split in two equal ones.
      const left = length - s;
      if (h >= left) h = left;
      else if (h > 0.5 * left) h = 0.5 * left;
      const next = h === left ? length : s + h;
      for (let i = 0; i < n; i++) qb[i] = qa[i] + h * (qa1[i] + h * (qa2[i] / 2 + (h * qa3[i]) / 6));
      curve.evaluate(next, target);
      let trouble = correct(qb);
      if (trouble === undefined && n >= 6 && Math.sign(pivot) !== sign) trouble = "singular";
      if (trouble === undefined) {
        differentiate(qb1, qb2, qb3);
        if (tooFast(qb1)) trouble = "fast";
      }
      let share = Number.POSITIVE_INFINITY;
      if (trouble === undefined) {
        septic(n, h, qa, qa1, qa2, qa3, qb, qb1, qb2, qb3, piece);
        septicValue(n, 0.5, piece, 0, middle);
        curve.evaluate(s + h / 2, target);
        share = middleError();
      }
      if (!(share <= 1)) {
        if (h <= least) {
          stop = trouble ?? "lost";
          return finish();
        }
        h /= 2;
        continue;
      }
      if (knots.length > MAX_KNOTS) {
        stop = "singular";
        return finish();
      }
      s = next;
      knots.push(s);
      for (let k = 0; k < piece.length; k++) pieces.push(piece[k]);
      qa.set(qb);
      qa1.set(qb1);
      qa2.set(qb2);
      qa3.set(qb3);
      if (share < 1 / 512) h *= 2;
    }
    return finish();
  };

  const redundancy = (q: Float64Array, out: Float64Array): boolean => {
    if (n !== 7) return false;
    tool.place(q, actual);
    tool.jacobian(jacobian);
    // Generalised cross product of the six rows: signed 6 x 6 minors.
    const minor = createSmallSolver(6);
    let norm = 0;
    for (let skip = 0; skip < 7; skip++) {
      for (let r = 0; r < 6; r++)
        for (let j = 0, k = 0; j < 7; j++) if (j !== skip) minor.matrix[6 * r + k++] = jacobian[7 * r + j];
      minor.factor();
      let determinant = 1;
      for (let k = 0; k < 6; k++) determinant *= Math.abs(minor.matrix[7 * k]);
      out[skip] = determinant;
      norm += determinant * determinant;
    }
    if (!(norm > 1e-18)) return false;
    // Signs: the direction is orthogonal to every row of the Jacobian; solve with the largest component fixed at one.
    let largest = 0;
    for (let j = 1; j < 7; j++) if (out[j] > out[largest]) largest = j;
    for (let r = 0; r < 6; r++) {
      for (let j = 0, k = 0; j < 7; j++) if (j !== largest) minor.matrix[6 * r + k++] = jacobian[7 * r + j];
      error[r] = -jacobian[7 * r + largest];
    }
    if (minor.factor() === 0) return false;
    const rest = error.slice(0, 6);
    minor.solve(rest, rest);
    let length = 1;
    for (let k = 0; k < 6; k++) length += rest[k] * rest[k];
    length = Math.sqrt(length);
    for (let j = 0, k = 0; j < 7; j++) out[j] = (j === largest ? 1 : rest[k++]) / length;
    return true;
  };

  return { follow, redundancy };
}
