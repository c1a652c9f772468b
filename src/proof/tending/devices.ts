/** Actuators as automata: commanded by outputs or by a process of their machine, arriving at any time of their range. */
import type { Device } from "../../cell/model.ts";
import { type DeviceState, type Ground, lasting, type OutputState } from "./ground.ts";
import { afterLeaving, uponArriving } from "./handover.ts";
import { type Action, both } from "./network-writer.ts";

/** Asks a device for a position on behalf of its machine. */
export type MachineCalls = ReadonlyMap<string, string>;

export const machineCall = (device: string, position: string): string => `${device} to ${position}`;

/** Adds an automaton for each device. @returns channels by which processes move devices, by `machineCall` */
export function addDevices(ground: Ground): MachineCalls {
  const calls = new Map<string, string>();
  for (const process of ground.processes)
    for (const { device, position } of [...process.before, ...process.after]) {
      const key = machineCall(device, position);
      if (!calls.has(key)) calls.set(key, ground.writer.channel("call", key));
    }
  for (const state of ground.devices.values()) addDevice(ground, state, calls);
  return calls;
}

/** What makes a device move: a signal's change under a condition. */
interface Order {
  readonly receive: string;
  readonly guard: string | undefined;
  readonly to: (from: string) => string;
  readonly byMachine: boolean;
}

function addDevice(ground: Ground, state: DeviceState, calls: MachineCalls): void {
  const { device } = state;
  const { positions } = device;
  const orders = ordersOf(ground, device, calls);
  const automaton = ground.writer.automaton("device", device.name);
  const clock = ground.writer.clock("time", device.name);
  const moved = new Set<string>();
  for (const position of positions) automaton.location(`at_${positions.indexOf(position)}`);
  const index = (position: string) => positions.indexOf(position);

  const travel = (to: string): void => {
    if (moved.has(to)) return;
    moved.add(to);
    const range = device.time.get(to);
    const { invariant: inTime, least: min } = lasting(clock, range ?? { min: 0, max: 0 });
    const arrival = uponArriving(ground, state, to);
    const arrive = (from: string, least: number) =>
      automaton.chain(from, `at_${index(to)}`, [
        [
          {
            guard: both(`${clock} >= ${least}`, airLost ? `${ground.faulty} = 0` : undefined)!,
            update: [`${state.at} := ${index(to)}`],
            events: [{ kind: "device", device: device.name, position: to, what: "reaches" }],
          },
        ],
        ...arrival,
      ]);
    const airLost = ground.isFaulty("air lost", device.name);
    const invariant = ground.isFaulty("slow device", device.name, to)
      ? undefined
      : airLost
        ? `${ground.faulty} = 0 implies ${inTime}`
        : inTime;
    automaton.location(`to_${index(to)}`, invariant);
    // Turned back half way, it may have any part of the way before it.
    automaton.location(`back_${index(to)}`, invariant);
    arrive(`to_${index(to)}`, min);
    arrive(`back_${index(to)}`, 0);
  };

  for (const order of orders)
    for (const from of positions) {
      const to = order.to(from);
      if (to === from) continue;
      travel(to);
      const begin: Action = {
        receive: order.receive,
        ...(order.guard === undefined ? {} : { guard: order.guard }),
        update: [`${state.at} := ${state.moving}`, `${state.target} := ${index(to)}`],
        reset: [clock],
        events: [{ kind: "device", device: device.name, position: from, what: "leaves" }],
      };
      automaton.chain(`at_${index(from)}`, `to_${index(to)}`, [
        [begin],
        ...afterLeaving(ground, state, from, order.byMachine),
      ]);
    }
  // On the way to one position, sent to another.
  for (const order of orders)
    for (const towards of moved) {
      const to = order.to(towards);
      if (to === towards) continue;
      travel(to);
      const turn: Action = {
        receive: order.receive,
        ...(order.guard === undefined ? {} : { guard: order.guard }),
        update: [`${state.target} := ${index(to)}`],
        reset: [clock],
        events: [{ kind: "device", device: device.name, position: towards, what: "leaves" }],
      };
      for (const way of ["to", "back"]) automaton.edge(`${way}_${index(towards)}`, `back_${index(to)}`, turn);
    }
  const wanted = heldAtStart(ground, device);
  if (wanted === undefined || wanted === device.start) automaton.done(`at_${index(device.start)}`);
  else {
    // A held output that asks for another position moves the device at power-up.
    travel(wanted);
    const start = automaton.instant("power_up");
    automaton.chain(start, `to_${index(wanted)}`, [
      [
        {
          update: [`${state.at} := ${state.moving}`, `${state.target} := ${index(wanted)}`],
          reset: [clock],
          events: [{ kind: "device", device: device.name, position: device.start, what: "leaves" }],
        },
      ],
      ...afterLeaving(ground, state, device.start, false),
    ]);
    automaton.done(start);
  }
}

function ordersOf(ground: Ground, device: Device, calls: MachineCalls): Order[] {
  const { command, positions } = device;
  const orders: Order[] = [];
  const output = (signal: string): OutputState => ground.outputs.get(signal)!;
  const add = (receive: string, to: (from: string) => string, guard?: string, byMachine = false) =>
    orders.push({ receive, to, guard, byMachine });
  switch (command.style) {
    case "level":
      add(output(command.signal).rise, () => command.on);
      add(output(command.signal).fall, () => command.off);
      break;
    case "pair": {
      const all = [...command.signals];
      const on = (signal: string) => `${output(signal).level} = 1`;
      const off = (signal: string) => `${output(signal).level} = 0`;
      for (const [position, signal] of all) {
        const others = all.filter(([other]) => other !== position);
        add(output(signal).rise, () => position, both(...others.map(([, s]) => off(s))));
        // The last but one goes off: the one left on commands.
        for (const [left, leftSignal] of others)
          add(
            output(signal).fall,
            () => left,
            both(on(leftSignal), ...others.filter(([other]) => other !== left).map(([, s]) => off(s))),
          );
      }
      break;
    }
    case "pulse":
      for (const [position, signal] of command.signals) add(output(signal).rise, () => position);
      break;
    case "toggling pulse":
      add(output(command.signal).rise, (from) => positions[(positions.indexOf(from) + 1) % positions.length]!);
      break;
    case "none":
      break;
  }
  for (const position of positions) {
    const call = calls.get(machineCall(device.name, position));
    if (call !== undefined) add(call, () => position, undefined, true);
  }
  return orders;
}

/** The position that outputs held at power-up ask for. */
function heldAtStart(ground: Ground, device: Device): string | undefined {
  const { command } = device;
  const initial = (signal: string) => ground.cell.signals.get(signal)?.initial === true;
  if (command.style === "level") return initial(command.signal) ? command.on : command.off;
  if (command.style !== "pair") return undefined;
  const on = [...command.signals].filter(([, signal]) => initial(signal));
  return on.length === 1 ? on[0]![0] : undefined;
}
