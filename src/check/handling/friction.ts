/** The friction that holds for a part in a stage, and where it was stated. */
import type { Grip, Gripper, Part } from "../../cell/model.ts";

export interface StageFriction {
  readonly value: number | undefined;
  /** "of the grip", "of the gripper, oily" …; "not stated". */
  readonly from: string;
  /** A wet part's friction was not stated, so that of a dry one is taken. */
  readonly dryForWet: boolean;
}

/** In its first stage a part has the plain friction, in later ones the oily one; the grip's before the gripper's. */
export function frictionOf(part: Part, stage: string, grip: Grip, gripper: Gripper): StageFriction {
  const wet = part.stages[0]?.name !== stage;
  if (wet) {
    if (grip.oilyFriction !== undefined)
      return { value: grip.oilyFriction, from: "of the grip, oily", dryForWet: false };
    // Oil never holds better than a dry pair that is stated to hold worse.
    if (gripper.oilyFriction !== undefined && !(grip.friction !== undefined && grip.friction < gripper.oilyFriction))
      return { value: gripper.oilyFriction, from: "of the gripper, oily", dryForWet: false };
  }
  if (grip.friction !== undefined) return { value: grip.friction, from: "of the grip", dryForWet: wet };
  if (gripper.friction !== undefined) return { value: gripper.friction, from: "of the gripper", dryForWet: wet };
  return { value: undefined, from: "not stated", dryForWet: false };
}

/** Direction of a round part's axis in gripper axes, where it lies along one of those across the jaws' way. */
export function roundAlong(part: Part, grip: Grip): "y" | "z" | undefined {
  const { shape } = part;
  if (shape === undefined || (shape.kind !== "cylinder" && shape.kind !== "capsule")) return undefined;
  const a = part.partFromShape;
  const t = grip.partFromTcp;
  const along = (column: number) =>
    Math.abs(a[2]! * t[column]! + a[6]! * t[4 + column]! + a[10]! * t[8 + column]!) > 1 - 1e-6;
  return along(2) ? "z" : along(1) ? "y" : undefined;
}
