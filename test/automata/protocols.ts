/** Published protocols, in our own words. Time units are as named beside each. */
import type { AutomatonDescription, NetworkDescription } from "../../src/proof/index.ts";

export interface FischerOptions {
  readonly processes: number;
  /** Longest time from the request to writing one's number. */
  readonly set: number;
  /** Time to wait before looking again. */
  readonly wait: number;
  /** Waits longer than `wait`, not at least as long. */
  readonly strict: boolean;
  readonly symmetric?: boolean;
}

/** M. Fischer's mutual exclusion, as in L. Lamport, A fast mutual exclusion algorithm, ACM TOCS 5 (1987). */
export function fischer({ processes, set, wait, strict, symmetric = false }: FischerOptions): NetworkDescription {
  return {
    constants: { set, wait },
    variables: { id: { range: [0, processes], numbers: "process" } },
    automata: {
      process: {
        copies: processes,
        symmetric,
        clocks: ["x"],
        locations: { idle: {}, request: { invariant: "x <= set" }, waiting: {}, critical: {} },
        edges: [
          { from: "idle", to: "request", guard: "id = 0", reset: { x: 0 } },
          { from: "request", to: "waiting", reset: { x: 0 }, update: ["id := self"] },
          { from: "waiting", to: "critical", guard: `id = self and x ${strict ? ">" : ">="} wait` },
          { from: "waiting", to: "request", guard: "id = 0", reset: { x: 0 } },
          { from: "critical", to: "idle", update: ["id := 0"] },
        ],
      },
    },
  };
}

/** Train, gate and controller: R. Alur, D. L. Dill, A theory of timed automata, TCS 126 (1994), section 7. Minutes. */
export function trainGate(controllerDelay: number): NetworkDescription {
  return {
    constants: { delay: controllerDelay },
    clocks: ["x", "y", "z"],
    channels: { approach: { kind: "pair" }, exit: { kind: "pair" }, lower: { kind: "pair" }, raise: { kind: "pair" } },
    automata: {
      train: {
        locations: { far: {}, near: { invariant: "x <= 5" }, inside: { invariant: "x <= 5" } },
        edges: [
          { from: "far", to: "near", send: "approach", reset: { x: 0 } },
          { from: "near", to: "inside", guard: "x > 2" },
          { from: "inside", to: "far", send: "exit" },
        ],
      },
      gate: {
        locations: { up: {}, lowering: { invariant: "y <= 1" }, down: {}, raising: { invariant: "y <= 2" } },
        edges: [
          { from: "up", to: "lowering", receive: "lower", reset: { y: 0 } },
          { from: "lowering", to: "down" },
          { from: "down", to: "raising", receive: "raise", reset: { y: 0 } },
          { from: "raising", to: "up", guard: "y >= 1" },
        ],
      },
      controller: {
        locations: { idle: {}, approached: { invariant: "z <= delay" }, left: { invariant: "z <= 1" } },
        edges: [
          { from: "idle", to: "approached", receive: "approach", reset: { z: 0 } },
          { from: "approached", to: "idle", guard: "z = delay", send: "lower" },
          { from: "idle", to: "left", receive: "exit", reset: { z: 0 } },
          { from: "left", to: "idle", send: "raise" },
        ],
      },
    },
  };
}

/**
 * Carrier sense with collision detection: S. Yovine, Kronos: a verification tool for real-time systems, STTT 1 (1997); times of
 * IEEE 802.3 at 10 Mbit/s: a message takes 808 µs, the signal 26 µs along the bus. Microseconds.
 */
