/** Puts a network together piece by piece, with names that the formulas of a network accept. */
import type {
  AutomatonDescription,
  ChannelDescription,
  EdgeDescription,
  LocationDescription,
  NetworkDescription,
  VariableDescription,
} from "../automata/model.ts";

/** What an edge means in the cell: shown in counterexamples. */
export type TendingEvent =
  | { readonly kind: "step"; readonly stepId: string; readonly what: "begins" | "ends" }
  | { readonly kind: "signal"; readonly signal: string; readonly level: boolean; readonly seen: boolean }
  | { readonly kind: "device"; readonly device: string; readonly position: string; readonly what: "leaves" | "reaches" }
  | { readonly kind: "process"; readonly process: string; readonly what: "begins" | "ends" | "is refused" }
  | { readonly kind: "part"; readonly holder: string; readonly what: "held" | "let go" | "clamped" | "released" }
  | { readonly kind: "pass"; readonly stepId: string }
  | { readonly kind: "stop"; readonly stepId: string; readonly message: string }
  | { readonly kind: "end" }
  /** The supposed fault happens; the arm goes on after a stop. */
  | { readonly kind: "fault" }
  | { readonly kind: "restart"; readonly stepId: string | undefined }
  | { readonly kind: "trouble"; readonly trouble: number };

/** One thing done without time passing: all of it together. */
export interface Action {
  readonly guard?: string;
  readonly send?: string;
  readonly receive?: string;
  readonly update?: readonly string[];
  readonly reset?: readonly string[];
  readonly events?: readonly TendingEvent[];
  /** Where it leads instead of to the next. */
  readonly to?: string;
  /** Of a trouble: what happens while nobody watches, see `NetworkWriter.watchedWhile`. */
  readonly instead?: Action;
}

export class NetworkWriter {
  readonly #taken = new Set<string>();
  readonly #variables: Record<string, VariableDescription> = {};
  readonly #channels: Record<string, ChannelDescription> = {};
  readonly #clocks: string[] = [];
  readonly #automata: Record<string, AutomatonDescription> = {};
  readonly #settling = this.variable("still", "settling", 100);
  /** Condition under which troubles are met; while it does not hold they take their course. Undefined: always. */
  watchedWhile: string | undefined;
  /** What the edge with a label means. */
  readonly events = new Map<string, readonly TendingEvent[]>();

