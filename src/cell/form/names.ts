/** The names that a cell declares, collected before anything is read, so that a wrong entry does not make its name unknown. */
import { nearest } from "../text/did-you-mean.ts";
import { keysOf, printable, valueAt, type Written } from "../text/written.ts";
import type { Reading } from "./kind.ts";

/** What a name can be the name of, in the words of messages and issue codes. */
export type Thing =
  | "frame"
  | "machine"
  | "device"
  | "process"
  | "holder"
  | "zone"
  | "signal"
  | "pose"
  | "routine"
  | "part"
  | "gripper"
  | "port"
  | "shape"
  | "operator place";

export interface Names {
  readonly of: Readonly<Record<Thing, ReadonlySet<string>>>;
  /** Direction and kind of each signal as far as they can be told. */
  readonly signals: ReadonlyMap<string, { readonly direction?: string; readonly kind: string }>;
  /** Stages of each part in order, and grips. */
  readonly stages: ReadonlyMap<string, readonly string[]>;
  readonly grips: ReadonlyMap<string, readonly string[]>;
  /** Poses given by joint values. */
  readonly jointPoses: ReadonlySet<string>;
  /** Positions of each device, by qualified name; grippers have open and closed. */
  readonly positions: ReadonlyMap<string, readonly string[]>;
}

/** Positions of a device that does not name its own. */
export const DEFAULT_POSITIONS: readonly string[] = ["closed", "open"];
export const DEFAULT_PORTS = {
  controller: { digitalInputs: 16, digitalOutputs: 16, analogueInputs: 2, analogueOutputs: 2 },
  flange: { digitalInputs: 2, digitalOutputs: 2, analogueInputs: 2, analogueOutputs: 0 },
} as const;

export function collectNames(root: Written): Names {
  const section = (name: string) => valueAt(root, name);
  const scene = section("scene");
  const grippers = keysOf(valueAt(section("tool"), "grippers"));
  const machines = section("machines");
  const devices: string[] = [];
  const processes: string[] = [];
  const holders = [...keysOf(valueAt(scene, "trays")), ...keysOf(valueAt(scene, "nests"))];
  // A device's name stands for all of its shapes.
  const shapes = [...keysOf(valueAt(scene, "shapes"))];
  const positions = new Map<string, readonly string[]>(grippers.map((name) => [name, ["open", "closed"]]));
  for (const machine of keysOf(machines)) {
    const written = valueAt(machines, machine);
    const own = valueAt(written, "devices");
    for (const shape of keysOf(valueAt(written, "shapes"))) shapes.push(`${machine}.${shape}`);
    for (const device of keysOf(own)) {
      const name = `${machine}.${device}`;
      devices.push(name);
      const deviceWritten = valueAt(own, device);
      if (valueAt(deviceWritten, "holds") || valueAt(deviceWritten, "clamps")) holders.push(name);
      positions.set(name, positionsOf(deviceWritten));
      const moved = keysOf(valueAt(deviceWritten, "shapes"));
      if (moved.length > 0) shapes.push(name, ...moved.map((shape) => `${name}.${shape}`));
    }
    for (const process of keysOf(valueAt(written, "processes"))) processes.push(`${machine}.${process}`);
  }
  const parts = section("parts");
  const partKeys = (key: string) =>
    new Map(keysOf(parts).map((part) => [part, keysOf(valueAt(valueAt(parts, part), key))]));
  const ports = valueAt(section("controller"), "ports");
  return {
    of: {
      frame: new Set(["world", ...keysOf(valueAt(scene, "frames"))]),
      machine: new Set(keysOf(machines)),
      device: new Set(devices),
      process: new Set(processes),
      holder: new Set(holders),
      zone: new Set(keysOf(valueAt(scene, "zones"))),
      signal: new Set(keysOf(section("signals"))),
      pose: new Set(keysOf(section("poses"))),
      routine: new Set(keysOf(section("routines"))),
      part: new Set(keysOf(parts)),
      gripper: new Set(grippers),
      shape: new Set(shapes),
      port: new Set([
        ...(ports ? keysOf(ports) : Object.keys(DEFAULT_PORTS)),
        ...keysOf(valueAt(section("controller"), "remote")),
      ]),
      "operator place": new Set(keysOf(valueAt(scene, "operator places"))),
    },
    signals: new Map(keysOf(section("signals")).map((name) => [name, signalOf(valueAt(section("signals"), name)!)])),
    stages: partKeys("stages"),
    grips: partKeys("grips"),
    jointPoses: new Set(keysOf(section("poses")).filter((name) => valueAt(valueAt(section("poses"), name), "joints"))),
    positions,
  };
}

function signalOf(written: Written): { direction?: string; kind: string } {
  const text = (at: Written | undefined) => (at?.kind === "scalar" ? at.text.trim() : undefined);
  const direction =
    written.kind === "scalar" ? written.text.trim().split(/\s+/)[0] : text(valueAt(written, "direction"));
  const kind = text(valueAt(written, "kind")) ?? "digital";
  return direction === "input" || direction === "output" ? { direction, kind } : { kind };
}

/** Positions that a device is written to have. */
export function positionsOf(device: Written | undefined): readonly string[] {
  const written = valueAt(device, "positions");
  if (written?.kind !== "list") return DEFAULT_POSITIONS;
  return written.items.flatMap((item) => (item.kind === "scalar" ? [item.text] : []));
}

/** Reports a name that does not exist, with the nearest one that does. */
export function missingName(
  reading: Reading,
  at: Written,
  thing: string,
  name: string,
  known: Iterable<string>,
  called = thing,
): undefined {
  const list = [...known];
  const near =
    nearest(name, list) ?? list.find((other) => other.endsWith(`.${name}`)) ?? nearestOwn(name, list, reading.machine);
  const some =
    list.length > 0 && list.length <= 12 ? ` (there ${list.length === 1 ? "is" : "are"} ${list.join(", ")})` : "";
  const mend = near
    ? `Did you mean ${near}?`
    : list.length === 0
      ? `The cell has no ${called}s: add it, or correct the name.`
      : "Correct the name or add it.";
  reading.log.add(
    `missing-${thing.replace(" ", "-")}`,
    at,
    printable(name, 60) || "nothing",
    `the name of a${/^[aeio]/.test(called) ? "n" : ""} ${called}${some}`,
    mend,
  );
  return undefined;
}

/** Inside a machine's section a short name may be mistyped. */
function nearestOwn(name: string, known: readonly string[], machine: string | undefined): string | undefined {
  if (machine === undefined) return undefined;
  const own = known.filter((other) => other.startsWith(`${machine}.`)).map((other) => other.slice(machine.length + 1));
  return nearest(name, own);
}
