/** Shapes as written. */
import type { Pose } from "../../math/pose.ts";
import { type MeshFit, MOST_CAPSULES, type PlacedShape, type Shape } from "../shapes.ts";
import { listOf, mapOf } from "./collections.ts";
import { type Kind, named, refined } from "./kind.ts";
import { quantities } from "./lists.ts";
import { frameField, pointKind, posed } from "./poses.ts";
import { type Fields, may, need, record } from "./records.ts";
import { quantity, text } from "./scalars.ts";

const positive = quantity("length", { above: "0 mm" });
const ROUND = [["diameter", "radius"]];
const round = { diameter: may(positive, "diameter"), radius: may(positive, "radius") };
const radiusOf = (value: { diameter?: number; radius?: number }) => value.radius ?? value.diameter! / 2;

const size = refined(quantities("length", [3], "the lengths along x, y and z"), (value, at, reading) =>
  value.every((edge) => edge > 0)
    ? (value as [number, number, number])
    : reading.log.wrong("out-of-range", at, "three lengths above 0 mm", "Correct the lengths."),
);
const longRound = (what: string) =>
  record(what, { ...round, length: need(positive, "length along z") }, { exactlyOne: ROUND });
const scale = quantity("length", { above: "0 mm" });

const FIT = "hull, capsule, or 2 to 12 capsules";
const fit: Kind<MeshFit> = {
  expected: FIT,
  read(at, reading) {
    const words = at.kind === "scalar" ? at.text.trim() : "";
    if (words === "hull") return { kind: "hull" };
    if (words === "capsule") return { kind: "capsules", count: 1 };
    const count = Number(/^(\d+) capsules?$/.exec(words)?.[1]);
    if (count >= 1 && count <= MOST_CAPSULES) return { kind: "capsules", count };
    return reading.log.wrong("unknown-word", at, FIT, "Write it as fit: hull, fit: capsule or fit: 3 capsules.");
  },
  schema: () => ({ type: "string", pattern: "^\\s*(hull|capsule|([1-9]|1[0-2]) capsules?)\\s*$" }),
};

/** Length of one unit of a mesh file, m: STL states none and is mostly in mm, glTF is in m, STEP is read into m. */
const usualUnit = (file: string) => (isStep(file) || /\.(glb|gltf)$/i.test(file) ? 1 : 0.001);
const isStep = (file: string) => /\.(step|stp)$/i.test(file);

const shapeKeys = {
  box: may(size, "full lengths along x, y and z, centred"),
  cylinder: may(longRound("a cylinder"), "diameter (or radius) and length, axis z, centred"),
  capsule: may(
    longRound("a capsule"),
    "diameter (or radius) and length between the centres of the end spheres, axis z, centred",
  ),
  sphere: may(record("a sphere", round, { exactlyOne: ROUND }), "diameter or radius"),
  convex: may(listOf("points", pointKind, 4, 2000), "points, of which the shape is the convex hull"),
  mesh: may(
    refined(text, (name, at, reading) => {
      const path = reading.resolveFile(at, name.trim());
      return (
        path ??
        reading.log.wrong(
          "outside",
          at,
          "a file in the folder of the cell or below it",
          "Name it relative to this file, with '/' between folders.",
        )
      );
    }),
    "triangle mesh file: .stl, .glb, .gltf, .step or .stp",
  ),
  scale: may(scale, "length of one unit of the mesh file; if left out 1 mm for STL, 1 m for glTF"),
  fit: may(fit, "what stands for the mesh: capsule, 3 capsules, hull; the mesh itself if left out"),
};
const KINDS = ["box", "cylinder", "capsule", "sphere", "convex", "mesh"];

/** A shape and where it is; `in` only where `extra` has it. */
export interface WrittenShape {
  readonly shape: Shape;
  readonly pose: Pose;
  readonly in?: string;
}

function shapeKind(what: string, extra: Fields): Kind<WrittenShape> {
  const all = posed(what, { ...shapeKeys, ...(extra as typeof frameField) }, { exactlyOne: [KINDS], note: true });
  return refined(all, (value, at, reading): WrittenShape | undefined => {
    const { pose } = value;
    const frame = value.in === undefined ? {} : { in: value.in };
    const make = (shape: Shape): WrittenShape => ({ shape, pose, ...frame });
    if (value.scale !== undefined && value.mesh === undefined)
      return reading.log.wrong("conflicting-keys", at, "scale together with mesh only", "Remove scale.");
    if (value.fit !== undefined && value.mesh === undefined)
      return reading.log.wrong("conflicting-keys", at, "fit together with mesh only", "Remove fit.");
    if (value.box) return make({ kind: "box", size: value.box });
    if (value.cylinder)
      return make({ kind: "cylinder", radius: radiusOf(value.cylinder), length: value.cylinder.length });
    if (value.capsule) return make({ kind: "capsule", radius: radiusOf(value.capsule), length: value.capsule.length });
    if (value.sphere) return make({ kind: "sphere", radius: radiusOf(value.sphere) });
    if (value.convex)
      return make({ kind: "convex", points: value.convex as readonly (readonly [number, number, number])[] });
    const file = value.mesh!;
    if (value.scale !== undefined && isStep(file))
      return reading.log.wrong("conflicting-keys", at, "no scale, as a STEP file states its unit", "Remove scale.");
    const unit = value.scale ?? usualUnit(file);
    return make({
      kind: "mesh",
      file,
      scale: [unit, unit, unit],
      ...(value.fit && { fit: value.fit }),
    });
  });
}

/** One shape in its owner's frame. */
export const ownShape = named("shape", () => shapeKind("a shape", {}));
/** One shape in any frame. */
export const placedShape = named("placed-shape", () => shapeKind("a shape", frameField));

/** Shapes by name in their owner's frame. */
export const ownShapes: Kind<readonly PlacedShape[]> = refined(mapOf("shapes by name", ownShape), (shapes) =>
  [...shapes].map(([name, { shape, pose }]) => ({ name, ownerFromShape: pose, shape })),
);
