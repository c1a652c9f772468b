/** Names in steps: of holders, poses, grips and grippers, alone or by part. */
import { either } from "../../form/collections.ts";
import { given, type JsonSchema, type Kind, type Reading } from "../../form/kind.ts";
import { nameOf, resolveName } from "../../form/named.ts";
import { missingName } from "../../form/names.ts";
import type { ByVariant } from "../../steps.ts";
import { describe, isNothing, keysOf, type Written } from "../../text/written.ts";

/** A name, or names by part. */
function byVariant(inner: Kind<string>): Kind<ByVariant> {
  return {
    expected: `${inner.expected}, or such names by part`,
    read(at, reading) {
      if (at.kind !== "map") {
        const name = inner.read(at, reading);
        return name === undefined ? undefined : { default: name, variants: new Map() };
      }
      const before = reading.log.count;
      const variants = new Map<string, string>();
      let fallback: string | undefined;
      for (const { key, keySpot, value } of at.entries) {
        const part =
          key === "default"
            ? key
            : resolveName({ kind: "scalar", text: key, quoted: false, ...keySpot }, key, "part", reading);
        const name = inner.read(value, reading);
        if (part === undefined || name === undefined) continue;
        if (key === "default") fallback = name;
        else variants.set(part, name);
      }
      const missing = [...reading.names.of.part].filter((part) => !keysOf(at).includes(part));
      if (!keysOf(at).includes("default") && missing.length > 0)
        reading.log.add(
          "missing-variant",
          at,
          `${describe(at)}, nothing for ${missing.join(", ")}`,
          "a name for every part, or default",
          "Add the missing part, or default: NAME.",
        );
      return reading.log.count === before ? given({ default: fallback, variants }) : undefined;
    },
    schema: (parts) => ({
      anyOf: [inner.schema(parts), { type: "object", additionalProperties: inner.schema(parts), minProperties: 1 }],
    }),
  };
}

/** Name of a pose or a holder. */
const placeName: Kind<string> = {
  expected: "the name of a pose or holder",
  read(at, reading) {
    if (at.kind !== "scalar" || isNothing(at))
      return reading.log.wrong("wrong-type", at, this.expected, "Write the name of a pose or holder.");
    const name = at.text.trim();
    const { pose, holder } = reading.names.of;
    return pose.has(name) || holder.has(name)
      ? name
      : missingName(reading, at, "pose", name, [...pose, ...holder], "pose or holder");
  },
  schema: () => ({ type: ["string", "integer"], description: "the name of a pose or holder" }),
};

export const holderName = byVariant(nameOf("holder"));
export const gripperName = nameOf("gripper");

/** Name of a pose or holder, or such names by part. */
export const targetName = byVariant(placeName);

export const gripName: Kind<string> = {
  expected: "the name of a grip",
  read(at, reading) {
    const grips = [...new Set([...reading.names.grips.values()].flat())];
    const name = at.kind === "scalar" ? at.text.trim() : describe(at);
    return grips.includes(name) ? name : missingName(reading, at, "grip", name, grips);
  },
  schema: () => ({ type: ["string", "integer"] }),
};

/** True for a name alone or names by part: a map whose keys are parts or default. */
function isNameAlone(at: Written, reading: Reading): boolean {
  if (at.kind === "scalar") return true;
  const keys = keysOf(at);
  return keys.length > 0 && keys.every((key) => key === "default" || reading.names.of.part.has(key));
}

/** The gripper a step uses when it names none: the only one there is. */
export function onlyGripper(at: Written, reading: Reading): string | undefined {
  const grippers = [...reading.names.of.gripper];
  if (grippers.length === 1) return grippers[0];
  if (grippers.length === 0)
    return reading.log.wrong("missing-gripper", at, "a tool with a gripper", "Add a gripper under tool, grippers.");
  return reading.log.wrong(
    "missing-key",
    at,
    `a step that names its gripper (${grippers.join(", ")})`,
    `Write it in full: { gripper: ${grippers[0]}, … }.`,
  );
}

/** A step's value that is a name alone (or names by part) or a map of the step's own keys. */
export function nameOr<T>(expected: string, alone: Kind<T>, full: Kind<T>): Kind<T> {
  const both = either(expected, isNameAlone, alone, full);
  return {
    ...both,
    schema(parts) {
      const own = full.schema(parts) as JsonSchema & { readonly properties: object };
      const { anyOf } = alone.schema(parts) as { readonly anyOf: readonly [JsonSchema, JsonSchema] };
      const byPart = { ...anyOf[1], propertyNames: { not: { enum: Object.keys(own.properties) } } };
      return { anyOf: [anyOf[0], byPart, own], description: expected };
    },
  };
}
