/**
 * A cell of one gripper without sensors, one clamp with both, one tray place, explored step by step of a fine clock, without automata:
 * written from docs/explanation/cycle.md. The clock ticks a quarter of 10 ms, so that what lasts less than its longest time can end
 * just before something that lasts exactly as long.
 */

import type { Cell } from "../../src/cell/model.ts";
import type { StepMotion } from "../../src/proof/index.ts";
import { cell, drive, dwell, free, go, hold, level, off, on, range, wait } from "../cycle/builders.ts";

/** Ticks of a time stated in units of 10 ms. */
const TICKS = 4;

export type Place = "raw" | "clamp";
export type Move = readonly [least: number, most: number];

export type PlainStep =
  | { readonly do: "go"; readonly to: Place; readonly time: Move }
  | { readonly do: "hold" | "free"; readonly at: Place }
  | { readonly do: "drive"; readonly on: boolean }
  | { readonly do: "dwell"; readonly time: number }
  | { readonly do: "await"; readonly signal: "open" | "closed"; readonly is: boolean; readonly limit: number };

/** Times in units of 10 ms, least below most. */
export interface PlainCell {
  readonly jaws: Move;
  readonly clamp: Move;
  /** What the clamp does while its output is on; at the start it stands at the other. */
  readonly onMeans: "open" | "closed";
  readonly scan: number;
  readonly raw: boolean;
  readonly clamped: boolean;
  readonly steps: readonly PlainStep[];
}

interface Actuator {
  at: "open" | "closed" | "moving";
  to: "open" | "closed";
  clock: number;
  /** Turned round on its way. */
  turned: boolean;
}

interface State {
  /** Step under way or next. */
  step: number;
  /** Ticks since it began; -1: not yet. */
  since: number;
  jaws: Actuator;
  clamp: Actuator;
  output: boolean;
  /** Seen levels of the feedbacks, and ticks since a change not yet seen; -1: none. */
  seen: { open: boolean; closed: boolean };
  unseen: { open: number; closed: number };
  parts: { raw: boolean; clamp: boolean; jaws: boolean };
  /** Clamp and jaws both have the part. */
  both: boolean;
  taking: Place | "";
  leaving: Place | "";
  atClamp: boolean;
}

class Trouble {
  readonly kind: string;
  constructor(kind: string) {
    this.kind = kind;
  }
}
const fail = (kind: string): never => {
  throw new Trouble(kind);
};

/** Kinds of trouble that can be met first. */
export function bruteForce(plain: PlainCell): Set<string> {
  const start: State = {
    step: 0,
    since: -1,
    jaws: { at: "open", to: "open", clock: 0, turned: false },
    clamp: standing(plain.onMeans === "open" ? "closed" : "open"),
    output: false,
    seen: { open: plain.onMeans === "closed", closed: plain.onMeans === "open" },
    unseen: { open: -1, closed: -1 },
    parts: { raw: plain.raw, clamp: plain.clamped, jaws: false },
    both: false,
    taking: "",
    leaving: "",
    atClamp: false,
  };
  const kinds = new Set<string>();
  const known = new Set<string>();
  const stack: State[] = [];
  /** A copy of a state changed; a trouble ends it. */
  const follow = (from: State, change: (state: State) => void) => {
    const next = structuredClone(from);
    try {
      change(next);
    } catch (trouble) {
      if (!(trouble instanceof Trouble)) throw trouble;
      kinds.add(trouble.kind);
      return;
    }
    const key = JSON.stringify(next);
    if (known.has(key)) return;
    known.add(key);
    stack.push(next);
  };
  follow(start, () => {});
  while (stack.length > 0) {
    const state = stack.pop()!;
    for (const one of ["jaws", "clamp"] as const)
      if (mayArrive(plain, state, one)) follow(state, (next) => arrive(plain, next, one));
    for (const signal of ["open", "closed"] as const)
      if (state.unseen[signal] >= 0)
        follow(state, (next) => {
          next.seen[signal] = next.clamp.at === signal;
          next.unseen[signal] = -1;
        });
    if (mayEnd(plain, state)) follow(state, (next) => endStep(plain, next));
    if (timeMayPass(plain, state)) follow(state, tick);
  }
  return kinds;
}

