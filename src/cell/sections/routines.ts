/** `routines`: the steps an arm performs. A step is one keyword with its value, and a note. */

import { translation } from "../../math/pose.ts";
import { either, isScalar, listOf, mapOf, may, need, record } from "../form/collections.ts";
import { given, type JsonSchema, type Kind, named, type Reading, refined, type SchemaParts } from "../form/kind.ts";
import { missingName } from "../form/names.ts";
import { isPoint, pointKind, posed } from "../form/poses.ts";
import { measures, parseQuantity, sameDimension } from "../form/quantity.ts";
import {
  checkSignal,
  count,
  level,
  nameOf,
  quantity,
  resolveName,
  signal,
  text,
  word,
  yesNo,
} from "../form/scalars.ts";
import type { BranchChoice } from "../model.ts";
import type { AwaitStep, ByVariant, Step, StepSpeed, Target } from "../steps.ts";
import { nearest } from "../text/did-you-mean.ts";
import { describe, isNothing, keysOf, type Path, printable, valueAt, type Written } from "../text/written.ts";
import { condition, signalConditions } from "./conditions.ts";
import { pulseWidth } from "./devices.ts";
import { branchKind } from "./poses.ts";

const DEFAULT_PRESS_SPEED = 0.01;

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

const holderName = byVariant(nameOf("holder"));
const gripperName = nameOf("gripper");
const targetName = byVariant(placeName);

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

const gripName: Kind<string> = {
  expected: "the name of a grip",
  read(at, reading) {
    const grips = [...new Set([...reading.names.grips.values()].flat())];
    const name = at.kind === "scalar" ? at.text.trim() : describe(at);
    return grips.includes(name) ? name : missingName(reading, at, "grip", name, grips);
  },
  schema: () => ({ type: ["string", "integer"] }),
};

function targetFields(branch: Kind<BranchChoice>) {
  return {
    to: need(targetName, "pose or holder, or such names by part"),
    place: may(count(1, 10_000), "fixed place of the holder, counted from 1 in serving order"),
    offset: may(offsetKind, "displacement of the target"),
    bring: may(
      word(["part", "gripper"] as const),
      "what is brought there; part for holders, gripper for poses if left out",
    ),
    grip: may(gripName, "grip meant by bring: part"),
    branch: may(branch, "solution of the arm wanted"),
  };
}

type WrittenTarget = {
  readonly to: ByVariant;
  readonly place?: number;
  readonly offset?: NonNullable<Target["offset"]>;
  readonly bring?: "part" | "gripper";
  readonly grip?: string;
  readonly branch?: BranchChoice;
};

