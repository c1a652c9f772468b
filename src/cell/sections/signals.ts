/** `signals`: what is wired between the arm controller and everything else. */

import { either, isScalar, mapOf } from "../form/collections.ts";
import { given, type Kind, type Reading, refined } from "../form/kind.ts";
import { missingName } from "../form/names.ts";
import { may, need, record } from "../form/records.ts";
import { level, quantity, text, word } from "../form/scalars.ts";
import type { Controller, Signal } from "../model.ts";
import { describe, printable, type Written } from "../text/written.ts";
import { time } from "./devices.ts";

/** Words that mean something else where a signal may be named. */
const RESERVED = [
  "signal",
  "is",
  "all",
  "any",
  "not",
  "variant",
  "holder",
  "gripper",
  "pass",
  "to",
  "width",
  "limit",
  "otherwise",
];

export interface WrittenSignal {
  readonly signal: Omit<Signal, "name">;
  readonly written: Written;
}

const OUTPUT_ONLY = ["initial", "load", "suppression", "receiver scan"] as const;
const INPUT_ONLY = ["operator", "constant", "sensor", "leakage", "holding current"] as const;

const wired: Kind<{ port: string; point?: number }> = {
  expected: "a port, or a port and a point, such as controller 3",
  read(at, reading) {
    if (at.kind === "scalar") return readWiring(at, at.text.trim().split(/\s+/), reading);
    return reading.log.wrong(
      "wrong-type",
      at,
      "a port, or a port and a point, such as controller 3",
      "Write wired: controller 3.",
    );
  },
  schema: () => ({
    type: "string",
    pattern: "^[A-Za-z0-9][A-Za-z0-9_-]*( [0-9]+)?$",
    description: "port, or port and point counted from 0",
    examples: ["controller 3"],
  }),
};

function readWiring(
  at: Written,
  words: readonly string[],
  reading: Reading,
): { port: string; point?: number } | undefined {
  const [port = "", point] = words;
  if (words.length > 2 || (point !== undefined && !/^\d{1,5}$/.test(point)))
    return reading.log.wrong(
      "bad-wiring",
      at,
      "a port, or a port and a point counted from 0",
      "Write it as: controller 3.",
    );
  if (!reading.names.of.port.has(port)) return missingName(reading, at, "port", port, reading.names.of.port);
  return point === undefined ? { port } : { port, point: Number(point) };
}

const full: Kind<WrittenSignal> = refined(
  record("a signal", {
    direction: need(word(["input", "output"] as const), "input or output, seen from the arm controller"),
    kind: may(word(["digital", "analogue", "register"] as const), "digital if left out"),
    wired: may(wired, "port, or port and point"),
    contact: may(word(["normally open", "normally closed"] as const), "contact of the switch or relay"),
    initial: may(level, "level of an output after power-up, off if left out"),
    current: may(quantity("current", { atLeast: "0 mA" }), "current drawn or delivered"),
    sensor: may(
      word(["contact", "proximity switch", "two-wire switch", "push button", "output"] as const),
      "what gives an input; output: one of another control",
    ),
    load: may(
      word(["relay", "valve", "lamp", "input"] as const),
      "what an output drives; input: one of another control",
    ),
    polarity: may(word(["PNP", "NPN"] as const), "PNP: switched by plus, NPN: by minus"),
    voltage: may(
      quantity("voltage", { atLeast: "0 V" }),
      "of an input when on, at its terminal; of an output, what its load is made for",
    ),
    leakage: may(quantity("current", { atLeast: "0 mA" }), "current through what gives an input when off"),
    "holding current": may(
      quantity("current", { atLeast: "0 mA" }),
      "least current that what gives an input needs when on",
    ),
    suppression: may(
      word(["diode", "varistor", "RC", "none"] as const),
      "what takes up the energy of a relay or valve coil",
    ),
    coupling: may(
      word(["direct", "relay", "optocoupler"] as const),
      "what stands between the arm controller and the other control",
    ),
    "receiver scan": may(
      quantity("time", { above: "0 s" }),
      "time within which the receiver of an output sees a change, its filter included",
    ),
    cable: may(
      record("a cable", {
        length: need(quantity("length", { above: "0 m" }), "length of the cable, one way"),
        area: need(quantity("area", { above: "0 mm^2" }), "cross-section of a wire"),
      }),
      "for the voltage lost on the way",
    ),
    operator: may(
      record("an operator's answer", {
        delay: need(time, "time after it is first awaited"),
        hold: may(quantity("time", { above: "0 s" }), "time it stays on"),
      }),
      "for an input worked by a person",
    ),
    constant: may(level, "the level of an input that does not change"),
    note: may(text, "free text"),
  }),
  (value, _at, reading): WrittenSignal | undefined => {
    const wrongWay = value.direction === "input" ? OUTPUT_ONLY : INPUT_ONLY;
    for (const { key, keySpot } of value.written.entries)
      if ((wrongWay as readonly string[]).includes(key))
        return reading.log.report(
          "conflicting-keys",
          keySpot,
          `${key} of an ${value.direction}`,
          `${key} with an ${value.direction === "input" ? "output" : "input"} only`,
          `Remove ${key}, or correct the direction.`,
        );
    const { hold, delay } = value.operator ?? {};
    return {
      written: value.written,
      signal: given({
        direction: value.direction,
        kind: value.kind ?? "digital",
        port: value.wired?.port,
        point: value.wired?.point,
        contact: value.contact,
        initial: value.initial ?? false,
        current: value.current,
        sensor: value.sensor,
        load: value.load,
        polarity: value.polarity,
        voltage: value.voltage,
        leakage: value.leakage,
        holdingCurrent: value["holding current"],
        suppression: value.suppression,
        coupling: value.coupling,
        receiverScan: value["receiver scan"],
        cable: value.cable && { length: value.cable.length, area: value.cable.area },
        operator: delay && given({ delay, hold }),
        constant: value.constant,
        note: value.note,
      }),
    };
  },
);

