/**
 * A rounded corner between two lines or arcs: position and orientation leave the first curve `reach` before the corner and
 * join the second `reach` after it, with value and three derivatives continuous at both ends.
 *
 * Position: degree-7 Hermite polynomial over a parameter length of 2·reach. Between two straight lines it is the curve
 * whose direction passes smoothly from one to the other, C + ∫((1−σ)·t_a + σ·t_b), σ the quintic step, and stays in the
 * triangle of the corner. Orientation: the same polynomial for the rotation vector measured from the corner's orientation;
 * both neighbours turn about a fixed axis, so each is a straight line in rotation vectors and nothing is approximated.
 */
import type { Pose } from "../../math/pose.ts";
import { SEPTIC_SIZE, septic, septicAt } from "./septic.ts";
import type { ToolCurve } from "./tool-curve.ts";
import { rotationOf } from "./tool-curve.ts";
import type { ToolPoint } from "./tool-rates.ts";
import { createToolPoint } from "./tool-rates.ts";

// Taylor coefficients in τ = θ² of sin θ/θ, (1 − cos θ)/θ² and (θ − sin θ)/θ³; twelve terms are exact to rounding up to θ = π.
const TERMS = 14;
const SINC = new Float64Array(TERMS);
const VERSINE = new Float64Array(TERMS);
const REST = new Float64Array(TERMS);
for (let k = 0, factorial = 1; k < TERMS; k++) {
  SINC[k] = 1 / factorial;
  VERSINE[k] = 1 / (factorial * (2 * k + 2));
  REST[k] = 1 / (factorial * (2 * k + 2) * (2 * k + 3));
  factorial *= -(2 * k + 2) * (2 * k + 3);
}

/** Value, first and second derivative of a series, written to `out`. */
function seriesAt(series: Float64Array, t: number, out: Float64Array): void {
  let f = 0;
  let f1 = 0;
  let f2 = 0;
  for (let k = TERMS - 1; k >= 0; k--) {
    f2 = f2 * t + 2 * f1;
    f1 = f1 * t + f;
    f = f * t + series[k];
  }
  out[0] = f;
  out[1] = f1;
  out[2] = f2;
}

/**
 * Rotation exp(w)·start and its angular velocity (base axes) with two derivatives, from the rotation vector w (rad) and
 * three derivatives. Accurate to rounding for |w| up to about π.
 */
export function turnByVector(
  w: Float64Array,
  w1: Float64Array,
  w2: Float64Array,
  w3: Float64Array,
  start: Float64Array,
  out: ToolPoint,
): void {
  const t = dot(w, w);
  const t1 = 2 * dot(w, w1);
  const t2 = 2 * (dot(w1, w1) + dot(w, w2));
  seriesAt(VERSINE, t, A);
  seriesAt(REST, t, B);
  seriesAt(SINC, t, S);
  const a = A[0];
  const a1 = A[1] * t1;
  const a2 = A[2] * t1 * t1 + A[1] * t2;
  const b = B[0];
  const b1 = B[1] * t1;
  const b2 = B[2] * t1 * t1 + B[1] * t2;
  // c = w × w', d = w × c, and their derivatives.
  cross(w, w1, c);
  cross(w, w2, c1);
  cross(w1, w2, c2);
  addCross(w, w3, 1, c2);
  cross(w, c, d);
  cross(w1, c, d1);
  addCross(w, c1, 1, d1);
  cross(w2, c, d2);
  addCross(w1, c1, 2, d2);
  addCross(w, c2, 1, d2);
  for (let k = 0; k < 3; k++) {
    out.w[k] = w1[k] + a * c[k] + b * d[k];
    out.w1[k] = w2[k] + a1 * c[k] + a * c1[k] + b1 * d[k] + b * d1[k];
    out.w2[k] = w3[k] + a2 * c[k] + 2 * a1 * c1[k] + a * c2[k] + b2 * d[k] + 2 * b1 * d1[k] + b * d2[k];
  }
  const s = S[0];
  const r = out.r;
  for (let k = 0; k < 3; k++) {
    const x = start[k];
    const y = start[3 + k];
    const z = start[6 + k];
    const ux = w[1] * z - w[2] * y;
    const uy = w[2] * x - w[0] * z;
    const uz = w[0] * y - w[1] * x;
    r[k] = x + s * ux + a * (w[1] * uz - w[2] * uy);
    r[3 + k] = y + s * uy + a * (w[2] * ux - w[0] * uz);
    r[6 + k] = z + s * uz + a * (w[0] * uy - w[1] * ux);
  }
}

/**
 * @param a,b neighbours; the corner is the end of `a` and the start of `b`
 * @param corner baseFromTcp at the corner
 * @param reach parameter length left out of each neighbour, > 0, at most the length of either
 */
export function cornerCurve(a: ToolCurve, b: ToolCurve, corner: Pose, reach: number): ToolCurve {
  const h = 2 * reach;
  const position = new Float64Array(3 * SEPTIC_SIZE);
  const rotation = new Float64Array(3 * SEPTIC_SIZE);
  const from = createToolPoint();
  const to = createToolPoint();
  a.evaluate(a.length - reach, from);
  b.evaluate(reach, to);
  septic(3, h, from.p, from.p1, from.p2, from.p3, to.p, to.p1, to.p2, to.p3, position);
  const none = new Float64Array(3);
  septic(
    3,
    h,
    from.w.map((v) => -reach * v),
    from.w,
    none,
    none,
    to.w.map((v) => reach * v),
    to.w,
    none,
    none,
    rotation,
  );
  const start = rotationOf(corner);
  const [w, w1, w2, w3] = [0, 0, 0, 0].map(() => new Float64Array(3));
  return {
    length: h,
    travel: (a.travel + b.travel) / 2,
    straight: false,
    evaluate(s, out) {
      const u = s / h;
      septicAt(3, h, u, position, 0, out.p, out.p1, out.p2, out.p3);
      septicAt(3, h, u, rotation, 0, w, w1, w2, w3);
      turnByVector(w, w1, w2, w3, start, out);
    },
  };
}

const [A, B, S, c, c1, c2, d, d1, d2] = Array.from({ length: 9 }, () => new Float64Array(3));

function dot(x: Float64Array, y: Float64Array): number {
  return x[0] * y[0] + x[1] * y[1] + x[2] * y[2];
}

function cross(x: Float64Array, y: Float64Array, out: Float64Array): void {
  out[0] = x[1] * y[2] - x[2] * y[1];
  out[1] = x[2] * y[0] - x[0] * y[2];
  out[2] = x[0] * y[1] - x[1] * y[0];
}

function addCross(x: Float64Array, y: Float64Array, factor: number, out: Float64Array): void {
  out[0] += factor * (x[1] * y[2] - x[2] * y[1]);
  out[1] += factor * (x[2] * y[0] - x[0] * y[2]);
  out[2] += factor * (x[0] * y[1] - x[1] * y[0]);
}
