/** What may be so in a cell, in words for a card. */
import type { Ground } from "../tending/ground.ts";
import type { Facts } from "./facts.ts";
import { positionAtStart } from "./network.ts";
import type { PossibleThing } from "./types.ts";

/** Each thing of the cell with the values that it may have over the states. */
export function possibleThings(ground: Ground, states: readonly Facts[]): PossibleThing[] {
  const things: PossibleThing[] = [];
  const stages = [
    "nothing",
    ...(ground.cell.parts.get(ground.variant)?.stages ?? []).map(({ name }) => `a ${name} part`),
  ];
  const say = (what: string, values: readonly string[], usual: string) =>
    things.push({ what, values: [...new Set(values)].sort(), usual });
  for (const gripper of ground.grippers.values()) {
    const holds = states.map((state) => {
      const part = stages[state.inGripper(gripper)]!;
      const spot = ground.spots.find(({ number }) => number === state.shared(gripper));
      return spot === undefined ? part : `${part}, held by ${spot.holder.name} too`;
    });
    say(`in ${gripper.gripper.name}`, holds, "nothing");
  }
  for (const spot of ground.spots)
    if (spot.holder.kind !== "tray")
      say(
        `in ${spot.holder.name}`,
        states.map((state) => stages[state.inSpot(spot)]!),
        stages[spot.start]!,
      );
  for (const { device } of ground.devices.values())
    say(
      device.name,
      states.map((state) => state.position(device.name) ?? "between its positions"),
      positionAtStart(ground, device.name),
    );
  for (const { name } of ground.processes)
    say(
      name,
      states.map((state) => (state.isRunning(name) ? "running" : "not running")),
      "not running",
    );
  for (const zone of ground.zones.keys())
    say(
      `the arm in ${zone}`,
      states.map((state) => (state.armIn(zone) ? "perhaps" : "no")),
      "no",
    );
  for (const signal of ground.outputs.keys())
    say(
      `output ${signal}`,
      states.map((state) => (state.output(signal) ? "on" : "off")),
      ground.cell.signals.get(signal)!.initial ? "on" : "off",
    );
  return things;
}
