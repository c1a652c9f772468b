/**
 * All moves from a symbolic state: a discrete state with a zone. One instance works through many states without allocating.
 *
 * A move takes one edge without channel, a sender and a receiver, or a sender and every automaton that can receive. Guards are read
 * in the state before the move; updates run sender first, then receivers in the order of the automata; then the locations change.
 * Where time may pass after the move, the zone is that after any time (up to the invariants).
 */
import type { ClockBounds } from "./clock-bounds.ts";
import { type Runtime, type RuntimeAtom, type RuntimeEdge, type RuntimeLocation, rawOf } from "./compile.ts";
import { AT_MOST_ZERO, extrapolate, INFINITE, tighten, up } from "./dbm.ts";
import { beforeInvariants, timeMayPass } from "./moments.ts";
import type { State } from "./node.ts";
import { type Bound, diagonalsOf, partsWithout, widenInParts } from "./zone-parts.ts";

export class Stepper {
  readonly runtime: Runtime;
  readonly bounds: ClockBounds;
  readonly timed: boolean;
  readonly #automata: number;
  readonly #locations: readonly RuntimeLocation[];
  readonly #first: Int32Array;
  readonly #fields: number;
  /** Bounds and differences that zones are cut at before they are widened, where clocks are compared with one another. */
  readonly #diagonals: readonly RuntimeAtom[];
  readonly #widen: boolean;
  readonly #earliest: number;

  /** State that moves are looked for from, and the clocks active in it: `clocks[1..count]`, `position` of each in the matrix. */
  readonly source: State;
  readonly sourceClocks: Int32Array;
  sourceCount = 0;
  readonly #position: Int32Array;
  sourceZone: Int32Array;

  readonly target: State;
  readonly targetClocks: Int32Array;
  targetCount = 0;
  /** The zone after the move, (targetCount + 1)² integers. */
  targetZone: Int32Array;

  /** The edges of the move. */
  readonly parts: RuntimeEdge[] = [];
  partCount = 0;
  /** Clock conditions that hold because a broadcast is not received: clock, clock, bound. */
  readonly refusals: Bound[] = [];

  /** Called for each move; `target`, `targetZone` and `parts` hold it until the next. */
  onMove: () => void = () => {};
  /** Where set: called with the zone, in the clocks of the source, from which the move is possible without delay. */
  onEnabled: ((zone: Int32Array) => void) | undefined;

  readonly #rows: Int32Array;
  readonly #work: Int32Array;
  readonly #lower: Int32Array;
  readonly #upper: Int32Array;
  readonly #resetTo: Int32Array;
  #base: Int32Array;