/** Puts a target together; all names of one target are poses, or all are holders. */
function targetFrom(value: WrittenTarget, at: Written, reading: Reading): Target | undefined {
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

const fraction = quantity("share", { above: "0 %", atMost: "100 %" });
const toolSpeed = quantity("speed", { above: "0 mm/s" });
const speedRecord = record("a speed", {
  joints: may(fraction, "share of the joint speeds"),
  tool: may(toolSpeed, "speed of the tool centre point"),
  acceleration: may(quantity("acceleration", { above: "0 m/s^2" }), "acceleration of the tool centre point"),
  constant: may(yesNo, "constant tool speed along the whole motion"),
});

const speedKind: Kind<StepSpeed> = {
  expected:
    "a share of the joint speeds such as 50 %, a tool speed such as 200 mm/s, or { joints, tool, acceleration, constant }",
  read(at, reading) {
    if (at.kind === "map") {
      const value = speedRecord.read(at, reading);
      return (
        value &&
        given({
          fraction: value.joints,
          tool: value.tool,
          toolAcceleration: value.acceleration,
          constant: value.constant ?? false,
        })
      );
    }
    const parsed = at.kind === "scalar" ? parseQuantity(at.text) : undefined;
    if (parsed && "value" in parsed && sameDimension(parsed.dimension, measures.speed.dimension)) {
      const tool = toolSpeed.read(at, reading);
      return tool === undefined ? undefined : { tool, constant: false };
    }
    if (parsed && "value" in parsed && parsed.share) {
      const share = fraction.read(at, reading);
      return share === undefined ? undefined : { fraction: share, constant: false };
    }
    if (parsed && "problem" in parsed && parsed.problem === "no unit")
      return reading.log.wrong(
        "missing-unit",
        at,
        this.expected,
        `Write the unit with the number: ${parsed.number} % or ${parsed.number} mm/s.`,
      );
    return reading.log.wrong("wrong-unit", at, this.expected, "Write the speed in % of the joint speeds, or in mm/s.");
  },
  schema: (parts) => ({ anyOf: [fraction.schema(parts), toolSpeed.schema(parts), speedRecord.schema(parts)] }),
};

/** True for a name alone or names by part: a map whose keys are parts or default. */
function isNameAlone(at: Written, reading: Reading): boolean {
  if (at.kind === "scalar") return true;
  const keys = keysOf(at);
  return keys.length > 0 && keys.every((key) => key === "default" || reading.names.of.part.has(key));
}

/** The gripper a step uses when it names none: the only one there is. */
function onlyGripper(at: Written, reading: Reading): string | undefined {
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

type Bare<S> = S extends unknown ? Omit<S, "path" | "id" | "note"> : never;
type BareStep = Bare<Step>;

const limitKind: Kind<number | "none"> = {
  expected: "a time such as 5 s, or none",
  read: (at, reading) =>
    at.kind === "scalar" && at.text.trim() === "none" ? "none" : quantity("time", { above: "0 s" }).read(at, reading),
  schema: (parts) => ({ anyOf: [{ const: "none" }, quantity("time", { above: "0 s" }).schema(parts)] }),
};

const otherwiseRecord = record(
  "what happens after the limit",
  { stop: may(text, "message"), run: may(nameOf("routine"), "routine that runs instead") },
  { exactlyOne: [["stop", "run"]] },
);
const otherwiseKind: Kind<AwaitStep["otherwise"]> = {
  expected: "stop, { stop: message } or { run: routine }",
  read(at, reading) {
    if (at.kind !== "map") return word(["stop"] as const).read(at, reading) && { kind: "stop" };
    const value = otherwiseRecord.read(at, reading);
    if (value === undefined) return undefined;
    return value.run === undefined
      ? given({ kind: "stop" as const, message: value.stop })
      : { kind: "run", routine: value.run };
  },
  schema: (parts) => ({ anyOf: [{ const: "stop" }, otherwiseRecord.schema(parts)] }),
};

/** Kinds of all steps by keyword, for an arm's branches. */
function stepKinds(branch: Kind<BranchChoice>, steps: Kind<readonly Step[]>): Record<Step["kind"], Kind<BareStep>> {
  const viaTarget: Kind<Target> = either(
    "a pose or holder, or { to, offset, … }",
    isNameAlone,
    refined(targetName, (to, at, reading) => targetFrom({ to }, at, reading)),
    refined(record("the point on the way", targetFields(branch)), (value, at, reading) =>
      targetFrom(value, at, reading),
    ),
  );
  const go = either<BareStep>(
    "a pose or holder, or { to, … }",
    isNameAlone,
    refined(targetName, (to, at, reading) => {
      const target = targetFrom({ to }, at, reading);
      return target && { kind: "go", to: target, by: "joint", speed: { constant: false }, blend: 0 };
    }),
    refined(
      record("a motion", {
        ...targetFields(branch),
        by: may(word(["joint", "line", "arc"] as const), "joint if left out"),
        via: may(viaTarget, "point passed on the way, for by: arc"),
        speed: may(
          speedKind,
          "50 % of the joint speeds, 200 mm/s of the tool, or { joints, tool, acceleration, constant }",
        ),
        blend: may(
          quantity("length", { atLeast: "0 mm" }),
          "radius within which the corner may be rounded, 0 if left out",
        ),
        gripper: may(gripperName, "gripper whose tool centre point moves"),
      }),
      (value, at, reading) => {
        if ((value.by === "arc") !== (value.via !== undefined))
          return reading.log.wrong(
            "conflicting-keys",
            valueAt(at, value.via ? "via" : "by")!,
            "by: arc together with via",
            value.via ? "Add by: arc." : "Add via: the point passed on the way.",
          );
        const to = targetFrom(value, at, reading);
        return (
          to &&
          given({
            kind: "go" as const,
            to,
            by: value.by ?? "joint",
            via: value.via,
            speed: value.speed ?? { constant: false },
            blend: value.blend ?? 0,
            gripper: value.gripper,
          })
        );
      },
    ),
  );
  const hold = either<BareStep>(
    "a holder, or { gripper, from, grip }",
    isNameAlone,
    refined(holderName, (from, at, reading) => {
      const gripper = onlyGripper(at, reading);
      return gripper === undefined ? undefined : { kind: "hold", gripper, from };
    }),
    refined(
      record("closing a gripper", {
        gripper: may(gripperName, "gripper; may be left out when there is one"),
        from: need(holderName, "holder the part is taken from"),
        grip: may(gripName, "grip"),
      }),
      (value, at, reading) => {
        const gripper = value.gripper ?? onlyGripper(at, reading);
        return gripper === undefined
          ? undefined
          : given({ kind: "hold" as const, gripper, from: value.from, grip: value.grip });
      },
    ),
  );
  const free = either<BareStep>(
    "a holder, or { gripper, into }",
    isNameAlone,
    refined(holderName, (into, at, reading) => {
      const gripper = onlyGripper(at, reading);
      return gripper === undefined ? undefined : { kind: "free", gripper, into };
    }),
    refined(
      record("opening a gripper", {
        gripper: may(gripperName, "gripper; may be left out when there is one"),
        into: need(holderName, "holder the part is left in"),
      }),
      (value, at, reading) => {
        const gripper = value.gripper ?? onlyGripper(at, reading);
        return gripper === undefined ? undefined : { kind: "free", gripper, into: value.into };
      },
    ),
  );
  const output = signal("output");
  const driveRecord = record("setting an output", { signal: need(output, "output"), to: need(level, "on or off") });
  const drive: Kind<BareStep> = {
    expected: "an output and its level such as { door-open: on }",
    read(at, reading) {
      if (at.kind !== "map") return reading.log.wrong("wrong-type", at, this.expected, "Write drive: { OUTPUT: on }.");
      if (keysOf(at).includes("signal") || keysOf(at).includes("to")) {
        const value = driveRecord.read(at, reading);
        return value && { kind: "drive", signal: value.signal, to: value.to };
      }
      const entry = at.entries[0];
      if (entry === undefined || at.entries.length > 1)
        return reading.log.wrong("wrong-length", at, "one output", "Write one drive step for each output.");
      const spot: Written = { kind: "scalar", text: entry.key, quoted: false, ...entry.keySpot };
      const name = resolveName(spot, entry.key, "signal", reading);
      const to = level.read(entry.value, reading);
      return name === undefined || to === undefined || !checkSignal(spot, name, "output", true, reading)
        ? undefined
        : { kind: "drive", signal: name, to };
    },
    schema: (parts) => ({
      anyOf: [
        driveRecord.schema(parts),
        { type: "object", additionalProperties: level.schema(parts), minProperties: 1, maxProperties: 1 },
      ],
    }),
  };
  const pulse = either<BareStep>(
    "an output, or { signal, width }",
    isScalar,
    refined(output, (name, at, reading) => {
      const width = reading.pulseWidths === undefined ? 1 : reading.pulseWidths.get(name);
      if (width === undefined)
        return reading.log.wrong(
          "missing-key",
          at,
          "an output whose device or process states the width of its pulse",
          `Write pulse: { signal: ${printable(name, 40)}, width: 200 ms }.`,
        );
      return { kind: "pulse", signal: name, width };
    }),
    refined(
      record("a pulse", { signal: need(output, "output"), width: need(pulseWidth, "time it is on, such as 200 ms") }),
      (value) => ({ kind: "pulse", signal: value.signal, width: value.width }),
    ),
  );
  const waiting = refined(
    record(
      "waiting for inputs",
      {
        signal: may(signal("input"), "input"),
        is: may(level, "on if left out"),
        all: may(signalConditions, "conditions that must all hold"),
        any: may(signalConditions, "conditions of which one must hold"),
        limit: need(limitKind, "a time such as 5 s, or none"),
        otherwise: may(otherwiseKind, "what happens after the limit, stop if left out"),
      },
      { exactlyOne: [["signal", "all", "any"]] },
    ),
    (value, at, reading): BareStep | undefined => {
      if (value.is !== undefined && value.signal === undefined)
        return reading.log.wrong("conflicting-keys", valueAt(at, "is")!, "is with signal only", "Remove is.");
      if (value.limit === "none" && value.otherwise)
        return reading.log.wrong(
          "conflicting-keys",
          valueAt(at, "otherwise")!,
          "otherwise with a limit only",
          "State a limit, or remove otherwise.",
        );
      return {
        kind: "await",
        condition:
          value.signal !== undefined
            ? { kind: "signal", signal: value.signal, is: value.is ?? true }
            : value.all
              ? { kind: "all", of: value.all }
              : { kind: "any", of: value.any! },
        limit: value.limit === "none" ? undefined : value.limit,
        otherwise: value.otherwise ?? { kind: "stop" },
      };
    },
  );
  const dwell = refined(quantity("time", { atLeast: "0 s" }), (time): BareStep => ({ kind: "dwell", time }));
  const length = quantity("length", { atLeast: "0 mm" });
  const press = refined(
    record("a push", {
      force: need(quantity("force", { above: "0 N" }), "force held"),
      time: need(quantity("time", { atLeast: "0 s" }), "time it is held"),
      travel: need(quantity("length", { above: "0 mm" }), "largest travel before contact"),
      expect: may(length, "travel expected before contact, 0 if left out"),
      speed: may(toolSpeed, "speed until contact, 10 mm/s if left out"),
    }),
    (value, at, reading): BareStep | undefined => {
      const expect = value.expect ?? 0;
      if (expect > value.travel)
        return reading.log.wrong(
          "out-of-range",
          valueAt(at, "expect")!,
          "at most the travel",
          "Correct expect or travel.",
        );
      return {
        kind: "press",
        force: value.force,
        time: value.time,
        travel: value.travel,
        expect,
        speed: value.speed ?? DEFAULT_PRESS_SPEED,
      };
    },
  );
  const run = refined(nameOf("routine"), (routine): BareStep => ({ kind: "run", routine }));
  const overKind: Kind<readonly ByVariant[]> = {
    expected: "a holder, or a list of holders walked in step",
    read: (at, reading) => {
      if (at.kind === "list") return listOf("holders", holderName, 1).read(at, reading);
      const one = holderName.read(at, reading);
      return one && [one];
    },
    schema: (parts) => ({
      anyOf: [holderName.schema(parts), { type: "array", items: holderName.schema(parts), minItems: 1 }],
    }),
  };
  const each = refined(
    record(
      "a repetition",
      {
        place: may(overKind, "holders walked in step"),
        times: may(count(1, 1_000_000), "number of passes"),
        do: need(steps, "steps"),
      },
      { exactlyOne: [["place", "times"]] },
    ),
    (value): BareStep => given({ kind: "each" as const, over: value.place ?? [], times: value.times, steps: value.do }),
  );
  const when = refined(
    record("a branch", {
      if: need(condition, "condition"),
      // biome-ignore lint/suspicious/noThenProperty: the file's own word; this table is never awaited
      then: need(steps, "steps when it holds"),
      otherwise: may(steps, "steps when it does not"),
    }),
    // biome-ignore lint/suspicious/noThenProperty: the step's own word; steps are never awaited
    (value): BareStep => ({ kind: "when", condition: value.if, then: value.then, otherwise: value.otherwise ?? [] }),
  );
  return { go, hold, free, drive, pulse, await: waiting, dwell, press, run, each, when };
}

/** What a path in the file is in the vocabulary of steps: ["routines", "load", 4, "do", 0], without the keywords between. */
function stepPath(written: Path): Path {
  return written.filter(
    (part, i) => typeof part === "number" || i < 2 || part === "do" || part === "then" || part === "otherwise",
  );
}

function stepId(path: Path): string {
  return path
    .slice(1)
    .reduce<string>(
      (text, part, i) => text + (typeof part === "number" ? `[${part}]` : i === 0 ? part : `.${part}`),
      "",
    );
}

const KEYWORDS = [
  "go",
  "hold",
  "free",
  "drive",
  "pulse",
  "await",
  "dwell",
  "press",
  "run",
  "each",
  "when",
] as const satisfies readonly Step["kind"][];

/** Routines by name. `byJoints` tells which poses are given by joint values. */
export function routinesKind(byJoints: (name: string) => boolean): Kind<ReadonlyMap<string, readonly Step[]>> {
  const branch = branchKind(byJoints);
  const steps: Kind<readonly Step[]> = listOf(
    "a list of steps",
    named("step", () => step),
  );
  const kinds = stepKinds(branch, steps);
  const step: Kind<Step> = {
    expected: `a step: ${KEYWORDS.join(", ")}`,
    read(at, reading) {
      if (at.kind !== "map") {
        const bare = at.kind === "scalar" && (KEYWORDS as readonly string[]).includes(at.text.trim());
        return reading.log.wrong(
          "wrong-type",
          at,
          this.expected,
          bare ? `Write - ${at.text.trim()}: and its value.` : "Write a step as - keyword: value.",
        );
      }
      const present = at.entries.filter(({ key }) => (KEYWORDS as readonly string[]).includes(key));
      if (present.length > 1)
        return reading.log.report(
          "two-steps",
          present[1]!.keySpot,
          `${present.map(({ key }) => key).join(" and ")} in one entry`,
          "one step in each entry of the list",
          "Begin each step with '- ' on a line of its own.",
        );
      const before = reading.log.count;
      const keyword = present[0];
      for (const { key, keySpot, value } of at.entries) {
        if (key === keyword?.key) continue;
        if (key === "note") {
          text.read(value, reading);
          continue;
        }
        const near = keyword ? nearest(key, ["note"]) : nearest(key, KEYWORDS);
        const mend = near
          ? `Did you mean ${near}?`
          : keyword
            ? `Indent it under ${keyword.key}:, or write ${keyword.key}: { … }.`
            : "Begin the step with one of these keywords.";
        reading.log.add(
          keyword ? "unknown-key" : "unknown-step",
          keySpot,
          printable(key, 60),
          keyword ? `the step ${keyword.key} with its value, and perhaps a note` : this.expected,
          mend,
        );
      }
      if (keyword === undefined) {
        if (reading.log.count === before)
          reading.log.wrong("unknown-step", at, this.expected, "Begin the step with one of these keywords.");
        return undefined;
      }
      const value = kinds[keyword.key as Step["kind"]].read(keyword.value, reading);
      if (value === undefined || reading.log.count !== before) return undefined;
      const path = stepPath(at.path);
      const note = valueAt(at, "note");
      return { ...value, path, id: stepId(path), ...(note?.kind === "scalar" ? { note: note.text } : {}) } as Step;
    },
    schema: (parts: SchemaParts): JsonSchema => ({
      type: "object",
      properties: {
        ...Object.fromEntries(KEYWORDS.map((key) => [key, kinds[key].schema(parts)])),
        note: text.schema(parts),
      },
      oneOf: KEYWORDS.map((key) => ({ required: [key] })),
      additionalProperties: false,
      description: `a step: ${KEYWORDS.join(", ")}`,
    }),
  };
  return mapOf("routines by name", steps, { least: 1 });
}
