/** Devices: positions, command, times and feedback, shared by machines' devices and grippers. */

import { mapBy } from "../form/collections.ts";
import { type Kind, named, type Reading, refined } from "../form/kind.ts";
import { range } from "../form/lists.ts";
import { signal } from "../form/named.ts";
import { type Fields, may, need, record } from "../form/records.ts";
import { quantity } from "../form/scalars.ts";
import type { Command, TimeRange } from "../model.ts";
import { nearest } from "../text/did-you-mean.ts";
import { isNothing, keysOf, printable, type Spot, valueAt, type Written } from "../text/written.ts";

export const time: Kind<TimeRange> = named("time-or-range", () => range("time", { single: true, atLeast: 0 }));
export const pulseWidth = quantity("time", { above: "0 s" });

/** A map by the positions of the device being read. */
export const byPosition = <T>(what: string, item: Kind<T>): Kind<ReadonlyMap<string, T>> =>
  mapBy(
    what,
    (at, name, reading) => (checkPosition(at, name, reading.positions ?? [], reading) ? name : undefined),
    item,
  );

/** A position of the device being read. */
export const position: Kind<string> = {
  expected: "the name of a position",
  read(at, reading) {
    if (at.kind !== "scalar" || isNothing(at))
      return reading.log.wrong("wrong-type", at, "the name of a position", "Write the position's name.");
    const name = at.text.trim();
    return checkPosition(at, name, reading.positions ?? [], reading) ? name : undefined;
  },
  schema: () => ({ type: ["string", "integer", "boolean"] }),
};

const commandRecord = record(
  "a command",
  {
    level: may(signal("output"), "output whose level commands the position"),
    on: may(position, "position while the output is on"),
    off: may(position, "position while the output is off"),
    pair: may(byPosition("outputs by position", signal("output")), "one output per position, held on"),
    pulse: may(byPosition("outputs by position", signal("output")), "one output per position, pulsed"),
    "toggling pulse": may(signal("output"), "output of which each pulse moves to the next position"),
    width: may(pulseWidth, "least width of the pulse"),
  },
  { exactlyOne: [["level", "pair", "pulse", "toggling pulse"]] },
);

const STYLES = {
  level: ["on", "off"],
  pair: [],
  pulse: ["width"],
  "toggling pulse": ["width"],
} as const;

const commandMap: Kind<Command> = refined(commandRecord, (value, at, reading): Command | undefined => {
  const style = (Object.keys(STYLES) as (keyof typeof STYLES)[]).find((key) => value[key] !== undefined)!;
  const wanted: readonly string[] = STYLES[style];
  const before = reading.log.count;
  for (const { key, keySpot } of value.written.entries)
    if (key !== style && !wanted.includes(key))
      reading.log.add(
        "conflicting-keys",
        keySpot,
        `${key} with ${style}`,
        wanted.length > 0 ? `${style} with ${wanted.join(" and ")}` : `${style} alone`,
        `Remove ${key}.`,
      );
  for (const key of wanted)
    if (!keysOf(value.written).includes(key))
      reading.log.add(
        "missing-key",
        at,
        `${style} without ${key}`,
        `${style} with ${wanted.join(" and ")}`,
        `Add ${key}${key === "width" ? ", such as width: 200 ms" : ": and a position"}.`,
      );
  if (reading.log.count !== before) return undefined;
  switch (style) {
    case "level":
      return { style, signal: value.level!, on: value.on!, off: value.off! };
    case "pair":
      return { style, signals: value.pair! };
    case "pulse":
      return { style, signals: value.pulse!, width: value.width! };
    case "toggling pulse":
      return { style, signal: value["toggling pulse"]!, width: value.width! };
  }
});

const isNone = (at: Written) => at.kind === "scalar" && at.text.trim() === "none";

const commandKind: Kind<Command> = named("command", () => ({
  expected: "a command such as { level: SIGNAL, on: POSITION, off: POSITION }, or none",
  read: (at, reading) => (isNone(at) ? { style: "none" } : commandMap.read(at, reading)),
  schema: (parts) => ({ anyOf: [{ const: "none" }, commandMap.schema(parts)] }),
}));

/** One time for all positions, or a time by position. */
const timeKind: Kind<TimeRange | ReadonlyMap<string, TimeRange>> = {
  expected: time.expected,
  read: (at, reading) => (at.kind === "map" ? byPosition("times by position", time) : time).read(at, reading),
  schema: (parts) => ({ anyOf: [time.schema(parts), byPosition("times by position", time).schema(parts)] }),
};

const noneOr = <T>(kind: Kind<T>, none: T): Kind<T> => ({
  expected: kind.expected,
  read: (at, reading) => (isNone(at) ? none : kind.read(at, reading)),
  schema: (parts) => ({ anyOf: [{ const: "none" }, kind.schema(parts)] }),
});

export const deviceFields = {
  start: may(position, "position at the start"),
  command: need(commandKind, "how it is told to move"),
  time: need(timeKind, "actuation time, one for all positions or by position"),
  feedback: may(
    noneOr(byPosition("inputs by position", signal("input")), new Map()),
    "inputs that are on at a position",
  ),
} satisfies Fields;

interface WrittenDevice {
  readonly written: Written;
  readonly start?: string;
  readonly command: Command;
  readonly time: TimeRange | ReadonlyMap<string, TimeRange>;
  readonly feedback?: ReadonlyMap<string, string>;
}

/** What the positions decide: start, times and feedback by position. */
export function positioned(value: WrittenDevice, positions: readonly string[], defaultStart: string, reading: Reading) {
  const before = reading.log.count;
  const at = value.written;
  const command = valueAt(at, "command");
  if (command?.kind === "map") {
    if (value.command.style === "level" && value.command.on === value.command.off)
      reading.log.wrong("same-position", valueAt(command, "off")!, "another position than at on", "Correct on or off.");
    if (value.command.style === "pair" || value.command.style === "pulse") {
      const names = [...value.command.signals.values()];
      if (new Set(names).size < names.length)
        reading.log.wrong(
          "output-used-twice",
          valueAt(command, value.command.style)!,
          "an output of its own for each position",
          "Name another output for one of the positions.",
        );
    }
  }
  const written = valueAt(at, "time")!;
  const times = new Map<string, TimeRange>();
  if (value.time instanceof Map) {
    const missing = positions.filter((name) => !keysOf(written).includes(name));
    if (missing.length > 0)
      reading.log.add(
        "missing-key",
        written,
        `times without ${missing.join(", ")}`,
        `a time for each of ${positions.join(", ")}`,
        "Add the missing time.",
      );
    for (const name of positions) if (value.time.has(name)) times.set(name, value.time.get(name)!);
  } else for (const name of positions) times.set(name, value.time as TimeRange);
  return reading.log.count === before
    ? {
        start: value.start ?? defaultStart,
        command: value.command,
        time: times,
        feedback: value.feedback ?? new Map<string, string>(),
      }
    : undefined;
}

/** False once an issue is logged: a position that the device does not have. */
export function checkPosition(spot: Spot, name: string, positions: readonly string[], reading: Reading): boolean {
  if (positions.includes(name)) return true;
  const near = nearest(name, positions);
  reading.log.add(
    "missing-position",
    spot,
    printable(name, 60),
    `a position of the device (${positions.join(", ")})`,
    near ? `Did you mean ${near}?` : "Correct the position.",
  );
  return false;
}
