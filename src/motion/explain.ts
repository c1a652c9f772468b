/**
 * Why a segment cannot be run, and what would mend it. The reason is found by asking the inverse kinematics along the
 * segment; the mend is tried before it is said: other branches, other turns of the tool, a joint-interpolated motion. The
 * trying is done when the mend is first read, since planners that only want to know whether a motion works never read it.
 */
import { type InverseKinematics, type InverseResult, type SingularityMeter, withinLimits } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import { compose, invert, type Pose, rotationAbout } from "../math/pose.ts";
import { toDegrees, toMm } from "../math/units.ts";
import { arcCurve } from "./path/arc-curve.ts";
import type { JointLimitCheck } from "./path/joint-limits.ts";
import type { LegBuilder, LegTrouble } from "./path/leg.ts";
import { createSmallSolver } from "./path/small-solve.ts";
import { lineCurve, type ToolCurve } from "./path/tool-curve.ts";
import type { ToolRates } from "./path/tool-rates.ts";
import { createToolPoint, poseOfPoint } from "./path/tool-rates.ts";
import type { MotionFailure, MotionFailureKind, Segment } from "./types.ts";

/** Tool speed (m/s) used to say how fast a joint would have to turn, where the segment states none. */
const USUAL_TOOL_SPEED = 0.25;
/** Tool turns tried, in steps of this many degrees. */
const TURN_STEP = 15;
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

interface Finding {
  readonly kind: MotionFailureKind;
  readonly fraction: number;
  readonly joint?: number;
  readonly baseFromTcp?: Pose;
  readonly message: string;
  readonly mend: () => string;
}

/** The failure of one segment; its mend is worked out when it is read. */
export function explainTrouble(tools: ExplainTools, failed: FailedSegment, trouble: LegTrouble): MotionFailure {
  const finding = find(tools, failed, trouble);
  let mend: string | undefined;
  return {
    kind: finding.kind,
    segment: failed.index,
    fraction: finding.fraction,
    ...(finding.joint === undefined ? {} : { joint: finding.joint }),
    ...(finding.baseFromTcp === undefined ? {} : { baseFromTcp: finding.baseFromTcp }),
    message: finding.message,
    get mend() {
      mend ??= finding.mend();
      return mend;
    },
  };
}

function find(tools: ExplainTools, failed: FailedSegment, trouble: LegTrouble): Finding {
  const { segment } = failed;
  if (trouble.kind === "arc") {
    const at = segment.kind === "arc" ? { baseFromTcp: segment.via } : {};
    return { kind: "bad arc", fraction: 0, ...at, message: trouble.message, mend: () => trouble.mend };
  }
  if (trouble.kind === "limit")
    return trouble.tool === undefined ? jointMotionLimit(tools, failed, trouble) : lineLimit(tools, failed, trouble);
  return stopped(tools, failed, trouble);
}

// ---- joint limits ----------------------------------------------------------------------------------------------------

function jointMotionLimit(
  tools: ExplainTools,
  failed: FailedSegment,
  trouble: LegTrouble & { kind: "limit" },
): Finding {
  const { arm, tool } = tools;
  const { crossing, joints } = trouble;
  const j = crossing.joint;
  const target = failed.segment.kind === "joint" ? failed.segment.to : failed.q;
  const starts = crossing.s === 0;
  const value = starts ? failed.q[j] : target[j];
  const over = Math.abs(value - crossing.limit);
  return {
    kind: "joint limit",
    fraction: crossing.s / joints.length,
    joint: j,
    baseFromTcp: poseAtJoints(tools, joints, crossing.s),
    message: `joint ${j + 1} is to ${starts ? "start" : "go"} ${starts ? "at" : "to"} ${amount(arm, j, value)}, ${amount(arm, j, over)} beyond its limit of ${amount(arm, j, crossing.limit)}`,
    mend() {
      tool.setTool(failed.flangeFromTcp);
      const pose = poseAtJoints(tools, joints, starts ? 0 : joints.length);
      const other = solutionsWithin(tools, failed, pose, failed.q)[0];
      const same =
        other === undefined
          ? "No branch reaches that pose inside the joint limits."
          : `The same pose is reached inside the limits with joints ${list(arm, other)}.`;
      return `Keep joint ${j + 1} within ${amount(arm, j, arm.min[j])} to ${amount(arm, j, arm.max[j])}. ${same}`;
    },
  };
}

