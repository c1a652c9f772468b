/** A slide as a motion of its share: the origin goes straight, the orientation turns about one fixed axis. */
import { ContractError } from "../../math/contract-error.ts";
import type { Slide } from "./types.ts";

export interface SlidePath {
  /** Pose of the start, row-major 3 x 4, base axes. */
  readonly start: Float64Array;
  /** Way of the origin: length (m, at least 0) and unit direction. */
  readonly length: number;
  readonly direction: Float64Array;
  /** Turn: angle (rad, 0 to π) and unit axis, base axes. */
  readonly angle: number;
  readonly axis: Float64Array;
}

/** @throws ContractError if a pose of the slide is not 12 or 16 finite numbers with a rotation */
export function slidePath({ baseFromOwnerStart, baseFromOwnerEnd }: Slide): SlidePath {
  const a = checked(baseFromOwnerStart, "baseFromOwnerStart"),
    b = checked(baseFromOwnerEnd, "baseFromOwnerEnd");
  const way = [3, 7, 11].map((k) => b[k]! - a[k]!);
  const length = Math.hypot(...way);
  const axis = new Float64Array(3);
  return {
    start: a,
    length,
    direction: length > 0 ? Float64Array.from(way, (v) => v / length) : Float64Array.of(0, 0, 1),
    angle: turnBetween(a, b, axis),
    axis,
  };
}

function checked(pose: Float64Array, name: string): Float64Array {
  if (pose.length < 12 || !pose.subarray(0, 12).every(Number.isFinite))
    throw new ContractError(`slide: ${name} must be at least 12 finite numbers, got [${pose.join(", ")}]`);
  for (let r = 0; r < 3; r++)
    for (let s = 0; s <= r; s++) {
      const dot = [0, 1, 2].reduce((sum, k) => sum + pose[4 * r + k]! * pose[4 * s + k]!, 0);
      if (Math.abs(dot - (r === s ? 1 : 0)) > 1e-6)
        throw new ContractError(`slide: ${name} must have an orthonormal rotation, rows ${s} and ${r} give ${dot}`);
    }
  return Float64Array.from(pose.subarray(0, 12));
}

/**
 * Axis and angle of the turn from the rotation of `a` to that of `b`, by the quaternion of b·aᵀ, scaled so that its largest
 * component is safe. For half a turn the axis with the first component above 0 is taken.
 */
function turnBetween(a: Float64Array, b: Float64Array, axis: Float64Array): number {
  const e = (i: number, j: number) =>
    b[4 * i]! * a[4 * j]! + b[4 * i + 1]! * a[4 * j + 1]! + b[4 * i + 2]! * a[4 * j + 2]!;
  const trace = [e(0, 0), e(1, 1), e(2, 2)];
  const squares = [
    1 + trace[0]! + trace[1]! + trace[2]!,
    ...trace.map((v) => 1 + 2 * v - trace[0]! - trace[1]! - trace[2]!),
  ];
  const skew = [e(2, 1) - e(1, 2), e(0, 2) - e(2, 0), e(1, 0) - e(0, 1)];
  const most = squares.indexOf(Math.max(...squares));
  let w: number, v: number[];
  if (most === 0) [w, v] = [squares[0]!, skew];
  else {
    const i = most - 1;
    w = skew[i]!;
    v = [0, 1, 2].map((j) => (j === i ? squares[most]! : e(i, j) + e(j, i)));
  }
  if (w < 0 || (Math.abs(w) < 1e-12 && v.find((x) => Math.abs(x) > 1e-12)! < 0)) [w, v] = [-w, v.map((x) => -x)];
  const length = Math.hypot(...v);
  if (!(length > 0)) {
    axis.set([0, 0, 1]);
    return 0;
  }
  axis.set(v.map((x) => x / length));
  return 2 * Math.atan2(length, Math.max(w, 0));
}

/** Pose at a share of the slide, row-major 3 x 4, written to `out` from `at` on. */
export function poseOnSlide(path: SlidePath, share: number, out: Float64Array, at: number): void {
  const { start, length, direction, angle, axis } = path;
  const c = Math.cos(share * angle),
    s = Math.sin(share * angle);
  const x = axis[0]!,
    y = axis[1]!,
    z = axis[2]!;
  for (let k = 0; k < 3; k++) {
    const a = start[k]!,
      b = start[4 + k]!,
      d = start[8 + k]!;
    const along = (1 - c) * (x * a + y * b + z * d);
    out[at + k] = c * a + s * (y * d - z * b) + along * x;
    out[at + 4 + k] = c * b + s * (z * a - x * d) + along * y;
    out[at + 8 + k] = c * d + s * (x * b - y * a) + along * z;
    out[at + 4 * k + 3] = start[4 * k + 3]! + share * length * direction[k]!;
  }
}
