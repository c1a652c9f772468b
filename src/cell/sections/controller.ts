/** `controller`: points, remote stations, supplies and scan time. */

import { mapOf } from "../form/collections.ts";
import { given, type Kind, type Reading, refined } from "../form/kind.ts";
import { DEFAULT_PORTS } from "../form/names.ts";
import { may, need, record } from "../form/records.ts";
import { count, quantity, text, word } from "../form/scalars.ts";
import type { Controller, IoPort, PointRatings, Supply } from "../model.ts";
import { nearest } from "../text/did-you-mean.ts";
import { printable, valueAt, type Written } from "../text/written.ts";

const points = count(0, 4096);
const current = quantity("current", { above: "0 mA" });

const pointFields = {
  "digital inputs": may(points, "number of digital inputs"),
  "digital outputs": may(points, "number of digital outputs"),
  "analogue inputs": may(points, "number of analogue inputs"),
  "analogue outputs": may(points, "number of analogue outputs"),
  "input type": may(count(1, 3), "type of the digital inputs after IEC 61131-2"),
  inputs: may(word(["sinking", "sourcing"] as const), "sinking for PNP sensors, sourcing for NPN"),
  "input filter": may(quantity("time", { atLeast: "0 s" }), "time for which an input has to hold before it counts"),
  outputs: may(word(["sourcing", "sinking", "relay"] as const), "how the digital outputs switch"),
  "output current": may(current, "largest current of one output"),
  "group size": may(count(1, 4096), "outputs, one after the other, that share the group current"),
  "group current": may(current, "largest current of a group of outputs"),
  supply: may(text, "name of the supply of its outputs and of the sensors at its inputs"),
};

const port = record("a port", pointFields, { note: true });

const address = count(0, 65_535);
const registers = count(0, 4096);
const station = record(
  "a remote station",
  {
    ...pointFields,
    unit: need(count(0, 255), "unit identifier of the station, 1"),
    host: may(text, "address in the network"),
    update: may(quantity("time", { above: "0 s" }), "longest time between two transfers"),
    "coils from": may(address, "address, counted from 0, of the first digital output"),
    "discrete inputs from": may(address, "address, counted from 0, of the first digital input"),
    "input registers from": may(address, "address, counted from 0, of the first analogue input"),
    "holding registers from": may(address, "address, counted from 0, of the first analogue output"),
    "input registers": may(registers, "registers for input signals of kind register, behind the analogue inputs"),
    "holding registers": may(registers, "registers for output signals of kind register, behind the analogue outputs"),
  },
  { note: true },
);

const supply = record(
  "a supply",
  {
    voltage: may(quantity("voltage", { above: "0 V" }), "its d.c. voltage"),
    current: may(current, "largest current it gives"),
  },
  { note: true },
);

const form = record(
  "the controller",
  {
    scan: may(quantity("time", { above: "0 s" }), "time within which a changed input is seen, 10 ms if left out"),
    ports: may(
      mapOf("ports by name", port),
      "points, by port; 16, 16, 2, 2 at the controller and 2, 2, 2, 0 at the flange if left out",
    ),
    remote: may(mapOf("remote stations by name", station), "stations on Modbus TCP, by name"),
    supplies: may(mapOf("supplies by name", supply), "d.c. supplies, by name"),
  },
  { note: true },
);

const DEFAULT_SCAN = 0.01;

type WrittenPoints = Omit<typeof port extends Kind<infer T> ? T : never, "note">;

function portOf(name: string, written: WrittenPoints): IoPort {
  const ratings = given({
    inputType: written["input type"] as PointRatings["inputType"],
    inputs: written.inputs,
    inputFilter: written["input filter"],
    outputs: written.outputs,
    outputCurrent: written["output current"],
    groupSize: written["group size"],
    groupCurrent: written["group current"],
    supply: written.supply,
  });
  return {
    name,
    digitalInputs: written["digital inputs"] ?? 0,
    digitalOutputs: written["digital outputs"] ?? 0,
    analogueInputs: written["analogue inputs"] ?? 0,
    analogueOutputs: written["analogue outputs"] ?? 0,
    ...(Object.keys(ratings).length > 0 ? { ratings } : {}),
  };
}

export const controllerKind: Kind<Controller> = refined(form, (value, at, reading): Controller => {
  const ports = new Map<string, IoPort>(value.ports ? [] : defaultController.ports);
  for (const [name, written] of value.ports ?? []) ports.set(name, portOf(name, written));
  for (const [name, written] of value.remote ?? []) {
    if (ports.has(name)) {
      reading.log.add(
        "bad-name",
        valueAt(valueAt(at, "remote"), name) ?? at,
        name,
        "another name",
        `${name} is a port already: signals could not tell the two apart.`,
      );
      continue;
    }
    ports.set(name, {
      ...portOf(name, written),
      remote: given({
        unit: written.unit,
        host: written.host,
        update: written.update,
        firstCoil: written["coils from"],
        firstDiscreteInput: written["discrete inputs from"],
        firstInputRegister: written["input registers from"],
        firstHoldingRegister: written["holding registers from"],
        inputRegisters: written["input registers"] ?? 0,
        holdingRegisters: written["holding registers"] ?? 0,
      }),
    });
  }
  const supplies = new Map<string, Supply>();
  for (const [name, { voltage, current: most }] of value.supplies ?? [])
    supplies.set(name, given({ name, voltage, current: most }));
  for (const key of ["ports", "remote"] as const)
    for (const [name, written] of value[key] ?? [])
      checkSupply(valueAt(valueAt(at, key), name), written.supply, supplies, reading);
  return { ports, scan: value.scan ?? DEFAULT_SCAN, ...(supplies.size > 0 ? { supplies } : {}) };
});

function checkSupply(
  at: Written | undefined,
  name: string | undefined,
  supplies: ReadonlyMap<string, Supply>,
  reading: Reading,
): void {
  const spot = valueAt(at, "supply");
  if (name === undefined || spot === undefined || supplies.has(name)) return;
  const near = nearest(name, [...supplies.keys()]);
  reading.log.add(
    "missing-supply",
    spot,
    printable(name, 60) || "nothing",
    "the name of one of the controller's supplies",
    near ? `Did you mean ${near}?` : "Correct the name, or add the supply under controller.supplies.",
  );
}

/** The controller of a cell that does not describe it. */
export const defaultController: Controller = {
  ports: new Map(Object.entries(DEFAULT_PORTS).map(([name, points]) => [name, { name, ...points }])),
  scan: DEFAULT_SCAN,
};
