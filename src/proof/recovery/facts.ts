/** The states that a cell may be in when a procedure has come to some line, as people would tell them. */
import type { Device, Process } from "../../cell/model.ts";
import type { GripperState, Ground, Spot } from "../tending/ground.ts";
import type { Question } from "./types.ts";

/** One state. */
export class Facts {
  readonly #ground: Ground;
  readonly #values: Int32Array;
  readonly #index: ReadonlyMap<string, number>;

  constructor(ground: Ground, index: ReadonlyMap<string, number>, values: Int32Array) {
    this.#ground = ground;
    this.#index = index;
    this.#values = values;
  }

  #value(variable: string): number {
    return this.#values[this.#index.get(variable)!]!;
  }

  /** Position of a device; undefined while it moves. */
  position(device: string): string | undefined {
    const state = this.#ground.device(device);
    return state.device.positions[this.#value(state.at)];
  }

  /** Stage number of the part in a gripper, 0 for none. */
  inGripper({ has }: GripperState): number {
    return this.#value(has);
  }

  /** Number of the spot whose clamp holds the same part, 0 for none. */
  shared({ shares }: GripperState): number {
    return this.#value(shares);
  }

  inSpot({ has }: Spot): number {
    return this.#value(has);
  }

  isRunning(process: string): boolean {
    return this.#value(this.#ground.running.get(process)!) === 1;
  }

  armIn(zone: string): boolean {
    return this.#value(this.#ground.zones.get(zone)!) === 1;
  }

  output(signal: string): boolean {
    return this.#value(this.#ground.outputs.get(signal)!.level) === 1;
  }

  /** An input as the controller sees it, an output as it is. */
  level(signal: string): boolean {
    return this.#value(this.#ground.levelOf(signal, "seen")) === 1;
  }

  answer(question: Question): boolean {
    switch (question.kind) {
      case "device":
        return this.position(question.device) === question.position;
      case "gripper":
        return this.inGripper(this.#ground.grippers.get(question.gripper)!) > 0;
      case "holder":
        return this.inSpot(this.#ground.spot(question.holder, [])) > 0;
      case "process":
        return this.isRunning(question.process);
    }
  }
}

/** Variables that facts are read from. */
export function factVariables(ground: Ground): string[] {
  return [
    ...new Set([
      ...[...ground.devices.values()].map(({ at }) => at),
      ...[...ground.grippers.values()].flatMap(({ has, shares }) => [has, shares]),
      ...ground.spots.map(({ has }) => has),
      ...ground.running.values(),
      ...ground.zones.values(),
      ...[...ground.outputs.values()].map(({ level }) => level),
      ...[...ground.inputs.values()].map(({ seen }) => seen),
    ]),
  ];
}

/** The question as a formula of the network. */
export function truthOf(ground: Ground, question: Question): string {
  switch (question.kind) {
    case "device":
      return ground.at(ground.device(question.device), question.position);
    case "gripper":
      return `${ground.grippers.get(question.gripper)!.has} > 0`;
    case "holder":
      return `${ground.spot(question.holder, []).has} > 0`;
    case "process":
      return `${ground.running.get(question.process)!} = 1`;
  }
}

/** Signals that may answer a question, each with the level that would mean yes; those that are surest first. */
export function tellers(ground: Ground, question: Question): { readonly signal: string; readonly level: boolean }[] {
  switch (question.kind) {
    case "device":
      return deviceTellers(ground.device(question.device).device, question.position);
    case "gripper": {
      const { partPresent } = ground.grippers.get(question.gripper)!.gripper;
      return partPresent === undefined ? [] : [{ signal: partPresent, level: true }];
    }
    case "holder":
      return [];
    case "process":
      return processTellers(ground.processes.find(({ name }) => name === question.process)!);
  }
}

function deviceTellers({ feedback, positions, command }: Device, position: string) {
  const found: { signal: string; level: boolean }[] = [];
  const own = feedback.get(position);
  if (own !== undefined) found.push({ signal: own, level: true });
  for (const other of positions) {
    const signal = other === position ? undefined : feedback.get(other);
    if (signal !== undefined) found.push({ signal, level: false });
  }
  if (command.style === "level") found.push({ signal: command.signal, level: command.on === position });
  if (command.style === "pair")
    for (const [at, signal] of command.signals) found.push({ signal, level: at === position });
  return found;
}

function processTellers({ running, done }: Process) {
  const found: { signal: string; level: boolean }[] = [];
  if (running !== undefined) found.push({ signal: running, level: true });
  if (done?.style === "until start") found.push({ signal: done.signal, level: false });
  return found;
}
