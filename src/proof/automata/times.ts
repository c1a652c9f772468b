/**
 * Concrete times for a sequence of moves. The time of each move is an unknown; guards, invariants and the order of the moves bound
 * differences of them. The earliest solution is found by raising times until every bound holds (Bellman and Ford).
 *
 * Where a bound may not be reached (x > 2), times are a whole number and a count of small steps; the step is then chosen as a power
 * of ten small enough that no other bound is touched, so that all times are exact decimals.
 */
import type { Runtime, RuntimeAtom } from "./compile.ts";
import { rawOf } from "./compile.ts";
import { INFINITE, isStrict, valueOfBound } from "./dbm.ts";
import type { State } from "./node.ts";
import type { PathStep } from "./path.ts";

/** T[a] - T[b] <= value, or < value. */
interface TimeBound {
  readonly a: number;
  readonly b: number;
  readonly value: number;
  readonly strict: boolean;
}

/** A condition at the end: clock, clock, bound of dbm.ts. */
export type EndCondition = readonly (readonly [number, number, number])[];

export interface Times {
  /** Time of each step, the start's 0 among them, and of the end, in parts of a unit. */
  readonly at: readonly number[];
  /** Parts of a unit: 1, 10, 100, … */
  readonly parts: number;
}

/** Clocks as they run along a path. */
class Readings {
  /** Step at which each clock was set, and to what. */
  readonly #setAt: Int32Array;
  readonly #setTo: Int32Array;
  readonly bounds: TimeBound[] = [];

  constructor(clocks: number) {
    this.#setAt = new Int32Array(clocks);
    this.#setTo = new Int32Array(clocks);
  }

  set(clock: number, step: number, value: number): void {
    this.#setAt[clock] = step;
    this.#setTo[clock] = value;
  }

  /** x_i - x_j raw at a step. */
  holds(i: number, j: number, raw: number, step: number): void {
    if (raw === INFINITE) return;
    // x = T[step] - T[set] + value; T[step] drops out of a difference of two clocks.
    const value = valueOfBound(raw) - (i === 0 ? 0 : this.#setTo[i]!) + (j === 0 ? 0 : this.#setTo[j]!);
    this.bounds.push({
      a: j === 0 ? step : this.#setAt[j]!,
      b: i === 0 ? step : this.#setAt[i]!,
      value,
      strict: isStrict(raw),
    });
  }
}

/**
 * Earliest times of a path whose end has one of some conditions.
 * @param mayWait whether time may pass in a state
 * @returns undefined when there are none
 */
export function solveTimes(
  runtime: Runtime,
  path: readonly PathStep[],
  ends: readonly EndCondition[],
  mayWait: (state: State) => boolean,
  clocks: number,
): { readonly times: Times; readonly end: number } | undefined {
  const readings = new Readings(clocks);
  const at = (atom: RuntimeAtom, state: State, step: number) =>
    readings.holds(atom.i, atom.j, rawOf(atom, state), step);
  const invariants = (state: State, step: number) => {
    for (const a of runtime.withInvariants)
      for (const { when, atom } of runtime.locations[runtime.firstLocation[a]! + state[a]!]!.invariants)
        if (when === undefined || when(state) !== 0) at(atom, state, step);
  };
  const last = path.length;
  invariants(path[0]!.state, 0);
  for (let step = 1; step <= last; step++) {
    const before = path[step - 1]!.state;
    readings.bounds.push({ a: step - 1, b: step, value: 0, strict: false });
    if (!mayWait(before)) readings.bounds.push({ a: step, b: step - 1, value: 0, strict: false });
    invariants(before, step);
    if (step === last) break;
    const { parts, refusals, state, holds, starts } = path[step]!;
    for (const { atoms } of parts) for (const atom of atoms) at(atom, before, step);
    for (const [i, j, raw] of refusals) readings.holds(i, j, raw, step);
    for (const [i, j, raw] of holds ?? []) readings.holds(i, j, raw, step);
    for (const { edge } of parts) for (const { clock, value } of edge.resets) readings.set(clock, step, value);
    if (starts !== undefined) readings.set(starts, step, 0);
    invariants(state, step);
  }
  const common = readings.bounds.length;
  for (const [end, conditions] of ends.entries()) {
    readings.bounds.length = common;
    for (const [i, j, raw] of conditions) readings.holds(i, j, raw, last);
    const times = earliest(readings.bounds, last + 1);
    if (times !== undefined) return { times, end };
  }
  return undefined;
}

/** Least times from T[0] = 0 that meet all bounds. */
function earliest(bounds: readonly TimeBound[], count: number): Times | undefined {
  const whole = new Float64Array(count);
  const small = new Float64Array(count);
  for (let pass = 0; ; pass++) {
    let changed = false;
    for (const { a, b, value, strict } of bounds) {
      // T[b] >= T[a] - value, and one small step more where the bound may not be reached.
      const w = whole[a]! - value;
      const s = small[a]! + (strict ? 1 : 0);
      if (w < whole[b]! || (w === whole[b]! && s <= small[b]!)) continue;
      if (b === 0 || pass > count) return undefined;
      whole[b] = w;
      small[b] = s;
      changed = true;
    }
    if (!changed) break;
  }
  const most = small.reduce((max, s) => Math.max(max, s), 0);
  let parts = 1;
  while (most > 0 && parts <= most + 1) parts *= 10;
  return { at: Array.from(whole, (w, k) => w * parts + small[k]!), parts };
}
