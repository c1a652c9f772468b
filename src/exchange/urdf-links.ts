/** <link> elements: mass properties and collision shapes in the link's own frame. <visual> is not read. */
import type { InertiaDescription } from "../cell/arm-description.ts";
import { reframeInertia } from "../cell/reframe.ts";
import type { PlacedShape, Shape } from "../cell/shapes.ts";
import { LONGEST_LENGTH, type UrdfReader } from "./urdf-reader.ts";
import type { XmlElement } from "./xml.ts";

export interface UrdfLink {
  readonly name: string;
  readonly start: number;
  readonly inertia: InertiaDescription | undefined;
  readonly shapes: readonly PlacedShape[];
}

const HEAVIEST = 1e6;
const LARGEST_INERTIA = 1e9;
const TENSOR = ["ixx", "iyy", "izz", "ixy", "ixz", "iyz"] as const;

export function readLink(reader: UrdfReader, element: XmlElement): UrdfLink | undefined {
  const name = reader.text(element, "name", "link");
  const path = `link[${name ?? "?"}]`;
  reader.checkChildren(element, ["inertial", "visual", "collision"], path);
  const inertial = reader.child(element, "inertial", path);
  const inertia = inertial && readInertial(reader, inertial, `${path}.inertial`);
  const shapes = element.children
    .filter((child) => child.name === "collision")
    .flatMap((child, i) => readCollision(reader, child, name ?? "?", i, `${path}.collision[${i}]`) ?? []);
  return name === undefined ? undefined : { name, start: element.start, inertia, shapes };
}

function readInertial(reader: UrdfReader, element: XmlElement, path: string): InertiaDescription | undefined {
  reader.checkChildren(element, ["origin", "mass", "inertia"], path);
  const origin = reader.origin(element, path);
  const massElement = reader.child(element, "mass", path);
  const tensorElement = reader.child(element, "inertia", path);
  const lacking = (name: string) =>
    reader.note(
      "missing-element",
      path,
      element.start,
      `no <${name}>`,
      `<${name}>`,
      "State it, or leave <inertial> out.",
    );
  const mass = massElement ? reader.number(massElement, "value", `${path}.mass`, "kg", HEAVIEST) : lacking("mass");
  if (mass !== undefined && mass < 0)
    reader.note("out-of-range", `${path}.mass.value`, massElement!.start, `${mass}`, "0 kg or more", "Check the mass.");
  const tensor = tensorElement
    ? TENSOR.map((key) => reader.number(tensorElement, key, `${path}.inertia`, "kg m²", LARGEST_INERTIA))
    : lacking("inertia");
  if (mass === undefined || tensor === undefined || !allKnown(tensor)) return undefined;
  if (!couldBeABody(tensor))
    return reader.note(
      "impossible-inertia",
      `${path}.inertia`,
      tensorElement!.start,
      `ixx ${tensor[0]}, iyy ${tensor[1]}, izz ${tensor[2]}, ixy ${tensor[3]}, ixz ${tensor[4]}, iyz ${tensor[5]}`,
      "a tensor with no negative principal moment",
      "Check the values and the signs of the products.",
    );
  const about = { mass, centre: [0, 0, 0], tensor: tensor as unknown as InertiaDescription["tensor"] } as const;
  return reframeInertia(about, origin);
}

function readCollision(
  reader: UrdfReader,
  element: XmlElement,
  link: string,
  index: number,
  path: string,
): PlacedShape | undefined {
  reader.checkChildren(element, ["origin", "geometry"], path);
  const ownerFromShape = reader.origin(element, path);
  const geometry = reader.child(element, "geometry", path);
  if (geometry === undefined)
    return reader.note("missing-element", path, element.start, "no <geometry>", "<geometry>", "State the shape.");
  const where = `${path}.geometry`;
  const [first, second] = geometry.children;
  const expected = "one of <box>, <cylinder>, <sphere>, <mesh>";
  if (first === undefined)
    return reader.note("missing-element", where, geometry.start, "no shape", expected, "State the shape.");
  if (second !== undefined)
    reader.note(
      "repeated-element",
      where,
      second.start,
      `a second shape <${second.name}>`,
      expected,
      "Use one <collision> each.",
    );
  const shape = readShape(reader, first, where, expected);
  return shape && { name: element.attributes.get("name")?.value || `${link} ${index + 1}`, ownerFromShape, shape };
}

function readShape(reader: UrdfReader, element: XmlElement, path: string, expected: string): Shape | undefined {
  const where = `${path}.${element.name}`;
  const size = (name: string) => reader.positive(element, name, where, "m", LONGEST_LENGTH);
  switch (element.name) {
    case "box": {
      const edges = reader.numbers(element, "size", 3, where, "m", LONGEST_LENGTH);
      if (edges === undefined) return undefined;
      if (!edges.every((edge) => edge > 0))
        return reader.note(
          "out-of-range",
          `${where}.size`,
          element.start,
          edges.join(" "),
          "three lengths above 0 (m)",
          "Check the size.",
        );
      return { kind: "box", size: edges as unknown as readonly [number, number, number] };
    }
    case "cylinder": {
      const radius = size("radius");
      const length = size("length");
      return radius === undefined || length === undefined ? undefined : { kind: "cylinder", radius, length };
    }
    case "sphere": {
      const radius = size("radius");
      return radius === undefined ? undefined : { kind: "sphere", radius };
    }
    case "mesh": {
      const file = reader.text(element, "filename", where);
      const scale = reader.numbers(element, "scale", 3, where, "m per unit of the mesh", 1e6, [1, 1, 1]);
      if (file === undefined || scale === undefined) return undefined;
      if (!scale.every((factor) => factor !== 0))
        return reader.note(
          "out-of-range",
          `${where}.scale`,
          element.start,
          scale.join(" "),
          "no factor of 0",
          "Check the scale.",
        );
      return { kind: "mesh", file, scale: scale as unknown as readonly [number, number, number] };
    }
    default:
      return reader.note(
        "unknown-element",
        where,
        element.start,
        `<${element.name}>`,
        expected,
        "Use one of these shapes.",
      );
  }
}

const allKnown = (values: readonly (number | undefined)[]): values is readonly number[] =>
  values.every((value) => value !== undefined);

/** No negative principal moment, within the rounding of written figures: principal minors of the tensor. */
function couldBeABody([xx, yy, zz, xy, xz, yz]: readonly number[]): boolean {
  const size = Math.max(...[xx, yy, zz, xy, xz, yz].map((value) => Math.abs(value!)));
  if (size === 0) return true;
  const [a, b, c, d, e, f] = [xx, yy, zz, xy, xz, yz].map((value) => value! / size) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const slack = -1e-6;
  const determinant = a * (b * c - f * f) - d * (d * c - f * e) + e * (d * f - b * e);
  return (
    a >= slack &&
    b >= slack &&
    c >= slack &&
    a * b - d * d >= slack &&
    a * c - e * e >= slack &&
    b * c - f * f >= slack &&
    determinant >= slack
  );
}