  /** A name for formulas made from a name of the cell: "lathe.door" with "at" becomes "at_lathe_door". */
  name(kind: string, of: string): string {
    const plain = `${kind}_${of.replace(/[^A-Za-z0-9]+/g, "_")}`;
    let name = plain;
    for (let n = 2; this.#taken.has(name); n++) name = `${plain}_${n}`;
    this.#taken.add(name);
    return name;
  }

  /** A variable from 0 to `most`. */
  variable(kind: string, of: string, most: number, start = 0): string {
    const name = this.name(kind, of);
    this.#variables[name] = { range: [0, Math.max(1, most)], start };
    return name;
  }

  channel(kind: string, of: string, urgent = false): string {
    const name = this.name(kind, of);
    this.#channels[name] = { kind: "broadcast", urgent };
    return name;
  }

  clock(kind: string, of: string): string {
    const name = this.name(kind, of);
    this.#clocks.push(name);
    return name;
  }

  /** @param patient waits at its instants until no other automaton is in a chain of instants */
  automaton(kind: string, of: string, patient = false): AutomatonWriter {
    return new AutomatonWriter(this, this.name(kind, of), this.#settling, patient);
  }

  label(events: readonly TendingEvent[] | undefined): string | undefined {
    if (events === undefined || events.length === 0) return undefined;
    const label = `e${this.events.size}`;
    this.events.set(label, events);
    return label;
  }

  add(name: string, automaton: AutomatonDescription): void {
    this.#automata[name] = automaton;
  }

  finish(name: string): NetworkDescription {
    return {
      name,
      variables: this.#variables,
      clocks: this.#clocks,
      channels: this.#channels,
      automata: this.#automata,
    };
  }
}

/** Where an automaton goes that has met a trouble: nothing happens any more. */
export const DEAD_END = "trouble";

export class AutomatonWriter {
  readonly name: string;
  readonly #writer: NetworkWriter;
  readonly #locations: Record<string, LocationDescription> = {};
  readonly #edges: EdgeDescription[] = [];
  #count = 0;
  /** Counts the chains of instants under way in other automata. */
  readonly #settling: string;
  /** Waits at its instants until the others are through theirs: what it does next must find them ready. */
  readonly #patient: boolean;

  constructor(writer: NetworkWriter, name: string, settling: string, patient: boolean) {
    this.#writer = writer;
    this.name = name;
    this.#settling = settling;
    this.#patient = patient;
    this.#locations[DEAD_END] = { kind: "committed" };
  }

  location(name: string, invariant?: string): string {
    this.#locations[name] = invariant === undefined ? {} : { invariant };
    return name;
  }

  /** A location that is left at once. */
  instant(name = `i${this.#count++}`): string {
    this.#locations[name] = { kind: "committed" };
    return name;
  }

  edge(from: string, to: string, action: Action = {}): void {
    const watched = this.#writer.watchedWhile;
    if (watched === undefined || action.to !== DEAD_END) {
      this.#edge(from, to, action);
      return;
    }
    const { instead = {}, guard } = action;
    this.#edge(from, to, { ...action, guard: both(watched, guard)! });
    const { to: _to, update: _update, events: _events, instead: _instead, ...given } = action;
    this.#edge(from, to, { ...instead, ...given, guard: both(notThat(watched), guard)! });
  }

  #edge(from: string, to: string, action: Action): void {
    const { send, receive, reset, events } = action;
    // After a trouble the arm waits for ever: what it would do next is no trouble of its own.
    const update =
      action.to === DEAD_END && !this.#patient
        ? [...(action.update ?? []), `${this.#settling} := ${this.#settling} + 1`]
        : action.update;
    const guard =
      this.#patient && this.#locations[from]?.kind === "committed"
        ? both(`${this.#settling} = 0`, action.guard)
        : action.guard;
    const label = this.#writer.label(events);
    this.#edges.push({
      from,
      to: action.to ?? to,
      ...(guard === undefined ? {} : { guard }),
      ...(send === undefined ? {} : { send }),
      ...(receive === undefined ? {} : { receive }),
      ...(update === undefined || update.length === 0 ? {} : { update }),
      ...(reset === undefined || reset.length === 0
        ? {}
        : { reset: Object.fromEntries(reset.map((clock) => [clock, 0])) }),
      ...(label === undefined ? {} : { label }),
    });
  }

  /** Edges through instants, one alternative of each list after the other; the first may start at a place where time passes. */
  chain(from: string, to: string, stages: readonly (readonly Action[])[]): void {
    let at = from;
    const real = stages.filter((stage) => stage.length > 0);
    const counts = real.length > 1 && !this.#patient;
    for (const [i, stage] of real.entries()) {
      const last = i === real.length - 1;
      const next = last ? to : this.instant();
      const count = !counts
        ? []
        : i === 0
          ? [`${this.#settling} := ${this.#settling} + 1`]
          : last
            ? [`${this.#settling} := ${this.#settling} - 1`]
            : [];
      for (const action of stage) this.edge(at, next, count.length === 0 ? action : counted(action, count));
      at = next;
    }
    if (real.length === 0) this.edge(from, to);
  }

  done(start: string): void {
    this.#writer.add(this.name, { start, locations: this.#locations, edges: this.#edges });
  }
}

const counted = (action: Action, count: readonly string[]): Action => ({
  ...action,
  update: [...(action.update ?? []), ...count],
  ...(action.instead === undefined ? {} : { instead: counted(action.instead, count) }),
});

/** Conditions joined; undefined for none. */
export const both = (...parts: readonly (string | undefined)[]): string | undefined => {
  const given = parts.filter((part) => part !== undefined);
  return given.length === 0 ? undefined : given.map((part) => `(${part})`).join(" and ");
};
export const either = (parts: readonly string[]): string =>
  parts.length === 0 ? "false" : parts.map((part) => `(${part})`).join(" or ");
export const notThat = (part: string): string => `not (${part})`;
