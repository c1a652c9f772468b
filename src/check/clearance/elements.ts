/**
 * The bodies that a cell has at one moment or another: those of the arm and what it carries, and those around it. Each is known
 * by a number that stands for its shape and place, so that moments can be compared and answers found again.
 */
import { machineDevices } from "../../cell/equipment.ts";
import type { Cell } from "../../cell/index.ts";
import type { Body, MeshLibrary, Slide } from "../../clearance/index.ts";
import type { HeldPart, Stretch } from "../../cycle/index.ts";
import { compose, invert, type Pose, translation } from "../../math/pose.ts";
import { flangeFromHeldPart } from "../load.ts";
import { placeLabel } from "../targets.ts";
import { bodyOf, type CellBody, type CellMesh, cellBodies, flangeFrame } from "./cell-bodies.ts";
import type { ClearanceMemory } from "./memory.ts";
import { prepareMesh } from "./mesh-body.ts";
import { boxAroundBoxes, boxOf } from "./reach.ts";
import type { SceneGroup } from "./scene.ts";

export interface Element {
  /** Equal for equal bodies in equal places. */
  readonly id: number;
  /** "lathe.door.panel", "short in raw-tray, place 7", "short in gripper". */
  readonly name: string;
  /** What findings are about: without the place in a tray. */
  readonly about: string;
  readonly group: SceneGroup;
  readonly body: Body;
  /** Frame that carries it, see SweptBody: -1 for what is not on the arm. */
  readonly frame: number;
  /** Place in that frame; in the frame of the device's shapes for a body with a slide. */
  readonly frameFromBody: Pose;
  /** Link that it is fixed to; undefined: not on the arm. */
  readonly link: number | undefined;
  /** Gripper that it belongs to, or that holds it. */
  readonly gripper?: string;
  /** A part at rest. */
  readonly rests?: { readonly holder: string; readonly place: number };
  readonly device?: { readonly name: string; readonly stretch: Stretch };
  /** It may be anywhere along it. */
  readonly slide?: Slide;
}

/** A person's place is taken as a standing cylinder of this radius and height, m: common practice. */
export const PERSON = { radius: 0.3, height: 1.8 };

/** A part in each place of a holder. */
export interface RestingParts {
  readonly at: (place: number) => readonly Element[];
  /** Box around the part in all places, as in reach. */
  readonly box: Float64Array;
}

/** Radius of a ball around a shape, m, above which it is taken for a slip of the pen: nothing of that size can be followed closely. */
export const LARGEST_SHAPE = 1000;

export interface CellElements {
  /** Base, links, tool and grippers. */
  readonly arm: readonly Element[];
  /** Scene, fence, machines, devices without positions that differ, people's places. */
  readonly fixed: readonly Element[];
  /** Bodies of the part that a gripper holds. */
  held(gripper: string, part: HeldPart): readonly Element[];
  /** Bodies of a part at rest in the places of a holder, place by place; made when first asked for. */
  resting(holder: string, part: string): RestingParts;
  /** Bodies of a device that stands at a position or somewhere between two. */
  device(name: string, stretch: Stretch): readonly Element[];
  /** Shapes whose mesh files are not read. */
  readonly meshes: readonly string[];
  /** Shapes larger than `LARGEST_SHAPE`, which are left out. */
  readonly tooLarge: readonly string[];
  /** Shapes whose mesh files are read, with what was found in them. */
  readonly read: readonly CellMesh[];
}

