/** `hold` and `free`: the outputs of a gripper switched, what is expected of it noted. */
import type { FreeStep, HoldStep } from "../cell/steps.ts";
import { ContractError } from "../math/contract-error.ts";
import type { DeviceRun } from "./devices.ts";
import { commandGripper } from "./gripper-command.ts";
import type { Handover } from "./handover.ts";
import type { JawRecord } from "./run.ts";
import type { SettleWatch } from "./settle.ts";
import type { Spot } from "./stock.ts";
import { report, reportUnresolved, type World } from "./world.ts";

export interface JawParts {
  readonly world: World;
  readonly devices: ReadonlyMap<string, DeviceRun>;
  readonly handover: Handover;
  readonly settle: SettleWatch;
}

/** What the step waits for. */
export interface JawFeedback {
  readonly run: DeviceRun;
  readonly position: string;
  readonly signal: string;
}

/**
 * Sends the gripper on its way.
 * @param spot where the part is taken from or left; undefined when the step names nothing for this variant
 * @returns the feedback to wait for, undefined when the step is over at once
 */
export function workJaws(
  parts: JawParts,
  step: HoldStep | FreeStep,
  spot: Spot | undefined,
  activity: number,
): JawFeedback | undefined {
  const { world, devices, handover, settle } = parts;
  const gripper = world.cell.tool.grippers.get(step.gripper);
  if (gripper === undefined) throw new ContractError(`simulate: the tool has no gripper "${step.gripper}"`);
  const run = devices.get(gripper.device.name)!;
  const position = step.kind === "hold" ? "closed" : "open";
  if (spot === undefined) {
    reportUnresolved(world, step.id);
    return undefined;
  }
  if (run.target === position) {
    reportAlready(world, step, position);
    return undefined;
  }
  if (step.kind === "hold") handover.expectHold(step.gripper, spot, step.grip ?? firstGrip(world, spot), step.id);
  else handover.expectFree(step.gripper, spot, step.id);
  const signal = run.device.feedback.get(position);
  if (signal === undefined) {
    const confirmedBy = step.kind === "hold" ? gripper.partPresent : undefined;
    settle.jaws(run.device.name, position, step.id, run.worst(position), confirmedBy);
  }
  commandGripper(world, run, position, activity);
  return signal === undefined ? undefined : { run, position, signal };
}

/** The grip meant by a `hold` that names none: the first of the part that is there. */
function firstGrip({ stock, cell, variant }: World, spot: Spot): string {
  const part = cell.parts.get(stock.at(spot)?.part ?? variant);
  return part?.grips.keys().next().value ?? "";
}

/** What a `hold` or `free` is about, and where the arm (joint values q) stands after a move; undefined without a part. */
export function jawRecord(
  world: World,
  step: HoldStep | FreeStep,
  spot: Spot,
  q: Float64Array,
  after: number,
): JawRecord | undefined {
  const { stock } = world;
  if (step.kind === "hold") {
    const part = stock.at(spot)?.part;
    return part === undefined
      ? undefined
      : { step, q, ...spot, part, grip: step.grip ?? firstGrip(world, spot), after };
  }
  const held = stock.held().get(step.gripper);
  return held === undefined ? undefined : { step, q, ...spot, part: held.part, grip: held.grip, after };
}

function reportAlready(world: World, step: HoldStep | FreeStep, position: string): void {
  const holding = world.stock.inGripper(step.gripper) !== undefined;
  const hold = step.kind === "hold";
  report(world, {
    code: hold ? "hold-already-closed" : "free-already-open",
    severity: hold ? "error" : "warning",
    stepId: step.id,
    subject: step.gripper,
    message: `${step.gripper} is already ${position}${holding ? " on a part" : ""} when it is told to become ${position}: nothing happens.`,
    mend: hold ? "Open the gripper before going to the part." : "Leave the step out, or hold a part before.",
  });
}
