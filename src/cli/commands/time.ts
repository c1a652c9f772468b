/** `millhand time`: motions in, their durations and what limits them out. */
import { type Arm, createInverse, forwardKinematics, type InverseKinematics, withinLimits } from "../../arm/index.ts";
import { compose, identityPose, invert, type Pose } from "../../math/pose.ts";
import {
  createPlanner,
  type LimitSpan,
  type MotionOutcome,
  type Segment,
  type SegmentSpeed,
} from "../../motion/index.ts";
import { type ArmFile, loadArmFile, toolFrame } from "../arm-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { LineProblem, LineWork } from "../json-lines.ts";
import { answerLines } from "../line-command.ts";
import { describe, makeRigid, readNumbers } from "../line-values.ts";

export interface TimeOptions {
  readonly cell: string;
  /** True: the first gripper. */
  readonly tool: string | true | undefined;
  readonly asDocument: boolean;
}

/** Nothing but the limits of arm and tool. */
const FREE: SegmentSpeed = {
  fraction: 1,
  toolSpeed: Number.POSITIVE_INFINITY,
  toolAcceleration: Number.POSITIVE_INFINITY,
  constant: false,
};

/** Answers every line of the standard input. @throws UnusableInput when the cell cannot be read or its arm states too few limits */
export async function time(options: TimeOptions): Promise<ExitStatus> {
  const file = loadArmFile(options.cell);
  requireLimits(file);
  const flangeFromTcp = options.tool === undefined ? identityPose() : toolFrame(file, options.tool);
  const read = createMotionReader(file.arm, flangeFromTcp);
  const plan = createStartChooser(file, flangeFromTcp);
  let failed = false;
  const work: LineWork = (record) => {
    const motion = read(record);
    if ("expected" in motion) return motion;
    const { outcome, start } = plan(motion);
    if (!outcome.ok) {
      failed = true;
      const { kind, segment, fraction, message } = outcome.failure;
      return `"error":${JSON.stringify(message)},"reason":${JSON.stringify(kind)},"segment":${segment},"fraction":${fraction}`;
    }
    const limits = outcome.motion.limits.map(limitJson).join(",");
    return `"duration_s":${outcome.motion.duration},"limits":[${limits}],"start":[${start.join(",")}],"end":[${outcome.motion.end.join(",")}]`;
  };
  const status = await answerLines(work, options.asDocument, file.note);
  return status === ExitStatus.done && failed ? ExitStatus.findings : status;
}

function limitJson({ joint, kind, from, to }: LimitSpan): string {
  const named = joint === undefined ? "" : `"joint":${joint},`;
  return `{${named}"kind":${JSON.stringify(kind)},"from_s":${from},"to_s":${to}}`;
}

/** A motion cannot be timed while a joint has no acceleration limit: it would be at speed at once. */
function requireLimits({ path, arm, jointNames }: ArmFile): void {
  const missing = jointNames.filter((_, i) => !(arm.velocity[i]! < Infinity && arm.acceleration[i]! < Infinity));
  if (missing.length > 0)
    throw new UnusableInput(
      `${path}: a velocity and an acceleration limit are needed for every joint to time motions; missing for ${missing.join(", ")}`,
    );
}

/** A motion as read. `start` is joint values, or a pose whose branch is still to be chosen. */
interface AskedMotion {
  readonly start: Float64Array | { readonly baseFromTcp: Pose };
  readonly segments: readonly Segment[];
}