/** @param devices those whose bodies depend on where the device stands; the others are among `fixed` */
export function createElements(
  cell: Cell,
  devices: ReadonlySet<string>,
  memory: ClearanceMemory,
  library?: MeshLibrary,
): CellElements {
  const { bodies, meshes, read } = cellBodies(cell, library);
  const missing = [...meshes];
  const meshesRead = [...read];
  const n = cell.arm.joints.length;
  const baseFromWorld = invert(cell.worldFromBase);
  const bodyKeys = new Map<Body, string>();
  const remembered = new Map<string, readonly Element[]>();
  const resting = new Map<string, RestingParts>();

  const element = (parts: Omit<Element, "id" | "about"> & { readonly about?: string }): Element => {
    const { body, frame, frameFromBody, slide } = parts;
    let bodyKey = bodyKeys.get(body);
    if (bodyKey === undefined) {
      bodyKey = keyOf(body, memory);
      bodyKeys.set(body, bodyKey);
    }
    const along = slide === undefined ? "" : `${slide.baseFromOwnerStart.join()}>${slide.baseFromOwnerEnd.join()}`;
    const id = memory.numberOf(`${parts.name}|${bodyKey}|${frame}|${frameFromBody.join()}|${along}`);
    return { about: parts.name, ...parts, id };
  };
  const recall = (key: string, make: () => readonly Element[]): readonly Element[] => {
    let known = remembered.get(key);
    if (known === undefined) {
      known = make();
      remembered.set(key, known);
    }
    return known;
  };

  const ofCell = ({ name, body, link, frame, frameFromBody, group, gripper }: CellBody) =>
    element({
      name,
      body,
      link,
      frame,
      frameFromBody,
      group: group === "scene" && /^fence-\d+$/.test(name) ? "fence" : group,
      ...(gripper === undefined ? {} : { gripper }),
    });
  const moved = new Map<string, CellBody[]>();
  const arm: Element[] = [],
    fixed: Element[] = [];
  const tooLarge: string[] = [];
  for (const body of bodies) {
    if (!(body.body.bound <= LARGEST_SHAPE)) {
      tooLarge.push(body.name);
      continue;
    }
    const device = body.device?.name;
    if (device !== undefined && devices.has(device)) moved.set(device, [...(moved.get(device) ?? []), body]);
    else (body.link === undefined ? fixed : arm).push(ofCell(body));
  }
  for (const [name, worldFromPlace] of cell.scene.operatorPlaces ?? [])
    fixed.push(
      element({
        name,
        group: "person",
        body: bodyOf({ kind: "cylinder", radius: PERSON.radius, length: PERSON.height }),
        link: undefined,
        frame: -1,
        frameFromBody: compose(compose(baseFromWorld, worldFromPlace), translation(0, 0, PERSON.height / 2)),
      }),
    );

  const partBodies = new Map<string, readonly { readonly body: Body; readonly partFromBody: Pose }[]>();
  for (const part of cell.parts.values()) {
    const { shape, partFromShape } = part;
    if (shape === undefined) continue;
    if (shape.kind !== "mesh") {
      if (!(bodyOf(shape).bound <= LARGEST_SHAPE)) {
        tooLarge.push(part.name);
        continue;
      }
      partBodies.set(part.name, [{ body: bodyOf(shape), partFromBody: partFromShape }]);
      continue;
    }
    const mesh = library?.(shape.file);
    if (mesh === undefined) {
      missing.push(part.name);
      continue;
    }
    const { bodies: made, ...found } = prepareMesh(shape, mesh);
    meshesRead.push({ name: part.name, file: shape.file, path: ["parts", part.name, "shape"], ...found });
    partBodies.set(
      part.name,
      made.map(({ body, shapeFromBody }) => ({ body, partFromBody: compose(partFromShape, shapeFromBody) })),
    );
  }

  const restingIn = (holderName: string, place: number, part: string): readonly Element[] => {
    const holder = cell.holders.get(holderName);
    const worldFromPlace = holder?.places[place]?.worldFromPlace;
    if (holder === undefined || worldFromPlace === undefined) return [];
    return (partBodies.get(part) ?? []).map(({ body, partFromBody }) =>
      element({
        name: `${part} in ${placeLabel(holder, place)}`,
        about: `${part} in ${holder.name}`,
        group: "part",
        body,
        link: undefined,
        frame: -1,
        frameFromBody: compose(compose(baseFromWorld, worldFromPlace), partFromBody),
        rests: { holder: holder.name, place },
      }),
    );
  };

  const deviceAt = (name: string, stretch: Stretch): readonly Element[] => {
    const own = moved.get(name) ?? [];
    const device = machineDevices(cell).find((d) => d.name === name);
    const poseAt = (position: string) => compose(baseFromWorld, device!.worldFromShapes.get(position)!);
    const common = { group: "device", link: undefined, frame: -1, device: { name, stretch } } as const;
    if (stretch.from === stretch.to) {
      const baseFromShapes = own.length > 0 ? poseAt(stretch.from) : undefined;
      return own.map(({ name: bodyName, body, device: at }) =>
        element({ ...common, name: bodyName, body, frameFromBody: compose(baseFromShapes!, at!.shapesFromBody) }),
      );
    }
    if (own.length === 0) return [];
    const slide = { baseFromOwnerStart: poseAt(stretch.from), baseFromOwnerEnd: poseAt(stretch.to) };
    return own.map(({ name: bodyName, body, device: at }) =>
      element({ ...common, name: bodyName, body, frameFromBody: at!.shapesFromBody, slide }),
    );
  };

  return {
    arm,
    fixed,
    held: (gripper, part) =>
      recall(`held|${gripper}|${part.part}|${part.grip}`, () =>
        (partBodies.get(part.part) ?? []).map(({ body, partFromBody }) =>
          element({
            name: `${part.part} in ${gripper}`,
            group: "held part",
            body,
            link: n,
            frame: flangeFrame(n),
            frameFromBody: compose(flangeFromHeldPart(cell, gripper, part), partFromBody),
            gripper,
          }),
        ),
      ),
    resting(holder, part) {
      const key = `${holder}|${part}`;
      let known = resting.get(key);
      if (known === undefined) {
        const places = (cell.holders.get(holder)?.places ?? []).map((_, place) => restingIn(holder, place, part));
        const boxes = places.flat().map(boxOf);
        const all = new Float64Array(6 * boxes.length);
        for (const [i, box] of boxes.entries()) all.set(box, 6 * i);
        known = { at: (place) => places[place] ?? [], box: boxAroundBoxes(all) };
        resting.set(key, known);
      }
      return known;
    },
    device: (name, stretch) => recall(`device|${name}|${stretch.from}|${stretch.to}`, () => deviceAt(name, stretch)),
    meshes: missing,
    tooLarge,
    read: meshesRead,
  };
}

/** Text that is equal only for equal bodies. */
function keyOf(body: Body, memory: ClearanceMemory): string {
  const { kind, radius, hx, hy, hz, xs, ys, zs, mesh } = body;
  const corners = xs.length === 0 ? "" : `${xs.join()};${ys.join()};${zs.join()}`;
  return [kind, radius, hx, hy, hz, corners, mesh === undefined ? "" : memory.numberOfObject(mesh.vertices)].join();
}