const standing = (at: "open" | "closed"): Actuator => ({ at, to: at, clock: 0, turned: false });

function mayArrive(plain: PlainCell, state: State, one: "jaws" | "clamp"): boolean {
  const { at, clock, turned } = state[one];
  return at === "moving" && (turned || clock >= plain[one][0] * TICKS);
}

/** The longest time itself is not reached: it is over before whatever lasts exactly as long. */
function timeMayPass(plain: PlainCell, state: State): boolean {
  for (const one of ["jaws", "clamp"] as const)
    if (state[one].at === "moving" && state[one].clock >= plain[one][1] * TICKS - 1) return false;
  for (const signal of ["open", "closed"] as const) if (state.unseen[signal] >= plain.scan * TICKS) return false;
  const step = plain.steps[state.step];
  if (step === undefined || state.since < 0) return true;
  if (step.do === "go") return state.since < step.time[1] * TICKS;
  if (step.do === "dwell") return state.since < step.time * TICKS;
  if (step.do === "await") return state.seen[step.signal] !== step.is && state.since < step.limit * TICKS;
  return true;
}

function tick(state: State): void {
  if (state.jaws.at === "moving") state.jaws.clock++;
  if (state.clamp.at === "moving") state.clamp.clock++;
  for (const signal of ["open", "closed"] as const) if (state.unseen[signal] >= 0) state.unseen[signal]++;
  if (state.since >= 0) state.since++;
}

/** Whether the step under way can be over; before the first, power has just come. */
function mayEnd(plain: PlainCell, state: State): boolean {
  const step = plain.steps[state.step];
  if (step === undefined) return false;
  if (state.since < 0) return true;
  if (step.do === "go") return state.since >= step.time[0] * TICKS;
  if (step.do === "dwell") return state.since >= step.time * TICKS;
  return step.do === "await" && (state.seen[step.signal] === step.is || state.since >= step.limit * TICKS);
}

/** Ends the step under way, then does all that takes no time up to the next that does. */
function endStep(plain: PlainCell, state: State): void {
  if (state.since >= 0) {
    const over = plain.steps[state.step]!;
    if (over.do === "go") state.atClamp = over.to === "clamp";
    if (over.do === "await") {
      if (state.seen[over.signal] !== over.is) fail("limit-passed");
      if ((state.clamp.at === over.signal) !== over.is) fail("stale-input");
    }
    state.step++;
  }
  state.since = -1;
  for (; state.step < plain.steps.length; state.step++) {
    const step = plain.steps[state.step]!;
    switch (step.do) {
      case "go":
        if (state.both) fail("moved-while-both-hold");
        if (state.jaws.at === "moving") fail("moved-before-jaws");
        if (state.atClamp && state.clamp.at === "moving") fail("moved-before-clamp");
        state.atClamp = false;
        state.since = 0;
        return;
      case "dwell":
      case "await":
        state.since = 0;
        return;
      case "drive":
        if (step.on !== state.output) {
          state.output = step.on;
          send(plain, state, "clamp", step.on === (plain.onMeans === "open") ? "open" : "closed");
        }
        break;
      case "hold":
        if (state.jaws.to === "closed") fail("hold-already-closed");
        state.taking = step.at;
        state.leaving = "";
        send(plain, state, "jaws", "closed");
        break;
      case "free":
        if (state.jaws.to === "open") fail("free-already-open");
        state.leaving = step.at;
        state.taking = "";
        send(plain, state, "jaws", "open");
    }
  }
}

function send(plain: PlainCell, state: State, one: "jaws" | "clamp", to: "open" | "closed"): void {
  const actuator = state[one];
  const from = actuator.at;
  Object.assign(actuator, { at: "moving", to, clock: 0, turned: from === "moving" });
  if (from === "moving") return;
  if (one === "clamp") {
    if (from === "closed") unclamp(state);
    changed(plain, state, from);
  } else if (from === "closed") letGo(state);
}

/** The jaws begin to open. */
function letGo(state: State): void {
  const { leaving, parts, clamp, both } = state;
  if (!parts.jaws) fail("free-nothing");
  if (leaving === "raw") {
    if (parts.raw) fail("place-occupied");
    parts.raw = true;
  } else {
    if (parts.clamp && !both) fail("place-occupied");
    if (clamp.at !== "closed") fail(clamp.to === "closed" ? "freed-before-clamped" : "freed-unclamped");
    parts.clamp = true;
  }
  parts.jaws = false;
  state.both = false;
  state.leaving = "";
}

