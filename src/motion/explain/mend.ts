/** Mends of segments that cannot be run, tried before they are said: other branches, other turns of the tool, a joint motion. */
import { compose, type Pose, rotationAbout } from "../../math/pose.ts";
import { toDegrees, toMm } from "../../math/units.ts";
import { arcCurve } from "../path/arc-curve.ts";
import { lineCurve, type ToolCurve } from "../path/tool-curve.ts";
import type { Segment } from "../types.ts";
import { type ExplainTools, type FailedSegment, isReachable, poseOnCurve, solutionsWithin } from "./poses.ts";
import { list, name } from "./words.ts";

/** Tool turns tried, in steps of this many degrees. */
const TURN_STEP = 15;

/** How far the tool gets, and what is needed instead, for a line or arc that leaves the reach. */
export function mendReach(tools: ExplainTools, failed: FailedSegment, curve: ToolCurve, reached: number): string {
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
export function mendSegment(tools: ExplainTools, failed: FailedSegment, curve: ToolCurve): string {
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
