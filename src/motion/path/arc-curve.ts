/** Circular-interpolated motion: the circle through three points. */
import type { Pose } from "../../math/pose.ts";
import type { ToolCurve } from "./tool-curve.ts";
import { lineCurve, TURN_METRES, turnAlong, turningBetween } from "./tool-curve.ts";

/** Points closer than this count as the same, and an arc flatter than this (sagitta) as a straight line, m. */
const POINT_TOLERANCE = 1e-6;

export type ArcOutcome =
  | {
      readonly ok: true;
      readonly curve: ToolCurve;
      /** True when the three points lie on a line with `via` between the others, so that the arc is run as a line. */
      readonly straight: boolean;
    }
  | { readonly ok: false; readonly message: string; readonly mend: string };

/**
 * Arc from `from` through the position of `via` to `to`. The orientation turns about one fixed axis from start to end in
 * proportion to the arc length; the orientation of `via` is not used.
 */
export function arcCurve(from: Pose, via: Pose, to: Pose): ArcOutcome {
  const ax = via[3] - from[3];
  const ay = via[7] - from[7];
  const az = via[11] - from[11];
  const bx = to[3] - from[3];
  const by = to[7] - from[7];
  const bz = to[11] - from[11];
  const a = Math.hypot(ax, ay, az);
  const b = Math.hypot(bx, by, bz);
  const c = Math.hypot(bx - ax, by - ay, bz - az);
  if (b < POINT_TOLERANCE)
    return {
      ok: false,
      message: "the arc starts and ends at the same point, so its plane and its centre are not defined",
      mend: "Run a full circle as two arcs, each through a point of its own.",
    };
  if (a < POINT_TOLERANCE || c < POINT_TOLERANCE)
    return {
      ok: false,
      message: `the point to pass is the same as the ${a < POINT_TOLERANCE ? "start" : "end"} of the arc (${(1000 * Math.min(a, c)).toFixed(4)} mm apart), so the circle is not defined`,
      mend: "Move the point to pass to about the middle of the arc, or run a line.",
    };
  // Normal of the plane; |n| / b is the distance of `via` from the chord's line.
  const nx = ay * bz - az * by;
  const ny = az * bx - ax * bz;
  const nz = ax * by - ay * bx;
  const area = Math.hypot(nx, ny, nz);
  if (area / b < POINT_TOLERANCE) {
    const along = (ax * bx + ay * by + az * bz) / (b * b);
    if (along > 0 && along < 1) return { ok: true, curve: lineCurve(from, to), straight: true };
    const beyond = 1000 * (along < 0 ? a : c);
    return {
      ok: false,
      message: `start, point to pass and end lie on one straight line, and the point to pass is ${beyond.toFixed(1)} mm ${along < 0 ? "before the start" : "beyond the end"}`,
      mend: "Put the point to pass off the line between start and end, or run a line.",
    };
  }
  // Circumcentre relative to `from`: ((|a|² b − |b|² a) × (a × b)) / (2 |a × b|²).
  const a2 = a * a;
  const b2 = b * b;
  const ex = a2 * bx - b2 * ax;
  const ey = a2 * by - b2 * ay;
  const ez = a2 * bz - b2 * az;
  const f = 1 / (2 * area * area);
  const cx = (ey * nz - ez * ny) * f;
  const cy = (ez * nx - ex * nz) * f;
  const cz = (ex * ny - ey * nx) * f;
  const radius = Math.hypot(cx, cy, cz);
  // u from the centre to the start, v a quarter turn on, about the normal; start → via → end runs with the normal.
  const ux = -cx / radius;
  const uy = -cy / radius;
  const uz = -cz / radius;
  const vx = (ny * uz - nz * uy) / area;
  const vy = (nz * ux - nx * uz) / area;
  const vz = (nx * uy - ny * ux) / area;
  let sweep = Math.atan2(
    (bx - cx) * vx + (by - cy) * vy + (bz - cz) * vz,
    (bx - cx) * ux + (by - cy) * uy + (bz - cz) * uz,
  );
  if (sweep <= 0) sweep += 2 * Math.PI;
  const turning = turningBetween(from, to);
  const arc = radius * sweep;
  const length = Math.max(arc, TURN_METRES * turning.angle);
  const rate = sweep / length;
  const mx = from[3] + cx;
  const my = from[7] + cy;
  const mz = from[11] + cz;
  const curve: ToolCurve = {
    length,
    travel: arc / length,
    straight: false,
    evaluate(s, out) {
      const phi = rate * s;
      const co = radius * Math.cos(phi);
      const si = radius * Math.sin(phi);
      const rx = co * ux + si * vx;
      const ry = co * uy + si * vy;
      const rz = co * uz + si * vz;
      const tx = rate * (co * vx - si * ux);
      const ty = rate * (co * vy - si * uy);
      const tz = rate * (co * vz - si * uz);
      const { p, p1, p2, p3 } = out;
      p[0] = mx + rx;
      p[1] = my + ry;
      p[2] = mz + rz;
      p1[0] = tx;
      p1[1] = ty;
      p1[2] = tz;
      const r2 = rate * rate;
      p2[0] = -r2 * rx;
      p2[1] = -r2 * ry;
      p2[2] = -r2 * rz;
      p3[0] = -r2 * tx;
      p3[1] = -r2 * ty;
      p3[2] = -r2 * tz;
      turnAlong(turning, s, length, out);
    },
  };
  return { ok: true, curve, straight: false };
}
