/** When time may pass, and from where a move ends where it may. */
import { type Runtime, rawOf } from "./compile.ts";
import { AT_MOST_ZERO, tighten } from "./dbm.ts";
import type { State } from "./node.ts";

/** Whether time may pass in a state: no automaton is in an urgent or committed location, no move on an urgent channel is possible. */
export function timeMayPass(runtime: Runtime, state: State): boolean {
  const { locations, firstLocation } = runtime;
  if (runtime.hasStill)
    for (let a = 0; a < firstLocation.length; a++) if (locations[firstLocation[a]! + state[a]!]!.still) return false;
  return !runtime.hasUrgentChannels || !urgentMove(runtime, state);
}

/** A move on an urgent channel is possible. Its edges have no clock conditions. */
function urgentMove({ locations, firstLocation, receivers }: Runtime, state: State): boolean {
  for (let a = 0; a < firstLocation.length; a++) {
    for (const send of locations[firstLocation[a]! + state[a]!]!.sends) {
      if (!send.urgent || (send.test !== undefined && send.test(state) === 0)) continue;
      if (send.broadcast) return true;
      const slot = send.slotOf === undefined ? send.slot : send.slotOf(state);
      for (const b of receivers[send.channel]!) {
        if (b === a) continue;
        for (const receive of locations[firstLocation[b]! + state[b]!]!.receives)
          if (
            receive.channel === send.channel &&
            (receive.test === undefined || receive.test(state) !== 0) &&
            (receive.slotOf === undefined ? receive.slot : receive.slotOf(state)) === slot
          )
            return true;
      }
    }
  }
  return false;
}

/**
 * The part of a zone before a move from which the invariants hold after it, in a matrix of its own; undefined when it is empty.
 * @param target state after the move   @param position row of each clock   @param resetTo value that the move sets each clock to, or -1
 */
export function beforeInvariants(
  { withInvariants, locations, firstLocation }: Runtime,
  target: State,
  start: Int32Array,
  n: number,
  position: Int32Array,
  resetTo: Int32Array,
): Int32Array | undefined {
  const zone = start.slice(0, n * n);
  for (const a of withInvariants)
    for (const { when, atom } of locations[firstLocation[a]! + target[a]!]!.invariants) {
      if (when !== undefined && when(target) === 0) continue;
      const ri = atom.i === 0 ? 0 : resetTo[atom.i]!;
      const rj = atom.j === 0 ? 0 : resetTo[atom.j]!;
      const raw = rawOf(atom, target) - (ri > 0 ? 2 * ri : 0) + (rj > 0 ? 2 * rj : 0);
      const i = ri >= 0 ? 0 : position[atom.i]!;
      const j = rj >= 0 ? 0 : position[atom.j]!;
      if (i === 0 && j === 0) {
        if (raw < AT_MOST_ZERO) return undefined;
      } else if (!tighten(zone, n, i, j, raw)) return undefined;
    }
  return zone;
}
