/**
 * Why a segment cannot be run, and what would mend it. The reason is found by asking the inverse kinematics along the
 * segment; the mend is tried before it is said: other branches, other turns of the tool, a joint-interpolated motion. The
 * trying is done when the mend is first read, since planners that only want to know whether a motion works never read it.
 */
import type { Arm } from "../../arm/model.ts";
import type { Pose } from "../../math/pose.ts";
import { toMm } from "../../math/units.ts";
import type { LegTrouble } from "../path/leg.ts";
import { createSmallSolver } from "../path/small-solve.ts";
import type { ToolCurve } from "../path/tool-curve.ts";
import { createToolPoint } from "../path/tool-rates.ts";
import type { MotionFailure, MotionFailureKind } from "../types.ts";
import { mendReach, mendSegment } from "./mend.ts";
import {
  type ExplainTools,
  type FailedSegment,
  isReachable,
  poseAtJoints,
  poseOnCurve,
  solutionsWithin,
} from "./poses.ts";
import { amount, list, name, percent, perSecond } from "./words.ts";

/** Tool speed (m/s) used to say how fast a joint would have to turn, where the segment states none. */
const USUAL_TOOL_SPEED = 0.25;

const point = createToolPoint();

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
    message: `joint ${arm.jointNames[j]} is to ${starts ? "start" : "go"} ${starts ? "at" : "to"} ${amount(arm, j, value)}, ${amount(arm, j, over)} beyond its limit of ${amount(arm, j, crossing.limit)}`,
    mend() {
      tool.setTool(failed.flangeFromTcp);
      const pose = poseAtJoints(tools, joints, starts ? 0 : joints.length);
      const other = solutionsWithin(tools, failed, pose, failed.q)[0];
      const same =
        other === undefined
          ? "No branch reaches that pose inside the joint limits."
          : `The same pose is reached inside the limits with joints ${list(arm, other)}.`;
      return `Keep joint ${arm.jointNames[j]} within ${amount(arm, j, arm.min[j])} to ${amount(arm, j, arm.max[j])}. ${same}`;
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
    message: `joint ${arm.jointNames[j]} meets its limit of ${amount(arm, j, crossing.limit)} at ${percent(crossing.s / curve.length)} of the ${name(failed)}; the whole way would need ${amount(arm, j, excess)} more${whole}`,
    mend: () => mendSegment(tools, failed, curve),
  };
}

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
  return `: joint ${arm.jointNames[j]} would have to ${arm.prismatic[j] ? "move" : "turn"} at ${perSecond(arm, j, needed)} to keep the tool at ${(1000 * speed).toFixed(0)} mm/s; its limit is ${perSecond(arm, j, limit)}`;
}
