/**
 * Symmetric copies: of all states that differ only in which copy is which, one is kept. Copies are put in the order of their location,
 * their variables, what refers to them, and their clocks; ties are left as they are, which only keeps a few states more.
 */
import type { Runtime, RuntimeEdge } from "./compile.ts";
import type { Network } from "./network.ts";
import type { State } from "./node.ts";
import type { PathStep } from "./path.ts";
import type { Stepper } from "./stepper.ts";

interface Group {
  readonly automata: readonly number[];
  /** Fields of each copy's variables, in the same order; clocks likewise. */
  readonly fields: readonly (readonly number[])[];
  /** Whether a field holds copy numbers of this group. */
  readonly isNumber: readonly boolean[];
  readonly clocks: readonly (readonly number[])[];
  /** Fields outside the copies, and inside, that hold copy numbers of this group. */
  readonly sharedNumbers: readonly number[];
  readonly allNumbers: readonly number[];
}

export class Symmetry {
  readonly #groups: readonly Group[];
  readonly #state: State;
  readonly #oldClock: Int32Array;
  /** Which automaton, before `apply`, each is that stands there after it. */
  readonly cameFrom: Int32Array;

  constructor(network: Network, clocks: number) {
    this.#groups = network.groups.map(({ described, automata }) => {
      const elements = (base: number, size: number | undefined) =>
        Array.from({ length: size ?? 1 }, (_, k) => base + k);
      const own = (a: number) => network.variables.filter(({ owner }) => owner === a);
      const numbers = network.variables.filter(({ numbers: of }) => of === described);
      return {
        automata,
        fields: automata.map((a) => own(a).flatMap(({ base, size }) => elements(base, size))),
        isNumber: own(automata[0]!).flatMap(({ base, size, numbers: of }) =>
          elements(base, size).map(() => of === described),
        ),
        clocks: automata.map((a) => network.clockOwners.flatMap((owner, clock) => (owner === a ? [clock] : []))),
        sharedNumbers: numbers
          .filter(({ owner }) => owner === undefined || !automata.includes(owner))
          .flatMap(({ base, size }) => elements(base, size)),
        allNumbers: numbers.flatMap(({ base, size }) => elements(base, size)),
      };
    });
    this.#state = new Int32Array(network.fields.length);
    this.#oldClock = new Int32Array(clocks);
    this.cameFrom = new Int32Array(network.automata.length);
  }

  /** Puts the copies of a stepper's target into their order. */
  apply(stepper: Stepper): void {
    for (let a = 0; a < this.cameFrom.length; a++) this.cameFrom[a] = a;
    for (const group of this.#groups) this.#sort(group, stepper);
  }

  #sort(group: Group, stepper: Stepper): void {
    const { automata, fields, clocks, allNumbers } = group;
    const count = automata.length;
    const order = automata.map((_, k) => k);
    order.sort((a, b) => this.#compare(group, stepper, a, b) || a - b);
    if (order.every((copy, k) => copy === k)) return;
    const t = stepper.target;
    const next = this.#state;
    next.set(t);
    const placeOf = new Int32Array(count);
    for (let k = 0; k < count; k++) {
      const copy = order[k]!;
      placeOf[copy] = k;
      next[automata[k]!] = t[automata[copy]!]!;
      for (let f = 0; f < fields[k]!.length; f++) next[fields[k]![f]!] = t[fields[copy]![f]!]!;
    }
    for (const field of allNumbers) if (next[field]! > 0) next[field] = placeOf[next[field]! - 1]! + 1;
    const old = this.#oldClock;
    for (let c = 0; c < old.length; c++) old[c] = c;
    for (let k = 0; k < count; k++)
      for (let c = 0; c < clocks[k]!.length; c++) old[clocks[k]![c]!] = clocks[order[k]!]![c]!;
    stepper.exchange(next, old);
    const before = this.cameFrom.slice();
    for (let k = 0; k < count; k++) this.cameFrom[automata[k]!] = before[automata[order[k]!]!]!;
  }

  #compare(
    { automata, fields, isNumber, clocks, sharedNumbers }: Group,
    stepper: Stepper,
    a: number,
    b: number,
  ): number {
    const t = stepper.target;
    let difference = t[automata[a]!]! - t[automata[b]!]!;
    if (difference !== 0) return difference;
    for (let f = 0; f < isNumber.length; f++) {
      const [va, vb] = [t[fields[a]![f]!]!, t[fields[b]![f]!]!];
      // Numbers mean nothing by themselves: only whether there is one, and whether it is the copy's own.
      difference = isNumber[f] ? kindOfNumber(va, a) - kindOfNumber(vb, b) : va - vb;
      if (difference !== 0) return difference;
    }
    for (const field of sharedNumbers) {
      difference = Number(t[field] === a + 1) - Number(t[field] === b + 1);
      if (difference !== 0) return difference;
    }
    for (let c = 0; c < clocks[a]!.length; c++) {
      difference = stepper.targetBound(clocks[a]![c]!, true) - stepper.targetBound(clocks[b]![c]!, true);
      if (difference !== 0) return difference;
      difference = stepper.targetBound(clocks[a]![c]!, false) - stepper.targetBound(clocks[b]![c]!, false);
      if (difference !== 0) return difference;
    }
    return 0;
  }

  /**
   * A step of a walk through states in order, as the copies do it that really take part.
   * @param actual which automaton each one really is
   */
  unordered(step: PathStep, actual: Int32Array, runtime: Runtime): PathStep {
    const { network, locations, firstLocation } = runtime;
    const state = step.state.slice();
    const clockOf = new Map<number, number>();
    const numberOf = new Map<Group, Int32Array>();
    for (const group of this.#groups) {
      const { automata, fields, clocks } = group;
      const numbers = new Int32Array(automata.length + 1);
      for (const [k, a] of automata.entries()) {
        const real = automata.indexOf(actual[a]!);
        numbers[k + 1] = real + 1;
        state[automata[real]!] = step.state[a]!;
        for (const [f, field] of fields[k]!.entries()) state[fields[real]![f]!] = step.state[field]!;
        for (const [c, clock] of clocks[k]!.entries()) clockOf.set(clock, clocks[real]![c]!);
      }
      numberOf.set(group, numbers);
    }
    for (const [group, numbers] of numberOf)
      for (const field of group.allNumbers) state[field] = numbers[state[field]!]!;
    const parts = step.parts.map((part): RuntimeEdge => {
      const real = actual[part.automaton]!;
      if (real === part.automaton) return part;
      const here = locations[firstLocation[part.automaton]! + part.edge.from]!;
      const there = locations[firstLocation[real]! + part.edge.from]!;
      for (const list of ["internal", "sends", "receives"] as const) {
        const at = here[list].indexOf(part);
        if (at >= 0) return there[list][at]!;
      }
      throw new Error(`unordered: ${network.automata[real]!.name} has no such edge`);
    });
    // Receivers of a broadcast stand in the order of the automata.
    const [first, ...receivers] = parts;
    receivers.sort((a, b) => a.automaton - b.automaton);
    const refusals = step.refusals.map(
      ([i, j, raw]) => [clockOf.get(i) ?? i, clockOf.get(j) ?? j, raw] as [number, number, number],
    );
    return { ...step, parts: first === undefined ? [] : [first, ...receivers], refusals, state };
  }
}

const kindOfNumber = (value: number, copy: number): number => (value === 0 ? 0 : value === copy + 1 ? 2 : 1);
