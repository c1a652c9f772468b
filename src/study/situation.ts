/**
 * What stands around the arm during a motion of a run: where the devices are or move, what the grippers hold, and which
 * contacts are meant. Motions in the same situation are compared with the same bodies.
 */
import { machineDevices } from "../cell/equipment.ts";
import type { Cell } from "../cell/model.ts";
import type { GoStep, Target } from "../cell/steps.ts";
import { nameFor } from "../check/index.ts";
import type { CycleRun, DeviceState, HeldPart, MoveContext } from "../cycle/index.ts";

export interface Situation {
  /** Positions that each device with shapes is at or moves between, by qualified name. */
  readonly positions: ReadonlyMap<string, readonly string[]>;
  readonly held: ReadonlyMap<string, HeldPart>;
  /** Shapes that the held parts may touch: what they rest on, and the clamping device itself. */
  readonly partMayTouch: readonly string[];
  /** Shapes that tool, grippers and held parts may touch, as the step says. */
  readonly toolMayTouch: readonly string[];
}

export interface Situations {
  readonly list: readonly Situation[];
  /** Number of the situation of a step that takes from `start` to `end`, s. @param follows the leg goes on from another one */
  of(run: CycleRun<unknown>, context: MoveContext, step: GoStep, start: number, end: number, follows: boolean): number;
}

export function situationsOf(cell: Cell): Situations {
  const list: Situation[] = [];
  const known = new Map<string, number>();
  const shaped = machineDevices(cell)
    .filter(({ shapes }) => shapes.length > 0)
    .map(({ name }) => name);
  /** Where the last motion ended: a motion away from a place may touch what the place rests on as well. */
  let lastAt: string | undefined;
  return {
    list,
    of(run, context, step, start, end) {
      const traces = new Map(run.devices.map(({ device, states }) => [device, states]));
      const positions = new Map(shaped.map((name) => [name, positionsIn(traces.get(name) ?? [], start, end)]));
      const at = holderOf(step.to, context);
      const mayTouch = new Set<string>();
      for (const holder of [at, lastAt])
        if (holder !== undefined) for (const name of restsOn(cell, holder)) mayTouch.add(name);
      lastAt = at;
      const situation: Situation = {
        positions,
        held: context.held,
        partMayTouch: [...mayTouch].sort(),
        toolMayTouch: [...(step.mayTouch ?? [])].sort(),
      };
      const key = keyOf(situation);
      let number = known.get(key);
      if (number === undefined) {
        number = list.push(situation) - 1;
        known.set(key, number);
      }
      return number;
    },
  };
}

const holderOf = ({ kind, at }: Target, { variant }: MoveContext) =>
  kind === "holder" ? nameFor(at, variant) : undefined;

function restsOn(cell: Cell, name: string): readonly string[] {
  const holder = cell.holders.get(name);
  return [...(holder?.restsOn ?? []), ...(holder?.device === undefined ? [] : [holder.device])];
}

/** Every position that a device is at, comes from or goes to between two times. */
function positionsIn(states: readonly DeviceState[], start: number, end: number): string[] {
  const met = new Set<string>();
  let before: string | undefined;
  for (const [i, state] of states.entries()) {
    const until = states[i + 1]?.time ?? Number.POSITIVE_INFINITY;
    if (until > start && state.time < end) {
      if (state.at !== undefined) met.add(state.at);
      else {
        if (before !== undefined) met.add(before);
        met.add(state.towards);
      }
    }
    if (state.at !== undefined) before = state.at;
  }
  return [...met].sort();
}

function keyOf({ positions, held, partMayTouch, toolMayTouch }: Situation): string {
  return [
    [...positions].map(([name, at]) => `${name}:${at.join("/")}`).join(),
    [...held]
      .map(([gripper, { part, stage, grip }]) => `${gripper}=${part}/${stage}/${grip}`)
      .sort()
      .join(),
    partMayTouch.join(),
    toolMayTouch.join(),
  ].join("|");
}
