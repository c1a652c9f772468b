/** What the arm carries at a moment: tool and held parts as one load, and the point that its motions are about. */
import type { Payload } from "../arm/model.ts";
import { combineInertias, reframeInertia } from "../cell/index.ts";
import type { Cell } from "../cell/model.ts";
import type { HeldPart } from "../cycle/types.ts";
import { compose, invert, type Pose } from "../math/pose.ts";
import { tcpOf } from "./targets.ts";

/** Flange frame from the frame of a part as a gripper holds it. */
export function flangeFromHeldPart(cell: Cell, gripper: string, held: HeldPart): Pose {
  const grip = cell.parts.get(held.part)?.grips.get(held.grip);
  const flangeFromTcp = tcpOf(cell, gripper);
  return grip === undefined ? flangeFromTcp : compose(flangeFromTcp, invert(grip.partFromTcp));
}

/** The tool centre point in force: the frame of the part in the gripper, or the gripper's own TCP when it is empty. */
export function activeTcp(cell: Cell, gripper: string, held: ReadonlyMap<string, HeldPart>): Pose {
  const part = held.get(gripper);
  return part === undefined ? tcpOf(cell, gripper) : flangeFromHeldPart(cell, gripper, part);
}

/** Load at the flange; undefined when the tool's masses are not stated, because the torques are then unknowable. */
export function carriedLoad(cell: Cell, held: ReadonlyMap<string, HeldPart>): Payload | undefined {
  if (cell.tool.inertia === undefined) return undefined;
  const bodies = [cell.tool.inertia];
  for (const [gripper, part] of held) {
    const stage = cell.parts.get(part.part)?.stages.find((s) => s.name === part.stage);
    if (stage !== undefined) bodies.push(reframeInertia(stage.inertia, flangeFromHeldPart(cell, gripper, part)));
  }
  const { mass, centre, tensor } = combineInertias(bodies);
  return { mass, centre, inertia: tensor };
}
