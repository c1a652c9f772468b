/** Every shape of a cell that is in a mesh file, and where it stands in the cell file. */
import type { Cell, PlacedShape, Shape } from "../cell/index.ts";

export interface MeshUse {
  /** Path in the cell, for `Cell.locate`. */
  readonly path: readonly string[];
  readonly shape: Extract<Shape, { kind: "mesh" }>;
}

/** In the order arm, tool, scene, machines, parts. */
export function cellMeshes(cell: Cell): readonly MeshUse[] {
  const uses: MeshUse[] = [];
  const add = (path: readonly string[], shapes: readonly PlacedShape[]) => {
    for (const { name, shape } of shapes) if (shape.kind === "mesh") uses.push({ path: [...path, name], shape });
  };
  for (const [i, link] of cell.arm.links.entries()) add(["arm", "links", linkName(cell, i), "shapes"], link.shapes);
  add(["tool", "shapes"], cell.tool.shapes);
  for (const { name, shapes } of cell.tool.grippers.values()) add(["tool", "grippers", name, "shapes"], shapes);
  add(["scene", "shapes"], cell.scene.shapes);
  for (const { name, shapes, devices } of cell.machines.values()) {
    const path = ["machines", name];
    add([...path, "shapes"], shapes);
    for (const device of devices)
      add([...path, "devices", device.name.slice(name.length + 1), "shapes"], device.shapes);
  }
  for (const { name, shape } of cell.parts.values())
    if (shape?.kind === "mesh") uses.push({ path: ["parts", name, "shape"], shape });
  return uses;
}

/** As the cell file names links: "base", then the joint that moves the link. */
const linkName = (cell: Cell, link: number) => (link === 0 ? "base" : cell.arm.joints[link - 1]!.name);
