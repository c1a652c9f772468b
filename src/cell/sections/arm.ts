/** `arm`: a joint table or a URDF file, with limits, masses and shapes. */
import { compose, identityPose, type Pose } from "../../math/pose.ts";
import type {
  ArmDescription,
  InertiaDescription,
  JointDescription,
  LinkDescription,
  RatedLoad,
} from "../arm-description.ts";
import { jointsFromDh } from "../dh.ts";
import { listOf, mapOf } from "../form/collections.ts";
import { given, type Kind, type Reading, refined } from "../form/kind.ts";
import { itemsOf, readLike } from "../form/lists.ts";
import { bodyFrom, massFields } from "../form/mass.ts";
import { missingName } from "../form/names.ts";
import { poseInKind, poseKind } from "../form/poses.ts";
import { type MeasureName, measures } from "../form/quantity.ts";
import { may, need, record } from "../form/records.ts";
import { quantity, text, word } from "../form/scalars.ts";
import { ownShapes } from "../form/shapes.ts";
import type { Loaded } from "../issue.ts";
import { reframeInertia, reframeShape } from "../reframe.ts";
import type { PlacedShape } from "../shapes.ts";
import type { Written } from "../text/written.ts";
import { type JointRow, jointLimits, jointRow, type WrittenLimits } from "./joints.ts";

/** Reads the text of a URDF file; given to the loader from a higher floor. */
export type ArmReader = (
  text: string,
  file: string,
  options: { readonly base?: string; readonly tip?: string },
) => Loaded<ArmDescription>;

export interface ReadArm {
  readonly arm: ArmDescription;
  /** Frame and pose of the base. */
  readonly mount: { readonly frame: string; readonly pose: Pose };
}

interface WrittenLink {
  readonly inertia: InertiaDescription | undefined;
  readonly shapes: readonly PlacedShape[];
}

const link: Kind<WrittenLink> = refined(
  record(
    "a link",
    {
      ...massFields,
      mass: may(quantity("mass", { atLeast: "0 kg" }), "mass"),
      shapes: may(ownShapes, "shapes in the link's frame"),
    },
    { note: true },
  ),
  (value, at, reading) => {
    const before = reading.log.count;
    const shapes = value.shapes ?? [];
    const inertia = bodyFrom(value, shapes, at, reading);
    return reading.log.count === before ? { inertia, shapes } : undefined;
  },
);

/** One entry per joint, `none` where unknown. */
function perJoint(name: MeasureName): Kind<readonly (number | undefined)[]> {
  const measure = measures[name];
  const expected = `a list with ${measure.name} or none for each joint`;
  const unknown = (at: Written) => at.kind === "scalar" && at.text.trim() === "none";
  return {
    expected,
    read(at, reading) {
      const items = itemsOf(at);
      if (items === undefined)
        return reading.log.wrong(
          "wrong-type",
          at,
          expected,
          `Write [none, ${measure.sample}, …], one entry for each joint.`,
        );
      const stated = items.filter((item) => !unknown(item));
      const values =
        stated.length === 0 ? [] : readLike(stated, measure, `${measure.name} such as ${measure.sample}`, reading);
      if (values === undefined) return undefined;
      const wrong = values.findIndex((value) => !(value >= 0));
      if (wrong >= 0)
        return reading.log.wrong("out-of-range", stated[wrong]!, `${measure.name} of at least 0`, "Correct the value.");
      let next = 0;
      return items.map((item) => (unknown(item) ? undefined : values[next++]));
    },
    schema: (parts) => ({
      type: "array",
      items: { anyOf: [{ const: "none" }, quantity(name).schema(parts), { type: "number" }] },
      description: expected,
    }),
  };
}

