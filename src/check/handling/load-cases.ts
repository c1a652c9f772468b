/** Every load that the arm carries, empty and with each part, against the flange's rating and each joint's torque along the motions. */
import { createDynamics } from "../../arm/index.ts";
import type { Arm, Payload } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";
import type { CycleRun, HeldPart } from "../../cycle/index.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { carriedLoad } from "../load.ts";
import { gravityInBase } from "../mover.ts";
import { walkedMotions } from "./along.ts";
import type { JointLoadReport, LoadCaseReport, MomentReport } from "./report.ts";

interface Peak {
  torque: number;
  moment: MomentReport;
}

interface LoadCase {
  readonly load: string;
  readonly payload: Payload;
  readonly peaks: (Peak | undefined)[];
}

/** One entry per load that motions were made with, in the order met; empty when the tool's mass is not stated. */
export function loadCases(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): LoadCaseReport[] {
  const { n } = arm;
  const dynamics = arm.hasMasses ? createDynamics(arm) : undefined;
  const gravity = gravityInBase(cell);
  const torque = new Float64Array(n);
  const cases = new Map<string, LoadCase>();
  for (const motion of walkedMotions(n, runs)) {
    const load = wordsOf(motion.context.held);
    let found = cases.get(load);
    if (found === undefined) {
      const payload = carriedLoad(cell, motion.context.held);
      if (payload === undefined) return [];
      found = { load, payload, peaks: new Array(n).fill(undefined) };
      cases.set(load, found);
    }
    if (dynamics === undefined) continue;
    const { payload, peaks } = found;
    motion.walk(({ q, qd, qdd }, time) => {
      dynamics.torque(q, qd, qdd, gravity, payload, torque);
      for (let i = 0; i < n; i++) {
        const size = Math.abs(torque[i]!);
        const peak = peaks[i];
        if (peak === undefined || size > peak.torque) peaks[i] = { torque: size, moment: motion.momentAt(time) };
      }
    });
  }
  return [...cases.values()].map((one) => reportOf(cell, arm, one));
}

/** "empty", "short raw in gripper" */
function wordsOf(held: ReadonlyMap<string, HeldPart>): string {
  const words = [...held].map(([gripper, { part, stage }]) => `${part} ${stage} in ${gripper}`).sort();
  return words.length === 0 ? "empty" : words.join(", ");
}

function reportOf(cell: Cell, arm: Arm, { load, payload, peaks }: LoadCase): LoadCaseReport {
  const { mass, centre, inertia } = payload;
  const [x, y, z] = [centre[0]!, centre[1]!, centre[2]!];
  const rated = cell.arm.ratedLoad;
  return {
    load,
    mass_kg: mass,
    centre_m: [x, y, z],
    // Parallel axes.
    inertia_kgm2: [
      inertia[0]! + mass * (y * y + z * z),
      inertia[1]! + mass * (x * x + z * z),
      inertia[2]! + mass * (x * x + y * y),
    ],
    moment_Nm: mass * Math.hypot(...cell.gravity) * Math.hypot(x, y, z),
    ratedMoment_Nm: rated?.distance === undefined ? null : rated.mass * Math.hypot(...cell.gravity) * rated.distance,
    joints: peaks.flatMap((peak, i) => (peak === undefined ? [] : [jointOf(arm, i, peak)])),
  };
}

function jointOf(arm: Arm, i: number, { torque, moment }: Peak): JointLoadReport {
  const limit = arm.torque[i]!;
  const known = Number.isFinite(limit);
  return {
    joint: arm.jointNames[i]!,
    ...moment,
    torque_Nm: torque,
    limit_Nm: known ? limit : null,
    margin: known ? 1 - torque / limit : null,
  };
}
