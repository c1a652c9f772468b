/** Whether the gripper really is at the place where it closes on a part or leaves one, whatever the motions were called. */
import { forwardKinematics } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import type { CycleRun, JawRecord } from "../cycle/index.ts";
import { compose, distanceBetween } from "../math/pose.ts";
import { type Metres, toMm } from "../math/units.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { FindingList } from "./findings.ts";
import { placeLabel, tcpOf } from "./targets.ts";

/** What jaws and nests take in: further off, a part is not where the following motions suppose it to be. */
const LARGEST_MISS: Metres = 0.005 as Metres;

/** Distance of the gripper's TCP from where it stands for the part to be in the place, m; undefined for unknown grips. */
function missOfPlace(cell: Cell, arm: Arm, { step, q, holder, place, part, grip }: JawRecord): number | undefined {
  const worldFromPlace = cell.holders.get(holder)?.places[place]?.worldFromPlace;
  const partFromTcp = cell.parts.get(part)?.grips.get(grip)?.partFromTcp;
  if (worldFromPlace === undefined || partFromTcp === undefined) return undefined;
  const worldFromFlange = compose(cell.worldFromBase, forwardKinematics(arm, q, new Float64Array(16)));
  const is = compose(worldFromFlange, tcpOf(cell, step.gripper));
  const wanted = compose(worldFromPlace, partFromTcp);
  return distanceBetween(is, wanted);
}

/** Adds an error for each `hold` and `free` that happens away from its place, unless the run has said so already. */
export function addPlaceFindings(cell: Cell, arm: Arm, run: CycleRun<MotionFailure>, findings: FindingList): void {
  const said = new Set(run.problems.filter((p) => p.code.endsWith("-away-from-place")).map((p) => p.stepId));
  // A step meets the same place in the same way again and again.
  const seen = new Map<string, Set<Float64Array>>();
  for (const record of run.jaws) {
    const { step, q, holder, place, part, grip } = record;
    if (said.has(step.id)) continue;
    const key = `${step.id}|${holder}|${place}|${part}|${grip}`;
    const stood = seen.get(key) ?? new Set();
    seen.set(key, stood);
    if (stood.has(q)) continue;
    stood.add(q);
    const miss = missOfPlace(cell, arm, record);
    if (miss === undefined || miss <= LARGEST_MISS) continue;
    const where = placeLabel(cell.holders.get(holder)!, place);
    const by = `the ${grip} grip of ${part}`;
    if (step.kind === "hold")
      findings.add(
        "hold-away-from-place",
        "error",
        step.path,
        `${step.gripper} closes ${toMm(miss).toFixed(1)} mm away from where ${by} has it at ${where}`,
        `Bring ${step.gripper} to the place itself before it closes, by the same grip, or correct the place.`,
        step.id,
      );
    else
      findings.add(
        "free-away-from-place",
        "error",
        step.path,
        `${step.gripper} opens ${toMm(miss).toFixed(1)} mm away from where ${by} has it at ${where}`,
        `Bring the part to the place itself before ${step.gripper} opens, or correct the place.`,
        step.id,
      );
  }
}
