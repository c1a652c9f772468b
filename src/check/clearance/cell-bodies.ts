/**
 * The solid bodies of a cell as the clearance floor wants them: links, tool and grippers carried by the arm's frames; scene,
 * fence, machines and devices (each at its start position) fixed in base axes. Zones are spaces, not bodies; parts are not
 * among them.
 */
import type { Cell, PlacedShape, Shape } from "../../cell/index.ts";
import {
  type Body,
  boxBody,
  type CarriedBody,
  capsuleBody,
  cylinderBody,
  hullBody,
  type MeshLibrary,
  sphereBody,
} from "../../clearance/index.ts";
import { compose, invert, type Pose } from "../../math/pose.ts";
import { type PreparedMesh, prepareMesh } from "./mesh-body.ts";
import type { SceneGroup } from "./scene.ts";

export interface CellBody extends CarriedBody {
  /** Of its shape; several bodies that are fitted around one mesh share a name. "J2.upper-arm", "tool.bracket", "gripper.jaws", "table-top", "lathe.bed", "lathe.door.panel". */
  readonly name: string;
  /** Link that it is fixed to: 0 the base, n the last one with all that the flange carries; undefined: not on the arm. */
  readonly link: number | undefined;
  readonly group: SceneGroup;
  /** Gripper whose shape it is. */
  readonly gripper?: string;
  /** Device that moves it, and its place in the frame of the device's shapes. */
  readonly device?: { readonly name: string; readonly shapesFromBody: Pose };
}

export interface CellBodies {
  readonly bodies: readonly CellBody[];
  /** Names of the shapes whose mesh files are not read. */
  readonly meshes: readonly string[];
  /** Shapes whose mesh files are read, and what was found in them: see meshFindings. */
  readonly read: readonly CellMesh[];
}

export interface CellMesh extends Omit<PreparedMesh, "bodies"> {
  /** As in `CellBody.name`. */
  readonly name: string;
  readonly file: string;
  /** Path of the shape in the cell, for `Cell.locate`. */
  readonly path: readonly string[];
}

/** Moving frames of an arm with n joints: links 1 to n, then the flange. */
const linkFrame = (link: number) => link - 1;
export const flangeFrame = (n: number) => n;

/** @param library meshes of the files that the cell names; without it, or where it lacks one, the shape is listed in `meshes` */
export function cellBodies(cell: Cell, library?: MeshLibrary): CellBodies {
  const bodies: CellBody[] = [];
  const meshes: string[] = [];
  const read: CellMesh[] = [];
  const n = cell.arm.joints.length;
  const baseFromWorld = invert(cell.worldFromBase);
  const add = (
    owner: string | undefined,
    path: readonly string[],
    shapes: readonly PlacedShape[],
    place: Pick<CellBody, "link" | "frame" | "group" | "gripper"> & { frameFromOwner?: Pose; moves?: string },
  ) => {
    const { frameFromOwner, moves, ...common } = place;
    for (const { name: shapeName, ownerFromShape, shape } of shapes) {
      const name = owner === undefined ? shapeName : `${owner}.${shapeName}`;
      const put = (body: Body, ownerFromBody: Pose) =>
        bodies.push({
          name,
          body,
          ...common,
          frameFromBody: frameFromOwner === undefined ? ownerFromBody : compose(frameFromOwner, ownerFromBody),
          ...(moves === undefined ? {} : { device: { name: moves, shapesFromBody: ownerFromBody } }),
        });
      if (shape.kind !== "mesh") {
        put(bodyOf(shape), ownerFromShape);
        continue;
      }
      const mesh = library?.(shape.file);
      if (mesh === undefined) {
        meshes.push(name);
        continue;
      }
      const { bodies: parts, ...found } = prepareMesh(shape, mesh);
      read.push({ name, file: shape.file, path: [...path, shapeName], ...found });
      for (const { body, shapeFromBody } of parts) put(body, compose(ownerFromShape, shapeFromBody));
    }
  };

  for (const [i, link] of cell.arm.links.entries())
    add(linkName(cell, i), ["arm", "links", linkName(cell, i), "shapes"], link.shapes, {
      link: i,
      frame: i === 0 ? -1 : linkFrame(i),
      group: "arm",
    });
  const onFlange = { link: n, frame: flangeFrame(n), group: "tool" } as const;
  add("tool", ["tool", "shapes"], cell.tool.shapes, onFlange);
  for (const { name, shapes } of cell.tool.grippers.values())
    add(name, ["tool", "grippers", name, "shapes"], shapes, { ...onFlange, gripper: name });

  const fixed = (group: SceneGroup, worldFromOwner?: Pose) => ({
    link: undefined,
    frame: -1,
    group,
    frameFromOwner: worldFromOwner === undefined ? baseFromWorld : compose(baseFromWorld, worldFromOwner),
  });
  add(undefined, ["scene", "shapes"], cell.scene.shapes, fixed("scene"));
  for (const machine of cell.machines.values()) {
    const path = ["machines", machine.name];
    add(
      machine.name,
      [...path, "shapes"],
      machine.shapes,
      fixed("machine", cell.frames.get(machine.frame)?.worldFromFrame),
    );
    for (const device of machine.devices)
      add(device.name, [...path, "devices", device.name.slice(machine.name.length + 1), "shapes"], device.shapes, {
        ...fixed("device", device.worldFromShapes.get(device.start)),
        moves: device.name,
      });
  }
  return { bodies, meshes, read };
}

/** As the cell file names links: "base", then the joint that moves the link. */
const linkName = (cell: Cell, link: number) => (link === 0 ? "base" : cell.arm.joints[link - 1]!.name);

/** The body of any shape but a mesh. */
export function bodyOf(shape: Exclude<Shape, { kind: "mesh" }>): Body {
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
  }
}