const short: Kind<WrittenSignal> = {
  expected: "a signal such as: output controller 3",
  read(at, reading) {
    const [direction, ...rest] = at.kind === "scalar" ? at.text.trim().split(/\s+/) : [];
    if (direction !== "input" && direction !== "output")
      return reading.log.report(
        "wrong-type",
        at,
        describe(at),
        "input or output, perhaps with its wiring, such as output controller 3",
        "Write the direction first.",
      );
    const wiring = rest.length === 0 ? {} : readWiring(at, rest, reading);
    return wiring && { written: at, signal: { direction, kind: "digital", initial: false, ...wiring } };
  },
  schema: () => ({
    type: "string",
    pattern: "^(input|output)( [A-Za-z0-9][A-Za-z0-9_-]*( [0-9]+)?)?$",
    examples: ["output controller 3"],
  }),
};

export const signalsKind: Kind<ReadonlyMap<string, WrittenSignal>> = mapOf(
  "signals by name",
  either("a signal", isScalar, short, full),
  { reserved: RESERVED },
);

/** Points that do not exist and points used twice. */
export function checkWiring(
  signals: ReadonlyMap<string, WrittenSignal>,
  controller: Controller,
  reading: Reading,
): void {
  const taken = new Map<string, string>();
  for (const [name, { signal, written }] of signals) {
    const port = signal.port === undefined ? undefined : controller.ports.get(signal.port);
    if (port === undefined || signal.point === undefined) continue;
    const points = `${signal.kind} ${signal.direction}s`;
    const size = {
      "digital inputs": port.digitalInputs,
      "digital outputs": port.digitalOutputs,
      "analogue inputs": port.analogueInputs,
      "analogue outputs": port.analogueOutputs,
    }[points];
    const spot =
      written.kind === "map" ? (written.entries.find(({ key }) => key === "wired")?.value ?? written) : written;
    if (size !== undefined && signal.point >= size)
      reading.log.add(
        "no-such-point",
        spot,
        `${port.name} ${signal.point}`,
        size === 0
          ? `a port with ${points}; ${port.name} has none`
          : `a point from 0 to ${size - 1}: ${port.name} has ${size} ${points}`,
        "Choose another point or port.",
      );
    const point = `${port.name} ${signal.point} (${signal.direction}, ${signal.kind})`;
    const first = taken.get(point);
    if (first !== undefined) {
      const place = signals.get(first)!.written;
      reading.log.add(
        "point-used-twice",
        spot,
        `${printable(point, 80)}, where ${first} is wired as well (line ${place.source.place(place.start).line})`,
        "one signal on a point",
        "Give one of the two another point.",
      );
    } else taken.set(point, name);
  }
}