function lineLimit(tools: ExplainTools, failed: FailedSegment, trouble: LegTrouble & { kind: "limit" }): Finding {
  const { arm, limits } = tools;
  const { crossing, joints } = trouble;
  const curve = trouble.tool!;
  const j = crossing.joint;
  const excess = limits.excess(joints, 0, joints.length, failed.lineStep, j);
  const whole = joints.length >= curve.length ? "" : ", before the line ends for another reason";
  return {
    kind: "joint limit",
    fraction: crossing.s / curve.length,
    joint: j,
    baseFromTcp: poseOnCurve(curve, crossing.s),
    message: `joint ${j + 1} meets its limit of ${amount(arm, j, crossing.limit)} at ${percent(crossing.s / curve.length)} of the ${name(failed)}; the whole way would need ${amount(arm, j, excess)} more${whole}`,
    mend: () => mendSegment(tools, failed, curve),
  };
}

// ---- reach, branches, singularities ----------------------------------------------------------------------------------

function stopped(tools: ExplainTools, failed: FailedSegment, trouble: LegTrouble & { kind: "stop" }): Finding {
  const { arm } = tools;
  const { followed, tool: curve } = trouble;
  const { length } = curve;
  const s = followed.reached;
  const at = (where: number) => ({ fraction: where / length, baseFromTcp: poseOnCurve(curve, where) });
  const mend = () => mendSegment(tools, failed, curve);
  const inverse = tools.inverseOf();
  const result = inverse.result();
  const reachable = (where: number) => isReachable(tools, failed, poseOnCurve(curve, where), result);
  const beyond = Math.min(length, s + Math.max(2e-3 * length, 1e-5));
  const lost = s < length && !reachable(beyond);
  if (arm.n < 6 && lost && positionFollows(tools, followed.end, curve, s)) {
    return {
      kind: "no solution",
      ...at(s),
      message: `an arm of ${arm.n} joints cannot keep the orientation asked for beyond ${percent(s / length)} of the ${name(failed)}`,
      mend,
    };
  }
  // A search that is not complete may have missed joint values: where the arm is singular that is the better reason.
  if (lost && (inverse.complete || followed.stop !== "singular")) {
    let low = s;
    let high = beyond;
    for (let k = 0; k < 40 && inverse.complete; k++) {
      const middle = (low + high) / 2;
      if (reachable(middle)) low = middle;
      else high = middle;
    }
    const missing = toMm((length - low) * curve.travel);
    return {
      kind: "out of reach",
      ...at(inverse.complete ? high : s),
      message: `the ${name(failed)} leaves the reach of the arm at ${percent(low / length)} of its length, ${missing.toFixed(1)} mm before its end`,
      mend: () => mendReach(tools, failed, curve, low),
    };
  }
  const { kind, measure } = tools.meterOf().nearest(followed.end);
  const endReached = reachable(length);
  if (followed.stop === "lost" && kind !== "wrist" && kind !== "shoulder" ? true : kind === "elbow") {
    const other = endReached ? solutionsWithin(tools, failed, poseOnCurve(curve, length), followed.end)[0] : undefined;
    return {
      kind: "branch change",
      ...at(s),
      message: `the branch followed (joints ${list(arm, followed.end)}) ends at ${percent(s / length)} of the ${name(failed)}; ${
        other === undefined
          ? "beyond it the arm reaches on another branch only"
          : `its end is reached on another branch only, with joints ${list(arm, other)}`
      }`,
      mend,
    };
  }
  return {
    kind: "singularity",
    ...at(s),
    ...(followed.joint >= 0 ? { joint: followed.joint } : {}),
    message: `the ${name(failed)} meets a ${kind === "unnamed" ? "" : `${kind} `}singularity at ${percent(s / length)} of its length (measure ${Math.abs(measure) < 1e-6 ? "0" : Math.abs(measure).toPrecision(2)}, 0 is singular)${speedNeeded(arm, failed, followed, curve)}`,
    mend,
  };
}

