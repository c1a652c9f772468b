/**
 * Elimination for a general arm of six turning joints (Raghavan & Roth 1990; eigenvalue form after Manocha & Canny 1994).
 *
 * E3·E4·E5 carries the line of axis 6 to where E2⁻¹·E1⁻¹·G carries it. In the 15 numbers of line-motion.ts these are 14
 * equations, multilinear in the sines and cosines. Orthogonal elimination of the 8 products of q1 and q2 leaves 6 equations
 * in q3, q4, q5; with half-angle tangents t4, t5 and multiplied by t4 they are 12 equations, linear in the 12 products
 * t4ᵃ t5ᵇ (a ≤ 3, b ≤ 2), whose matrix is quadratic in t3. Its 24 eigenvalues are the t3 of all solutions and 8 spurious ±i.
 */
import { type Axes, AxisReading, type Reading } from "./axes.ts";
import { LINE, lineNumbers, turnParts } from "./line-motion.ts";
import { nullVectors, shiftRoots, tangentAngle } from "./product-nulls.ts";
import { singularAngles } from "./turn-pencil.ts";

const EQUATIONS = 14;
const LEFT = 27;
const RIGHT = 8;
const WIDTH = RIGHT + LEFT;
/** Seeds that one elimination may give: 24 eigenvalues, up to three null vectors each. */
export const MAX_SEEDS = 72;

/** Powers 0, 1, 2 of the half-angle tangent t for 1, cos, sin, all times 1 + t². */
const HALF = [
  [1, 0, 1],
  [1, 0, -1],
  [0, 2, 0],
] as const;

const left9 = new Float64Array(9 * LINE);
const left3 = new Float64Array(3 * LINE);
const right3 = new Float64Array(3 * LINE);
const right9 = new Float64Array(9 * LINE);
const line = new Float64Array(LINE);
const table = new Float64Array(EQUATIONS * WIDTH);
/** Constant, cosine and sine part in q3 of the 12 x 12 matrix. */
const parts = [new Float64Array(144), new Float64Array(144), new Float64Array(144)] as const;
const angles = new Float64Array(25);
const matrix = new Float64Array(144);
const nulls = [new Float64Array(12), new Float64Array(12)] as const;
const mixed = new Float64Array(12);
const products = new Float64Array(RIGHT);
const rotation = new Float64Array(9);
/** 1, cosine and sine of q3, q4, q5, and the five angles q1 to q5. */
const f3 = Float64Array.of(1, 0, 0);
const f4 = Float64Array.of(1, 0, 0);
const f5 = Float64Array.of(1, 0, 0);
const five = new Float64Array(5);
/** Two (x, y) mixtures of the null vectors. */
const mixtures = new Float64Array(4);

export class Elimination {
  private readonly view: AxisReading;
  private readonly parts27 = new Float64Array(LEFT * LINE);
  private readonly points = new Float64Array(18);
  private prepared = false;
  /** The last goal's equations were degenerate, or had more solutions with one q3 than can be told apart: some may be missing. */
  troubled = false;
  /** Real eigenvalues of the last goal: at least so many real solutions there are, each counted as often as it is a root. */
  real = 0;

  /** @param unit length that the equations are scaled by, m (about the size of the links) */
  constructor(
    axes: Axes,
    readonly reading: Reading,
    private readonly unit: number,
  ) {
    this.view = new AxisReading(axes, reading);
  }

  /**
   * Joint values near every solution of E1·…·E6 = goal.
   * @param out MAX_SEEDS x 6, rows in joint order, rad
   * @returns number of rows; -1 when the equations are degenerate for this reading
   */
  seeds(goal: Float64Array, out: Float64Array): number {
    const { view } = this;
    if (view.aim(goal) || !this.prepared) this.prepareLeft();
    this.fillTable();
    this.troubled = true;
    this.real = 0;
    if (!triangularise()) return -1;
    fillParts();
    const found = singularAngles(parts, angles);
    if (found < 0) return -1;
    this.troubled = false;
    this.real = angles[24]!;
    let count = 0;
    for (let i = 0; i < found; i++) count = this.solveOthers(angles[i]!, out, count);
    return count;
  }

