/** What the arm stands on: scene shapes that go with the base when it is moved. */
import type { Cell } from "../cell/model.ts";
import type { PlacedShape } from "../cell/shapes.ts";

/** A top this far below or above the base's mounting plane is still under it, m. */
const NEAR_TOP = 0.02;

/**
 * Names of the shapes that carry the base: those stated, else every upright box or cylinder whose top is at the base's
 * origin (within 20 mm) and lies under it. None for an arm that hangs or leans.
 */
export function standOf(cell: Cell, stated: readonly string[] | undefined): readonly string[] {
  if (stated !== undefined) return stated;
  if (!(cell.worldFromBase[10]! > 1 - 1e-6)) return [];
  return cell.scene.shapes.filter((shape) => isUnder(shape, cell)).map(({ name }) => name);
}

function isUnder({ shape, ownerFromShape: t }: PlacedShape, { worldFromBase }: Cell): boolean {
  if (!(Math.abs(t[10]!) > 1 - 1e-9)) return false;
  const half = shape.kind === "box" ? shape.size[2] / 2 : shape.kind === "cylinder" ? shape.length / 2 : Number.NaN;
  if (!(Math.abs(t[11]! + half - worldFromBase[11]!) <= NEAR_TOP)) return false;
  const [dx, dy] = [worldFromBase[3]! - t[3]!, worldFromBase[7]! - t[7]!];
  const x = t[0]! * dx + t[4]! * dy,
    y = t[1]! * dx + t[5]! * dy;
  if (shape.kind === "box") return Math.abs(x) <= shape.size[0] / 2 && Math.abs(y) <= shape.size[1] / 2;
  return shape.kind === "cylinder" && Math.hypot(x, y) <= shape.radius;
}