/** Reads motions of one arm from records. */
function createMotionReader(
  arm: Arm,
  flangeFromTcp: Pose,
): (record: Readonly<Record<string, unknown>>) => AskedMotion | LineProblem {
  const { n } = arm;

  /** Joint values of a point, or the pose it states. */
  const readPoint = (points: readonly unknown[], i: number): Float64Array | { pose: Pose } | LineProblem => {
    const name = `points[${i}]`;
    const point = points[i];
    const isPose = Array.isArray(point) && point.length === 16;
    const out = new Float64Array(isPose ? 16 : n);
    const shape = isPose ? "row-major 4 × 4 transform, metres" : `joint values, rad; or a pose of 16 numbers`;
    const problem = readNumbers({ [name]: point }, name, out, shape) ?? (isPose ? makeRigid(name, out) : undefined);
    if (problem !== undefined) return problem;
    return isPose ? { pose: out } : out;
  };
  const poseOf = (point: Float64Array | { pose: Pose }): Pose =>
    point instanceof Float64Array ? compose(forwardKinematics(arm, point, identityPose()), flangeFromTcp) : point.pose;

  return (record) => {
    const { kind, points } = record;
    if (kind !== "joint" && kind !== "line" && kind !== "arc")
      return { found: `kind: ${describe(kind)}`, expected: '"joint", "line" or "arc"' };
    const fewest = kind === "arc" ? 3 : 2;
    if (!Array.isArray(points) || points.length < fewest)
      return {
        found: Array.isArray(points) ? `${points.length} points` : `points: ${describe(points)}`,
        expected: `"points" with at least ${fewest} entries`,
      };
    if (kind === "arc" && points.length % 2 === 0)
      return {
        found: `${points.length} points`,
        expected: "a start, then for each arc a point on the way and its end",
      };
    const read: (Float64Array | { pose: Pose })[] = [];
    for (let i = 0; i < points.length; i++) {
      const point = readPoint(points, i);
      if ("expected" in point) return point;
      if (kind === "joint" && !(point instanceof Float64Array))
        return { found: `points[${i}] with 16 entries`, expected: `${n} joint values` };
      read.push(point);
    }
    const segments: Segment[] = [];
    for (let i = 1; i < read.length; i++) {
      const point = read[i]!;
      const common = { speed: FREE, blend: 0 };
      if (kind === "joint") segments.push({ ...common, kind, to: point as Float64Array });
      else if (kind === "line") segments.push({ ...common, kind, to: poseOf(point) });
      else segments.push({ ...common, kind, via: poseOf(point), to: poseOf(read[++i]!) });
    }
    const first = read[0]!;
    return { start: first instanceof Float64Array ? first : { baseFromTcp: first.pose }, segments };
  };
}

/**
 * Plans motions. Where only the pose of the start is known, the branches are tried in order of their distance from the
 * cell's home, and the first that can do the motion is taken.
 */
function createStartChooser(
  file: ArmFile,
  flangeFromTcp: Pose,
): (motion: AskedMotion) => { readonly outcome: MotionOutcome; readonly start: Float64Array } {
  const { arm } = file;
  const planner = createPlanner(arm);
  const tcpFromFlange = invert(flangeFromTcp);
  let inverse: InverseKinematics | undefined;
  const plan = (start: Float64Array, segments: readonly Segment[]): MotionOutcome =>
    planner.plan({
      arm,
      start,
      segments,
      flangeFromTcp,
      tool: file.toolLimits,
      payload: file.payload,
      gravity: file.gravity,
      lineStep: file.lineStep,
    });
  const distance = (q: Float64Array) => q.reduce((sum, value, i) => sum + (value - file.home[i]!) ** 2, 0);

  return ({ start, segments }) => {
    if (start instanceof Float64Array) return { outcome: plan(start, segments), start };
    inverse ??= createInverse(arm);
    const solved = inverse.solve(compose(start.baseFromTcp, tcpFromFlange), inverse.result());
    const branches = withinLimits(arm, solved, { allTurns: false }).map((row) => Float64Array.from(row));
    branches.sort((a, b) => distance(a) - distance(b));
    let first: { outcome: MotionOutcome; start: Float64Array } | undefined;
    for (const q of branches) {
      const outcome = plan(q, segments);
      if (outcome.ok) return { outcome, start: q };
      first ??= { outcome, start: q };
    }
    if (first !== undefined) return first;
    const message = solved.exact
      ? "the start is reached only outside the joint limits"
      : `the start is out of reach by ${(1000 * solved.positionError).toFixed(1)} mm`;
    return {
      outcome: {
        ok: false,
        failure: {
          kind: solved.exact ? "joint limit" : "out of reach",
          segment: 0,
          fraction: 0,
          baseFromTcp: start.baseFromTcp,
          message,
          mend: "Move the start.",
        },
      },
      start: new Float64Array(arm.n),
    };
  };
}
