/**
 * Rounding the corner between two legs. Two tool curves (lines, arcs) are joined in tool space (corner-curve.ts) and the
 * joints follow; with a joint-interpolated leg the joint values themselves are joined, by one degree-7 polynomial with the
 * value and first three derivatives of both legs at its ends.
 *
 * Both legs give up the same parameter length `reach`, the largest for which the tool stays within the radius of the
 * corner, at most half of either leg.
 */
import type { Arm } from "../../arm/model.ts";
import { cornerCurve } from "./corner-curve.ts";
import type { JointCurve } from "./joint-curve.ts";
import { SepticCurve } from "./joint-curve.ts";
import type { JointLimitCheck } from "./joint-limits.ts";
import type { Leg, LegBuilder } from "./leg.ts";
import { SEPTIC_SIZE, septic } from "./septic.ts";
import type { ToolCurve } from "./tool-curve.ts";
import type { ToolRates } from "./tool-rates.ts";
import { createToolPoint } from "./tool-rates.ts";

/** Corners rounder than nothing but below this radius (m) are not worth a curve: the arm stops. */
const LEAST_RADIUS = 1e-5;
/** Joint values (rad or m) of the rounded corner and of the leg it joins may differ by this. */
const JOIN_TOLERANCE = 1e-6;
const PROBES = 16;

export interface Corner {
  readonly joints: JointCurve;
  readonly tool: ToolCurve | undefined;
  /** Parameter length taken from the end of the first and the start of the second leg; the corner's own is 2·reach. */
  readonly reach: number;
  /** Distance (m) of the farther end of the rounding from the corner: the radius that is used. */
  readonly radius: number;
  /** Parameter on the corner's curve where the tool is nearest to the corner. */
  readonly nearest: number;
}

export interface CornerBuilder {
  /** @param radius asked for, m, > 0   @returns undefined, with the reason, where the corner cannot be rounded */
  build(a: Leg, b: Leg, radius: number, lineStep: number): { readonly corner?: Corner; readonly reason?: string };
}

