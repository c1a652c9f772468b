/** Grip forces needed along the motions of a run, against what the grippers give. */
import type { Arm } from "../arm/model.ts";
import type { Cell, Grip, Gripper, Part } from "../cell/model.ts";
import type { CycleRun } from "../cycle/index.ts";
import { forcePerJaw } from "../handling/index.ts";
import { compose, translation } from "../math/pose.ts";
import type { MotionFailure } from "../motion/index.ts";
import { createAccelerationMeter } from "./held-acceleration.ts";
import { flangeFromHeldPart } from "./load.ts";
import { movesMade } from "./mover.ts";
import type { GripReport } from "./result.ts";

/** Common practice for friction grips; up to 4 with shocks. */
const GRIP_SAFETY_FACTOR = 2;

interface HeldPeak {
  readonly gripper: Gripper;
  readonly part: Part;
  readonly grip: Grip;
  mass: number;
  acceleration: number;
}

/** One entry per gripper, part and grip that was carried, with the heaviest stage and the largest acceleration of the part's centre of mass. */
export function gripReports(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): GripReport[] {
  return [...heldPeaks(cell, arm, runs)].map(([, held]) => reportOf(cell, held));
}

function heldPeaks(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): Map<string, HeldPeak> {
  const peakAcceleration = createAccelerationMeter(arm);
  const peaks = new Map<string, HeldPeak>();
  for (const { context, move } of movesMade(runs)) {
    for (const [name, held] of context.held) {
      const gripper = cell.tool.grippers.get(name);
      const part = cell.parts.get(held.part);
      const grip = part?.grips.get(held.grip);
      const stage = part?.stages.find((s) => s.name === held.stage);
      if (gripper === undefined || part === undefined || grip === undefined || stage === undefined) continue;
      const [x, y, z] = stage.inertia.centre;
      const flangeFromCentre = compose(flangeFromHeldPart(cell, name, held), translation(x, y, z));
      const acceleration = peakAcceleration(move.motion, flangeFromCentre);
      const key = `${name}|${held.part}|${held.grip}`;
      const peak = peaks.get(key);
      if (peak === undefined) peaks.set(key, { gripper, part, grip, mass: stage.inertia.mass, acceleration });
      else {
        peak.mass = Math.max(peak.mass, stage.inertia.mass);
        peak.acceleration = Math.max(peak.acceleration, acceleration);
      }
    }
  }
  return peaks;
}

function reportOf(cell: Cell, held: HeldPeak): GripReport {
  const { gripper, part, grip } = held;
  const common = {
    gripper: gripper.name,
    part: part.name,
    grip: grip.name,
    available_N: gripper.force ?? null,
    acceleration_mps2: held.acceleration,
  };
  if (grip.way === "form")
    return {
      ...common,
      needed_N: 0,
      cautions: ["held by form fit: no friction force is needed, the strength of the ledge is not computed"],
    };
  const friction = grip.friction ?? gripper.friction;
  if (friction === undefined)
    return { ...common, needed_N: null, cautions: ["no friction is stated, so the force needed is unknowable"] };
  const needed = forcePerJaw({
    mass: held.mass,
    acceleration: held.acceleration,
    gravity: Math.hypot(...cell.gravity),
    friction,
    safetyFactor: GRIP_SAFETY_FACTOR,
    jaws: gripper.jaws,
  });
  return {
    ...common,
    needed_N: needed,
    cautions: [
      `with safety factor ${GRIP_SAFETY_FACTOR} and friction ${friction}; measure the friction of the real, coolant-wet pair`,
      "a stop from full speed can ask for more than the programmed motion",
    ],
  };
}
