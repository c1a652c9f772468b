/** Zones as bodies: spaces that the arm is in or not. */
import type { Cell } from "../../cell/index.ts";
import type { MeshLibrary } from "../../clearance/index.ts";
import { compose, invert, type Pose } from "../../math/pose.ts";
import { bodyOf } from "./cell-bodies.ts";
import type { Element } from "./elements.ts";
import type { ClearanceMemory } from "./memory.ts";
import { prepareMesh } from "./mesh-body.ts";

/** @returns bodies by zone; undefined where a mesh file is not read, so that nobody can say what is in it */
export function zoneElements(
  cell: Cell,
  memory: ClearanceMemory,
  library: MeshLibrary | undefined,
): ReadonlyMap<string, readonly Element[] | undefined> {
  const baseFromWorld = invert(cell.worldFromBase);
  const element = (name: string, body: Element["body"], worldFromBody: Pose): Element => {
    const frameFromBody = compose(baseFromWorld, worldFromBody);
    const id = memory.numberOf(`zone|${name}|${memory.numberOfObject(body)}`);
    return { id, name, about: name, group: "scene", body, frame: -1, frameFromBody, link: undefined };
  };
  const zones = new Map<string, readonly Element[] | undefined>();
  for (const zone of cell.scene.zones.values()) {
    let elements: Element[] | undefined = [];
    for (const { name: own, shape, ownerFromShape } of zone.shapes) {
      const name = `${zone.name}.${own}`;
      if (shape.kind !== "mesh") {
        elements?.push(element(name, bodyOf(shape), ownerFromShape));
        continue;
      }
      const mesh = library?.(shape.file);
      if (mesh === undefined) elements = undefined;
      else
        for (const { body, shapeFromBody } of prepareMesh(shape, mesh).bodies)
          elements?.push(element(name, body, compose(ownerFromShape, shapeFromBody)));
    }
    zones.set(zone.name, elements);
  }
  return zones;
}
