/** Where a motion ends or passes: a pose or a holder's place, with a displacement. */
import { translation } from "../../../math/pose.ts";
import { either } from "../../form/collections.ts";
import { given, type Kind, type Reading, refined } from "../../form/kind.ts";
import { nameOf } from "../../form/named.ts";
import { isPoint, pointKind, posed } from "../../form/poses.ts";
import { may, need } from "../../form/records.ts";
import { count, word } from "../../form/scalars.ts";
import type { BranchChoice } from "../../model.ts";
import type { ByVariant, Target } from "../../steps.ts";
import { valueAt, type Written } from "../../text/written.ts";
import { branchKind } from "../poses.ts";
import { gripName, targetName } from "./names-by-part.ts";

/** A displacement. */
const offsetKind: Kind<NonNullable<Target["offset"]>> = either(
  "a displacement [x, y, z], or { at, abc, in }",
  isPoint,
  refined(pointKind, (point) => ({ in: "target", pose: translation(point[0], point[1], point[2]) })),
  refined(
    posed("a displacement", { in: may(offsetFrame(), "target (default), or the frame whose axes are meant") }),
    (value) => ({ in: value.in ?? "target", pose: value.pose }),
  ),
);

function offsetFrame(): Kind<string> {
  const frame = nameOf("frame");
  return {
    expected: "target, or the name of a frame",
    read: (at, reading) => (at.kind === "scalar" && at.text.trim() === "target" ? "target" : frame.read(at, reading)),
    schema: (parts) => frame.schema(parts),
  };
}

/** Keys of a target. */
export const targetFields = {
  to: need(targetName, "pose or holder, or such names by part"),
  place: may(count(1, 10_000), "fixed place of the holder, counted from 1 in serving order"),
  offset: may(offsetKind, "displacement of the target"),
  bring: may(
    word(["part", "gripper"] as const),
    "what is brought there; part for holders, gripper for poses if left out",
  ),
  grip: may(gripName, "grip meant by bring: part"),
  branch: may(branchKind, "solution of the arm wanted"),
};

type WrittenTarget = {
  readonly to: ByVariant;
  readonly place?: number;
  readonly offset?: NonNullable<Target["offset"]>;
  readonly bring?: "part" | "gripper";
  readonly grip?: string;
  readonly branch?: BranchChoice;
};

/** Puts a target together; all names of one target are poses, or all are holders. */
export function targetFrom(value: WrittenTarget, at: Written, reading: Reading): Target | undefined {
  const names = [...(value.to.default === undefined ? [] : [value.to.default]), ...value.to.variants.values()];
  const kinds = new Set(names.map((name) => (reading.names.of.pose.has(name) ? "pose" : "holder")));
  const spot = valueAt(at, "to") ?? at;
  if (kinds.size > 1)
    return reading.log.wrong(
      "mixed-target",
      spot,
      "poses for all parts, or holders for all parts",
      "Use the same for every part.",
    );
  const kind = kinds.has("pose") ? "pose" : "holder";
  for (const key of ["place"] as const)
    if (kind === "pose" && value[key] !== undefined)
      return reading.log.wrong("conflicting-keys", valueAt(at, key)!, `${key} with a holder only`, `Remove ${key}.`);
  return given({
    at: value.to,
    kind: kind as Target["kind"],
    place: value.place === undefined ? undefined : value.place - 1,
    offset: value.offset,
    bring: value.bring ?? (kind === "holder" ? "part" : "gripper"),
    grip: value.grip,
    branch: value.branch,
  });
}