export function createCornerBuilder(
  arm: Arm,
  tool: ToolRates,
  legs: LegBuilder,
  limits: JointLimitCheck,
): CornerBuilder {
  const { n } = arm;
  const point = createToolPoint();
  const [q, q1, q2, q3, p, p1, p2, p3] = Array.from({ length: 8 }, () => new Float64Array(n));

  /** Distance of the tool from the end (or start) of a leg at parameter distance d from it. */
  const distance = (leg: Leg, atEnd: boolean, d: number, cx: number, cy: number, cz: number): number => {
    const s = atEnd ? leg.length - d : d;
    if (leg.tool !== undefined) leg.tool.evaluate(s, point);
    else {
      leg.joints!.evaluate(s, q, q1, q2, q3);
      tool.place(q, point);
    }
    return Math.hypot(point.p[0] - cx, point.p[1] - cy, point.p[2] - cz);
  };

  /** Largest parameter distance, at most half the leg, up to which the tool stays within the radius. */
  const reachOf = (leg: Leg, atEnd: boolean, radius: number, cx: number, cy: number, cz: number): number => {
    const half = leg.length / 2;
    if (leg.tool?.straight) return Math.min(radius / leg.tool.travel, half);
    let inside = 0;
    for (let k = 1; k <= PROBES; k++) {
      const d = (half * k) / PROBES;
      if (distance(leg, atEnd, d, cx, cy, cz) <= radius) {
        inside = d;
        continue;
      }
      let outside = d;
      for (let i = 0; i < 30; i++) {
        const middle = (inside + outside) / 2;
        if (distance(leg, atEnd, middle, cx, cy, cz) <= radius) inside = middle;
        else outside = middle;
      }
      return inside;
    }
    return half;
  };

  const jointCorner = (a: Leg, b: Leg, reach: number): JointCurve => {
    const h = 2 * reach;
    const piece = new Float64Array(SEPTIC_SIZE * n);
    a.joints!.evaluate(a.length - reach, q, q1, q2, q3);
    b.joints!.evaluate(reach, p, p1, p2, p3);
    septic(n, h, q, q1, q2, q3, p, p1, p2, p3, piece);
    return new SepticCurve(n, Float64Array.of(0, h), piece);
  };

  /** Squared distance of the tool from the corner at s on its curve. */
  const offset = (joints: JointCurve, curve: ToolCurve | undefined, s: number, c: readonly number[]): number => {
    if (curve !== undefined) curve.evaluate(s, point);
    else {
      joints.evaluate(s, q, q1, q2, q3);
      tool.place(q, point);
    }
    return (point.p[0] - c[0]) ** 2 + (point.p[1] - c[1]) ** 2 + (point.p[2] - c[2]) ** 2;
  };

  return {
    build(a, b, radius, lineStep) {
      if (a.length === 0 || b.length === 0) return { reason: "one of its segments does not move" };
      const c = [a.corner[3], a.corner[7], a.corner[11]];
      // Two tool legs of a seven-joint arm hold different redundancies: their joints are joined instead.
      const inTool = n !== 7 && a.tool !== undefined && b.tool !== undefined;
      if (a.tool?.travel === 0 || b.tool?.travel === 0)
        return { reason: "the tool turns on the spot in one of its segments" };
      let reach = Math.min(reachOf(a, true, radius, c[0], c[1], c[2]), reachOf(b, false, radius, c[0], c[1], c[2]));
      let reason = "no curve was found that stays within the radius";
      for (let attempt = 0; attempt < 8; attempt++, reach *= 0.7) {
        const used = Math.max(distance(a, true, reach, c[0], c[1], c[2]), distance(b, false, reach, c[0], c[1], c[2]));
        if (used < LEAST_RADIUS && inTool) break;
        if (!(reach > 1e-7)) break;
        let curve: ToolCurve | undefined;
        let joints: JointCurve;
        if (inTool) {
          curve = cornerCurve(a.tool!, b.tool!, a.corner, reach);
          a.joints!.evaluate(a.length - reach, q, q1, q2, q3);
          const run = legs.run(curve, Float64Array.from(q), lineStep);
          if (run.followed.stop !== undefined || run.crossing !== undefined) {
            reason =
              run.crossing !== undefined ? "the rounding meets a joint limit" : "the joints cannot follow the rounding";
            continue;
          }
          joints = run.followed.curve!;
          // The followed joints must arrive on the next leg's own.
          b.joints!.evaluate(reach, p, p1, p2, p3);
          joints.evaluate(curve.length, q, q1, q2, q3);
          let apart = 0;
          for (let i = 0; i < n; i++) apart = Math.max(apart, Math.abs(p[i] - q[i]));
          if (apart > JOIN_TOLERANCE) {
            reason = "the rounding arrives on another branch";
            continue;
          }
        } else {
          joints = jointCorner(a, b, reach);
          if (limits.first(joints, 0, 2 * reach, reach / 8) !== undefined) {
            reason = "the rounding meets a joint limit";
            continue;
          }
        }
        let worst = 0;
        let best = Number.POSITIVE_INFINITY;
        let at = reach;
        for (let k = 0; k <= PROBES; k++) {
          const s = (2 * reach * k) / PROBES;
          const d = offset(joints, curve, s, c);
          worst = Math.max(worst, d);
          if (d < best) {
            best = d;
            at = s;
          }
        }
        if (worst > radius * radius * (1 + 1e-9)) continue;
        let low = Math.max(0, at - (2 * reach) / PROBES);
        let high = Math.min(2 * reach, at + (2 * reach) / PROBES);
        while (high - low > 1e-6 * reach) {
          const one = low + (high - low) / 3;
          const two = high - (high - low) / 3;
          if (offset(joints, curve, one, c) <= offset(joints, curve, two, c)) high = two;
          else low = one;
        }
        return { corner: { joints, tool: curve, reach, radius: used, nearest: (low + high) / 2 } };
      }
      return { reason };
    },
  };
}
