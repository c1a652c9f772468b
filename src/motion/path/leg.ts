/** One segment of a chain as curves of joints and tool, corner to corner, before any blending. */
import type { Arm } from "../../arm/model.ts";
import type { Pose } from "../../math/pose.ts";
import type { Segment } from "../types.ts";
import { arcCurve } from "./arc-curve.ts";
import type { Followed, Follower } from "./follow.ts";
import type { JointCurve } from "./joint-curve.ts";
import { straightJoints } from "./joint-curve.ts";
import type { JointLimitCheck, LimitCrossing } from "./joint-limits.ts";
import type { ToolCurve } from "./tool-curve.ts";
import { lineCurve, TURN_METRES } from "./tool-curve.ts";
import type { ToolPoint, ToolRates } from "./tool-rates.ts";
import { createToolPoint, poseOfPoint } from "./tool-rates.ts";

/** A line or arc on which some joint's speed limit would hold the tool below this speed (m/s) counts as singular there. */
const SLOWEST_TOOL = 0.005;
/** Joint speed (rad/s) assumed for that test where the arm states none. */
const UNSTATED_VELOCITY = 2 * Math.PI;
/** Steps along a line are never longer than this, m. */
const LONGEST_STEP = 0.05;
/** Segments shorter than this (m, see tool-curve) are no motion. */
const NO_LENGTH = 1e-9;

export interface Leg {
  readonly segment: number;
  /** Undefined when the segment does not move. */
  readonly joints: JointCurve | undefined;
  /** Undefined for joint-interpolated motion. */
  readonly tool: ToolCurve | undefined;
  /** Path parameter length; 0 when the segment does not move. */
  readonly length: number;
  readonly startQ: Float64Array;
  readonly endQ: Float64Array;
  /** baseFromTcp at the end. */
  readonly corner: Pose;
  /** An arc whose points lie on a line. */
  readonly straightArc: boolean;
}

export type LegTrouble =
  | { readonly kind: "arc"; readonly message: string; readonly mend: string }
  /** A joint limit is met at `crossing` before anything else happens; `tool` undefined for joint-interpolated motion. */
  | {
      readonly kind: "limit";
      readonly crossing: LimitCrossing;
      readonly joints: JointCurve;
      readonly tool: ToolCurve | undefined;
    }
  /** The joints cannot follow the tool. */
  | { readonly kind: "stop"; readonly followed: Followed; readonly tool: ToolCurve };

export type LegOutcome =
  | { readonly ok: true; readonly leg: Leg }
  | { readonly ok: false; readonly trouble: LegTrouble };

export interface LegBuilder {
  /** @param q joint values at the start; `from` the tool pose there */
  build(segment: Segment, index: number, q: Float64Array, from: Pose, lineStep: number): LegOutcome;
  /** Line or arc alone: followed and checked from `q`. Used to try other branches and other poses. */
  run(
    tool: ToolCurve,
    q: Float64Array,
    lineStep: number,
  ): { readonly followed: Followed; readonly crossing: LimitCrossing | undefined };
}

