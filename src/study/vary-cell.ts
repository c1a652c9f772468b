/** A cell with the changes of one layout made. The given cell is not touched. */

import type { Cell, Grip, Gripper, Holder, Part, Place } from "../cell/model.ts";
import { type ServingOrder, servingOrder } from "../cell/sections/scene.ts";
import type { PlacedShape } from "../cell/shapes.ts";
import { ContractError } from "../math/contract-error.ts";
import { compose, copyPose, invert, type Pose, translation } from "../math/pose.ts";
import type { Metres } from "../math/units.ts";
import type { Axis, LayoutValues } from "./axes.ts";
import { standOf } from "./stand.ts";
import type { Study } from "./study.ts";

/** How far the base moves: m along the world's axes, rad about the vertical. */
export interface BaseShift {
  readonly x: number;
  readonly y: number;
  readonly height: number;
  readonly turn: number;
}

const setOf = (values: LayoutValues, a: number) => (Number.isNaN(values[a]!) ? 0 : values[a]!);

/** The base's shift in a layout; all 0 where no axis moves it. */
export function baseShift(axes: readonly Axis[], values: LayoutValues): BaseShift {
  const shift = { x: 0, y: 0, height: 0, turn: 0 };
  for (const [a, { change }] of axes.entries()) if (change.kind === "base") shift[change.along] += setOf(values, a);
  return shift;
}

/** worldFromBase after a shift: moved by x, y, height and turned about the vertical through its origin. */
export function shiftedBase(worldFromBase: Pose, { x, y, height, turn }: BaseShift): Pose {
  return turnedInPlace(worldFromBase, x, y, height, turn);
}

/** A pose moved along the world's axes and turned about the vertical through its own origin. */
function turnedInPlace(pose: Pose, x: number, y: number, z: number, turn: number): Pose {
  const out = copyPose(pose);
  const c = Math.cos(turn),
    s = Math.sin(turn);
  for (let k = 0; k < 3; k++) {
    const [a, b] = [pose[k]!, pose[4 + k]!];
    out[k] = c * a - s * b;
    out[4 + k] = s * a + c * b;
  }
  out[3] = pose[3]! + x;
  out[7] = pose[7]! + y;
  out[11] = pose[11]! + z;
  return out;
}

/** The movement (new world from old world) that takes one pose to another. */
const movement = (from: Pose, to: Pose): Pose => compose(to, invert(from));

/**
 * The cell of a layout.
 * @throws ContractError if an axis names what the cell does not have (the study's reader refuses such files)
 */
export function varyCell(cell: Cell, study: Study, values: LayoutValues): Cell {
  const { axes } = study;
  const holders = new Map(cell.holders);
  const grippers = new Map(cell.tool.grippers);
  const parts = new Map(cell.parts);
  // Words first: the changes of a tool centre point are those of the gripper that then does the work.
  for (const [a, { change, words }] of axes.entries()) {
    const value = values[a]!;
    if (Number.isNaN(value) || words === undefined) continue;
    const word = words[value]!;
    if (change.kind === "order") holders.set(change.holder, reordered(found(holders, change.holder), word));
    else if (change.kind === "gripper") swapGrippers(grippers, change.gripper, word);
    else if (change.kind === "grip") parts.set(change.part, withGrip(found(parts, change.part), word));
  }
  const moved = new Map<string, { x: number; y: number; turn: number }>();
  for (const [a, { change }] of axes.entries()) {
    const by = setOf(values, a);
    if (by === 0) continue;
    if (change.kind === "tray") {
      const shift = moved.get(change.holder) ?? { x: 0, y: 0, turn: 0 };
      shift[change.along] += by;
      moved.set(change.holder, shift);
    } else if (change.kind === "tcp") {
      const gripper = found(grippers, change.gripper);
      const [x, y, z] = (["x", "y", "z"] as const).map((along) => (along === change.along ? by : 0)) as [
        Metres,
        Metres,
        Metres,
      ];
      grippers.set(change.gripper, { ...gripper, flangeFromTcp: compose(gripper.flangeFromTcp, translation(x, y, z)) });
    }
  }
  for (const [name, { x, y, turn }] of moved) holders.set(name, movedHolder(found(holders, name), x, y, turn));

  const shift = baseShift(axes, values);
  const worldFromBase = shiftedBase(cell.worldFromBase, shift);
  const stand = new Set(standOf(cell, study.stand));
  const carry = movement(cell.worldFromBase, worldFromBase);
  return {
    ...cell,
    worldFromBase,
    holders,
    parts,
    tool: { ...cell.tool, grippers },
    scene: {
      ...cell.scene,
      shapes: cell.scene.shapes.map((shape) =>
        stand.has(shape.name) ? movedStand(shape, carry, shift.height) : shape,
      ),
    },
  };
}

