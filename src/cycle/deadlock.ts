/** Why an awaited condition does not come true: who drives each signal and where that one stands. */
import type { SignalCondition } from "../cell/steps.ts";
import type { DeviceRun } from "./devices.ts";
import { inSeconds } from "./problems.ts";
import type { ProcessRun } from "./processes.ts";
import type { World } from "./world.ts";

export function whyNever(
  world: World,
  condition: SignalCondition,
  devices: ReadonlyMap<string, DeviceRun>,
  processes: readonly ProcessRun[],
): string {
  if (condition.kind === "any") {
    if (condition.of.length === 0) return "none of no conditions can hold";
    return condition.of.map((c) => whyNever(world, c, devices, processes)).join(", nor: ");
  }
  if (condition.kind === "all") {
    const unmet = condition.of.filter((c) => !world.board.holds(c));
    return unmet.map((c) => whyNever(world, c, devices, processes)).join(", and ");
  }
  const { signal, is } = condition;
  const level = is ? "on" : "off";
  const wanted = `${signal} is not ${level}`;
  const last = world.board.lastEdge(signal, is);
  const was = last === undefined ? "" : ` (it last went ${level} at ${inSeconds(last)})`;
  const driver = driverOf(world, signal, devices, processes);
  return `${wanted}${was}; ${driver}`;
}

function driverOf(
  world: World,
  signal: string,
  devices: ReadonlyMap<string, DeviceRun>,
  processes: readonly ProcessRun[],
): string {
  const known = world.cell.signals.get(signal);
  if (known?.direction === "output") return "it is an output that only the routine itself switches";
  if (known?.operator !== undefined) return "it is worked by a person, who has not given it";
  for (const run of devices.values()) {
    for (const [position, feedback] of run.device.feedback) {
      if (feedback !== signal) continue;
      const state = run.at === undefined ? `still moves to ${run.target}` : `stands ${run.at}`;
      return `it tells that ${run.device.name} is ${position}, which ${state}${outputsOf(world, run)}${heldOn(world, run, position)}`;
    }
  }
  for (const run of processes) {
    const { process } = run;
    if (process.done?.signal !== signal && process.running !== signal) continue;
    const role = process.done?.signal === signal ? "completion of" : "running of";
    return `it tells the ${role} ${process.name}, which ${stateOf(world, run)}`;
  }
  for (const gripper of world.cell.tool.grippers.values())
    if (gripper.partPresent === signal)
      return `it tells that ${gripper.name} has a part, and it has ${world.stock.inGripper(gripper.name) === undefined ? "none" : "one"}`;
  if (known?.constant !== undefined) return `it is stated to be ${known.constant ? "on" : "off"} always`;
  return "nothing in the cell file drives it";
}

/** Levels of the outputs that command a device, as " (door-open is off)". */
function outputsOf(world: World, run: DeviceRun): string {
  const { command } = run.device;
  if (command.style === "none") return "";
  const signals = "signal" in command ? [command.signal] : [...command.signals.values()];
  return ` (${signals.map((s) => `${s} is ${world.board.level(s) ? "on" : "off"}`).join(", ")})`;
}

/** A pulsed device whose output is left on: only the next rising edge would move it. */
function heldOn(world: World, { device, at }: DeviceRun, position: string): string {
  const { command } = device;
  if (at === undefined || at === position) return "";
  const signal =
    command.style === "pulse"
      ? command.signals.get(position)
      : command.style === "toggling pulse"
        ? command.signal
        : undefined;
  if (signal === undefined || !world.board.level(signal)) return "";
  return `; it moves on a rising edge only, and ${signal} has been left on: give a pulse, or switch it off before`;
}

function stateOf(world: World, run: ProcessRun): string {
  if (run.waiting !== undefined) return `waits for ${run.unmet().join(", ")}`;
  const last = run.engagements.at(-1);
  if (last === undefined) return "was never started";
  if (run.state !== "idle") return `has been running for ${inSeconds(world.queue.now - last.start)}`;
  return `was complete at ${inSeconds(last.end)}`;
}
