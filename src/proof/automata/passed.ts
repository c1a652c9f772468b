/**
 * Symbolic states seen and waiting in one list: nodes numbered in the order in which they came, which is the order of a
 * breadth-first search. The zones of one discrete state hang together in a chain.
 */
import { isWithin } from "./dbm.ts";
import type { Stepper } from "./stepper.ts";
import { type Budget, Row, StateTable } from "./store.ts";

export class Passed {
  readonly states: StateTable;
  readonly #stepper: Stepper;
  readonly #zones: Row;
  /** Per node: discrete state, first integer of the zone (-1 when given up), node it came from, which of its moves, next in chain. */
  readonly #state: Row;
  readonly #zone: Row;
  readonly #parent: Row;
  readonly #ordinal: Row;
  readonly #next: Row;
  /** First node of each discrete state. */
  readonly #head: Row;
  readonly #timed: boolean;
  /** Places of zones given up, by size. */
  readonly #spare = new Map<number, number[]>();
  count = 0;
  /** Discrete state of the zone added last, whether or not it was new. */
  lastState = -1;
  /** Nodes from here on belong to the level that is being found. */
  level = 0;

  constructor(stepper: Stepper, budget: Budget) {
    this.#stepper = stepper;
    this.#timed = stepper.timed;
    this.states = new StateTable(stepper.runtime.network.fields, budget);
    const few = this.#timed ? 1024 : 1;
    this.#zones = new Row(budget, few);
    this.#state = new Row(budget, few);
    this.#zone = new Row(budget, few);
    this.#next = new Row(budget, few);
    this.#head = new Row(budget, few);
    this.#parent = new Row(budget);
    this.#ordinal = new Row(budget);
  }

  /**
   * Adds the target of the stepper's move unless a zone that has all of it is there.
   * @param equal only the same zone counts as there
   * @returns number of the node, or -1 - (the node that has it)
   */
  add(parent: number, ordinal: number, equal = false): number {
    const stepper = this.#stepper;
    const before = this.states.count;
    const state = this.states.add(stepper.target);
    this.lastState = state;
    const isNew = this.states.count > before;
    if (!this.#timed) {
      if (!isNew) return -1 - state;
      this.#parent.push(parent);
      this.#ordinal.push(ordinal);
      return this.count++;
    }
    if (isNew) this.#head.push(-1);
    const size = (stepper.targetCount + 1) ** 2;
    const zone = stepper.targetZone;
    const chain = this.#next;
    let last = -1;
    for (let node = this.#head.data[state]!; node >= 0; ) {
      const at = this.#zone.data[node]!;
      const pool = this.#zones.data;
      const next = chain.data[node]!;
      const smaller = isWithin(zone, pool, size, 0, at);
      if (equal ? smaller && isWithin(pool, zone, size, at, 0) : smaller) return -1 - node;
      if (!equal && isWithin(pool, zone, size, at, 0)) {
        // The new zone takes its place; where it is no farther from the start, also among those waiting.
        if (last < 0) this.#head.data[state] = next;
        else chain.data[last] = next;
        if (node >= this.level) this.#giveUp(node, size);
      } else last = node;
      node = next;
    }
    const node = this.count;
    this.#state.push(state);
    this.#zone.push(this.#keep(zone, size));
    this.#parent.push(parent);
    this.#ordinal.push(ordinal);
    chain.push(this.#head.data[state]!);
    this.#head.data[state] = node;
    this.count++;
    return node;
  }

  #keep(zone: Int32Array, size: number): number {
    const spare = this.#spare.get(size)?.pop();
    const zones = this.#zones;
    const at = spare ?? zones.length;
    if (spare === undefined) {
      zones.reserve(size);
      zones.length += size;
    }
    const { data } = zones;
    for (let k = 0; k < size; k++) data[at + k] = zone[k]!;
    return at;
  }

  #giveUp(node: number, size: number): void {
    const list = this.#spare.get(size) ?? [];
    list.push(this.#zone.data[node]!);
    this.#spare.set(size, list);
    this.#zone.data[node] = -1;
  }

  /** Loads a node into the stepper as its source. @returns false for one that another has taken the place of */
  load(node: number): boolean {
    const stepper = this.#stepper;
    if (!this.#timed) {
      this.states.read(node, stepper.source);
      return true;
    }
    const at = this.#zone.data[node]!;
    if (at < 0) return false;
    this.states.read(this.#state.data[node]!, stepper.source);
    stepper.loadClocks();
    const size = (stepper.sourceCount + 1) ** 2;
    const pool = this.#zones.data;
    const zone = stepper.sourceZone;
    for (let k = 0; k < size; k++) zone[k] = pool[at + k]!;
    return true;
  }

  stateOf(node: number): number {
    return this.#timed ? this.#state.data[node]! : node;
  }

  parentOf(node: number): number {
    return this.#parent.data[node]!;
  }

  /** Which move of its parent leads to a node. */
  ordinalOf(node: number): number {
    return this.#ordinal.data[node]!;
  }

  /** Which moves lead to a node, from the start: numbers of the moves in the order in which the stepper finds them. */
  wayTo(node: number): number[] {
    const out: number[] = [];
    for (let at = node; at >= 0; at = this.#parent.data[at]!) out.push(this.#ordinal.data[at]!);
    return out.reverse();
  }
}
