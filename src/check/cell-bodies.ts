/**
 * The solid bodies of a cell as the clearance floor wants them: links, tool and grippers carried by the arm's frames; scene,
 * fence, machines and devices (each at its start position) fixed in base axes. Zones are spaces, not bodies; parts are not
 * among them.
 */
import type { Cell, PlacedShape, Shape } from "../cell/index.ts";
import {
  type Body,
  boxBody,
  type CarriedBody,
  capsuleBody,
  cylinderBody,
  hullBody,
  sphereBody,
} from "../clearance/index.ts";
import { compose, invert, type Pose } from "../math/pose.ts";

export interface CellBody extends CarriedBody {
  /** "J2.upper-arm", "tool.bracket", "gripper.jaws", "table-top", "lathe.bed", "lathe.door.panel". */
  readonly name: string;
  /** Link that it is fixed to: 0 the base, n the last one with all that the flange carries; undefined: not on the arm. */
  readonly link: number | undefined;
}

export interface CellBodies {
  readonly bodies: readonly CellBody[];
  /** Names of the shapes whose mesh files are not read. */
  readonly meshes: readonly string[];
}

/** Moving frames of an arm with n joints: links 1 to n, then the flange. */
const linkFrame = (link: number) => link - 1;
export const flangeFrame = (n: number) => n;

export function cellBodies(cell: Cell): CellBodies {
  const bodies: CellBody[] = [];
  const meshes: string[] = [];
  const n = cell.arm.joints.length;
  const baseFromWorld = invert(cell.worldFromBase);
  const add = (
    owner: string | undefined,
    shapes: readonly PlacedShape[],
    place: Pick<CellBody, "link" | "frame"> & { frameFromOwner?: Pose },
  ) => {
    for (const { name: shapeName, ownerFromShape, shape } of shapes) {
      const name = owner === undefined ? shapeName : `${owner}.${shapeName}`;
      const body = bodyOf(shape);
      if (body === undefined) {
        meshes.push(name);
        continue;
      }
      const { frameFromOwner, link, frame } = place;
      const frameFromBody = frameFromOwner === undefined ? ownerFromShape : compose(frameFromOwner, ownerFromShape);
      bodies.push({ name, body, link, frame, frameFromBody });
    }
  };

  for (const [i, link] of cell.arm.links.entries())
    add(linkName(cell, i), link.shapes, { link: i, frame: i === 0 ? -1 : linkFrame(i) });
  const onFlange = { link: n, frame: flangeFrame(n) };
  add("tool", cell.tool.shapes, onFlange);
  for (const gripper of cell.tool.grippers.values()) add(gripper.name, gripper.shapes, onFlange);

  const fixed = (worldFromOwner?: Pose) => ({
    link: undefined,
    frame: -1,
    frameFromOwner: worldFromOwner === undefined ? baseFromWorld : compose(baseFromWorld, worldFromOwner),
  });
  add(undefined, cell.scene.shapes, fixed());
  for (const machine of cell.machines.values()) {
    add(machine.name, machine.shapes, fixed(cell.frames.get(machine.frame)?.worldFromFrame));
    for (const device of machine.devices)
      add(device.name, device.shapes, fixed(device.worldFromShapes.get(device.start)));
  }
  return { bodies, meshes };
}

/** As the cell file names links: "base", then the joint that moves the link. */
const linkName = (cell: Cell, link: number) => (link === 0 ? "base" : cell.arm.joints[link - 1]!.name);

/** Undefined for a mesh file. */
function bodyOf(shape: Shape): Body | undefined {
  switch (shape.kind) {
    case "box":
      return boxBody(shape.size);
    case "cylinder":
      return cylinderBody(shape.radius, shape.length);
    case "capsule":
      return capsuleBody(shape.radius, shape.length);
    case "sphere":
      return sphereBody(shape.radius);
    case "convex":
      return hullBody(shape.points);
    case "mesh":
      return undefined;
  }
}
