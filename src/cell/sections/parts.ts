/** `parts`: the variants that the cell handles. */
import { identityPose } from "../../math/pose.ts";
import type { InertiaDescription } from "../arm-description.ts";
import { either, isScalar, mapBy, mapOf } from "../form/collections.ts";
import { given, type Kind, refined } from "../form/kind.ts";
import { bodyFrom, massFields } from "../form/mass.ts";
import { resolveName } from "../form/named.ts";
import { posed } from "../form/poses.ts";
import { may, need, record } from "../form/records.ts";
import { quantity, text, word } from "../form/scalars.ts";
import { ownShape } from "../form/shapes.ts";
import type { Grip, Part } from "../model.ts";
import { isNothing, valueAt, type Written, type WrittenMap } from "../text/written.ts";
import { time } from "./devices.ts";
import { frictionKind } from "./tool.ts";

const mass = quantity("mass", { above: "0 kg" });

type WrittenStage = {
  readonly mass: number;
  readonly centre?: readonly number[];
  readonly inertia?: InertiaDescription["tensor"];
  readonly written: Written;
};

const stageRecord: Kind<WrittenStage> = record(
  "a stage",
  { ...massFields, mass: need(mass, "mass of the part in this stage") },
  { note: true },
);
const stageKind = either<WrittenStage>(
  "a mass such as 0.3 kg, or { mass, centre, inertia }",
  isScalar,
  refined(mass, (value, at) => ({ mass: value, written: at })),
  stageRecord,
);

const gripKind: Kind<Omit<Grip, "name">> = refined(
  posed(
    "a grip",
    {
      width: may(quantity("length", { above: "0 mm" }), "distance between the jaws when they hold the part"),
      friction: may(frictionKind, "coefficient of friction"),
      "oily friction": may(frictionKind, "coefficient of friction once the part is wet with coolant or oil"),
      side: may(
        word(["outside", "inside"] as const),
        "whether the jaws close on it or spread in it, outside if left out",
      ),
      way: may(word(["friction", "form"] as const), "friction if left out"),
    },
    { note: true },
  ),
  ({ pose, width, friction, side, way, "oily friction": oilyFriction }) =>
    given({ partFromTcp: pose, width, friction, oilyFriction, side, way: way ?? "friction" }),
);

const partKind: Kind<Omit<Part, "name">> = refined(
  record(
    "a part",
    {
      material: may(text, "material"),
      shape: may(ownShape, "one shape with its pose in the part's frame"),
      stages: need(
        mapOf("stages in order", stageKind, { least: 1, reserved: ["nothing", "part"] }),
        "stages in order, { raw: 0.33 kg, turned: 0.28 kg }",
      ),
      grips: need(mapOf("grips by name", gripKind, { least: 1 }), "where a gripper takes it, by name"),
      "process times": may(
        mapBy("times by process", (at, name, reading) => resolveName(at, name, "process", reading), time),
        "times of processes, by qualified name",
      ),
      tolerance: may(
        quantity("length", { above: "0 mm" }),
        "deviation, either way, of gripped widths and of its diameter",
      ),
    },
    { note: true },
  ),
  (value, _at, reading) => {
    const before = reading.log.count;
    const placed = value.shape && { name: "part", ownerFromShape: value.shape.pose, shape: value.shape.shape };
    const stages = [...value.stages].flatMap(([name, stage]) => {
      const inertia = bodyFrom(stage, placed ? [placed] : [], stage.written, reading);
      return inertia ? [{ name, inertia }] : [];
    });
    if (reading.log.count !== before) return undefined;
    return given({
      material: value.material,
      shape: value.shape?.shape,
      partFromShape: value.shape?.pose ?? identityPose(),
      stages,
      grips: new Map([...value.grips].map(([name, grip]) => [name, { ...grip, name }])),
      processTimes: value["process times"] ?? new Map(),
      tolerance: value.tolerance,
    });
  },
);

export const partsKind: Kind<ReadonlyMap<string, Omit<Part, "name">>> = mapOf("parts by name", partKind, {
  reserved: ["default", "nothing", "part", "stage"],
});

/** What a holder has at the start: a part in its first stage, a part in a stage, or nothing. */
export interface StartContent {
  readonly part: string;
  readonly stage: string;
}

const startRecord = record("a part", { part: need(text, "part"), stage: may(text, "stage, the first if left out") });

export const startKind: Kind<StartContent | "nothing"> = {
  expected: "a part, { part, stage }, or nothing",
  read(at, reading) {
    if (at.kind === "scalar" && at.text.trim() === "nothing") return "nothing";
    const value =
      at.kind === "map"
        ? startRecord.read(at, reading)
        : isNothing(at)
          ? reading.log.wrong(
              "wrong-type",
              at,
              "a part, { part, stage }, or nothing",
              "Write the part's name, or nothing.",
            )
          : { part: text.read(at, reading), stage: undefined };
    if (value?.part === undefined) return undefined;
    const spot = valueAt(at, "part") ?? at;
    const part = resolveName(spot, value.part, "part", reading);
    if (part === undefined) return undefined;
    const stages = reading.names.stages.get(part) ?? [];
    const stage = value.stage ?? stages[0];
    if (stage === undefined) return { part, stage: "raw" };
    if (!stages.includes(stage))
      return reading.log.wrong(
        "missing-stage",
        valueAt(at as WrittenMap, "stage") ?? at,
        `a stage of ${part} (${stages.join(", ")})`,
        "Correct the stage, or add it to the part.",
      );
    return { part, stage };
  },
  schema: (parts) => ({ anyOf: [{ type: ["string", "integer"] }, startRecord.schema(parts)] }),
};
