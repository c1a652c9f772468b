/**
 * Planning of motions: a chain of joint-, line- and arc-interpolated segments becomes paths from standstill to standstill,
 * with rounded corners where blends are asked for, checked and timed under the limits of arm, tool and drives.
 *
 * Left out: what the arm might hit (see clearance), control errors, flexibility.
 */
import {
  createDynamics,
  createInverse,
  createSingularityMeter,
  type Dynamics,
  type InverseKinematics,
  type SingularityMeter,
} from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import { ContractError } from "../math/contract-error.ts";
import type { Pose } from "../math/pose.ts";
import { toMm } from "../math/units.ts";
import { assembleMotion, type FinishedRun } from "./assemble.ts";
import type { ExplainTools } from "./explain/poses.ts";
import { explainTiming, unsteadySegment } from "./explain/timing.ts";
import { explainTrouble } from "./explain/trouble.ts";
import { type Corner, createCornerBuilder } from "./path/corner.ts";
import { createFollower } from "./path/follow.ts";
import { createJointLimitCheck } from "./path/joint-limits.ts";
import { createLegBuilder, type Leg } from "./path/leg.ts";
import { type PathPiece, RunPath } from "./path/run-path.ts";
import { createToolPoint, createToolRates, poseOfPoint } from "./path/tool-rates.ts";
import { timeRampRun, timeSteadyRun } from "./ramps/ramp-run.ts";
import { requireRequest } from "./request.ts";
import { createSurvey, type Load, type Survey } from "./survey.ts";
import { type RunStretch, timePathRun } from "./time-path-run.ts";
import { type TimedRun, timeJointLeg } from "./timed-run.ts";
import type { PathTimingFailure } from "./timing/index.ts";
import type { MotionNote, MotionOutcome, MotionRequest, Segment } from "./types.ts";

/** Values above a limit by less than this share are rounding. */
const OVER = 1e-6;
/** Pieces of path shorter than this are left out, m. */
const NO_PIECE = 1e-10;

export interface Planner {
  /**
   * Plans one motion. Not reentrant; the motions returned stay valid.
   * @throws ContractError if the request is malformed: another arm, no segments, arrays of wrong length, values not finite
   */
  plan(request: MotionRequest): MotionOutcome;
}

/** A chain from one standstill to the next, before timing. */
interface Run {
  readonly legs: readonly Leg[];
  readonly corners: readonly Corner[];
}

/**
 * A planner for one arm. It keeps its work arrays, inverse kinematics and dynamics, so that many motions are planned fast.
 * @throws ContractError if a joint has neither a speed, an acceleration nor a jerk limit
 */
