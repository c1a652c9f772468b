/**
 * One path from standstill to standstill: the legs of a chain and the rounded corners between them, end to end over one
 * parameter s, joint values and tool with three derivatives each. At the joins value and first three derivatives agree
 * (lines, arcs and corners) or differ only by the followed polynomial's rounding.
 */
import type { Pose } from "../../math/pose.ts";
import type { JointCurve } from "./joint-curve.ts";
import type { ToolCurve } from "./tool-curve.ts";
import type { ToolPoint, ToolRates } from "./tool-rates.ts";

export interface PathPiece {
  readonly joints: JointCurve;
  /** The tool's curve where the piece was planned in tool space; undefined: the tool follows from the joints. */
  readonly tool: ToolCurve | undefined;
  /** Part of the curves that is run. */
  readonly from: number;
  readonly to: number;
  /** Index of the segment in the request, of the one before the corner for corners. */
  readonly segment: number;
  readonly corner: boolean;
}

export class RunPath {
  readonly length: number;
  /** Parameter at which each piece starts, and last the length. */
  readonly starts: Float64Array;
  private readonly n: number;
  private last = 0;
  private readonly q: Float64Array;
  private readonly q1: Float64Array;
  private readonly q2: Float64Array;
  private readonly q3: Float64Array;

  /** @param flangeFromTcp tool of the path; must not change later   @param point scratch for `channels` */
  constructor(
    n: number,
    readonly pieces: readonly PathPiece[],
    private readonly rates: ToolRates,
    private readonly flangeFromTcp: Pose,
    private readonly point: ToolPoint,
  ) {
    this.n = n;
    this.starts = new Float64Array(pieces.length + 1);
    let s = 0;
    pieces.forEach((piece, i) => {
      this.starts[i] = s;
      s += piece.to - piece.from;
    });
    this.starts[pieces.length] = s;
    this.length = s;
    this.q = new Float64Array(n);
    this.q1 = new Float64Array(n);
    this.q2 = new Float64Array(n);
    this.q3 = new Float64Array(n);
  }

  pieceAt(s: number): number {
    const { starts } = this;
    const count = this.pieces.length;
    let k = this.last;
    if (s >= starts[k] && s <= starts[k + 1]) return k;
    if (s < starts[k]) k = 0;
    while (k + 1 < count && s > starts[k + 1]) k++;
    this.last = k;
    return k;
  }

  /** Joint values and three derivatives with respect to s; s is clamped into [0, length]. */
  joints(s: number, q: Float64Array, q1: Float64Array, q2: Float64Array, q3: Float64Array): void {
    const k = this.pieceAt(s);
    const piece = this.pieces[k];
    const at = piece.from + (s - this.starts[k]);
    piece.joints.evaluate(Math.min(Math.max(at, piece.from), piece.to), q, q1, q2, q3);
  }

  /** Joint values alone; where two pieces meet, those of the second. */
  value(s: number, q: Float64Array): void {
    const { starts } = this;
    let k = 0;
    while (k + 1 < this.pieces.length && s >= starts[k + 1]) k++;
    const piece = this.pieces[k];
    piece.joints.value(Math.min(Math.max(piece.from + (s - starts[k]), piece.from), piece.to), q);
  }

  /** Lowers `low` and raises `high` per joint to enclose every joint value over [from, to], both ends and what meets there included. */
  enclose(from: number, to: number, low: Float64Array, high: Float64Array): void {
    const { starts, pieces } = this;
    for (let k = 0; k < pieces.length; k++) {
      if (starts[k + 1] < from || starts[k] > to) continue;
      const piece = pieces[k];
      const a = piece.from + (from - starts[k]);
      const b = piece.from + (to - starts[k]);
      piece.joints.enclose(Math.max(piece.from, a), Math.min(piece.to, b), low, high);
    }
  }

  /** Tool at s; the joints are those of a `joints` call at the same s. */
  toolOf(s: number, q: Float64Array, q1: Float64Array, q2: Float64Array, q3: Float64Array, point: ToolPoint): void {
    const k = this.pieceAt(s);
    const piece = this.pieces[k];
    if (piece.tool !== undefined) {
      const at = piece.from + (s - this.starts[k]);
      piece.tool.evaluate(Math.min(Math.max(at, piece.from), piece.to), point);
    } else {
      this.rates.setTool(this.flangeFromTcp);
      this.rates.place(q, point);
      this.rates.rates(q1, q2, q3, point);
    }
  }

  /** All channels: n joint values, three of tool position, three of tool rotation (whose value is meaningless: 0). */
  channels(s: number, c: Float64Array, c1: Float64Array, c2: Float64Array, c3: Float64Array): void {
    const { n, q, q1, q2, q3, point } = this;
    this.joints(s, q, q1, q2, q3);
    for (let i = 0; i < n; i++) {
      c[i] = q[i];
      c1[i] = q1[i];
      c2[i] = q2[i];
      c3[i] = q3[i];
    }
    if (c.length <= n) return;
    this.toolOf(s, q, q1, q2, q3, point);
    for (let k = 0; k < 3; k++) {
      c[n + k] = point.p[k];
      c1[n + k] = point.p1[k];
      c2[n + k] = point.p2[k];
      c3[n + k] = point.p3[k];
      c[n + 3 + k] = 0;
      c1[n + 3 + k] = point.w[k];
      c2[n + 3 + k] = point.w1[k];
      c3[n + 3 + k] = point.w2[k];
    }
  }
}
