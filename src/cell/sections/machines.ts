/** `machines`: their devices and processes. Poses stay relative to the machine's frame until the cell is put together. */
import type { Pose } from "../../math/pose.ts";
import { identityPose } from "../../math/pose.ts";
import { either, isScalar, listOf, mapOf } from "../form/collections.ts";
import { given, type Kind, type Reading, refined, within } from "../form/kind.ts";
import { nameOf, newName, resolveName, signal } from "../form/named.ts";
import { DEFAULT_POSITIONS, missingName, positionsOf } from "../form/names.ts";
import { poseInKind, poseKind } from "../form/poses.ts";
import { may, need, record } from "../form/records.ts";
import { quantity, text, word, yesNo } from "../form/scalars.ts";
import { ownShapes } from "../form/shapes.ts";
import type { Device, Process } from "../model.ts";
import type { PlacedShape } from "../shapes.ts";
import { valueAt, type Written, type WrittenMap } from "../text/written.ts";
import { byPosition, checkPosition, deviceFields, position, positioned, pulseWidth, time } from "./devices.ts";
import { type StartContent, startKind } from "./parts.ts";
import { shapeNames } from "./steps/nearness.ts";

interface ReadDevice {
  readonly device: Omit<Device, "name" | "machine" | "worldFromShapes">;
  readonly written: Written;
  /** Frame of the shapes at each position, in the machine's frame. */
  readonly machineFromShapes: ReadonlyMap<string, Pose>;
  /** The place of a clamping device: in a frame, or in the machine's when none is named. */
  readonly place?: { readonly in?: string; readonly pose: Pose };
  readonly loaded: StartContent | undefined;
  readonly accepts: readonly string[];
  readonly restsOn?: readonly string[];
}

const positionsKind = refined(listOf("positions", newName, 2, 64), (positions, at, reading) =>
  new Set(positions).size === positions.length
    ? positions
    : reading.log.wrong("duplicate-name", at, "positions of different names", "Rename one of them."),
);

export const holderContents = {
  start: may(startKind, "what each place holds at the start: a part, { part, stage }, or nothing"),
  accepts: may(listOf("parts", nameOf("part")), "parts allowed, any if left out"),
  "rests on": may(shapeNames, "shapes on which a part in it rests"),
};

const deviceRecord: Kind<ReadDevice> = refined(
  record(
    "a device",
    {
      positions: may(positionsKind, "names of its positions, [closed, open] if left out"),
      ...deviceFields,
      clamps: may(position, "position in which it clamps a part"),
      holds: may(poseInKind, "place of the part, in the machine's frame or in another"),
      loaded: may(startKind, "what it holds at the start"),
      accepts: holderContents.accepts,
      "rests on": holderContents["rests on"],
      force: may(quantity("force", { above: "0 N" }), "clamping force"),
      shapes: may(ownShapes, "shapes that move with it"),
      moves: may(
        byPosition("poses by position", poseKind),
        "pose of its shapes at each position, in the machine's frame",
      ),
      sweeps: may(listOf("zones", nameOf("zone")), "zones that it sweeps while moving"),
      faults: may(listOf("fault modes", text), "fault modes"),
    },
    { note: true },
  ),
  (value, at, reading): ReadDevice | undefined => {
    const before = reading.log.count;
    const positions = value.positions ?? DEFAULT_POSITIONS;
    const device = positioned(value, positions, positions[0]!, reading);
    if ((value.clamps === undefined) !== (value.holds === undefined)) {
      const [has, lacks] = value.clamps === undefined ? ["holds", "clamps"] : ["clamps", "holds"];
      reading.log.add(
        "missing-key",
        valueAt(at, has!)!,
        `${has} without ${lacks}`,
        "clamps and holds together",
        `Add ${lacks}${lacks === "clamps" ? ": the position in which the part is clamped" : ": the pose of the part"}.`,
      );
    }
    for (const key of ["loaded", "accepts", "rests on"])
      if (valueAt(at, key) && !value.holds)
        reading.log.wrong(
          "conflicting-keys",
          valueAt(at, key)!,
          `${key} with clamps and holds only`,
          `Remove ${key}, or add clamps and holds.`,
        );
    if (device === undefined || reading.log.count !== before) return undefined;
    return {
      written: at,
      machineFromShapes: new Map(positions.map((name) => [name, value.moves?.get(name)?.pose ?? identityPose()])),
      ...(value.holds ? { place: given({ in: value.holds.in, pose: value.holds.pose }) } : {}),
      loaded: value.loaded === "nothing" ? undefined : value.loaded,
      accepts: value.accepts ?? [],
      ...(value["rests on"] ? { restsOn: value["rests on"] } : {}),
      device: given({
        positions,
        ...device,
        sweeps: value.sweeps ?? [],
        shapes: value.shapes ?? [],
        clamps: value.clamps,
        force: value.force,
        faults: value.faults ?? [],
      }),
    };
  },
);

const deviceKind = within(deviceRecord, (at) => ({ positions: positionsOf(at) }));

type Setting = { readonly device: string; readonly position: string };

