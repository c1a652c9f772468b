/** Faults that the proof supposes, one at a time, at any moment. */
import { devicesOf, processesOf } from "../../cell/equipment.ts";
import { feedsOf } from "../../cell/feeds.ts";
import type { Cell, Device } from "../../cell/model.ts";
import { flowOf } from "./flow.ts";

export type Fault =
  /** The actuation takes longer than its range says, or never ends. */
  | { readonly kind: "slow device"; readonly device: string; readonly position: string }
  /** The input is read at one level, whatever it is. */
  | { readonly kind: "stuck input"; readonly signal: string; readonly level: boolean }
  /** The output's wire is broken: whoever listens takes it as off. */
  | { readonly kind: "broken wire"; readonly signal: string }
  /** A part that should lie ready is not there, or a person takes it away. */
  | { readonly kind: "part missing"; readonly holder: string }
  /** The part is lost from the closed jaws. */
  | { readonly kind: "part slipped"; readonly gripper: string }
  /** No actuator moves any more. */
  | { readonly kind: "air lost" }
  /** The controller stops at any instant, outputs stay; then the routine runs again from its top, or from the step it was in. */
  | { readonly kind: "stopped"; readonly category: 0 | 1 | 2; readonly restart: "top" | "step" }
  /** Power fails at any instant: outputs go off, what the routine kept in mind is gone; then it runs from its top. */
  | { readonly kind: "power lost" };

/** A name by which a fault can be chosen: "slow device lathe.door open". */
export function nameOfFault(fault: Fault): string {
  switch (fault.kind) {
    case "slow device":
      return `slow device ${fault.device} ${fault.position}`;
    case "stuck input":
      return `stuck input ${fault.signal} ${fault.level ? "on" : "off"}`;
    case "broken wire":
      return `broken wire ${fault.signal}`;
    case "part missing":
      return `part missing ${fault.holder}`;
    case "part slipped":
      return `part slipped ${fault.gripper}`;
    case "air lost":
    case "power lost":
      return fault.kind;
    case "stopped":
      return `stopped category ${fault.category}, restart at the ${fault.restart}`;
  }
}

/**
 * Whether the arm goes on from a place where the routine does not have it: after category 0 it stands beside its path (IEC 60204-1:
 * stopped by taking the power away), and what runs from its top does not begin on the way of the step that was stopped.
 */
export const leavesPath = (fault: Fault | undefined): boolean =>
  fault?.kind === "power lost" || (fault?.kind === "stopped" && (fault.restart === "top" || fault.category === 0));

/** Every fault that a cell can have while it runs a part variant, in the order of its file. */
export function faultsOf(cell: Cell, variant: string): Fault[] {
  const faults: Fault[] = [];
  const used = usesOf(cell, variant);
  const grippers = [...cell.tool.grippers.values()];
  const processes = processesOf(cell);
  const devices = devicesOf(cell);
  const moved = new Set(processes.flatMap((process) => [...process.before, ...process.after].map((m) => m.device)));
  for (const device of devices)
    if (device.command.style !== "none" || moved.has(device.name))
      for (const position of device.positions) faults.push({ kind: "slow device", device: device.name, position });
  const told = new Set([
    ...devices.flatMap((device) => [...device.feedback.values()]),
    ...processes.flatMap(({ done, running }) => [done?.signal, running]),
    ...grippers.map(({ partPresent }) => partPresent),
    ...[...cell.signals.values()].filter(({ operator }) => operator !== undefined).map(({ name }) => name),
  ]);
  for (const signal of cell.signals.values())
    if (signal.direction === "input" && told.has(signal.name))
      for (const level of [true, false]) faults.push({ kind: "stuck input", signal: signal.name, level });
  const heard = new Set([...devices.flatMap(signalsOf), ...processes.map(({ start }) => start.signal)]);
  for (const signal of cell.signals.values())
    if (signal.direction === "output" && heard.has(signal.name))
      faults.push({ kind: "broken wire", signal: signal.name });
  const { sources } = feedsOf(cell, variant);
  for (const holder of cell.holders.values())
    if (holder.start !== undefined && sources.has(holder.name) && used.taken.has(holder.name))
      faults.push({ kind: "part missing", holder: holder.name });
  for (const { name } of grippers) if (used.grippers.has(name)) faults.push({ kind: "part slipped", gripper: name });
  if (devices.some(({ command }) => command.style !== "none")) faults.push({ kind: "air lost" });
  for (const category of [0, 1, 2] as const)
    for (const restart of ["top", "step"] as const) faults.push({ kind: "stopped", category, restart });
  faults.push({ kind: "power lost" });
  return faults;
}

/** Outputs that move a device. */
function signalsOf({ command }: Device): readonly string[] {
  switch (command.style) {
    case "level":
    case "toggling pulse":
      return [command.signal];
    case "pair":
    case "pulse":
      return [...command.signals.values()];
    case "none":
      return [];
  }
}

/** Grippers that take parts, and holders from which they do, while a variant is run. */
function usesOf(cell: Cell, variant: string): { readonly grippers: Set<string>; readonly taken: Set<string> } {
  const grippers = new Set<string>();
  const taken = new Set<string>();
  const outcome = flowOf(cell, variant);
  for (const node of outcome.ok ? outcome.flow.nodes : []) {
    if (node.kind !== "step" || node.step.kind !== "hold") continue;
    const { gripper, from } = node.step;
    grippers.add(gripper);
    const holder = from.variants.get(variant) ?? from.default;
    if (holder !== undefined) taken.add(holder);
  }
  return { grippers, taken };
}