const form = record(
  "an arm",
  {
    name: may(text, "name of the arm"),
    dh: may(word(["standard", "modified"] as const), "convention of the joint table"),
    joints: may(listOf("the joint table", jointRow, 3, 7), "rows of the joint table, base to wrist"),
    links: may(mapOf("links by name", link), "masses and shapes, by link: base, then the joint that moves the link"),
    flange: may(poseKind, "pose of the flange in the last link frame"),
    urdf: may(text, "URDF file"),
    base: may(text, "link of the URDF file at which the arm begins"),
    tip: may(text, "link of the URDF file that is the flange"),
    limits: may(
      mapOf("limits by joint", jointLimits, { anyKey: true }),
      "limits that replace those of the URDF file, by joint",
    ),
    mount: may(poseInKind, "pose of the arm base, in the world if no frame is named"),
    "rated load": may(
      record("the rated load", {
        mass: need(quantity("mass", { above: "0 kg" }), "largest mass at the flange"),
        distance: may(
          quantity("length", { atLeast: "0 mm" }),
          "largest distance of its centre of mass from the flange centre",
        ),
        moments: may(perJoint("torque"), "largest static moment about each joint"),
        inertias: may(perJoint("inertia"), "largest inertia about each joint"),
      }),
      "what the maker allows at the flange",
    ),
    "tool limits": may(
      record("tool limits", {
        speed: may(quantity("speed", { above: "0 mm/s" }), "of the tool centre point"),
        acceleration: may(quantity("acceleration", { above: "0 m/s^2" }), "of the tool centre point"),
        jerk: may(quantity("jerk", { above: "0 m/s^3" }), "of the tool centre point"),
        "turn speed": may(quantity("turnSpeed", { above: "0 deg/s" }), "of the tool"),
        "turn acceleration": may(quantity("turnAcceleration", { above: "0 deg/s^2" }), "of the tool"),
      }),
      "limits at the tool centre point",
    ),
    repeatability: may(quantity("length", { atLeast: "0 mm" }), "pose repeatability after ISO 9283"),
  },
  { note: true, exactlyOne: [["joints", "urdf"]] },
);

const ONLY_TABLE = ["dh", "links", "flange"];
const ONLY_URDF = ["base", "tip", "limits"];

/** The arm section. */
export const armSection: Kind<ReadArm> = refined(form, (value, at, reading): ReadArm | undefined => {
  const before = reading.log.count;
  const [origin, others] = value.joints ? ["a joint table", ONLY_URDF] : ["a URDF file", ONLY_TABLE];
  for (const { key, keySpot } of value.written.entries)
    if (others.includes(key))
      reading.log.add("conflicting-keys", keySpot, `${key} with ${origin}`, `keys of ${origin} only`, `Remove ${key}.`);
  let arm: ArmDescription | undefined;
  if (value.joints) {
    if (value.name === undefined)
      reading.log.add("missing-key", at, "an arm without name", "name: some text", "Add name.");
    if (value.dh === undefined)
      reading.log.add(
        "missing-key",
        at,
        "a joint table without dh",
        "dh: standard or modified",
        "Say which convention the table follows: dh: standard.",
      );
    arm = fromTable(
      value.name ?? "",
      value.joints,
      value.dh ?? "standard",
      value.links,
      value.flange?.pose ?? identityPose(),
      reading,
      value.written.entries.find(({ key }) => key === "links")?.value,
    );
  } else {
    const file = value.written.entries.find(({ key }) => key === "urdf")!.value;
    const read = reading.readUrdf(file, value.urdf!, given({ base: value.base, tip: value.tip }));
    const limits = value.written.entries.find(({ key }) => key === "limits")?.value;
    arm = read && {
      ...read,
      ...(value.name === undefined ? {} : { name: value.name }),
      joints: overridden(read.joints, value.limits, limits, reading),
    };
  }
  if (arm === undefined) return undefined;
  if (arm.joints.length < 3 || arm.joints.length > 7)
    return reading.log.report(
      "wrong-length",
      at,
      `an arm of ${arm.joints.length} joints`,
      "3 to 7 joints",
      "Check base and tip.",
    );
  const load = value["rated load"];
  for (const key of ["moments", "inertias"] as const)
    if (load?.[key] && load[key].length !== arm.joints.length) {
      const list = load.written.entries.find((entry) => entry.key === key)!.value;
      reading.log.add(
        "wrong-length",
        list,
        `${load[key].length} entries`,
        `one for each of the ${arm.joints.length} joints`,
        "Add or remove entries; write none where unknown.",
      );
    }
  const tool = value["tool limits"];
  if (reading.log.count !== before) return undefined;
  const ratedLoad: RatedLoad | undefined =
    load && given({ mass: load.mass, distance: load.distance, moments: load.moments, inertias: load.inertias });
  return {
    arm: given({
      ...arm,
      ratedLoad,
      toolSpeed: tool?.speed ?? arm.toolSpeed,
      toolAcceleration: tool?.acceleration ?? arm.toolAcceleration,
      toolJerk: tool?.jerk ?? arm.toolJerk,
      toolTurnSpeed: tool?.["turn speed"] ?? arm.toolTurnSpeed,
      toolTurnAcceleration: tool?.["turn acceleration"] ?? arm.toolTurnAcceleration,
      repeatability: value.repeatability ?? arm.repeatability,
    }) as ArmDescription,
    mount: { frame: value.mount?.in ?? "world", pose: value.mount?.pose ?? identityPose() },
  };
});

