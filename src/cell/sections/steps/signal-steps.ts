/** `drive`, `pulse`, `await` and `dwell`: signals and waiting. */
import { either, isScalar } from "../../form/collections.ts";
import { given, type Kind, refined } from "../../form/kind.ts";
import { checkSignal, nameOf, resolveName, signal } from "../../form/named.ts";
import { may, need, record } from "../../form/records.ts";
import { level, quantity, text, word } from "../../form/scalars.ts";
import type { AwaitStep } from "../../steps.ts";
import { keysOf, printable, valueAt, type Written } from "../../text/written.ts";
import { pulseWidth } from "../devices.ts";
import type { BareStep } from "./bare-step.ts";
import { signalConditions } from "./conditions.ts";

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

const output = signal("output");
const driveRecord = record("setting an output", { signal: need(output, "output"), to: need(level, "on or off") });
export const drive: Kind<BareStep> = {
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
export const pulse = either<BareStep>(
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
export const waiting = refined(
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

export const dwell = refined(quantity("time", { atLeast: "0 s" }), (time): BareStep => ({ kind: "dwell", time }));
