/** Poses as written: an origin and one of three ways to state an orientation. */
import { identityPose, type Pose, poseFromAbc } from "../../math/pose.ts";
import type { Written } from "../text/written.ts";
import { type Kind, named, refined } from "./kind.ts";
import { itemsOf, numbers, quantities } from "./lists.ts";
import { nameOf } from "./named.ts";
import { type Fields, may, type RecordOf, type RecordOptions, record } from "./records.ts";

const point = named("point", () => quantities("length", [3], "a point"));
const angles = named("angles", () => quantities("angle", [3], "rotations about X, Y and Z"));

/** A position in space, m. */
export const pointKind = point as Kind<readonly [number, number, number]> & Kind<readonly number[]>;

/** Unit quaternion w, x, y, z to a rotation. */
const quaternion: Kind<Pose> = refined(numbers(4, "a quaternion w, x, y, z"), (value, at, reading) => {
  const [w, x, y, z] = value as [number, number, number, number];
  const length = Math.hypot(w, x, y, z);
  if (!(Math.abs(length - 1) < 1e-3))
    return reading.log.wrong(
      "not-a-rotation",
      at,
      `a quaternion of length 1 (this has ${Number(length.toPrecision(4))})`,
      "Correct the four numbers: w, x, y, z.",
    );
  return rotationFromQuaternion(w / length, x / length, y / length, z / length);
});

const AXES = ["x", "y", "z"] as const;
const direction = numbers(3, "a direction");
const twoAxes = record("the directions of two axes", {
  x: may(direction, "direction of x"),
  y: may(direction, "direction of y"),
  z: may(direction, "direction of z"),
});

/** Two of the three axes: the first written is kept, the second turned square to it, the third completes a right-handed frame. */
const axes: Kind<Pose> = refined(twoAxes, (value, at, reading) => {
  const written = value.written.entries.map(({ key }) => key as (typeof AXES)[number]);
  if (written.length !== 2)
    return reading.log.report(
      "wrong-length",
      at,
      `${written.length} axes`,
      "the directions of two axes, such as { z: [0, 0, -1], x: [1, 0, 0] }",
      "State two of x, y and z.",
    );
  const [first, second] = written as [(typeof AXES)[number], (typeof AXES)[number]];
  const u = unitOf(value[first]!);
  const rough = value[second]!;
  const along = u ? rough[0]! * u[0]! + rough[1]! * u[1]! + rough[2]! * u[2]! : 0;
  const v =
    u &&
    unitOf(
      rough.map((component, k) => component - along * u[k]!),
      Math.hypot(...rough) * 1e-6,
    );
  if (!u || !v)
    return reading.log.wrong(
      "not-a-rotation",
      at,
      "two directions that are not parallel and not zero",
      "Correct one of the directions.",
    );
  const columns: Record<string, readonly number[]> = { [first]: u, [second]: v };
  const third = AXES.find((axis) => axis !== first && axis !== second)!;
  const i = AXES.indexOf(third);
  columns[third] = cross(columns[AXES[(i + 1) % 3]!]!, columns[AXES[(i + 2) % 3]!]!);
  const out = identityPose();
  AXES.forEach((axis, c) => {
    for (let r = 0; r < 3; r++) out[4 * r + c] = columns[axis]![r]!;
  });
  return out;
});

/** Keys of a pose. */
const poseFields = {
  at: may(point, "origin [x, y, z]"),
  abc: may(angles, "rotations A, B, C about the fixed axes X, Y, Z, in that order"),
  axes: may(axes, "directions of two axes, { z: [0, 0, -1], x: [1, 0, 0] }"),
  quaternion: may(quaternion, "orientation as [w, x, y, z]"),
};
export const frameField = { in: may(nameOf("frame"), "frame it is given in, world if left out") };

const ORIENTATION = ["abc", "axes", "quaternion"];

type Posed<F extends Fields> = Omit<RecordOf<F & typeof poseFields>, "at" | "abc" | "axes" | "quaternion"> & {
  readonly pose: Pose;
};

/** A record that is also a pose, in a frame understood from the context. */
export function posed<F extends Fields>(what: string, fields: F, options: RecordOptions = {}): Kind<Posed<F>> {
  const whole = record(
    what,
    { ...poseFields, ...fields },
    { ...options, atMostOne: [...(options.atMostOne ?? []), ORIENTATION] },
  );
  return refined(
    whole as unknown as Kind<RecordOf<typeof poseFields>>,
    (value) => ({ ...value, pose: poseFrom(value) }) as unknown as Posed<F>,
  );
}

/** A record that is also a pose in any frame; `in` reads to undefined when it is not written (the world). */
export function posedIn<F extends Fields>(
  what: string,
  fields: F,
  options: RecordOptions = {},
): Kind<Posed<typeof frameField & F>> {
  return posed<typeof frameField & F>(what, { ...frameField, ...fields }, options) as unknown as Kind<
    Posed<typeof frameField & F>
  >;
}

export const poseKind = posed("a pose", {});
export const poseInKind = posedIn("a pose in a frame", {});

function poseFrom(value: { at?: readonly number[]; abc?: readonly number[]; axes?: Pose; quaternion?: Pose }): Pose {
  const at = value.at ?? [0, 0, 0];
  if (value.abc) return poseFromAbc(at, value.abc[0]!, value.abc[1]!, value.abc[2]!);
  const out = Float64Array.from(value.axes ?? value.quaternion ?? identityPose());
  out[3] = at[0]!;
  out[7] = at[1]!;
  out[11] = at[2]!;
  return out;
}

/** True for a point written alone where a whole pose could stand. */
export const isPoint = (at: Written): boolean => itemsOf(at) !== undefined;

function rotationFromQuaternion(w: number, x: number, y: number, z: number): Pose {
  return Float64Array.of(
    1 - 2 * (y * y + z * z),
    2 * (x * y - w * z),
    2 * (x * z + w * y),
    0,
    2 * (x * y + w * z),
    1 - 2 * (x * x + z * z),
    2 * (y * z - w * x),
    0,
    2 * (x * z - w * y),
    2 * (y * z + w * x),
    1 - 2 * (x * x + y * y),
    0,
    0,
    0,
    0,
    1,
  );
}

function unitOf(vector: readonly number[], least = 0): readonly number[] | undefined {
  const length = Math.hypot(...vector);
  return length > least && Number.isFinite(length) ? vector.map((component) => component / length) : undefined;
}

function cross(a: readonly number[], b: readonly number[]): readonly number[] {
  return [a[1]! * b[2]! - a[2]! * b[1]!, a[2]! * b[0]! - a[0]! * b[2]!, a[0]! * b[1]! - a[1]! * b[0]!];
}