function fromTable(
  name: string,
  rows: readonly JointRow[],
  convention: "standard" | "modified",
  links: ReadonlyMap<string, WrittenLink> | undefined,
  lastFromFlange: Pose,
  reading: Reading,
  linksWritten: Written | undefined,
): ArmDescription {
  const known = ["base", ...rows.map(({ limits }) => limits.name)];
  rows.forEach(({ limits, written }, i) => {
    if (known.indexOf(limits.name) !== i + 1) {
      const spot =
        written.kind === "map" ? (written.entries.find(({ key }) => key === "name")?.value ?? written) : written;
      reading.log.add(
        "duplicate-name",
        spot,
        limits.name,
        limits.name === "base" ? "a name other than base" : "a name of its own for each joint",
        "Rename the joint.",
      );
    }
  });
  const placed = jointsFromDh(
    rows.map(({ dh }) => dh),
    convention,
  );
  if (linksWritten?.kind === "map")
    for (const { key, keySpot } of linksWritten.entries)
      if (!known.includes(key))
        missingName(reading, { kind: "scalar", text: key, quoted: false, ...keySpot }, "link", key, known);
  const linkOf = (link: string, ownerFromDh: Pose): LinkDescription => {
    const written = links?.get(link);
    const inertia = written?.inertia && reframeInertia(written.inertia, ownerFromDh);
    return {
      name: link,
      ...(inertia ? { inertia } : {}),
      shapes: (written?.shapes ?? []).map((shape) => reframeShape(shape, ownerFromDh)),
    };
  };
  return {
    name,
    joints: rows.map(({ limits }, i) => ({ ...limits, ...placed.joints[i]! })),
    links: known.map((link, i) => linkOf(link, placed.ownerFromDh[i]!)),
    lastFromFlange: compose(placed.lastFromFlange, lastFromFlange),
    toolSpeed: Number.POSITIVE_INFINITY,
    toolAcceleration: Number.POSITIVE_INFINITY,
    toolJerk: Number.POSITIVE_INFINITY,
    toolTurnSpeed: Number.POSITIVE_INFINITY,
    toolTurnAcceleration: Number.POSITIVE_INFINITY,
  };
}

function overridden(
  joints: readonly JointDescription[],
  limits: ReadonlyMap<string, WrittenLimits> | undefined,
  written: Written | undefined,
  reading: Reading,
): readonly JointDescription[] {
  if (limits === undefined) return joints;
  const names = joints.map(({ name }) => name);
  if (written?.kind === "map")
    for (const { key, keySpot } of written.entries)
      if (!names.includes(key))
        missingName(reading, { kind: "scalar", text: key, quoted: false, ...keySpot }, "joint", key, names);
  return joints.map((joint) => {
    const own = limits.get(joint.name);
    return own === undefined ? joint : { ...joint, ...own(joint.kind, reading) };
  });
}