  /** The 27 parts of E3·E4·E5 on the line of axis 6. */
  private prepareLeft(): void {
    const { h } = this.view.axes;
    const p = this.points;
    for (let k = 0; k < 18; k++) p[k] = this.view.axes.p[k]! / this.unit;
    lineNumbers(p[15]!, p[16]!, p[17]!, h[15]!, h[16]!, h[17]!, line, 0);
    turnParts(h, p, 12, 1, line, 0, left3, 0);
    for (let a = 0; a < 3; a++) turnParts(h, p, 9, 1, left3, a * LINE, left9, 3 * a * LINE);
    for (let a = 0; a < 9; a++) turnParts(h, p, 6, 1, left9, a * LINE, this.parts27, 3 * a * LINE);
    this.prepared = true;
  }

  /** Right-hand products in columns 0..7 and left-hand ones in 8..34: right - left = 0. */
  private fillTable(): void {
    const { view, points: p, unit } = this;
    const { h } = view.axes;
    const g = view.target;
    const x = p[15]!,
      y = p[16]!,
      z = p[17]!;
    lineNumbers(
      g[0]! * x + g[1]! * y + g[2]! * z + g[3]! / unit,
      g[4]! * x + g[5]! * y + g[6]! * z + g[7]! / unit,
      g[8]! * x + g[9]! * y + g[10]! * z + g[11]! / unit,
      g[0]! * h[15]! + g[1]! * h[16]! + g[2]! * h[17]!,
      g[4]! * h[15]! + g[5]! * h[16]! + g[6]! * h[17]!,
      g[8]! * h[15]! + g[9]! * h[16]! + g[10]! * h[17]!,
      line,
      0,
    );
    turnParts(h, p, 0, -1, line, 0, right3, 0);
    for (let a = 0; a < 3; a++) turnParts(h, p, 3, -1, right3, a * LINE, right9, 3 * a * LINE);
    for (let e = 0; e < EQUATIONS; e++) {
      const row = e * WIDTH;
      for (let k = 0; k < RIGHT; k++) table[row + k] = right9[(k + 1) * LINE + e + 1]!;
      for (let k = 0; k < LEFT; k++) table[row + RIGHT + k] = -this.parts27[k * LINE + e + 1]!;
      table[row + RIGHT]! += right9[e + 1]!;
    }
  }

  /** All seeds with this q3: null vectors of the 12 x 12 matrix give t4 and t5, the triangular rows q1 and q2. */
  private solveOthers(q3: number, out: Float64Array, count: number): number {
    const c = Math.cos(q3),
      s = Math.sin(q3);
    for (let k = 0; k < 144; k++) matrix[k] = parts[0][k]! + c * parts[1][k]! + s * parts[2][k]!;
    const dimension = nullVectors(matrix, nulls);
    if (dimension === 3) {
      this.troubled = true;
      return count;
    }
    let n = this.take(q3, nulls[0], out, count);
    if (dimension === 2) {
      // Two solutions share q3: in the null space, a shift by one power of t4 (or t5) is a 2 x 2 matrix.
      let told = 0;
      for (let shift = 0; shift < 2; shift++) {
        const found = shiftRoots(nulls, shift === 1, mixtures);
        told += found;
        for (let r = 0; r < found; r++) {
          const x = mixtures[2 * r]!,
            y = mixtures[2 * r + 1]!;
          for (let k = 0; k < 12; k++) mixed[k] = x * nulls[0][k]! + y * nulls[1][k]!;
          n = this.take(q3, mixed, out, n);
        }
      }
      if (told === 0) this.troubled = true;
    }
    return n;
  }

  private take(q3: number, v: Float64Array, out: Float64Array, count: number): number {
    if (count >= MAX_SEEDS) return count;
    const q4 = tangentAngle(v, 3, 9, 1),
      q5 = tangentAngle(v, 1, 12, 3);
    const { h } = this.view.axes;
    setTurn(f3, q3);
    setTurn(f4, q4);
    setTurn(f5, q5);
    for (let r = RIGHT - 1; r >= 0; r--) {
      const row = r * WIDTH;
      let sum = 0;
      for (let a = 0; a < 3; a++)
        for (let b = 0; b < 3; b++)
          for (let k = 0; k < 3; k++) sum -= table[row + RIGHT + 9 * a + 3 * b + k]! * f5[a]! * f4[b]! * f3[k]!;
      for (let k = r + 1; k < RIGHT; k++) sum -= table[row + k]! * products[k]!;
      products[r] = sum / table[row + r]!;
    }
    // Products in order: c2, s2, c1, c1c2, c1s2, s1, s1c2, s1s2.
    const q1 = Math.atan2(products[5]!, products[2]!),
      q2 = Math.atan2(products[1]!, products[0]!);
    if (Number.isNaN(q1) || Number.isNaN(q2) || Number.isNaN(q4) || Number.isNaN(q5)) return count;
    five[0] = q1;
    five[1] = q2;
    five[2] = q3;
    five[3] = q4;
    five[4] = q5;
    const at = 6 * count;
    const { joint } = this.view;
    for (let i = 0; i < 5; i++) out[at + joint[i]!] = five[i]!;
    // R6 = (R1…R5)ᵀ·R_G is a turn about axis 6.
    const g = this.view.target;
    for (let r = 0; r < 3; r++) for (let k = 0; k < 3; k++) rotation[3 * r + k] = g[4 * r + k]!;
    for (let i = 0; i < 5; i++) turnBack(h, 3 * i, five[i]!, rotation);
    const hx = h[15]!,
      hy = h[16]!,
      hz = h[17]!;
    const sine =
      hx * (rotation[7]! - rotation[5]!) + hy * (rotation[2]! - rotation[6]!) + hz * (rotation[3]! - rotation[1]!);
    const cosine = rotation[0]! + rotation[4]! + rotation[8]! - 1;
    out[at + joint[5]!] = Math.atan2(sine, cosine);
    return count + 1;
  }
}