/** Whether some joint motion moves the tool centre point along the curve at s, whatever the orientation does. */
function positionFollows(tools: ExplainTools, q: Float64Array, curve: ToolCurve, s: number): boolean {
  const { n } = tools.arm;
  tools.tool.place(q, point);
  const jacobian = new Float64Array(6 * n);
  tools.tool.jacobian(jacobian);
  curve.evaluate(s, point);
  const wanted = Float64Array.from(point.p1);
  const size = Math.hypot(...wanted);
  if (size === 0) return true;
  // Least squares with a little damping: (J Jᵀ + ε) y = p', then what is left of p'.
  const solver = createSmallSolver(3);
  const square = new Float64Array(9);
  for (let r = 0; r < 3; r++)
    for (let c = 0; c < 3; c++)
      for (let k = 0; k < n; k++) square[3 * r + c] += jacobian[n * r + k] * jacobian[n * c + k];
  solver.matrix.set(square);
  const damping = 1e-9 * (square[0] + square[4] + square[8]);
  for (let r = 0; r < 3; r++) solver.matrix[4 * r] += damping;
  if (solver.factor() === 0) return false;
  const y = new Float64Array(3);
  solver.solve(wanted, y);
  let left = 0;
  for (let r = 0; r < 3; r++)
    left += (wanted[r] - square[3 * r] * y[0] - square[3 * r + 1] * y[1] - square[3 * r + 2] * y[2]) ** 2;
  return Math.sqrt(left) < 1e-2 * size;
}

/** ": joint 4 would have to turn at … to keep the tool at …". */
function speedNeeded(
  arm: Arm,
  failed: FailedSegment,
  followed: { readonly joint: number; readonly rate: number },
  curve: ToolCurve,
): string {
  const j = followed.joint;
  if (j < 0) return ": there the joints cannot correct the tool in every direction";
  const stated = failed.segment.speed.toolSpeed;
  const speed = stated < Number.POSITIVE_INFINITY ? stated : USUAL_TOOL_SPEED;
  const needed = (followed.rate * speed) / (curve.travel || 1);
  const limit = arm.velocity[j];
  return `: joint ${j + 1} would have to ${arm.prismatic[j] ? "move" : "turn"} at ${perSecond(arm, j, needed)} to keep the tool at ${(1000 * speed).toFixed(0)} mm/s; its limit is ${perSecond(arm, j, limit)}`;
}

// ---- mends -----------------------------------------------------------------------------------------------------------

/** How far the tool gets, and what is needed instead, for a line or arc that leaves the reach. */
function mendReach(tools: ExplainTools, failed: FailedSegment, curve: ToolCurve, reached: number): string {
  const end = poseOnCurve(curve, curve.length);
  const result = tools.inverseOf().result();
  if (isReachable(tools, failed, end, result)) return mendSegment(tools, failed, curve);
  const sentences: string[] = [];
  const short = toMm((curve.length - reached) * curve.travel);
  const miss = result.rotationError < 1e-6 ? toMm(result.positionError) : Number.POSITIVE_INFINITY;
  if (miss < short)
    sentences.push(`Move the end by ${miss.toFixed(1)} mm towards the arm, to the nearest point in reach.`);
  else sentences.push(`End the ${name(failed)} ${short.toFixed(1)} mm earlier, or bring its end that much nearer.`);
  const turned = turnedTool(tools, failed);
  if (turned !== undefined) sentences.push(turned);
  return sentences.join(" ");
}

/** Tries what could run instead and says what works. */
function mendSegment(tools: ExplainTools, failed: FailedSegment, curve: ToolCurve): string {
  const { arm } = tools;
  const sentences: string[] = [];
  const other = otherStart(tools, failed, curve);
  if (other !== undefined)
    sentences.push(`Start the ${name(failed)} with joints ${list(arm, other)}: from there it runs to its end.`);
  const turned = other === undefined ? turnedTool(tools, failed) : undefined;
  if (turned !== undefined) sentences.push(turned);
  tools.tool.setTool(failed.flangeFromTcp);
  const end = solutionsWithin(tools, failed, poseOnCurve(curve, curve.length), failed.q)[0];
  if (end !== undefined)
    sentences.push(`A joint-interpolated motion to joints ${list(arm, end)} reaches the same end pose.`);
  if (sentences.length === 0) {
    const result = tools.inverseOf().result();
    const near = isReachable(tools, failed, poseOnCurve(curve, curve.length), result)
      ? "and its end has no joint values inside the limits"
      : `and the nearest pose the arm can take at its end misses by ${toMm(result.positionError).toFixed(1)} mm and ${toDegrees(result.rotationError).toFixed(1)}°`;
    sentences.push(
      `No branch runs this ${name(failed)}, no turn of the tool about its own axis helps, ${near}: change its end, or move the arm.`,
    );
  }
  return sentences.join(" ");
}

