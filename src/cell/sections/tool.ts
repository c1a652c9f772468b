/** `tool`: what is bolted to the flange. */
import type { Pose } from "../../math/pose.ts";
import type { InertiaDescription } from "../arm-description.ts";
import { mapOf } from "../form/collections.ts";
import { given, type Kind, type Reading, refined, within } from "../form/kind.ts";
import { bodyFrom, massFields } from "../form/mass.ts";
import { signal } from "../form/named.ts";
import { poseKind } from "../form/poses.ts";
import { may, need, record } from "../form/records.ts";
import { count, number, quantity } from "../form/scalars.ts";
import { ownShapes } from "../form/shapes.ts";
import type { Gripper, Tool } from "../model.ts";
import { combineInertias } from "../reframe.ts";
import { valueAt, type Written } from "../text/written.ts";
import { deviceFields, positioned } from "./devices.ts";

const POSITIONS = ["open", "closed"];

interface ReadGripper {
  readonly gripper: Omit<Gripper, "name">;
  readonly body: InertiaDescription | undefined;
  readonly written: Written;
}

export const frictionKind = number({ above: 0, atMost: 5 });

const gripperRecord: Kind<ReadGripper> = refined(
  record(
    "a gripper",
    {
      tcp: need(poseKind, "tool centre point in the flange frame"),
      ...massFields,
      jaws: may(count(1, 12), "number of jaws, 2 if left out"),
      stroke: may(
        quantity("length", { above: "0 mm" }),
        "how much the distance between the jaws changes from open to closed",
      ),
      opening: may(quantity("length", { above: "0 mm" }), "distance between the jaws as far apart as they go"),
      force: may(quantity("force", { above: "0 N" }), "force per jaw"),
      "jaw moment": may(quantity("torque", { above: "0 N m" }), "largest moment of the load on one jaw"),
      "finger length": may(
        quantity("length", { atLeast: "0 mm" }),
        "from where the jaws are guided to the tool centre point",
      ),
      "v angle": may(
        quantity("angle", { atLeast: "10 deg", atMost: "170 deg" }),
        "included angle of V-jaws, flat if left out",
      ),
      friction: may(frictionKind, "coefficient of friction"),
      "oily friction": may(frictionKind, "coefficient of friction on parts wet with coolant or oil"),
      ...deviceFields,
      "part present": may(signal("input"), "input that tells a part is between the jaws"),
      shapes: may(ownShapes, "shapes in the flange frame"),
    },
    { note: true },
  ),
  (value, at, reading): ReadGripper | undefined => {
    const before = reading.log.count;
    const shapes = value.shapes ?? [];
    const body = bodyFrom(value, shapes, at, reading);
    const device = positioned(value, POSITIONS, "open", reading);
    const { opening, stroke } = value;
    if (opening !== undefined && stroke !== undefined && stroke > opening * (1 + 1e-12))
      reading.log.wrong("out-of-range", valueAt(at, "stroke")!, "at most the opening", "Correct stroke or opening.");
    if (device === undefined || reading.log.count !== before) return undefined;
    return {
      written: at,
      body,
      gripper: given({
        flangeFromTcp: value.tcp.pose,
        jaws: value.jaws ?? 2,
        stroke,
        opening,
        force: value.force,
        jawMoment: value["jaw moment"],
        fingerLength: value["finger length"],
        vAngle: value["v angle"],
        friction: value.friction,
        oilyFriction: value["oily friction"],
        device: {
          name: "",
          positions: POSITIONS,
          ...device,
          sweeps: [],
          shapes: [],
          worldFromShapes: new Map<string, Pose>(),
          faults: [],
        },
        partPresent: value["part present"],
        shapes,
      }),
    };
  },
);

const gripperKind = within(gripperRecord, () => ({ positions: POSITIONS }));

const form = record(
  "the tool",
  {
    grippers: may(mapOf("grippers by name", gripperKind), "grippers by name"),
    tcp: may(poseKind, "tool centre point in the flange frame, for a tool without grippers"),
    ...massFields,
    shapes: may(ownShapes, "shapes in the flange frame, besides those of the grippers"),
  },
  { note: true },
);

export interface ReadTool {
  readonly tool: Tool;
  /** Where each gripper is written. */
  readonly written: ReadonlyMap<string, Written>;
}

export const toolKind: Kind<ReadTool> = refined(form, (value, at, reading: Reading): ReadTool | undefined => {
  const before = reading.log.count;
  const shapes = value.shapes ?? [];
  const own = bodyFrom(value, shapes, at, reading);
  const read = [...(value.grippers ?? [])];
  const bodies = read.flatMap(([, { body }]) => (body ? [body] : []));
  if (bodies.length > 0 && bodies.length < read.length)
    for (const [name, { body, written }] of read)
      if (!body)
        reading.log.add(
          "missing-key",
          written,
          `${name} without mass, while another gripper states it`,
          "the mass of all grippers or of none",
          "Add mass and centre.",
        );
  if (value.tcp && read.length > 0)
    reading.log.wrong(
      "conflicting-keys",
      valueAt(at, "tcp")!,
      "tcp in each gripper where there are grippers",
      "Move it to the gripper.",
    );
  if (reading.log.count !== before) return undefined;
  const all = own ? [own, ...bodies] : bodies;
  const inertia = all.length > 0 ? combineInertias(all) : undefined;
  const grippers = new Map(
    read.map(([name, { gripper }]) => [name, { ...gripper, name, device: { ...gripper.device, name } }]),
  );
  return {
    tool: given({ grippers, inertia, shapes, flangeFromTcp: value.tcp?.pose }),
    written: new Map(read.map(([name, { written }]) => [name, written])),
  };
});

export const noTool: ReadTool = { tool: { grippers: new Map(), shapes: [] }, written: new Map() };
