/** Timing of a motion given by points alone, for batch use: `millhand time` reads one query per line. */
import { createInverse, forwardKinematics, type InverseKinematics, withinLimits } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import { compose, identityPose, invert, type Pose } from "../math/pose.ts";
import type { Metres } from "../math/units.ts";
import { isRigid } from "./path/rigid.ts";
import type { Planner } from "./plan.ts";
import { createPlanner } from "./plan.ts";
import type { LimitKind, Motion, MotionFailure, Segment, SegmentSpeed, ToolLimits } from "./types.ts";

/**
 * Points to be run through in order.
 * - "joint": arrays of n joint values, rad or m.
 * - "line": baseFromTcp poses as 16 numbers (row-major), or arrays of n joint values, whose tool pose is meant.
 * - "arc": the same; start, point to pass, end, point to pass, end, …
 */
export interface PointsQuery {
  readonly kind: "joint" | "line" | "arc";
  readonly points: readonly ArrayLike<number>[];
}

/** What the motions run under; as in MotionRequest. */
export interface PointsSetting {
  readonly flangeFromTcp: Pose;
  readonly tool: ToolLimits;
  readonly payload: Payload | undefined;
  readonly gravity: readonly [number, number, number];
  readonly lineStep: Metres;
  /** For joint-interpolated motions. */
  readonly jointSpeed: SegmentSpeed;
  /** For lines and arcs. */
  readonly lineSpeed: SegmentSpeed;
  /** Radius (m) of the corners at the points between; 0 stops at each. */
  readonly blend: Metres;
  /** A first point given as a pose is reached on the branch nearest to these joint values from which the motion runs. */
  readonly reference: Float64Array;
}

export type PointsOutcome =
  | {
      readonly ok: true;
      readonly motion: Motion;
      /** Each limit that keeps the motion from being faster at some time, joints counted from 0; longest share of time first. */
      readonly limits: readonly { readonly joint?: number; readonly kind: LimitKind; readonly share: number }[];
    }
  /** The points cannot be a motion: which, and why. */
  | { readonly ok: false; readonly problem: string }
  | { readonly ok: false; readonly failure: MotionFailure };

export interface PointsTimer {
  time(query: PointsQuery): PointsOutcome;
}

/** A timer for one arm and setting; it keeps a planner. */
export function createPointsTimer(arm: Arm, setting: PointsSetting): PointsTimer {
  const planner: Planner = createPlanner(arm);
  let inverse: InverseKinematics | undefined;
  const poseOf = (numbers: ArrayLike<number>): Pose =>
    numbers.length === 16
      ? Float64Array.from(numbers)
      : compose(forwardKinematics(arm, numbers, identityPose()), setting.flangeFromTcp);

  /** Joint values to start from, the best first. */
  const startsOf = (first: ArrayLike<number>): readonly Float64Array[] => {
    if (first.length === arm.n) return [Float64Array.from(first)];
    inverse ??= createInverse(arm);
    const flange = compose(Float64Array.from(first), invert(setting.flangeFromTcp));
    const apart = (q: Float64Array) => q.reduce((sum, v, i) => sum + Math.abs(v - setting.reference[i]), 0);
    return [...withinLimits(arm, inverse.solve(flange, inverse.result()), { allTurns: false })].sort(
      (a, b) => apart(a) - apart(b),
    );
  };

  const segmentsOf = ({ kind, points }: PointsQuery): Segment[] => {
    const { blend } = setting;
    if (kind === "joint")
      return points.slice(1).map((p) => ({ kind, to: Float64Array.from(p), blend, speed: setting.jointSpeed }));
    const speed = setting.lineSpeed;
    if (kind === "line") return points.slice(1).map((p) => ({ kind, to: poseOf(p), blend, speed }));
    const segments: Segment[] = [];
    for (let i = 1; i + 1 < points.length; i += 2)
      segments.push({ kind, via: poseOf(points[i]), to: poseOf(points[i + 1]), blend, speed });
    return segments;
  };

  return {
    time(query) {
      const problem = problemOf(arm, query);
      if (problem !== undefined) return { ok: false, problem };
      const starts = startsOf(query.points[0]);
      if (starts.length === 0)
        return { ok: false, problem: "points[0] is a pose that the arm does not reach inside its joint limits" };
      const segments = segmentsOf(query);
      let failure: MotionFailure | undefined;
      for (const start of starts) {
        const { flangeFromTcp, tool, payload, gravity, lineStep } = setting;
        const outcome = planner.plan({ arm, start, segments, flangeFromTcp, tool, payload, gravity, lineStep });
        if (outcome.ok) return { ok: true, motion: outcome.motion, limits: sharesOf(outcome.motion) };
        failure ??= outcome.failure;
      }
      return { ok: false, failure: failure! };
    },
  };
}

function sharesOf(motion: Motion): { readonly joint?: number; readonly kind: LimitKind; readonly share: number }[] {
  const shares = new Map<string, { joint?: number; kind: LimitKind; share: number }>();
  for (const { from, to, kind, joint } of motion.limits) {
    const key = `${kind} ${joint ?? ""}`;
    const entry = shares.get(key) ?? { ...(joint === undefined ? {} : { joint }), kind, share: 0 };
    entry.share += (to - from) / motion.duration;
    shares.set(key, entry);
  }
  return [...shares.entries()]
    .sort(([a, x], [b, y]) => y.share - x.share || (a < b ? -1 : 1))
    .map(([, entry]) => entry);
}

/** What is wrong with the points, said with place, value and what is wanted; undefined when nothing is. */
function problemOf({ n }: Arm, { kind, points }: PointsQuery): string | undefined {
  const least = kind === "arc" ? 3 : 2;
  if (points.length < least) return `points must have at least ${least} entries for "${kind}", got ${points.length}`;
  if (kind === "arc" && points.length % 2 === 0)
    return `points of an "arc" must be an odd number (start, point to pass, end, …), got ${points.length}`;
  for (const [i, p] of points.entries()) {
    if (p.length !== n && (kind === "joint" || p.length !== 16))
      return `points[${i}] must have ${kind === "joint" ? `${n}` : `${n} or 16`} numbers, got ${p.length}`;
    for (let k = 0; k < p.length; k++)
      if (!Number.isFinite(p[k])) return `points[${i}][${k}] must be a finite number, got ${p[k]}`;
    if (p.length === 16 && !isRigid(p))
      return `points[${i}] must be a rigid transform: three unit columns at right angles, right-handed, last row 0 0 0 1`;
  }
  return undefined;
}