/** Joint values at the same start pose from which the curve runs to its end; the nearest first. */
function otherStart(tools: ExplainTools, failed: FailedSegment, curve: ToolCurve): Float64Array | undefined {
  const { legs, tool } = tools;
  tool.setTool(failed.flangeFromTcp);
  for (const q of solutionsWithin(tools, failed, failed.from, failed.q)) {
    const run = legs.run(curve, q, failed.lineStep);
    if (run.followed.stop === undefined && run.crossing === undefined) return q;
  }
  return undefined;
}

/** A turn of the tool about its own z axis, of the end alone or of the whole segment, with which it runs. */
function turnedTool(tools: ExplainTools, failed: FailedSegment): string | undefined {
  const { legs, tool, arm } = tools;
  tool.setTool(failed.flangeFromTcp);
  const { segment } = failed;
  if (segment.kind === "joint") return undefined;
  for (let k = 1; k <= 180 / TURN_STEP; k++) {
    for (const degrees of k * TURN_STEP === 180 ? [180] : [k * TURN_STEP, -k * TURN_STEP]) {
      const turn = rotationAbout([0, 0, 1], (degrees * Math.PI) / 180);
      const to = compose(segment.to, turn);
      const alone = curveOf(segment, failed.from, to);
      if (alone !== undefined) {
        const run = legs.run(alone, failed.q, failed.lineStep);
        if (run.followed.stop === undefined && run.crossing === undefined)
          return `With the tool turned by ${degrees}° about its own axis at the end, the ${name(failed)} runs.`;
      }
      const from = compose(failed.from, turn);
      const whole = curveOf(segment, from, to);
      const start = solutionsWithin(tools, failed, from, failed.q)[0];
      if (whole === undefined || start === undefined) continue;
      const run = legs.run(whole, start, failed.lineStep);
      if (run.followed.stop === undefined && run.crossing === undefined)
        return `With the tool turned by ${degrees}° about its own axis all along, the ${name(failed)} runs from joints ${list(arm, start)}.`;
    }
  }
  return undefined;
}

function curveOf(segment: Segment, from: Pose, to: Pose): ToolCurve | undefined {
  if (segment.kind === "line") return lineCurve(from, to);
  if (segment.kind !== "arc") return undefined;
  const arc = arcCurve(from, segment.via, to);
  return arc.ok ? arc.curve : undefined;
}

// ---- inverse kinematics ----------------------------------------------------------------------------------------------

function isReachable(tools: ExplainTools, failed: FailedSegment, baseFromTcp: Pose, result: InverseResult): boolean {
  tools.inverseOf().solve(compose(baseFromTcp, invert(failed.flangeFromTcp)), result);
  return result.exact;
}

/** Joint values inside the limits for a tool pose, with every copy by full turns; the least total joint motion first. */
function solutionsWithin(
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

// ---- words -----------------------------------------------------------------------------------------------------------

const point = createToolPoint();

function poseOnCurve(curve: ToolCurve, s: number): Pose {
  curve.evaluate(s, point);
  return poseOfPoint(point);
}

function poseAtJoints(
  tools: ExplainTools,
  joints: { evaluate(s: number, q: Float64Array, q1: Float64Array, q2: Float64Array, q3: Float64Array): void },
  s: number,
): Pose {
  const [q, q1, q2, q3] = Array.from({ length: 4 }, () => new Float64Array(tools.arm.n));
  joints.evaluate(s, q, q1, q2, q3);
  tools.tool.place(q, point);
  return poseOfPoint(point);
}

const name = (failed: FailedSegment): string => (failed.segment.kind === "joint" ? "motion" : failed.segment.kind);
const percent = (fraction: number): string => `${(100 * fraction).toFixed(1)} %`;
/** A joint value or difference with its unit. */
const amount = (arm: Arm, joint: number, value: number): string =>
  arm.prismatic[joint] ? `${toMm(value).toFixed(1)} mm` : `${toDegrees(value).toFixed(1)}°`;
const perSecond = (arm: Arm, joint: number, value: number): string =>
  arm.prismatic[joint] ? `${toMm(value).toFixed(0)} mm/s` : `${toDegrees(value).toFixed(0)} °/s`;
const list = (arm: Arm, q: ArrayLike<number>): string =>
  `(${Array.from(q, (v, i) => (arm.prismatic[i] ? `${toMm(v).toFixed(1)} mm` : `${toDegrees(v).toFixed(1)}°`)).join(", ")})`;