export function createPlanner(arm: Arm): Planner {
  const { n } = arm;
  for (let i = 0; i < n; i++)
    if (!(Math.min(arm.velocity[i], arm.acceleration[i], arm.jerk[i]) < Number.POSITIVE_INFINITY))
      throw new ContractError(
        `createPlanner: joint ${arm.jointNames[i]} of ${arm.name} needs a speed, acceleration or jerk limit`,
      );
  const tool = createToolRates(arm);
  const follower = createFollower(arm, tool);
  const limits = createJointLimitCheck(arm);
  const legs = createLegBuilder(arm, tool, follower, limits);
  const corners = createCornerBuilder(arm, tool, legs, limits);
  const survey = createSurvey(arm);
  const point = createToolPoint();
  // Made when first needed: an arm that only moves by its joints needs no inverse kinematics.
  let inverse: InverseKinematics | undefined;
  let meter: SingularityMeter | undefined;
  let dynamics: Dynamics | undefined;
  const inverseOf = (): InverseKinematics => {
    inverse ??= createInverse(arm);
    return inverse;
  };
  const meterOf = (): SingularityMeter => {
    meter ??= createSingularityMeter(arm);
    return meter;
  };
  const explainTools: ExplainTools = { arm, tool, legs, limits, inverseOf, meterOf };
  const torqueLimited = arm.hasMasses && arm.torque.some((t) => t < Number.POSITIVE_INFINITY);

  const loadOf = (request: MotionRequest): Load | undefined => {
    if (!torqueLimited || request.payload === undefined) return undefined;
    dynamics ??= createDynamics(arm);
    return { dynamics, payload: request.payload, gravity: request.gravity };
  };

  const plan = (request: MotionRequest): MotionOutcome => {
    requireRequest(arm, request);
    const flangeFromTcp = Float64Array.from(request.flangeFromTcp);
    tool.setTool(flangeFromTcp);
    const notes: MotionNote[] = [];

    // Corner to corner.
    const chain: Leg[] = [];
    let q: Float64Array = Float64Array.from(request.start);
    tool.place(q, point);
    let from: Pose = poseOfPoint(point);
    for (const [index, segment] of request.segments.entries()) {
      const built = legs.build(segment, index, q, from, request.lineStep);
      if (!built.ok) {
        const failed = { segment, index, q, from, flangeFromTcp, lineStep: request.lineStep };
        return { ok: false, failure: explainTrouble(explainTools, failed, built.trouble) };
      }
      const { leg } = built;
      if (leg.straightArc)
        notes.push({
          kind: "arc is straight",
          segment: index,
          message: "start, point to pass and end of the arc lie on a line: it is run as a line",
        });
      chain.push(leg);
      q = leg.endQ;
      from = leg.corner;
    }

    // From standstill to standstill.
    const blends: number[] = chain.map(() => 0);
    const runs: Run[] = [];
    let current: { legs: Leg[]; corners: Corner[] } | undefined;
    for (const [index, leg] of chain.entries()) {
      if (current === undefined) current = { legs: [leg], corners: [] };
      else current.legs.push(leg);
      const asked = request.segments[index].blend;
      let corner: Corner | undefined;
      if (index + 1 < chain.length && asked > 0) {
        const made = corners.build(leg, chain[index + 1], asked, request.lineStep);
        corner = made.corner;
        if (corner === undefined)
          notes.push({
            kind: "blend left out",
            segment: index,
            message: `the corner is not rounded: ${made.reason}; the arm stops there`,
          });
        else {
          blends[index] = Math.min(asked, corner.radius);
          if (corner.radius < asked * 0.999)
            notes.push({
              kind: "blend reduced",
              segment: index,
              message: `the blend is reduced from ${toMm(asked).toFixed(1)} mm to ${toMm(corner.radius).toFixed(1)} mm: the shorter of the neighbouring segments allows no more`,
            });
        }
      }
      if (corner !== undefined) current.corners.push(corner);
      else {
        runs.push(current);
        current = undefined;
      }
    }

    // In time.
    const load = loadOf(request);
    const finished: FinishedRun[] = [];
    for (const run of runs) {
      const laid = layOut(run, request.segments, flangeFromTcp);
      if (laid === undefined) {
        finished.push({ moved: undefined, segmentEnds: run.legs.map(() => 0) });
        continue;
      }
      const { path, stretches } = laid;
      const failed = { arm, request, path, stretches, first: run.legs[0].segment, load };
      const unsteady = unsteadySegment(failed);
      if (unsteady !== undefined) return { ok: false, failure: unsteady };
      const timing = timeRun(run, path, stretches, request, load);
      if (!timing.ok) return { ok: false, failure: explainTiming(failed, timing.failure) };
      const { run: timed, survey: seen } = timing;
      const ends = stretches.map(({ to }, i) => (i + 1 === stretches.length ? timed.duration : timed.timeAt(to)));
      finished.push({ moved: { path, timed, survey: seen }, segmentEnds: ends });
    }
    return { ok: true, motion: assembleMotion(arm, finished, q, blends, notes, meterOf) };
  };

  /** Path of a run and the stretch of each of its segments; undefined when it does not move. */
  const layOut = (
    run: Run,
    segments: readonly Segment[],
    flangeFromTcp: Pose,
  ): { readonly path: RunPath; readonly stretches: readonly RunStretch[] } | undefined => {
    const pieces: PathPiece[] = [];
    const stretches: RunStretch[] = [];
    let s = 0;
    let open = 0;
    for (const [i, leg] of run.legs.entries()) {
      const cut = i > 0 ? run.corners[i - 1].reach : 0;
      const corner = run.corners[i];
      const to = leg.length - (corner?.reach ?? 0);
      const steadyFrom = s;
      if (leg.joints !== undefined && to - cut > NO_PIECE) {
        pieces.push({ joints: leg.joints, tool: leg.tool, from: cut, to, segment: leg.segment, corner: false });
        s += to - cut;
      }
      const steadyTo = s;
      let end = s;
      if (corner !== undefined) {
        const length = 2 * corner.reach;
        pieces.push({
          joints: corner.joints,
          tool: corner.tool,
          from: 0,
          to: length,
          segment: leg.segment,
          corner: true,
        });
        end = s + corner.nearest;
        s += length;
      }
      stretches.push({ from: open, to: end, speed: segments[leg.segment].speed, steadyFrom, steadyTo });
      open = end;
    }
    return pieces.length === 0
      ? undefined
      : { path: new RunPath(n, pieces, tool, flangeFromTcp, createToolPoint()), stretches };
  };

  type Timing =
    | { readonly ok: true; readonly run: TimedRun; readonly survey: Survey }
    | { readonly ok: false; readonly failure: PathTimingFailure };

  /**
   * Timing: in closed form for a single joint-interpolated segment where neither tool nor drives limit it; by levels and
   * ramps for a single line or arc along which the limits change little; else numerically along the path. Torque rows cost three inverse dynamics per point of the path: they come in only where a torque limit binds.
   */
  const timeRun = (
    run: Run,
    path: RunPath,
    stretches: readonly RunStretch[],
    request: MotionRequest,
    load: Load | undefined,
  ): Timing => {
    const [leg] = run.legs;
    let loaded = false;
    if (run.legs.length === 1 && leg.tool === undefined && !stretches[0].speed.constant) {
      const timed = timeJointLeg(arm, leg, stretches[0].speed.fraction);
      const seen = survey(path, timed, load);
      loaded = !withinTorque(seen);
      if (!loaded && withinTool(seen, stretches[0], request)) return { ok: true, run: timed, survey: seen };
    }
    if (!loaded) {
      const quick = timeRampRun(arm, path, stretches, request.tool);
      if (quick !== undefined) {
        const seen = survey(path, quick, load);
        if (withinTorque(seen)) return { ok: true, run: quick, survey: seen };
        loaded = true;
      }
    }
    if (!loaded) {
      const timing = timePathRun(arm, path, stretches, request.tool, undefined);
      if (!timing.ok) {
        const steady = timing.failure.reason === "constant speed" && timeSteadyRun(arm, path, stretches, request.tool);
        if (!steady) return timing;
        const seen = survey(path, steady, load);
        return withinTorque(seen) ? { ok: true, run: steady, survey: seen } : timing;
      }
      const seen = survey(path, timing.run, load);
      if (withinTorque(seen)) return { ok: true, run: timing.run, survey: seen };
    }
    const timing = timePathRun(arm, path, stretches, request.tool, load);
    return timing.ok ? { ok: true, run: timing.run, survey: survey(path, timing.run, load) } : timing;
  };

  return { plan };
}

/** Plans one motion; for many, keep a planner. @throws ContractError if the request is malformed */
export function planMotion(request: MotionRequest): MotionOutcome {
  return createPlanner(request.arm).plan(request);
}

function withinTool(seen: Survey, { speed }: RunStretch, { tool }: MotionRequest): boolean {
  const over = 1 + OVER;
  return (
    seen.speed <= over * Math.min(tool.speed, speed.toolSpeed) &&
    seen.acceleration <= over * Math.min(tool.acceleration, speed.toolAcceleration) &&
    seen.jerk <= over * tool.jerk &&
    seen.turnSpeed <= over * tool.turnSpeed &&
    seen.turnAcceleration <= over * tool.turnAcceleration
  );
}

function withinTorque(seen: Survey): boolean {
  return seen.torqueShare === undefined || seen.torqueShare.every((share) => share <= 1 + OVER);
}
