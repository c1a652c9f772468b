/** Joints: rows of the joint table, their limits, and joint values. What a number means depends on the kind of joint. */
import type { JointDescription } from "../arm-description.ts";
import type { DhRow } from "../dh.ts";
import { given, type Kind, type Reading, refined } from "../form/kind.ts";
import { itemsOf, range, readLike } from "../form/lists.ts";
import { newName } from "../form/named.ts";
import { type MeasureName, measures } from "../form/quantity.ts";
import { may, need, record } from "../form/records.ts";
import { quantity, readQuantity, word } from "../form/scalars.ts";
import { isNothing, valueAt, type Written } from "../text/written.ts";

/** A kind for revolute joints and one for prismatic joints; `reading.jointKind` decides which is meant. */
function byJointKind<T>(turning: Kind<T>, sliding: Kind<T>): Kind<T> {
  return {
    expected: turning.expected,
    read: (at, reading) => (reading.jointKind === "prismatic" ? sliding : turning).read(at, reading),
    schema: (parts) => ({ anyOf: [turning.schema(parts), sliding.schema(parts)] }),
  };
}

const above0 = (turning: MeasureName, sliding: MeasureName): Kind<number> =>
  byJointKind(
    quantity(turning, { above: `0 ${measures[turning].units[0]}` }),
    quantity(sliding, { above: `0 ${measures[sliding].units[0]}` }),
  );

interface Ends {
  readonly min: number;
  readonly max: number;
}

const ends: Kind<Ends> = refined(byJointKind(range("angle"), range("length")), (value, at, reading) =>
  value.min < value.max
    ? value
    : reading.log.wrong("range-order", at, "a range with room between its ends", "Correct one of the two values."),
);

const jointRange: Kind<Ends> = {
  expected: "a range such as [-170, 170 deg], or none",
  read: (at, reading) =>
    at.kind === "scalar" && at.text.trim() === "none"
      ? { min: Number.NEGATIVE_INFINITY, max: Number.POSITIVE_INFINITY }
      : ends.read(at, reading),
  schema: (parts) => ({ anyOf: [ends.schema(parts), { const: "none" }] }),
};

const limitFields = {
  acceleration: may(above0("turnAcceleration", "acceleration"), "largest acceleration"),
  jerk: may(above0("turnJerk", "jerk"), "largest jerk"),
  torque: may(above0("torque", "force"), "largest torque (force for a prismatic joint)"),
  "motor inertia": may(
    byJointKind(quantity("inertia", { atLeast: "0 kg m^2" }), quantity("mass", { atLeast: "0 kg" })),
    "inertia of the drive seen at the joint (mass for a prismatic joint)",
  ),
};

export interface JointRow {
  readonly dh: DhRow;
  readonly limits: Omit<JointDescription, "kind" | "parentFromJoint" | "axis">;
  readonly written: Written;
}

const rowRecord = record(
  "a joint",
  {
    name: need(newName, "name of the joint"),
    kind: may(word(["revolute", "prismatic"] as const), "revolute if left out"),
    a: may(quantity("length"), "link length a"),
    alpha: may(quantity("angle"), "link twist alpha"),
    d: may(quantity("length"), "offset d; the joint value of a prismatic joint is added to it"),
    theta: may(quantity("angle"), "angle theta; the joint value of a revolute joint is added to it"),
    range: need(jointRange, "lowest and highest joint value, [-170, 170 deg], or none"),
    speed: may(above0("turnSpeed", "speed"), "largest speed, such as 180 deg/s; needed in a cell"),
    ...limitFields,
  },
  { note: true },
);

/** A row of the joint table. */
export const jointRow: Kind<JointRow> = {
  expected: rowRecord.expected,
  read(at, reading) {
    const written = valueAt(at, "kind");
    const prismatic = written?.kind === "scalar" && written.text.trim() === "prismatic";
    const value = rowRecord.read(at, { ...reading, jointKind: prismatic ? "prismatic" : "revolute" });
    if (value === undefined) return undefined;
    return {
      dh: {
        kind: value.kind ?? "revolute",
        a: value.a ?? 0,
        alpha: value.alpha ?? 0,
        d: value.d ?? 0,
        theta: value.theta ?? 0,
      },
      limits: {
        name: value.name,
        min: value.range.min,
        max: value.range.max,
        velocity: value.speed ?? Number.POSITIVE_INFINITY,
        acceleration: value.acceleration ?? Number.POSITIVE_INFINITY,
        jerk: value.jerk ?? Number.POSITIVE_INFINITY,
        torque: value.torque ?? Number.POSITIVE_INFINITY,
        motorInertia: value["motor inertia"] ?? 0,
      },
      written: value.written,
    };
  },
  schema: (parts) => rowRecord.schema(parts),
};

type Limits = {
  -readonly [K in "min" | "max" | "velocity" | "acceleration" | "jerk" | "torque" | "motorInertia"]?: number;
};

const limitsRecord = record(
  "limits of a joint",
  {
    range: may(jointRange, "lowest and highest joint value"),
    speed: may(above0("turnSpeed", "speed"), "largest speed"),
    ...limitFields,
  },
  { note: true },
);

/** Limits of one joint that replace those of a file; read once the kind of the joint is known. */
export type WrittenLimits = (kind: JointDescription["kind"], reading: Reading) => Limits | undefined;

export const jointLimits: Kind<WrittenLimits> = {
  expected: limitsRecord.expected,
  read: (at) => (jointKind, reading) => {
    const value = limitsRecord.read(at, { ...reading, jointKind });
    return (
      value &&
      given({
        min: value.range?.min,
        max: value.range?.max,
        velocity: value.speed,
        acceleration: value.acceleration,
        jerk: value.jerk,
        torque: value.torque,
        motorInertia: value["motor inertia"],
      })
    );
  },
  schema: (parts) => limitsRecord.schema(parts),
};

/** Reads joint values by the kinds of the arm's joints. */
export function readJointValues(
  at: Written,
  joints: readonly JointDescription[],
  reading: Reading,
): readonly number[] | undefined {
  const expected = `${joints.length} joint values such as ${joints[0]?.kind === "prismatic" ? "120 mm" : "90 deg"}`;
  const items = itemsOf(at);
  if (items === undefined || isNothing(at))
    return reading.log.wrong(
      "wrong-type",
      at,
      expected,
      "Write the joint values in brackets, base to wrist, with their unit.",
    );
  if (items.length !== joints.length)
    return reading.log.report(
      "wrong-length",
      at,
      `${items.length} ${items.length === 1 ? "value" : "values"}`,
      `one for each of the ${joints.length} joints`,
      "Add or remove values.",
    );
  if (joints.every(({ kind }) => kind === joints[0]!.kind))
    return readLike(items, joints[0]!.kind === "prismatic" ? measures.length : measures.angle, expected, reading);
  const values = items.map((item, i) => {
    const measure = joints[i]!.kind === "prismatic" ? measures.length : measures.angle;
    return readQuantity(item, measure, `${measure.name} for ${joints[i]!.name}, such as ${measure.sample}`, reading);
  });
  return values.every((value) => value !== undefined) ? (values as number[]) : undefined;
}