  /**
   * @param options.widen false gives exact zones, of which there may be infinitely many
   * @param options.diagonals comparisons of two clocks in queries
   * @param options.earliest a clock of which only the least value matters: it is never compared or reset
   */
  constructor(
    runtime: Runtime,
    bounds: ClockBounds,
    options: { readonly widen?: boolean; readonly diagonals?: readonly RuntimeAtom[]; readonly earliest?: number } = {},
  ) {
    this.runtime = runtime;
    this.bounds = bounds;
    this.#automata = runtime.network.automata.length;
    this.#locations = runtime.locations;
    this.#first = runtime.firstLocation;
    this.#fields = runtime.network.fields.length;
    this.#widen = options.widen ?? true;
    this.#earliest = options.earliest ?? -1;
    this.source = new Int32Array(this.#fields);
    this.target = new Int32Array(this.#fields);
    const { clocks } = bounds;
    this.timed = clocks > 1;
    this.sourceClocks = new Int32Array(clocks + 1);
    this.targetClocks = new Int32Array(clocks + 1);
    this.#position = new Int32Array(clocks);
    this.#rows = new Int32Array(clocks);
    this.sourceZone = new Int32Array(clocks * clocks);
    this.targetZone = new Int32Array(clocks * clocks);
    this.#work = new Int32Array(clocks * clocks);
    this.#base = this.sourceZone;
    this.#lower = new Int32Array(clocks);
    this.#upper = new Int32Array(clocks);
    this.#resetTo = new Int32Array(clocks).fill(-1);
    this.#diagonals = diagonalsOf(runtime, options.diagonals ?? []);
  }

  /** Calls `onMove` for each of the states that a run can begin in: none when the start breaks an invariant. */
  begin(): void {
    const { fields } = this.runtime.network;
    for (let f = 0; f < fields.length; f++) this.target[f] = fields[f]!.start;
    this.partCount = 0;
    if (!this.#dataHolds(this.target)) return;
    this.#activeClocks(this.target, "target");
    const n = this.targetCount + 1;
    this.targetZone.fill(AT_MOST_ZERO, 0, n * n);
    if (!this.#addInvariants(this.target, this.targetZone, n, this.#targetPosition())) return;
    this.#settle();
  }

  /** Makes a state the source, its zone at an offset of a pool. */
  load(state: State, pool?: Int32Array, offset = 0): void {
    for (let f = 0; f < this.#fields; f++) this.source[f] = state[f]!;
    if (!this.timed) return;
    this.loadClocks();
    if (pool === undefined) return;
    const size = (this.sourceCount + 1) ** 2;
    for (let k = 0; k < size; k++) this.sourceZone[k] = pool[offset + k]!;
  }

  /** Tells which clocks are active in `source`, after it was filled. */
  loadClocks(): void {
    this.#activeClocks(this.source, "source");
    this.#position.fill(0);
    for (let k = 1; k <= this.sourceCount; k++) this.#position[this.sourceClocks[k]!] = k;
  }

  /** Row of a clock in `sourceZone`. */
  sourceRow(clock: number): number {
    return this.#position[clock]!;
  }

  /** Number of clocks active in a state. */
  activeCount(state: State): number {
    if (!this.timed) return 0;
    return this.#activeClocks(state, "none");
  }

  #activeClocks(state: State, into: "source" | "target" | "none"): number {
    const { active, words, always } = this.bounds;
    const list = into === "source" ? this.sourceClocks : this.targetClocks;
    let count = 0;
    for (let w = 0; w < words; w++) {
      let bits = always.active[w]!;
      for (let a = 0; a < this.#automata; a++) bits |= active[(this.#first[a]! + state[a]!) * words + w]!;
      while (bits !== 0) {
        const low = bits & -bits;
        count++;
        if (into !== "none") list[count] = 32 * w + (31 - Math.clz32(low));
        bits ^= low;
      }
    }
    if (into === "source") this.sourceCount = count;
    else if (into === "target") this.targetCount = count;
    return count;
  }

  /** Row of each clock active in `target`. */
  #targetPosition(): Int32Array {
    const rows = this.#rows;
    for (let k = 1; k <= this.targetCount; k++) rows[this.targetClocks[k]!] = k;
    return rows;
  }

  #at(automaton: number): RuntimeLocation {
    return this.#locations[this.#first[automaton]! + this.source[automaton]!]!;
  }

  /** Puts another state in place of the target, its clocks being those of the target under other names. */
  exchange(state: State, oldClock: Int32Array): void {
    const t = this.target;
    t.set(state);
    if (!this.timed) return;
    const rows = this.#rows;
    const zone = this.targetZone;
    const m = this.targetCount + 1;
    const old = zone.slice(0, m * m);
    const oldRows = rows.slice();
    this.#activeClocks(t, "target");
    this.#targetPosition();
    for (let i = 0; i < m; i++) {
      const from = i === 0 ? 0 : oldRows[oldClock[this.targetClocks[i]!]!]!;
      for (let j = 0; j < m; j++)
        zone[i * m + j] = old[from * m + (j === 0 ? 0 : oldRows[oldClock[this.targetClocks[j]!]!]!)]!;
    }
  }

  /** Whether a clock is active in the target. */
  #isActive(clock: number): boolean {
    const row = this.#rows[clock]!;
    return row > 0 && row <= this.targetCount && this.targetClocks[row] === clock;
  }

  /** Upper or lower bound of a clock in the target, as an integer of dbm.ts; 0 for a clock that is not active. */
  targetBound(clock: number, upper: boolean): number {
    const row = this.#rows[clock]!;
    if (!this.#isActive(clock)) return 0;
    return this.targetZone[upper ? row * (this.targetCount + 1) : row]!;
  }

  /** Hands out the source with another zone in its clocks, after time has passed. */
  again(zone: Int32Array): void {
    this.target.set(this.source);
    this.partCount = 0;
    this.#activeClocks(this.target, "target");
    this.#targetPosition();
    const n = this.targetCount + 1;
    for (let k = 0; k < n * n; k++) this.targetZone[k] = zone[k]!;
    this.#settle();
  }

  /** Whether time may pass in a state at all. */
  timeMayPass(state: State): boolean {
    return timeMayPass(this.runtime, state);
  }

  /** Automaton whose edges alone need to be followed from the source, -1 for all. */
  only = -1;

  /** Finds every move from the source, always in the same order. */
  expand(): void {
    const s = this.source;
    const { runtime } = this;
    let committed = false;
    if (runtime.hasCommitted)
      for (let a = 0; a < this.#automata; a++)
        if (this.#at(a).committed) {
          committed = true;
          break;
        }
    this.#base = this.sourceZone;
    for (let a = 0; a < this.#automata; a++) {
      if (this.only >= 0 && a !== this.only) continue;
      const here = this.#at(a);
      const mayLead = !committed || here.committed;
      if (mayLead) {
        const { internal } = here;
        for (let k = 0; k < internal.length; k++) {
          const edge = internal[k]!;
          if (edge.test !== undefined && edge.test(s) === 0) continue;
          this.parts[0] = edge;
          this.partCount = 1;
          this.#fire();
        }
      }
      const { sends } = here;
      for (let k = 0; k < sends.length; k++) {
        const send = sends[k]!;
        if (send.test !== undefined && send.test(s) === 0) continue;
        const slot = send.slotOf === undefined ? send.slot : send.slotOf(s);
        if (send.broadcast) this.#broadcast(a, send, slot, committed && !here.committed);
        else this.#pairs(a, send, slot, committed && !here.committed);
      }
    }
  }

  #pairs(a: number, send: RuntimeEdge, slot: number, needsCommitted: boolean): void {
    const s = this.source;
    const automata = this.runtime.receivers[send.channel]!;
    for (let k = 0; k < automata.length; k++) {
      const b = automata[k]!;
      if (b === a) continue;
      const there = this.#at(b);
      if (needsCommitted && !there.committed) continue;
      const { receives } = there;
      for (let r = 0; r < receives.length; r++) {
        const receive = receives[r]!;
        if (receive.channel !== send.channel) continue;
        if (receive.test !== undefined && receive.test(s) === 0) continue;
        if ((receive.slotOf === undefined ? receive.slot : receive.slotOf(s)) !== slot) continue;
        this.parts[0] = send;
        this.parts[1] = receive;
        this.partCount = 2;
        this.#fire();
      }
    }
  }

  #canReceive(receive: RuntimeEdge, send: RuntimeEdge, slot: number): boolean {
    const s = this.source;
    return (
      receive.channel === send.channel &&
      (receive.test === undefined || receive.test(s) !== 0) &&
      (receive.slotOf === undefined ? receive.slot : receive.slotOf(s)) === slot
    );
  }

  /** A broadcast that each automaton can receive in at most one way, whatever the clocks. @returns false for any other */
  #plainBroadcast(a: number, send: RuntimeEdge, slot: number, needsCommitted: boolean): boolean {
    const automata = this.runtime.receivers[send.channel]!;
    const { parts } = this;
    let count = 1;
    let committed = !needsCommitted;
    for (let k = 0; k < automata.length; k++) {
      const b = automata[k]!;
      if (b === a) continue;
      const there = this.#at(b);
      const { receives } = there;
      let found = false;
      for (let r = 0; r < receives.length; r++) {
        const receive = receives[r]!;
        if (!this.#canReceive(receive, send, slot)) continue;
        if (found || receive.atoms.length > 0) return false;
        found = true;
        parts[count++] = receive;
        if (there.committed) committed = true;
      }
    }
    parts[0] = send;
    this.partCount = count;
    if (committed) this.#fire();
    return true;
  }

  /** Every automaton that can receive does. Where that depends on clocks, the zone is cut into parts in which it does not. */
  #broadcast(a: number, send: RuntimeEdge, slot: number, needsCommitted: boolean): void {
    if (this.#plainBroadcast(a, send, slot, needsCommitted)) return;
    const s = this.source;
    const receivers: RuntimeEdge[][] = [];
    for (const b of this.runtime.receivers[send.channel]!) {
      if (b === a) continue;
      const able = this.#at(b).receives.filter((receive) => this.#canReceive(receive, send, slot));
      if (able.length > 0) receivers.push(able);
    }
    const chosen: RuntimeEdge[] = [send];
    const n = this.sourceCount + 1;
    const choose = (k: number, zone: Int32Array): void => {
      if (k === receivers.length) {
        if (needsCommitted && !chosen.some(({ automaton }) => this.#at(automaton).committed)) return;
        for (let p = 0; p < chosen.length; p++) this.parts[p] = chosen[p]!;
        this.partCount = chosen.length;
        this.#base = zone;
        this.#fire();
        this.#base = this.sourceZone;
        return;
      }
      const able = receivers[k]!;
      for (const receive of able) {
        chosen.push(receive);
        choose(k + 1, zone);
        chosen.pop();
      }
      if (able.some(({ atoms }) => atoms.length === 0)) return;
      const bounds = able.map(({ atoms }) =>
        atoms.map((atom): Bound => [this.#position[atom.i]!, this.#position[atom.j]!, rawOf(atom, s)]),
      );
      const clocks = this.sourceClocks;
      for (const part of partsWithout(zone, n, bounds)) {
        const why = part.held.map(([i, j, raw]): Bound => [i === 0 ? 0 : clocks[i]!, j === 0 ? 0 : clocks[j]!, raw]);
        this.refusals.push(...why);
        choose(k + 1, part.zone);
        this.refusals.length -= why.length;
      }
    };
    choose(0, this.sourceZone);
  }

  #dataHolds(state: State): boolean {
    const { withData } = this.runtime;
    for (let k = 0; k < withData.length; k++) {
      const a = withData[k]!;
      const { data } = this.#locations[this.#first[a]! + state[a]!]!;
      if (data !== undefined && data(state) === 0) return false;
    }
    return true;
  }

  /** The move of `parts` from `#base`. */
  #fire(): void {
    const s = this.source;
    const t = this.target;
    const { parts, partCount } = this;
    let zone = this.#base;
    const n = this.sourceCount + 1;
    if (this.timed) {
      let copied = false;
      for (let p = 0; p < partCount; p++) {
        const { atoms } = parts[p]!;
        if (atoms.length === 0) continue;
        if (!copied) {
          copied = true;
          zone = this.#work;
          for (let k = 0; k < n * n; k++) zone[k] = this.#base[k]!;
        }
        for (let k = 0; k < atoms.length; k++) {
          const atom = atoms[k]!;
          if (!tighten(zone, n, this.#position[atom.i]!, this.#position[atom.j]!, rawOf(atom, s))) return;
        }
      }
    }
    for (let f = 0; f < this.#fields; f++) t[f] = s[f]!;
    for (let p = 0; p < partCount; p++) {
      const { update } = parts[p]!;
      if (update !== undefined) update(t);
    }
    for (let p = 0; p < partCount; p++) t[parts[p]!.automaton] = parts[p]!.to;
    if (!this.#dataHolds(t)) return;
    if (!this.timed) {
      this.onEnabled?.(zone);
      this.onMove();
      return;
    }
    this.#fireTimed(zone, n);
  }

  #fireTimed(start: Int32Array, n: number): void {
    const t = this.target;
    const { parts, partCount } = this;
    const resetTo = this.#resetTo;
    for (let p = 0; p < partCount; p++) for (const { clock, value } of parts[p]!.edge.resets) resetTo[clock] = value;
    let zone = start;
    if (this.onEnabled !== undefined) {
      const before = beforeInvariants(this.runtime, t, start, n, this.#position, resetTo);
      if (before !== undefined) this.onEnabled(before);
    }
    this.#activeClocks(t, "target");
    const m = this.targetCount + 1;
    const out = this.targetZone;
    const clocks = this.targetClocks;
    for (let i = 0; i < m; i++) {
      const ci = i === 0 ? 0 : clocks[i]!;
      const ri = i === 0 ? 0 : resetTo[ci]!;
      const pi = ri >= 0 ? 0 : this.#position[ci]!;
      for (let j = 0; j < m; j++) {
        const cj = j === 0 ? 0 : clocks[j]!;
        const rj = j === 0 ? 0 : resetTo[cj]!;
        const pj = rj >= 0 ? 0 : this.#position[cj]!;
        let raw = zone[pi * n + pj]!;
        if (raw !== INFINITE) {
          if (ri > 0) raw += 2 * ri;
          if (rj > 0) raw -= 2 * rj;
        }
        out[i * m + j] = raw;
      }
    }
    for (let p = 0; p < partCount; p++) for (const { clock } of parts[p]!.edge.resets) resetTo[clock] = -1;
    zone = out;
    if (!this.#addInvariants(t, zone, m, this.#targetPosition())) return;
    this.#settle();
  }

  #addInvariants(state: State, zone: Int32Array, n: number, position: Int32Array): boolean {
    const { withInvariants } = this.runtime;
    for (let k = 0; k < withInvariants.length; k++) {
      const a = withInvariants[k]!;
      const { invariants } = this.#locations[this.#first[a]! + state[a]!]!;
      for (let q = 0; q < invariants.length; q++) {
        const { when, atom } = invariants[q]!;
        if (when !== undefined && when(state) === 0) continue;
        if (!tighten(zone, n, position[atom.i]!, position[atom.j]!, rawOf(atom, state))) return false;
      }
    }
    return true;
  }

  /** Adds the invariants of `source` to a zone in its clocks. */
  addSourceInvariants(zone: Int32Array): boolean {
    return this.#addInvariants(this.source, zone, this.sourceCount + 1, this.#position);
  }

  /** Lets time pass where it may, widens the zone, hands it out. */
  #settle(): void {
    if (!this.timed) {
      this.onMove();
      return;
    }
    const t = this.target;
    const zone = this.targetZone;
    const n = this.targetCount + 1;
    if (this.timeMayPass(t)) {
      up(zone, n);
      this.#addInvariants(t, zone, n, this.#rows);
    }
    if (this.#earliest >= 0) {
      const row = this.#rows[this.#earliest]!;
      for (let j = 0; j < n; j++) if (j !== row) zone[row * n + j] = INFINITE;
    }
    if (!this.#widen) {
      this.onMove();
      return;
    }
    this.#fillBounds(t);
    if (this.#diagonals.length === 0) {
      extrapolate(zone, n, this.#lower, this.#upper);
      this.onMove();
      return;
    }
    const rows = this.#rows;
    const cuts = this.#diagonals.flatMap(({ i, j, raw }): Bound[] =>
      this.#isActive(i) && this.#isActive(j) ? [[rows[i]!, rows[j]!, raw]] : [],
    );
    for (const part of widenInParts(zone, n, this.#lower, this.#upper, cuts)) {
      zone.set(part);
      this.onMove();
    }
  }

  /** Bounds of the target's clocks, by row. */
  #fillBounds(t: State): void {
    const { clocks, lower, upper, users, always } = this.bounds;
    for (let k = 1; k <= this.targetCount; k++) {
      const c = this.targetClocks[k]!;
      let low = always.lower[c]!;
      let high = always.upper[c]!;
      const list = users[c]!;
      for (let u = 0; u < list.length; u++) {
        const a = list[u]!;
        const at = (this.#first[a]! + t[a]!) * clocks + c;
        if (lower[at]! > low) low = lower[at]!;
        if (upper[at]! > high) high = upper[at]!;
      }
      this.#lower[k] = low;
      this.#upper[k] = high;
    }
  }
}