/** @param tool forward kinematics set to the tool in use */
export function createLegBuilder(arm: Arm, tool: ToolRates, follower: Follower, limits: JointLimitCheck): LegBuilder {
  const { n } = arm;
  const point: ToolPoint = createToolPoint();
  const q1 = new Float64Array(n);
  const q2 = new Float64Array(n);
  const q3 = new Float64Array(n);
  const q0 = new Float64Array(n);
  const fastest = arm.velocity.map((v) => (v < Number.POSITIVE_INFINITY ? v : UNSTATED_VELOCITY) / SLOWEST_TOOL);

  const run: LegBuilder["run"] = (curve, q, lineStep) => {
    const options = { step: Math.min(LONGEST_STEP, Math.max(8 * lineStep, 0.02)), fastest };
    const followed = n === 7 ? followSeven(curve, q, options) : follower.follow(curve, q, options);
    const crossing =
      followed.curve === undefined ? undefined : limits.first(followed.curve, 0, followed.curve.length, lineStep);
    return { followed, crossing };
  };

  /** Seven joints: the redundancy at the start is held first; where that ends early, one joint after the other is. */
  const followSeven = (
    curve: ToolCurve,
    q: Float64Array,
    options: { step: number; fastest: Float64Array },
  ): Followed => {
    let best: Followed | undefined;
    for (let attempt = -1; attempt < 7; attempt++) {
      const hold = new Float64Array(7);
      if (attempt < 0) {
        if (!follower.redundancy(q, hold)) continue;
      } else hold[attempt] = 1;
      const followed = follower.follow(curve, q, { ...options, hold });
      if (followed.stop === undefined && limits.first(followed.curve!, 0, curve.length, options.step / 8) === undefined)
        return followed;
      if (best === undefined || followed.reached > best.reached) best = followed;
    }
    return best!;
  };

  const jointLeg = (to: Float64Array, index: number, q: Float64Array): LegOutcome => {
    let travel = 0;
    for (let i = 0; i < n; i++)
      travel = Math.max(travel, Math.abs(to[i] - q[i]) * (arm.prismatic[i] ? 1 : TURN_METRES));
    // Parameter length: travel of the tool centre point, estimated from chords, so that corners with lines join smoothly.
    let chords = 0;
    let x = 0;
    let y = 0;
    let z = 0;
    const pieces = 8;
    for (let k = 0; k <= pieces; k++) {
      for (let i = 0; i < n; i++) q0[i] = q[i] + ((to[i] - q[i]) * k) / pieces;
      tool.place(q0, point);
      if (k > 0) chords += Math.hypot(point.p[0] - x, point.p[1] - y, point.p[2] - z);
      x = point.p[0];
      y = point.p[1];
      z = point.p[2];
    }
    const corner = poseOfPoint(point);
    const endQ = Float64Array.from(to);
    const length = Math.max(travel, chords);
    const shared = { segment: index, tool: undefined, startQ: q, endQ, corner, straightArc: false };
    if (length < NO_LENGTH) return { ok: true, leg: { ...shared, joints: undefined, length: 0 } };
    const joints = straightJoints(q, to, length);
    const crossing = limits.first(joints, 0, length, length);
    if (crossing !== undefined) return { ok: false, trouble: { kind: "limit", crossing, joints, tool: undefined } };
    return { ok: true, leg: { ...shared, joints, length } };
  };

  return {
    run,
    build(segment, index, q, from, lineStep) {
      if (segment.kind === "joint") return jointLeg(segment.to, index, q);
      let curve: ToolCurve;
      let straightArc = false;
      if (segment.kind === "line") curve = lineCurve(from, segment.to);
      else {
        const arc = arcCurve(from, segment.via, segment.to);
        if (!arc.ok) return { ok: false, trouble: { kind: "arc", message: arc.message, mend: arc.mend } };
        curve = arc.curve;
        straightArc = arc.straight;
      }
      if (curve.length < NO_LENGTH) {
        const still = { segment: index, joints: undefined, tool: curve, length: 0, startQ: q, endQ: q };
        return { ok: true, leg: { ...still, corner: from, straightArc } };
      }
      const { followed, crossing } = run(curve, q, lineStep);
      if (crossing !== undefined)
        return { ok: false, trouble: { kind: "limit", crossing, joints: followed.curve!, tool: curve } };
      if (followed.stop !== undefined) return { ok: false, trouble: { kind: "stop", followed, tool: curve } };
      const joints = followed.curve!;
      const endQ = new Float64Array(n);
      joints.evaluate(curve.length, endQ, q1, q2, q3);
      tool.place(endQ, point);
      const leg = { segment: index, joints, tool: curve, length: curve.length, startQ: q, endQ };
      return { ok: true, leg: { ...leg, corner: poseOfPoint(point), straightArc } };
    },
  };
}