function setTurn(f: Float64Array, angle: number): void {
  f[1] = Math.cos(angle);
  f[2] = Math.sin(angle);
}

/** rotation ← R(h, angle)ᵀ·rotation. */
function turnBack(h: Float64Array, i: number, angle: number, m: Float64Array): void {
  const c = Math.cos(angle),
    s = Math.sin(angle);
  const x = h[i]!,
    y = h[i + 1]!,
    z = h[i + 2]!;
  for (let k = 0; k < 3; k++) {
    const a = m[k]!,
      b = m[3 + k]!,
      d = m[6 + k]!;
    const along = (1 - c) * (x * a + y * b + z * d);
    m[k] = c * a - s * (y * d - z * b) + along * x;
    m[3 + k] = c * b - s * (z * a - x * d) + along * y;
    m[6 + k] = c * d - s * (x * b - y * a) + along * z;
  }
}

/** Householder elimination of the first 8 columns of the table. False when they are not independent. */
function triangularise(): boolean {
  let share = 1;
  for (let c = 0; c < RIGHT; c++) {
    let norm = 0,
      above = 0;
    for (let r = 0; r < c; r++) above += table[r * WIDTH + c]! ** 2;
    for (let r = c; r < EQUATIONS; r++) norm += table[r * WIDTH + c]! ** 2;
    share = Math.min(share, Math.sqrt(norm / (norm + above)));
    norm = Math.sqrt(norm);
    if (!(share > 1e-9)) return false;
    const head = table[c * WIDTH + c]!;
    const alpha = head > 0 ? -norm : norm;
    const first = head - alpha;
    const beta = 1 / (norm * (norm + Math.abs(head)));
    for (let k = c + 1; k < WIDTH; k++) {
      let sum = first * table[c * WIDTH + k]!;
      for (let r = c + 1; r < EQUATIONS; r++) sum += table[r * WIDTH + c]! * table[r * WIDTH + k]!;
      sum *= beta;
      table[c * WIDTH + k]! -= sum * first;
      for (let r = c + 1; r < EQUATIONS; r++) table[r * WIDTH + k]! -= sum * table[r * WIDTH + c]!;
    }
    table[c * WIDTH + c] = alpha;
  }
  return true;
}

/** The 12 x 12 matrix (constant, cosine, sine part in q3) from the 6 rows below the triangle. */
function fillParts(): void {
  for (const p of parts) p.fill(0);
  for (let e = 0; e < 6; e++) {
    const row = (RIGHT + e) * WIDTH + RIGHT;
    let size = 0;
    for (let k = 0; k < LEFT; k++) size = Math.max(size, Math.abs(table[row + k]!));
    const scale = size > 0 ? 1 / size : 1;
    for (let i5 = 0; i5 < 3; i5++) {
      for (let i4 = 0; i4 < 3; i4++) {
        for (let i3 = 0; i3 < 3; i3++) {
          const v = scale * table[row + 9 * i5 + 3 * i4 + i3]!;
          if (v === 0) continue;
          const part = parts[i3]!;
          for (let a = 0; a < 3; a++) {
            const ha = HALF[i4]![a]!;
            if (ha === 0) continue;
            for (let b = 0; b < 3; b++) {
              const w = v * ha * HALF[i5]![b]!;
              if (w === 0) continue;
              part[12 * e + 3 * a + b]! += w;
              part[12 * (e + 6) + 3 * (a + 1) + b]! += w;
            }
          }
        }
      }
    }
  }
}