/** Devices and their positions: one map, or a list of them. Own devices go by their short names. */
const settings: Kind<readonly Setting[]> = {
  expected: "devices and positions such as { door: closed }",
  read(at, reading) {
    const maps = at.kind === "list" ? at.items : [at];
    const out: Setting[] = [];
    let fine = true;
    for (const map of maps) {
      if (map.kind !== "map") {
        reading.log.wrong(
          "wrong-type",
          map,
          "devices and positions such as { door: closed }",
          "Write device: position.",
        );
        fine = false;
        continue;
      }
      for (const { key, keySpot, value } of map.entries) {
        const device = resolveName({ kind: "scalar", text: key, quoted: false, ...keySpot }, key, "device", reading);
        const position = text.read(value, reading);
        if (
          device === undefined ||
          position === undefined ||
          !checkPosition(value, position, reading.names.positions.get(device) ?? [], reading)
        )
          fine = false;
        else out.push({ device, position });
      }
    }
    return fine ? out : undefined;
  },
  schema: () => {
    const map = { type: "object", additionalProperties: { type: ["string", "integer", "boolean"] } };
    return { anyOf: [map, { type: "array", items: map }] };
  },
};

interface ReadProcess {
  readonly process: Omit<Process, "name" | "machine">;
  readonly written: Written;
}

const DEFAULT_WIDTH = 0.1;
type Start = Process["start"];
type Done = NonNullable<Process["done"]>;

const startSignal: Kind<Start> = either(
  "an output, or { signal, style, width }",
  isScalar,
  refined(signal("output"), (name): Start => ({ signal: name, style: "pulse", width: DEFAULT_WIDTH })),
  refined(
    record("the start of a process", {
      signal: need(signal("output"), "output that starts it"),
      style: may(word(["pulse", "level"] as const), "pulse if left out"),
      width: may(pulseWidth, "least width of the pulse, 100 ms if left out"),
    }),
    (value, at, reading): Start | undefined => {
      if (value.style === "level" && value.width !== undefined)
        return reading.log.report(
          "conflicting-keys",
          valueAt(at, "width")!,
          "width with level",
          "width with pulse only",
          "Remove width.",
        );
      return { signal: value.signal, style: value.style ?? "pulse", width: value.width ?? DEFAULT_WIDTH };
    },
  ),
);

const doneSignal: Kind<Done> = either(
  "an input, or { signal, style, width }",
  isScalar,
  refined(signal("input"), (name): Done => ({ signal: name, style: "until start", width: DEFAULT_WIDTH })),
  refined(
    record("the completion of a process", {
      signal: need(signal("input"), "input that is on when complete"),
      style: may(word(["until start", "pulse"] as const), "until start if left out"),
      width: may(pulseWidth, "width of the pulse, 100 ms if left out"),
    }),
    (value): Done => ({
      signal: value.signal,
      style: value.style ?? "until start",
      width: value.width ?? DEFAULT_WIDTH,
    }),
  ),
);

const processKind: Kind<ReadProcess> = refined(
  record(
    "a process",
    {
      start: need(startSignal, "output that starts it, or { signal, style, width }"),
      time: may(time, "duration; a part may state its own"),
      done: may(doneSignal, "input that is on when complete"),
      running: may(signal("input"), "input that is on while it runs"),
      needs: may(settings, "positions required at the start"),
      before: may(settings, "devices that the machine moves itself before"),
      after: may(settings, "devices that the machine moves itself after, before it reports completion"),
      "works on": may(nameOf("holder"), "holder whose part it works on"),
      makes: may(text, "stage that the part then has"),
      spindle: may(yesNo, "whether its time counts as cutting time"),
    },
    { note: true },
  ),
  (value, at, reading): ReadProcess | undefined => {
    if (value.makes !== undefined) {
      const written = valueAt(at, "makes")!;
      if (value["works on"] === undefined)
        return reading.log.wrong("missing-key", written, "makes together with works on", "Add works on: the holder.");
      const stages = [...new Set([...reading.names.stages.values()].flat())];
      if (!stages.includes(value.makes)) return missingName(reading, written, "stage", value.makes, stages);
    }
    return {
      written: at,
      process: given({
        start: value.start,
        time: value.time,
        done: value.done,
        running: value.running,
        needs: value.needs ?? [],
        before: value.before ?? [],
        after: value.after ?? [],
        holder: value["works on"],
        makes: value.makes,
        spindle: value.spindle ?? value.makes !== undefined,
      }),
    };
  },
);

export interface ReadMachine {
  readonly frame: string;
  readonly shapes: readonly PlacedShape[];
  readonly devices: ReadonlyMap<string, ReadDevice>;
  readonly processes: ReadonlyMap<string, ReadProcess>;
  readonly written: WrittenMap;
}

const machineKind: Kind<ReadMachine> = refined(
  record(
    "a machine",
    {
      frame: need(nameOf("frame"), "the machine's frame"),
      shapes: may(ownShapes, "fixed shapes in the machine's frame"),
      devices: may(mapOf("devices by name", deviceKind), "actuators by name"),
      processes: may(mapOf("processes by name", processKind), "timed processes by name"),
    },
    { note: true },
  ),
  (value) => ({
    frame: value.frame,
    shapes: value.shapes ?? [],
    devices: value.devices ?? new Map(),
    processes: value.processes ?? new Map(),
    written: value.written,
  }),
);

const base = mapOf("machines by name", machineKind);

/** Each machine is read with its own short names. */
export const machinesKind: Kind<ReadonlyMap<string, ReadMachine>> = {
  expected: base.expected,
  read(at, reading: Reading) {
    if (at.kind !== "map") return base.read(at, reading);
    const out = new Map<string, ReadMachine>();
    for (const entry of at.entries) {
      const one = base.read({ ...at, entries: [entry] }, { ...reading, machine: entry.key });
      for (const [name, machine] of one ?? []) out.set(name, machine);
    }
    return out;
  },
  schema: (parts) => base.schema(parts),
};
