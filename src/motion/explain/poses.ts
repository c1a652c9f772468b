/** What explaining a failure works with: the segment, and poses and joint values along it. */
import { type InverseKinematics, type InverseResult, type SingularityMeter, withinLimits } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import { compose, invert, type Pose } from "../../math/pose.ts";
import type { JointCurve } from "../path/joint-curve.ts";
import type { JointLimitCheck } from "../path/joint-limits.ts";
import type { LegBuilder } from "../path/leg.ts";
import type { ToolCurve } from "../path/tool-curve.ts";
import { createToolPoint, poseOfPoint, type ToolRates } from "../path/tool-rates.ts";
import type { Segment } from "../types.ts";

/** Joint values tried for one pose: every branch, and each with one joint turned over, of an arm of eight branches. */
const MOST_STARTS = 64;

export interface ExplainTools {
  readonly arm: Arm;
  readonly tool: ToolRates;
  readonly legs: LegBuilder;
  readonly limits: JointLimitCheck;
  /** Made when first asked for. */
  readonly inverseOf: () => InverseKinematics;
  readonly meterOf: () => SingularityMeter;
}

/** What was to be run. */
export interface FailedSegment {
  readonly segment: Segment;
  readonly index: number;
  /** Joint values and tool pose at its start. */
  readonly q: Float64Array;
  readonly from: Pose;
  readonly flangeFromTcp: Pose;
  readonly lineStep: number;
}

const point = createToolPoint();

export function poseOnCurve(curve: ToolCurve, s: number): Pose {
  curve.evaluate(s, point);
  return poseOfPoint(point);
}

export function poseAtJoints(tools: ExplainTools, joints: JointCurve, s: number): Pose {
  const [q, q1, q2, q3] = Array.from({ length: 4 }, () => new Float64Array(tools.arm.n));
  joints.evaluate(s, q, q1, q2, q3);
  tools.tool.place(q, point);
  return poseOfPoint(point);
}

export function isReachable(
  tools: ExplainTools,
  failed: FailedSegment,
  baseFromTcp: Pose,
  result: InverseResult,
): boolean {
  tools.inverseOf().solve(compose(baseFromTcp, invert(failed.flangeFromTcp)), result);
  return result.exact;
}

/** Joint values inside the limits for a tool pose, with every copy by full turns; the least total joint motion first. */
export function solutionsWithin(
  tools: ExplainTools,
  failed: FailedSegment,
  baseFromTcp: Pose,
  reference: Float64Array,
): readonly Float64Array[] {
  const { arm } = tools;
  const result = tools.inverseOf().result();
  if (!isReachable(tools, failed, baseFromTcp, result)) return [];
  const apart = (q: Float64Array) => q.reduce((sum, v, i) => sum + Math.abs(v - reference[i]), 0);
  return withinLimits(arm, result, { allTurns: true })
    .map((q) => ({ q, apart: apart(q) }))
    .sort((x, y) => x.apart - y.apart)
    .slice(0, MOST_STARTS)
    .map(({ q }) => q);
}
