/** What is at the other end of each signal: a gripper, a machine's device or process, or a person. */
import type { Cell, Device } from "../cell/model.ts";
import type { Step } from "../cell/steps.ts";
import type { Seconds } from "../math/units.ts";

export interface SignalEnd {
  readonly owner: "gripper" | "machine" | "operator" | "unused";
  /** In words: "lathe.door, to open". */
  readonly what: string;
  /** Names of the gripper or machine. */
  readonly of?: string;
  /** Outputs of which at most one is on at a time share this name. */
  readonly oneOf?: string;
  /** Shortest pulse that the signal carries, as stated. */
  readonly pulse?: Seconds;
}

/** The other end of every signal of the cell, in the order of the file. */
export function signalEnds(cell: Cell): ReadonlyMap<string, SignalEnd> {
  const found = new Map<string, SignalEnd>();
  const add = (signal: string | undefined, end: SignalEnd) => {
    if (signal !== undefined && !found.has(signal)) found.set(signal, end);
  };
  const addDevice = (device: Device, owner: "gripper" | "machine", of: string) => {
    const { command, name } = device;
    if (command.style === "level")
      add(command.signal, { owner, of, what: `${name}, on to ${command.on}, off to ${command.off}` });
    else if (command.style === "toggling pulse")
      add(command.signal, { owner, of, what: `${name}, next position on each pulse`, pulse: command.width });
    else if (command.style !== "none")
      for (const [position, signal] of command.signals)
        add(signal, {
          owner,
          of,
          what: `${name}, to ${position}`,
          oneOf: name,
          ...(command.style === "pulse" ? { pulse: command.width } : {}),
        });
    for (const [position, signal] of device.feedback) add(signal, { owner, of, what: `${name} is ${position}` });
  };
  for (const gripper of cell.tool.grippers.values()) {
    addDevice(gripper.device, "gripper", gripper.name);
    add(gripper.partPresent, { owner: "gripper", of: gripper.name, what: `part in ${gripper.name}` });
  }
  for (const machine of cell.machines.values()) {
    for (const device of machine.devices) addDevice(device, "machine", machine.name);
    for (const { name, start, done, running } of machine.processes) {
      const common = { owner: "machine", of: machine.name } as const;
      add(start.signal, {
        ...common,
        what: `start of ${name}`,
        ...(start.style === "pulse" ? { pulse: start.width } : {}),
      });
      if (done !== undefined)
        add(done.signal, {
          ...common,
          what: `${name} complete`,
          ...(done.style === "pulse" ? { pulse: done.width } : {}),
        });
      add(running, { ...common, what: `${name} runs` });
    }
  }
  const pulses = new Map<string, Seconds>();
  for (const { steps } of cell.routines.values()) shortestPulses(steps, pulses);
  const out = new Map<string, SignalEnd>();
  for (const signal of cell.signals.values()) {
    const { name, operator } = signal;
    const end: SignalEnd =
      found.get(name) ??
      (operator === undefined ? { owner: "unused", what: "" } : { owner: "operator", what: "worked by a person" });
    // What the routine gives is what is on the wire; the least that the device wants stands in where it gives none.
    const pulse = pulses.get(name) ?? (operator?.hold !== undefined ? operator.hold : end.pulse);
    out.set(name, pulse === undefined ? end : { ...end, pulse });
  }
  return out;
}

function shortestPulses(steps: readonly Step[], out: Map<string, Seconds>): void {
  for (const step of steps) {
    if (step.kind === "pulse") out.set(step.signal, Math.min(step.width, out.get(step.signal) ?? step.width));
    if (step.kind === "each") shortestPulses(step.steps, out);
    if (step.kind === "when") {
      shortestPulses(step.then, out);
      shortestPulses(step.otherwise, out);
    }
  }
}
