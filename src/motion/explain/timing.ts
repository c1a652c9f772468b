/** Why a path that the arm can follow cannot be timed as asked: torque at rest, a tool speed that cannot be constant. */
import type { Arm, Payload } from "../../arm/model.ts";
import type { Pose } from "../../math/pose.ts";
import { toMm } from "../../math/units.ts";
import type { RunPath } from "../path/run-path.ts";
import { createToolPoint, poseOfPoint } from "../path/tool-rates.ts";
import { timeSteadyRun } from "../ramps/ramp-run.ts";
import type { Load } from "../survey.ts";
import { nameOf, type RunStretch } from "../time-path-run.ts";
import type { PathTimingFailure } from "../timing/index.ts";
import type { MotionFailure, MotionRequest } from "../types.ts";
import { effort } from "./words.ts";

export interface FailedRun {
  readonly arm: Arm;
  readonly request: MotionRequest;
  readonly path: RunPath;
  /** One per segment of the run, the first being segment `first` of the request. */
  readonly stretches: readonly RunStretch[];
  readonly first: number;
  readonly load: Load | undefined;
}

/** A segment that is to run at constant tool speed but starts or ends at standstill, before its path is timed. */
export function unsteadySegment(run: FailedRun): MotionFailure | undefined {
  const { stretches, path, request, first } = run;
  for (const [i, stretch] of stretches.entries()) {
    const { speed, steadyFrom, steadyTo } = stretch;
    if (!speed.constant || !(steadyTo > steadyFrom)) continue;
    const atStart = steadyFrom <= 0;
    if (!atStart && steadyTo < path.length) continue;
    const room = rampDistance(
      speed.toolSpeed,
      Math.min(speed.toolAcceleration, request.tool.acceleration),
      request.tool.jerk,
    );
    const length = room > 0 ? `of at least ${toMm(room).toFixed(0)} mm ` : "";
    return {
      kind: "speed not constant",
      segment: first + i,
      fraction: atStart ? 0 : 1,
      baseFromTcp: poseAt(run, atStart ? 0 : path.length),
      message: `the tool is to keep ${(1000 * speed.toolSpeed).toFixed(0)} mm/s along the whole segment, but the segment ${atStart ? "starts" : "ends"} at standstill`,
      mend: `Put a segment ${length}${atStart ? "before it and blend into it" : "after it and blend out of it"}, so that the speed is ${atStart ? "reached before it starts" : "given up after it ends"}.`,
    };
  }
  return undefined;
}

export function explainTiming(run: FailedRun, failure: PathTimingFailure): MotionFailure {
  const { arm, stretches, first } = run;
  const { s, limit, use } = failure;
  let i = stretches.findIndex((stretch) => s <= stretch.to);
  if (i < 0) i = stretches.length - 1;
  const stretch = stretches[i];
  const width = stretch.to - stretch.from;
  const named = limit === undefined ? undefined : nameOf(limit, arm.n);
  const shared = {
    segment: first + i,
    fraction: width > 0 ? Math.min(1, Math.max(0, (s - stretch.from) / width)) : 0,
    ...(named?.joint === undefined ? {} : { joint: named.joint }),
    baseFromTcp: poseAt(run, s),
  };
  if (failure.reason === "torque at rest") return { kind: "torque", ...shared, ...torqueWords(run, s) };
  const wanted = 1000 * stretch.speed.toolSpeed;
  const because =
    named === undefined
      ? "the room before or after it is too short, or its roundings are too sharp, to enter and leave it at that speed"
      : named.joint === undefined
        ? `the ${named.kind} limit of the tool is in the way`
        : `joint ${run.arm.jointNames[named.joint]} would need ${use === undefined ? "more than" : `${use.toFixed(2)} times`} its ${named.kind} limit`;
  let mend: string | undefined;
  return {
    kind: "speed not constant",
    ...shared,
    message: `the tool cannot keep ${wanted.toFixed(0)} mm/s along the whole segment: ${because}, at ${(100 * shared.fraction).toFixed(1)} % of it`,
    get mend() {
      mend ??= slowerWords(run, i, wanted);
      return mend;
    },
  };
}