/** The clamp begins to open; its place lies on its side, so that nothing stays there by itself. */
function unclamp({ parts, both, taking }: State): void {
  if (!parts.clamp || both) return;
  fail(taking === "clamp" ? "unclamped-before-held" : "released-unheld");
}

function arrive(plain: PlainCell, state: State, one: "jaws" | "clamp"): void {
  const actuator = state[one];
  const { to } = actuator;
  Object.assign(actuator, { at: to, clock: 0, turned: false });
  const { parts } = state;
  if (one === "jaws") {
    if (to === "closed" && state.taking !== "") {
      const from = state.taking;
      if (!parts[from]) fail("hold-nothing");
      parts.jaws = true;
      if (from === "clamp" && state.clamp.at !== "open") state.both = true;
      else parts[from] = false;
      state.taking = "";
    }
    return;
  }
  if (to === "closed" && !parts.clamp && state.atClamp && parts.jaws && state.jaws.at === "closed") {
    parts.clamp = true;
    state.both = true;
  }
  if (to === "open" && state.both) {
    state.both = false;
    parts.clamp = false;
  }
  changed(plain, state, to);
}

/** A feedback of the clamp has changed: seen within a scan; back before it was seen, nothing was. */
function changed(plain: PlainCell, state: State, signal: "open" | "closed"): void {
  if (plain.scan === 0) state.seen[signal] = state.clamp.at === signal;
  else state.unseen[signal] = state.unseen[signal] >= 0 ? -1 : 0;
}

const SECONDS = 0.01;
const times = ([least, most]: Move) => range(least * SECONDS, most * SECONDS);
const nameOf = (place: Place): string => (place === "raw" ? "raw" : "m.clamp");
/** z level: a part falls out of it. */
const LYING = Float64Array.from([0, 0, 1, 0, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 0, 1]);

/** The same as a cell file would have it. */
export function asCell(plain: PlainCell): { readonly cell: Cell; readonly motions: ReadonlyMap<string, StepMotion> } {
  const made = cell({
    scan: plain.scan * SECONDS,
    grippers: [
      { device: { name: "grip", start: "open", command: level("grip", "closed", "open"), time: times(plain.jaws) } },
    ],
    machines: [
      {
        name: "m",
        devices: [
          {
            name: "m.clamp",
            start: plain.onMeans === "open" ? "closed" : "open",
            command: level("out", plain.onMeans, plain.onMeans === "open" ? "closed" : "open"),
            time: times(plain.clamp),
            feedback: { open: "open", closed: "closed" },
            clamps: "closed",
          },
        ],
        processes: [],
      },
    ],
    holders: [
      { name: "raw", ...(plain.raw ? { start: "part" } : {}) },
      { name: "m.clamp", device: "m.clamp", ...(plain.clamped ? { start: "part" } : {}) },
    ],
    inputs: ["open", "closed"],
    outputs: ["grip", "out"],
    routines: {
      main: plain.steps.map((step): ReturnType<typeof go> => {
        switch (step.do) {
          case "go":
            return go(nameOf(step.to));
          case "hold":
            return hold("grip", nameOf(step.at));
          case "free":
            return free("grip", nameOf(step.at));
          case "drive":
            return drive("out", step.on);
          case "dwell":
            return dwell(step.time * SECONDS);
          default:
            return wait(step.is ? on(step.signal) : off(step.signal), { limit: step.limit * SECONDS });
        }
      }),
    },
  });
  const clamp = made.holders.get("m.clamp")!;
  const holders = new Map(made.holders);
  holders.set("m.clamp", { ...clamp, places: clamp.places.map((place) => ({ ...place, worldFromPlace: LYING })) });
  const motions = new Map<string, StepMotion>();
  for (const [i, step] of plain.steps.entries())
    if (step.do === "go")
      motions.set(`main[${i}]`, {
        shortest: step.time[0] * SECONDS,
        longest: step.time[1] * SECONDS,
        zones: [],
        endZones: [],
      });
  return { cell: { ...made, holders, locate: (path) => made.locate(path) }, motions };
}
