/** <joint> elements. Damping, friction, calibration and soft limits are not read. */
import type { Pose } from "../math/pose.ts";
import type { UrdfReader } from "./urdf-reader.ts";
import type { XmlElement } from "./xml.ts";

export type UrdfJointKind = "revolute" | "continuous" | "prismatic" | "fixed" | "floating" | "planar";

export interface UrdfJoint {
  readonly name: string;
  readonly start: number;
  readonly kind: UrdfJointKind;
  readonly parent: string;
  readonly child: string;
  readonly parentFromChild: Pose;
  /** Unit vector in the child's frame. */
  readonly axis: readonly [number, number, number];
  readonly min: number;
  readonly max: number;
  readonly velocity: number;
  readonly effort: number;
  /** Offset of <mimic> in the text when the joint follows another one. */
  readonly mimic: number | undefined;
}

const KINDS: readonly UrdfJointKind[] = ["revolute", "continuous", "prismatic", "fixed", "floating", "planar"];
const CHILDREN = [
  "origin",
  "parent",
  "child",
  "axis",
  "limit",
  "dynamics",
  "mimic",
  "calibration",
  "safety_controller",
];

export function readJoint(reader: UrdfReader, element: XmlElement): UrdfJoint | undefined {
  const name = reader.text(element, "name", "joint");
  const path = `joint[${name ?? "?"}]`;
  reader.checkChildren(element, CHILDREN, path);
  const kind = readKind(reader, element, path);
  const parentFromChild = reader.origin(element, path);
  const parent = readEnd(reader, element, "parent", path);
  const child = readEnd(reader, element, "child", path);
  const moves = kind === "revolute" || kind === "continuous" || kind === "prismatic";
  const axis = moves ? readAxis(reader, element, path) : ([1, 0, 0] as const);
  const limits = moves ? readLimits(reader, element, kind, path) : NO_LIMITS;
  const mimic = reader.child(element, "mimic", path)?.start;
  if (name === undefined || kind === undefined || parent === undefined || child === undefined) return undefined;
  return { name, start: element.start, kind, parent, child, parentFromChild, axis, ...limits, mimic };
}

function readKind(reader: UrdfReader, element: XmlElement, path: string): UrdfJointKind | undefined {
  const written = reader.text(element, "type", path);
  const kind = KINDS.find((known) => known === written);
  if (written !== undefined && kind === undefined)
    reader.note(
      "unknown-joint-type",
      `${path}.type`,
      element.attributes.get("type")!.start,
      `"${written}"`,
      KINDS.join(", "),
      "Use one of these types.",
    );
  return kind;
}

function readEnd(reader: UrdfReader, element: XmlElement, name: "parent" | "child", path: string): string | undefined {
  const end = reader.child(element, name, path);
  if (end !== undefined) return reader.text(end, "link", `${path}.${name}`);
  return reader.note(
    "missing-element",
    path,
    element.start,
    `no <${name}>`,
    `<${name} link="…"/>`,
    "Say which link it joins.",
  );
}

function readAxis(reader: UrdfReader, element: XmlElement, path: string): readonly [number, number, number] {
  const axis = reader.child(element, "axis", path);
  if (axis === undefined) return [1, 0, 0];
  const xyz = reader.numbers(axis, "xyz", 3, `${path}.axis`, "a direction", 1e6);
  if (xyz === undefined) return [1, 0, 0];
  const length = Math.hypot(...xyz);
  if (length < 1e-9) {
    reader.note(
      "zero-axis",
      `${path}.axis.xyz`,
      axis.start,
      `"${xyz.join(" ")}"`,
      "a direction",
      "State the axis of the joint.",
    );
    return [1, 0, 0];
  }
  return xyz.map((part) => part / length) as [number, number, number];
}

const free = Number.POSITIVE_INFINITY;
const NO_LIMITS = { min: -free, max: free, velocity: free, effort: free };

/** Missing velocity and effort are not known, hence Infinity; a continuous joint has no stops whatever is written. */
function readLimits(reader: UrdfReader, element: XmlElement, kind: UrdfJointKind, path: string): typeof NO_LIMITS {
  const limit = reader.child(element, "limit", path);
  const unit = kind === "prismatic" ? "m" : "rad";
  const where = `${path}.limit`;
  if (limit === undefined) {
    if (kind !== "continuous")
      reader.note(
        "missing-element",
        where,
        element.start,
        "no <limit>",
        `<limit lower upper> of a ${kind} joint`,
        'State the limits, or use type="continuous" for a joint without stops.',
      );
    return NO_LIMITS;
  }
  const stated = (name: string, unitOfIt: string) =>
    limit.attributes.has(name) ? (reader.positive(limit, name, where, unitOfIt) ?? free) : free;
  const velocity = stated("velocity", `${unit}/s`);
  const effort = stated("effort", kind === "prismatic" ? "N" : "N m");
  if (kind === "continuous") return { min: -free, max: free, velocity, effort };
  if (!limit.attributes.has("lower") && !limit.attributes.has("upper")) {
    reader.note(
      "missing-attribute",
      where,
      limit.start,
      "<limit> without lower and upper",
      `lower and upper (${unit})`,
      "State the range of the joint.",
    );
    return NO_LIMITS;
  }
  // The format's default for a missing end of the range is 0.
  const min = reader.numbers(limit, "lower", 1, where, unit, undefined, [0])?.[0];
  const max = reader.numbers(limit, "upper", 1, where, unit, undefined, [0])?.[0];
  if (min === undefined || max === undefined) return NO_LIMITS;
  if (min > max)
    reader.note(
      "limits-reversed",
      where,
      limit.start,
      `lower ${min}, upper ${max}`,
      "lower not above upper",
      "Swap them.",
    );
  return { min, max, velocity, effort };
}