/** Tries lower speeds and says the first that can be kept. */
function slowerWords(run: FailedRun, index: number, wanted: number): string {
  const { arm, path, stretches, request } = run;
  for (let tenths = 9; tenths >= 1; tenths--) {
    const slower = stretches.map((stretch, i) =>
      i === index
        ? { ...stretch, speed: { ...stretch.speed, toolSpeed: (stretch.speed.toolSpeed * tenths) / 10 } }
        : stretch,
    );
    if (timeSteadyRun(arm, path, slower, request.tool) !== undefined)
      return `Lower the tool speed of this segment to ${((wanted * tenths) / 10).toFixed(0)} mm/s: that can be kept. A larger blend at its ends allows more.`;
  }
  return "No tenth of that speed can be kept here either: give the neighbouring segments more length and larger blends, or run the segment elsewhere in the reach of the arm.";
}

/** Which joint cannot hold the arm still at s, and how much less load it could. */
function torqueWords(
  run: FailedRun,
  s: number,
): { readonly message: string; readonly mend: string; readonly joint: number } {
  const { arm, path, load } = run;
  const { n } = arm;
  const [q, x1, x2, x3, loaded, empty] = Array.from({ length: 6 }, () => new Float64Array(n));
  path.joints(s, q, x1, x2, x3);
  const { dynamics, gravity, payload } = load!;
  dynamics.gravityTorque(q, gravity, payload, loaded);
  dynamics.gravityTorque(q, gravity, undefined, empty);
  let joint = 0;
  for (let i = 1; i < n; i++)
    if (Math.abs(loaded[i]) / arm.torque[i] > Math.abs(loaded[joint]) / arm.torque[joint]) joint = i;
  const needed = Math.abs(loaded[joint]);
  const message = `joint ${arm.jointNames[joint]} needs ${effort(arm, joint, needed)} to hold the arm still there; its limit is ${effort(arm, joint, arm.torque[joint])}`;
  return { joint, message, mend: lighter(arm, payload, loaded, empty) };
}

/** Largest mass of the load, its centre of mass unchanged, that every joint can hold: holding torque is linear in it. */
function lighter(arm: Arm, payload: Payload | undefined, loaded: Float64Array, empty: Float64Array): string {
  let share = Number.POSITIVE_INFINITY;
  for (let i = 0; i < arm.n; i++) {
    const change = loaded[i] - empty[i];
    if (change === 0) continue;
    share = Math.min(share, (Math.sign(change) * arm.torque[i] - empty[i]) / change);
  }
  if (payload === undefined || !(share > 0))
    return "The arm cannot hold itself in this position: move the segment nearer to the base.";
  if (!(share < 1)) return "Lower the acceleration, or move the segment nearer to the base.";
  return `Carry at most ${(share * payload.mass).toFixed(2)} kg instead of ${payload.mass.toFixed(2)} kg there (gripper included), or move the segment nearer to the base.`;
}

/** Distance in which a speed is reached from standstill; 0 when nothing limits. */
function rampDistance(speed: number, acceleration: number, jerk: number): number {
  if (acceleration === Number.POSITIVE_INFINITY && jerk === Number.POSITIVE_INFINITY) return 0;
  const time =
    jerk === Number.POSITIVE_INFINITY
      ? speed / acceleration
      : speed * jerk >= acceleration * acceleration
        ? speed / acceleration + acceleration / jerk
        : 2 * Math.sqrt(speed / jerk);
  return (speed * time) / 2;
}

function poseAt(run: FailedRun, s: number): Pose {
  const [q, q1, q2, q3] = Array.from({ length: 4 }, () => new Float64Array(run.arm.n));
  const point = createToolPoint();
  run.path.joints(s, q, q1, q2, q3);
  run.path.toolOf(s, q, q1, q2, q3, point);
  return poseOfPoint(point);
}
