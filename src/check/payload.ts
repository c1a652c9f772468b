/** The load at the flange over a run, against what the arm's maker allows and against the joint torques. */
import { jointFrames } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import type { CycleRun, MoveContext } from "../cycle/index.ts";
import type { Motion, MotionFailure } from "../motion/index.ts";
import { piecesOf } from "./handling/along.ts";
import { carriedLoad } from "./load.ts";
import { isPlanned } from "./mover.ts";
import type { PayloadReport } from "./result.ts";

/** Largest static moment (N m) and inertia (kg m²) of the load about each joint axis, along the motions of a run. */
export interface JointLoad {
  readonly moment: number;
  readonly inertia: number;
}

export interface LoadSurvey {
  readonly report: Omit<PayloadReport, "loads"> | null;
  /** The heaviest load, and the one with the largest moment about the flange centre. */
  readonly heaviest: Payload | undefined;
  readonly farthest: Payload | undefined;
  readonly joints: readonly JointLoad[];
}

/** Loads of all runs together; `report` is null when the tool's mass is not stated. */
export function surveyLoads(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): LoadSurvey {
  const meter = createJointLoadMeter(cell, arm);
  const shares = new Float64Array(arm.n);
  let sharesKnown = arm.hasMasses;
  let heaviest: Payload | undefined = carriedLoad(cell, new Map());
  let farthest = heaviest;
  const seen = new Set<unknown>();
  for (const run of runs) {
    for (const { outcome, context } of run.moves) {
      if (!outcome.ok || seen.has(outcome.motion ?? context)) continue;
      seen.add(outcome.motion ?? context);
      const load = carriedLoad(cell, context.held);
      if (load !== undefined) {
        if (heaviest === undefined || load.mass > heaviest.mass) heaviest = load;
        if (farthest === undefined || momentOf(load) > momentOf(farthest)) farthest = load;
        meter.look(context, outcome.end, load);
        if (isPlanned(outcome.motion)) meter.along(outcome.motion.motion, load);
      }
      if (!isPlanned(outcome.motion)) continue;
      const share = outcome.motion.motion.torqueShare;
      if (share === undefined) sharesKnown = false;
      else for (let i = 0; i < arm.n; i++) shares[i] = Math.max(shares[i]!, share[i]!);
    }
  }
  if (heaviest === undefined) return { report: null, heaviest, farthest, joints: [] };
  return {
    heaviest,
    farthest,
    joints: meter.joints(),
    report: {
      mass_kg: heaviest.mass,
      rated_kg: cell.arm.ratedLoad?.mass ?? null,
      distance_m: distanceOf(heaviest),
      torqueShare: sharesKnown ? Array.from(shares) : null,
    },
  };
}

/** Mass times distance from the flange centre, kg m. */
const momentOf = (load: Payload): number => load.mass * distanceOf(load);

/** Distance of a load's centre of mass from the flange centre, m. */
export const distanceOf = (load: Payload): number => Math.hypot(load.centre[0]!, load.centre[1]!, load.centre[2]!);

function createJointLoadMeter(cell: Cell, arm: Arm) {
  const { n } = arm;
  const frames = new Float64Array(12 * (n + 1));
  const moments = new Float64Array(n);
  const inertias = new Float64Array(n);
  const g = Math.hypot(...cell.gravity);
  /** Joint frames are 12 numbers each, row-major 3 x 4, joint axis in the third column; the last is the flange. */
  const lookAt = (q: Float64Array, { mass, centre, inertia }: Payload): void => {
    jointFrames(arm, q, frames);
    const f = 12 * n;
    const at = (row: number): number =>
      frames[f + row]! * centre[0]! +
      frames[f + row + 1]! * centre[1]! +
      frames[f + row + 2]! * centre[2]! +
      frames[f + row + 3]!;
    const cx = at(0),
      cy = at(4),
      cz = at(8);
    for (let i = 0; i < n; i++) {
      const j = 12 * i;
      const ax = frames[j + 2]!,
        ay = frames[j + 6]!,
        az = frames[j + 10]!;
      const rx = cx - frames[j + 3]!,
        ry = cy - frames[j + 7]!,
        rz = cz - frames[j + 11]!;
      const along = rx * ax + ry * ay + rz * az;
      const arm2 = Math.max(0, rx * rx + ry * ry + rz * rz - along * along);
      moments[i] = Math.max(moments[i]!, mass * g * Math.sqrt(arm2));
      // The axis in flange axes, for the load's own inertia about it.
      const ux = frames[f]! * ax + frames[f + 4]! * ay + frames[f + 8]! * az,
        uy = frames[f + 1]! * ax + frames[f + 5]! * ay + frames[f + 9]! * az,
        uz = frames[f + 2]! * ax + frames[f + 6]! * ay + frames[f + 10]! * az;
      const own =
        inertia[0]! * ux * ux +
        inertia[1]! * uy * uy +
        inertia[2]! * uz * uz +
        2 * (inertia[3]! * ux * uy + inertia[4]! * ux * uz + inertia[5]! * uy * uz);
      inertias[i] = Math.max(inertias[i]!, own + mass * arm2);
    }
  };
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  const rated = cell.arm.ratedLoad;
  const asked = rated?.moments?.some((m) => m !== undefined) || rated?.inertias?.some((m) => m !== undefined);
  return {
    /** The whole way, where the maker rates moments or inertias about the joints. */
    along(motion: Motion, load: Payload): void {
      if (!asked) return;
      const pieces = piecesOf(motion);
      for (let k = 1; k < pieces; k++) {
        motion.sample((motion.duration * k) / pieces, state);
        lookAt(state.q, load);
      }
    },
    look(context: MoveContext, end: Float64Array, load: Payload): void {
      lookAt(context.q, load);
      lookAt(end, load);
    },
    joints: (): JointLoad[] => Array.from(moments, (moment, i) => ({ moment, inertia: inertias[i]! })),
  };
}
