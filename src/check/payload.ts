/** The load at the flange over a run, against what the arm's maker allows and against the joint torques. */
import { jointFrames } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import type { CycleRun, MoveContext } from "../cycle/index.ts";
import { compose, identityPose, invert, type Pose, translation, turnVector } from "../math/pose.ts";
import type { MotionFailure } from "../motion/index.ts";
import { carriedLoad } from "./load.ts";
import { isPlanned } from "./mover.ts";
import type { PayloadReport } from "./result.ts";

/** Largest static moment (N m) and inertia (kg m²) of the load about each joint axis, over the poses of a run. */
export interface JointLoad {
  readonly moment: number;
  readonly inertia: number;
}

export interface LoadSurvey {
  readonly report: Omit<PayloadReport, "loads"> | null;
  /** The heaviest load. */
  readonly heaviest: Payload | undefined;
  readonly joints: readonly JointLoad[];
}

/** Loads of all runs together; `report` is null when the tool's mass is not stated. */
export function surveyLoads(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): LoadSurvey {
  const meter = createJointLoadMeter(cell, arm);
  const shares = new Float64Array(arm.n);
  let sharesKnown = arm.hasMasses;
  let heaviest: Payload | undefined = carriedLoad(cell, new Map());
  const seen = new Set<unknown>();
  for (const run of runs) {
    for (const { outcome, context } of run.moves) {
      if (!outcome.ok || seen.has(outcome.motion ?? context)) continue;
      seen.add(outcome.motion ?? context);
      const load = carriedLoad(cell, context.held);
      if (load !== undefined) {
        if (heaviest === undefined || load.mass > heaviest.mass) heaviest = load;
        meter.look(context, outcome.end, load);
      }
      if (!isPlanned(outcome.motion)) continue;
      const share = outcome.motion.motion.torqueShare;
      if (share === undefined) sharesKnown = false;
      else for (let i = 0; i < arm.n; i++) shares[i] = Math.max(shares[i]!, share[i]!);
    }
  }
  if (heaviest === undefined) return { report: null, heaviest, joints: [] };
  return {
    heaviest,
    joints: meter.joints(),
    report: {
      mass_kg: heaviest.mass,
      rated_kg: cell.arm.ratedLoad?.mass ?? null,
      distance_m: distanceOf(heaviest),
      torqueShare: sharesKnown ? Array.from(shares) : null,
    },
  };
}

/** Distance of a load's centre of mass from the flange centre, m. */
export const distanceOf = (load: Payload): number => Math.hypot(load.centre[0]!, load.centre[1]!, load.centre[2]!);

function createJointLoadMeter(cell: Cell, arm: Arm) {
  const { n } = arm;
  const frames = new Float64Array(12 * (n + 1));
  const moments = new Float64Array(n);
  const inertias = new Float64Array(n);
  const g = Math.hypot(...cell.gravity);
  const lookAt = (q: Float64Array, load: Payload): void => {
    jointFrames(arm, q, frames);
    const flange = poseAt(frames, 12 * n);
    const c = compose(flange, translation(load.centre[0]!, load.centre[1]!, load.centre[2]!));
    for (let i = 0; i < n; i++) {
      const joint = poseAt(frames, 12 * i);
      const [ax, ay, az] = [joint[2]!, joint[6]!, joint[10]!];
      const [rx, ry, rz] = [c[3]! - joint[3]!, c[7]! - joint[7]!, c[11]! - joint[11]!];
      const along = rx * ax + ry * ay + rz * az;
      const arm2 = Math.max(0, rx * rx + ry * ry + rz * rz - along * along);
      moments[i] = Math.max(moments[i]!, load.mass * g * Math.sqrt(arm2));
      // The axis in flange axes, for the load's own inertia about it.
      const [ux, uy, uz] = turnVector(invert(flange), ax, ay, az);
      const [xx, yy, zz, xy, xz, yz] = Array.from({ length: 6 }, (_, k) => load.inertia[k]!) as [
        number,
        number,
        number,
        number,
        number,
        number,
      ];
      const own = xx * ux * ux + yy * uy * uy + zz * uz * uz + 2 * (xy * ux * uy + xz * ux * uz + yz * uy * uz);
      inertias[i] = Math.max(inertias[i]!, own + load.mass * arm2);
    }
  };
  return {
    look(context: MoveContext, end: Float64Array, load: Payload): void {
      lookAt(context.q, load);
      lookAt(end, load);
    },
    joints: (): JointLoad[] => Array.from(moments, (moment, i) => ({ moment, inertia: inertias[i]! })),
  };
}

function poseAt(frames: Float64Array, from: number): Pose {
  const pose = identityPose();
  for (let k = 0; k < 12; k++) pose[k] = frames[from + k]!;
  return pose;
}