export function csmaCd(stations: number, propagation = 26, message = 808): NetworkDescription {
  return {
    constants: { sigma: propagation, lambda: message },
    channels: {
      begin: { kind: "pair" },
      end: { kind: "pair" },
      busy: { kind: "pair" },
      collision: { kind: "broadcast" },
    },
    automata: {
      bus: {
        clocks: ["y"],
        locations: { idle: {}, active: {}, jammed: { invariant: "y < sigma" } },
        edges: [
          { from: "idle", to: "active", receive: "begin", reset: { y: 0 } },
          { from: "active", to: "idle", receive: "end", reset: { y: 0 } },
          { from: "active", to: "active", guard: "y >= sigma", send: "busy" },
          { from: "active", to: "jammed", guard: "y < sigma", receive: "begin", reset: { y: 0 } },
          { from: "jammed", to: "idle", guard: "y < sigma", send: "collision", reset: { y: 0 } },
        ],
      },
      station: {
        copies: stations,
        clocks: ["x"],
        locations: { waiting: {}, sending: { invariant: "x <= lambda" }, retrying: { invariant: "x < 2 * sigma" } },
        edges: [
          { from: "waiting", to: "sending", send: "begin", reset: { x: 0 } },
          { from: "waiting", to: "waiting", receive: "collision", reset: { x: 0 } },
          { from: "waiting", to: "retrying", receive: "busy", reset: { x: 0 } },
          { from: "waiting", to: "retrying", receive: "collision", reset: { x: 0 } },
          { from: "sending", to: "waiting", guard: "x = lambda", send: "end", reset: { x: 0 } },
          { from: "sending", to: "retrying", guard: "x < 2 * sigma", receive: "collision", reset: { x: 0 } },
          { from: "retrying", to: "retrying", guard: "x < 2 * sigma", receive: "busy", reset: { x: 0 } },
          { from: "retrying", to: "sending", guard: "x < 2 * sigma", send: "begin", reset: { x: 0 } },
          { from: "retrying", to: "retrying", guard: "x < 2 * sigma", receive: "collision", reset: { x: 0 } },
        ],
      },
    },
  };
}

/**
 * A token ring with timed tokens (FDDI, ISO 9314-2): C. Daws, A. Olivero, S. Tripakis, S. Yovine, The tool KRONOS, Hybrid Systems III
 * (1996). Each station sends synchronously for `sa`, and asynchronously while the token comes sooner than the target rotation time.
 * Two clocks of each station measure its last two rotations in turn.
 */
export function tokenRing(stations: number, sa = 20, delay = 0): NetworkDescription {
  const target = 50 * stations;
  const automata: Record<string, AutomatonDescription> = {
    ring: {
      clocks: ["x"],
      locations: Object.fromEntries(
        Array.from({ length: stations }, (_, k) => [
          [`to${k}`, { invariant: "x <= delay" }],
          [`at${k}`, {}],
        ]).flat() as [string, object][],
      ),
      edges: Array.from({ length: stations }, (_, k) => [
        { from: `to${k}`, to: `at${k}`, guard: "x = delay", send: `token${k}` },
        { from: `at${k}`, to: `to${(k + 1) % stations}`, receive: `release${k}`, reset: { x: 0 } },
      ]).flat(),
    },
  };
  const channels: Record<string, { kind: "pair" }> = {};
  for (let k = 0; k < stations; k++) {
    channels[`token${k}`] = { kind: "pair" };
    channels[`release${k}`] = { kind: "pair" };
    // "y" measures the rotation that began with the visit before, "z" the one that begins now; then they change roles.
    const visit = (last: string, next: string, there: string) => [
      { from: `wait_${last}`, to: `send_${last}`, receive: `token${k}`, reset: { x: 0, [next]: 0 } },
      { from: `send_${last}`, to: there, guard: `x = sa and ${last} >= target`, send: `release${k}` },
      { from: `send_${last}`, to: `more_${last}`, guard: `x = sa and ${last} < target` },
      { from: `more_${last}`, to: there, send: `release${k}` },
    ];
    automata[`station${k}`] = {
      clocks: ["x", "y", "z"],
      locations: {
        wait_y: {},
        send_y: { invariant: "x <= sa" },
        more_y: { invariant: "y <= target" },
        wait_z: {},
        send_z: { invariant: "x <= sa" },
        more_z: { invariant: "z <= target" },
      },
      edges: [...visit("y", "z", "wait_z"), ...visit("z", "y", "wait_y")],
    };
  }
  return { constants: { sa, delay, target }, channels, automata };
}