function found<T>(map: ReadonlyMap<string, T>, name: string): T {
  const value = map.get(name);
  if (value === undefined) throw new ContractError(`varyCell: the cell has no ${name}`);
  return value;
}

/** A shape of the stand: carried along; an upright box or cylinder keeps its foot and grows with the height. */
export function movedStand(placed: PlacedShape, carry: Pose, height: number): PlacedShape {
  const { shape } = placed;
  const upright = Math.abs(placed.ownerFromShape[10]!) > 1 - 1e-9;
  const level = copyPose(carry);
  if (upright && shape.kind === "box" && shape.size[2] + height > 0) {
    level[11]! -= height / 2;
    return {
      ...placed,
      ownerFromShape: compose(level, placed.ownerFromShape),
      shape: { ...shape, size: [shape.size[0], shape.size[1], shape.size[2] + height] },
    };
  }
  if (upright && shape.kind === "cylinder" && shape.length + height > 0) {
    level[11]! -= height / 2;
    return {
      ...placed,
      ownerFromShape: compose(level, placed.ownerFromShape),
      shape: { ...shape, length: shape.length + height },
    };
  }
  return { ...placed, ownerFromShape: compose(carry, placed.ownerFromShape) };
}

function movedHolder(holder: Holder, x: number, y: number, turn: number): Holder {
  const origin = originOf(holder);
  const carry = movement(origin, turnedInPlace(origin, x, y, 0, turn));
  const places = holder.places.map((place) => ({ ...place, worldFromPlace: compose(carry, place.worldFromPlace) }));
  return { ...holder, places };
}

/** A holder's own frame: that of the place in its first row and column, which every order serves first. */
export const originOf = (holder: Holder): Pose => holder.places[0]!.worldFromPlace;

/** A tray served in another order; its places are told apart by where they are. */
function reordered(holder: Holder, order: string): Holder {
  const columns = holder.columns ?? 1;
  const rows = holder.places.length / columns;
  const fromWorld = invert(originOf(holder));
  const at = holder.places.map(({ worldFromPlace }) => {
    const local = compose(fromWorld, worldFromPlace);
    return [Math.abs(local[3]!), Math.abs(local[7]!)] as const;
  });
  const step = (axis: 0 | 1) => Math.min(...at.map((p) => p[axis]).filter((v) => v > 1e-9));
  const [dx, dy] = [step(0), step(1)];
  const byPlace = new Map<string, Place>();
  for (const [i, [x, y]] of at.entries()) {
    const column = columns > 1 ? Math.round(x / dx) : 0;
    const row = rows > 1 ? Math.round(y / dy) : 0;
    byPlace.set(`${row},${column}`, holder.places[i]!);
  }
  const places = servingOrder(rows, columns, order as ServingOrder).map(([row, column], index) => ({
    index,
    worldFromPlace: found(byPlace, `${row},${column}`).worldFromPlace,
  }));
  return { ...holder, places };
}

/** Two grippers change places on the flange and in the work; each keeps its name, its wiring and its signals. */
function swapGrippers(grippers: Map<string, Gripper>, one: string, other: string): void {
  if (one === other) return;
  const a = found(grippers, one),
    b = found(grippers, other);
  grippers.set(one, inRoleOf(b, a));
  grippers.set(other, inRoleOf(a, b));
}

function inRoleOf(hand: Gripper, role: Gripper): Gripper {
  const { partPresent: _, ...rest } = hand;
  return {
    ...rest,
    name: role.name,
    device: { ...role.device, time: hand.device.time },
    ...(role.partPresent === undefined ? {} : { partPresent: role.partPresent }),
  };
}

/** The part's first grip and the named one change roles. */
function withGrip(part: Part, name: string): Part {
  const first = [...part.grips.keys()][0];
  if (first === undefined || first === name) return part;
  const grips = new Map<string, Grip>(part.grips);
  grips.set(first, { ...found(part.grips, name), name: first });
  grips.set(name, { ...found(part.grips, first), name });
  return { ...part, grips };
}
