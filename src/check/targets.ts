/** Where the steps of a routine send the tool: names, places, offsets and grips turned into flange poses. */
import { forwardKinematics } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell, Grip, Holder, NamedPose } from "../cell/model.ts";
import type { ByVariant, Target } from "../cell/steps.ts";
import type { MoveContext } from "../cycle/types.ts";
import { ContractError } from "../math/contract-error.ts";
import { compose, copyPose, identityPose, invert, type Pose } from "../math/pose.ts";
import { toMm } from "../math/units.ts";

/** The name that holds for a variant. */
export function nameFor(names: ByVariant, variant: string): string {
  const name = names.variants.get(variant) ?? names.default;
  if (name === undefined) throw new ContractError(`no name is given for the variant ${variant}`);
  return name;
}

/** A target with everything resolved. */
export interface FlangeTarget {
  readonly baseFromFlange: Pose;
  /** Joint values, when the target is a pose given by joint values with nothing added. */
  readonly joints: Float64Array | undefined;
  /** "home", "raw-tray, place 7", "raw-tray, place 7, 80 mm off". */
  readonly label: string;
  readonly pose: NamedPose | undefined;
}

/** Stands where a gripper is named in a cell whose tool has none. */
export const NO_GRIPPER = "";

/** Tool centre point of a gripper; of a tool without grippers its own, or the flange where none is stated. */
export function tcpOf(cell: Cell, gripper: string): Pose {
  if (gripper === NO_GRIPPER && cell.tool.grippers.size === 0) return cell.tool.flangeFromTcp ?? identityPose();
  const found = cell.tool.grippers.get(gripper);
  if (found === undefined) throw new ContractError(`the cell has no gripper ${gripper}`);
  return found.flangeFromTcp;
}

/** The grip by which a part is brought to a target: as held, as named, or the part's first. */
function gripFor(cell: Cell, gripper: string, named: string | undefined, context: MoveContext): Grip | undefined {
  const held = context.held.get(gripper);
  const part = cell.parts.get(held?.part ?? context.variant);
  if (part === undefined) return undefined;
  const name = held?.grip ?? named;
  return name === undefined ? [...part.grips.values()][0] : part.grips.get(name);
}

/** "raw-tray, place 7" (counted from 1); the holder's name alone where it has one place. */
export const placeLabel = (holder: Holder, index: number): string =>
  holder.places.length > 1 ? `${holder.name}, place ${index + 1}` : holder.name;

/** Flange pose in the arm's base frame for a target. @throws ContractError for names that the loader should have refused */
export function resolveTarget(
  cell: Cell,
  arm: Arm,
  target: Target,
  gripperName: string,
  context: MoveContext,
): FlangeTarget {
  const flangeFromTcp = tcpOf(cell, gripperName);
  const name = nameFor(target.at, context.variant);
  const baseFromWorld = invert(cell.worldFromBase);
  let worldFromTarget: Pose;
  let label = name;
  let pose: NamedPose | undefined;
  if (target.kind === "pose") {
    pose = cell.poses.get(name);
    if (pose === undefined) throw new ContractError(`the cell has no pose ${name}`);
    if (pose.target.kind === "joints") {
      const q = Float64Array.from(pose.target.q);
      const baseFromFlange = forwardKinematics(arm, q, new Float64Array(16));
      if (target.offset === undefined && target.bring === "gripper") return { baseFromFlange, joints: q, label, pose };
      worldFromTarget = compose(compose(cell.worldFromBase, baseFromFlange), flangeFromTcp);
    } else {
      worldFromTarget = copyPose(pose.target.worldFromPose);
    }
  } else {
    const holder = cell.holders.get(name);
    if (holder === undefined) throw new ContractError(`the cell has no holder ${name}`);
    const index = target.place ?? context.places.get(name) ?? 0;
    const place = holder.places[index];
    if (place === undefined) throw new ContractError(`${name} has no place ${index}`);
    label = placeLabel(holder, index);
    worldFromTarget = copyPose(place.worldFromPlace);
  }
  if (target.offset !== undefined) {
    applyOffset(cell, worldFromTarget, target.offset);
    const p = target.offset.pose;
    label += `, ${Number(toMm(Math.hypot(p[3]!, p[7]!, p[11]!)).toFixed(1))} mm off`;
  }
  let baseFromTcp = compose(baseFromWorld, worldFromTarget);
  if (target.bring === "part") {
    const grip = gripFor(cell, gripperName, target.grip, context);
    if (grip !== undefined) baseFromTcp = compose(baseFromTcp, grip.partFromTcp);
  }
  return { baseFromFlange: compose(baseFromTcp, invert(flangeFromTcp)), joints: undefined, label, pose };
}

/** Displaces a pose in its own axes, or by a translation in the axes of a named frame (then turned about its own origin). */
function applyOffset(cell: Cell, worldFromTarget: Pose, offset: NonNullable<Target["offset"]>): void {
  if (offset.in === "target") {
    compose(worldFromTarget, offset.pose, worldFromTarget);
    return;
  }
  const frame = cell.frames.get(offset.in);
  if (frame === undefined) throw new ContractError(`the cell has no frame ${offset.in}`);
  const f = frame.worldFromFrame;
  const [x, y, z] = [worldFromTarget[3]!, worldFromTarget[7]!, worldFromTarget[11]!];
  // worldFromFrame · offset · frameFromWorld acts on the orientation; the origin only moves by the offset's translation.
  const axes = copyPose(f);
  axes[3] = axes[7] = axes[11] = 0;
  const turn = copyPose(offset.pose);
  turn[3] = turn[7] = turn[11] = 0;
  compose(compose(compose(axes, turn), invert(axes)), worldFromTarget, worldFromTarget);
  const o = offset.pose;
  worldFromTarget[3] = x + f[0]! * o[3]! + f[1]! * o[7]! + f[2]! * o[11]!;
  worldFromTarget[7] = y + f[4]! * o[3]! + f[5]! * o[7]! + f[6]! * o[11]!;
  worldFromTarget[11] = z + f[8]! * o[3]! + f[9]! * o[7]! + f[10]! * o[11]!;
}
