/**
 * The network of a cell that is stopped once, in any step, at any moment, and then run through the procedure of that step by a person
 * at its controls. It begins as the cell does, so that every state in which the stop can find the cell is met, with all its times.
 */
import type { Cell } from "../../cell/model.ts";
import type { DriveStep, DwellStep, GoStep, PulseStep } from "../../cell/steps.ts";
import type { MoreOfArm } from "../tending/arm.ts";
import { forced } from "../tending/arm.ts";
import type { Flow, FlowNode } from "../tending/flow.ts";
import { type Ground, longest } from "../tending/ground.ts";
import { type Action, both, either, notThat } from "../tending/network-writer.ts";
import { type Translation, translate } from "../tending/translate.ts";
import type { StepMotion } from "../tending/types.ts";
import { truthOf } from "./facts.ts";
import type { Answer, RecoveryLine, StopCause } from "./types.ts";

export interface StopNetwork {
  readonly translation: Translation;
  readonly ground: Ground;
  /** Variable: number of the step that was stopped, from 1; 0 before, and once the routine runs again. */
  readonly stopped: string;
  /** Variable: 1 from the stop on, also once the routine runs again. */
  readonly recovering: string;
  /** Variable: what is not as it has to be, by the number of its sentence, from 1. */
  readonly undone: string;
  readonly sentences: readonly string[];
  /** Variable: 1 when trained people have been called. */
  readonly called: string;
  /** Location at which a step's lines have been done, when they do not restart the routine. */
  readonly endOf: (step: number) => string;
}

export type StopNetworkOutcome =
  | { readonly ok: true; readonly made: StopNetwork }
  | { readonly ok: false; readonly reason: string };

/**
 * @param steps ids, in the order of their numbers @param linesOf lines of each
 */
export function stopNetwork(
  cell: Cell,
  variant: string,
  motions: ReadonlyMap<string, StepMotion>,
  cause: StopCause,
  steps: readonly string[],
  linesOf: (stepId: string) => readonly RecoveryLine[],
): StopNetworkOutcome {
  let writer: StopWriter | undefined;
  const outcome = translate(cell, {
    variant,
    motions,
    more: (ground, flow) => {
      writer = new StopWriter(ground, flow, cause, steps);
      return writer.write(linesOf);
    },
  });
  if (!outcome.ok) return { ok: false, reason: outcome.reason };
  return { ok: true, made: writer!.made(outcome.translation) };
}

/** Longest time in which every actuator comes to rest, s. */
export function restTime(ground: Ground): number {
  const times = [...ground.devices.values()].flatMap(({ device }) => [...device.time.values()].map(({ max }) => max));
  return Math.max(0, ...times) + ground.cell.controller.scan;
}

/** The position of a device when nothing but power is on. */
export function positionAtStart(ground: Ground, name: string): string {
  const { device } = ground.device(name);
  const { command, start } = device;
  const initial = (signal: string) => ground.cell.signals.get(signal)?.initial === true;
  if (command.style === "level") return initial(command.signal) ? command.on : command.off;
  if (command.style !== "pair") return start;
  const on = [...command.signals].filter(([, signal]) => initial(signal));
  return on.length === 1 ? on[0]![0] : start;
}

class StopWriter {
  readonly #ground: Ground;
  readonly #flow: Flow;
  readonly #cause: StopCause;
  readonly #steps: readonly string[];
  readonly #nodes: FlowNode[] = [];
  readonly #motions = new Map<string, StepMotion>();
  readonly #sentences: string[] = [];
  readonly #answers = new Map<number, string>();
  readonly #stopped: string;
  readonly #recovering: string;
  readonly #undone: string;
  readonly #called: string;
  /** First node of each step's procedure. */
  readonly #first: number[] = [];
  #count = 0;

  constructor(ground: Ground, flow: Flow, cause: StopCause, steps: readonly string[]) {
    this.#ground = ground;
    this.#flow = flow;
    this.#cause = cause;
    this.#steps = steps;
    const { writer } = ground;
    this.#stopped = writer.variable("stopped", "in", steps.length);
    this.#recovering = writer.variable("recovery", "begun", 1);
    this.#undone = writer.variable("recovery", "undone", 10_000);
    this.#called = writer.variable("trained", "called", 1);
  }

  write(linesOf: (stepId: string) => readonly RecoveryLine[]) {
    const all = this.#steps.map(linesOf);
    for (const line of all.flat())
      if ((line.kind === "ask" || line.kind === "read") && !this.#answers.has(line.number))
        this.#answers.set(line.number, this.#ground.writer.variable("answer", String(line.number), 1));
    for (const [k, lines] of all.entries()) this.#first[k] = this.#procedure(k, lines);
    return {
      watchedWhile: `${this.#recovering} = 1`,
      nodes: this.#nodes,
      motions: this.#motions,
      arm: this.#stops,
    };
  }

  made(translation: Translation): StopNetwork {
    return {
      translation,
      ground: this.#ground,
      stopped: this.#stopped,
      recovering: this.#recovering,
      undone: this.#undone,
      sentences: this.#sentences,
      called: this.#called,
      endOf,
    };
  }

  #add(node: FlowNode): number {
    this.#nodes.push(node);
    return this.#flow.nodes.length + this.#nodes.length - 1;
  }

  /** The stop at any moment of any step, and right before and after those that take no time. */
  readonly #stops: MoreOfArm = (arm, inStep, at) => {
    const number = new Map(this.#steps.map((id, k) => [id, k]));
    const lost = this.#cause === "power lost";
    const stop = (k: number): Action => ({
      guard: both(`${this.#stopped} = 0`, `${this.#recovering} = 0`)!,
      update: [`${this.#stopped} := ${k + 1}`, ...(lost ? [] : [`${this.#recovering} := 1`])],
      events: [{ kind: "fault" }],
    });
    const to = (k: number) => (lost ? "recovery_dark" : at(this.#first[k]!));
    for (const [location, { node, stepId, pulse }] of inStep) {
      const k = number.get(stepId);
      if (k === undefined || node >= this.#flow.nodes.length) continue;
      arm.edge(location, to(k), stop(k));
      if (lost || pulse === undefined) continue;
      // The stop may take the level from an output that is on for a time.
      const { level, fall, pulsed } = pulse;
      const action = stop(k);
      arm.edge(location, to(k), {
        ...action,
        guard: both(action.guard, `${level} = 1`)!,
        send: fall,
        update: [...action.update!, `${level} := 0`, ...(pulsed === undefined ? [] : [`${pulsed.fell} := 1`])],
        reset: pulsed === undefined ? [] : [pulsed.sinceFall],
      });
    }
    for (const [id, node] of this.#flow.nodes.entries()) {
      if (node.kind !== "step") continue;
      const k = number.get(node.step.id);
      if (k === undefined) continue;
      arm.edge(at(id), to(k), stop(k));
      if (node.step.kind === "drive" || node.step.kind === "hold" || node.step.kind === "free")
        arm.edge(at(node.next), to(k), stop(k));
    }
    if (!lost) return;
    const ground = this.#ground;
    const clock = ground.writer.clock("dark", "time");
    const outputs = [...ground.outputs.keys()];
    arm.instant("recovery_dark");
    arm.location("recovery_unlit", `${clock} <= ${longest(restTime(ground))}`);
    arm.instant("recovery_lit");
    arm.chain("recovery_dark", "recovery_unlit", [
      ...outputs.map((signal) => forced(ground, signal, false)),
      [{ reset: [clock] }],
    ]);
    const initial = outputs.filter((signal) => ground.cell.signals.get(signal)!.initial);
    arm.chain("recovery_unlit", "recovery_lit", [
      [{ guard: `${clock} >= ${longest(restTime(ground))}` }],
      ...initial.map((signal) => forced(ground, signal, true)),
    ]);
    for (const k of this.#steps.keys())
      arm.edge("recovery_lit", at(this.#first[k]!), {
        guard: `${this.#stopped} = ${k + 1}`,
        update: [`${this.#recovering} := 1`],
      });
  };

  #procedure(k: number, lines: readonly RecoveryLine[]): number {
    const restarts = lines.at(-1)?.kind === "restart";
    const body = restarts ? lines.slice(0, -1) : lines;
    const end = restarts
      ? this.#restart()
      : this.#add({
          kind: "added",
          write: (arm, here) => {
            arm.location(endOf(k));
            arm.edge(here, endOf(k));
          },
        });
    return body.reduceRight((next, line) => {
      const first = this.#line(k, line, next);
      return line.only === undefined || line.only.length === 0 ? first : this.#branch(line.only, first, next);
    }, end);
  }

  #branch(only: readonly Answer[], yes: number, no: number): number {
    const given = both(...only.map(({ question, is }) => `${this.#answer(question)} = ${is ? 1 : 0}`))!;
    return this.#add({
      kind: "added",
      write: (arm, here, at) => {
        arm.edge(here, at(yes), { guard: given });
        arm.edge(here, at(no), { guard: notThat(given) });
      },
    });
  }

  #answer(number: number): string {
    return this.#answers.get(number)!;
  }

  #id(k: number): string {
    return `${this.#steps[k]}, recovery ${++this.#count}`;
  }

  #line(k: number, line: RecoveryLine, next: number): number {
    const ground = this.#ground;
    const base = { path: [], id: this.#id(k) };
    const step = (made: DwellStep | DriveStep | PulseStep | GoStep): number =>
      this.#add({ kind: "step", step: made, next, otherwise: undefined, loops: [] });
    switch (line.kind) {
      case "wait":
        return step({ ...base, kind: "dwell", time: line.time });
      case "await":
        return this.#add({
          kind: "step",
          step: {
            ...base,
            kind: "await",
            condition: { kind: "signal", signal: line.signal, is: line.is },
            limit: line.limit,
            otherwise: { kind: "stop" },
          },
          next,
          otherwise: undefined,
          loops: [],
        });
      case "ask":
      case "read": {
        const told =
          line.kind === "ask"
            ? truthOf(ground, line.question)
            : `${ground.levelOf(line.signal, "seen")} = ${line.level ? 1 : 0}`;
        const answer = this.#answer(line.number);
        return this.#add({
          kind: "added",
          write: (arm, here, at) => {
            arm.edge(here, at(next), { guard: told, update: [`${answer} := 1`] });
            arm.edge(here, at(next), { guard: notThat(told), update: [`${answer} := 0`] });
          },
        });
      }
      case "set":
        return step({ ...base, kind: "drive", signal: line.signal, to: line.to });
      case "pulse":
        return step({ ...base, kind: "pulse", signal: line.signal, width: line.width });
      case "bring":
        return this.#bring(line.device, line.into, next);
      case "move":
        return this.#moves(k, line.retreats, next);
      case "take out":
        return this.#takeOut(line, next);
      case "refill": {
        const spots = ground.spots.filter(({ holder }) => holder.name === line.holder);
        return this.#add({
          kind: "added",
          write: (arm, here, at) =>
            arm.edge(here, at(next), { update: spots.map(({ has, start }) => `${has} := ${start}`) }),
        });
      }
      case "trained":
        return this.#add({
          kind: "added",
          write: (arm, here) => {
            arm.location(`called_${here}`);
            arm.edge(here, `called_${here}`, { update: [`${this.#called} := 1`] });
          },
        });
      case "keep":
      case "restart":
        return next;
    }
  }

  /** Before jaws are moved: what they are to leave where. */
  #bring(device: string, into: string | undefined, next: number): number {
    const ground = this.#ground;
    const gripper = [...ground.grippers.values()].find((g) => g.gripper.device.name === device);
    if (gripper === undefined) return next;
    const spot = into === undefined ? 0 : ground.spot(into, []).number;
    return this.#add({
      kind: "added",
      write: (arm, here, at) =>
        arm.edge(here, at(next), { update: [`${gripper.freeInto} := ${spot}`, `${gripper.holdFrom} := 0`] }),
    });
  }

  #moves(k: number, retreats: Extract<RecoveryLine, { kind: "move" }>["retreats"], next: number): number {
    const starts = retreats.map(({ moves }) =>
      moves.reduceRight((after, move) => {
        const id = this.#id(k);
        this.#motions.set(id, { shortest: 0, longest: move.longest, zones: move.zones, endZones: move.endZones });
        const step: GoStep = {
          kind: "go",
          path: [],
          id,
          to: { kind: "pose", at: { default: move.to, variants: new Map() }, bring: "gripper" },
          by: "joint",
          speed: { constant: false },
          blend: 0,
        };
        return this.#add({ kind: "step", step, next: after, otherwise: undefined, loops: [] });
      }, next),
    );
    const guards = retreats.map(({ standing }) => this.#standsIn(standing));
    if (starts.length === 1 && guards[0] === undefined) return starts[0]!;
    const known = guards.every((guard) => guard !== undefined);
    const lost = this.#sentence("the arm stands where no way home was looked for");
    return this.#add({
      kind: "added",
      write: (arm, here, at) => {
        for (const [i, start] of starts.entries())
          arm.edge(here, at(start), guards[i] === undefined ? {} : { guard: guards[i] });
        if (!known) return;
        arm.location(UNDONE);
        arm.edge(here, UNDONE, { guard: notThat(either(guards)), update: [`${this.#undone} := ${lost}`] });
      },
    });
  }

  /** The arm is in these zones and no others. */
  #standsIn(zones: readonly string[] | undefined): string | undefined {
    if (zones === undefined) return undefined;
    return both(
      "true",
      ...[...this.#ground.zones].map(([zone, variable]) => `${variable} = ${zones.includes(zone) ? 1 : 0}`),
    );
  }

  /** Hands go where nothing can move. */
  #takeOut({ gripper, holder }: Extract<RecoveryLine, { kind: "take out" }>, next: number): number {
    const ground = this.#ground;
    const stages: (readonly Action[])[] = [];
    const inside = [...ground.zones].map(([zone, variable]) => [`${variable} = 1`, `the arm is in ${zone}`] as const);
    const wrong: (readonly [string, string])[] = [];
    const update: string[] = [];
    if (gripper !== undefined) {
      const state = ground.grippers.get(gripper)!;
      for (const [condition, words] of inside)
        wrong.push([condition, `a part is taken from ${gripper} while ${words}`]);
      wrong.push([`${state.shares} > 0`, `a part is taken from ${gripper} while a clamp holds it too`]);
      wrong.push([`${state.has} = 0`, `a part is to be taken from ${gripper}, and there is none`]);
      update.push(`${state.has} := 0`);
    }
    if (holder !== undefined) {
      const spot = ground.spot(holder, []);
      const machine = spot.clamp?.machine;
      const devices = [...ground.devices.values()].filter(
        ({ device }) => device.name === spot.clamp?.name || (machine !== undefined && device.machine === machine),
      );
      for (const [condition, words] of inside) wrong.push([condition, `hands are at ${holder} while ${words}`]);
      for (const state of devices)
        wrong.push([ground.isMoving(state), `hands are at ${holder} while ${state.device.name} moves`]);
      for (const process of ground.processes)
        if (process.holder === holder || process.machine === machine)
          wrong.push([`${ground.running.get(process.name)!} = 1`, `hands are at ${holder} while ${process.name} runs`]);
      const shared = [...ground.grippers.values()].map(({ shares }) => `${shares} = ${spot.number}`);
      if (shared.length > 0) wrong.push([either(shared), `hands are at ${holder} while a gripper holds its part`]);
      wrong.push([`${spot.has} = 0`, `a part is to be taken from ${holder}, and there is none`]);
      update.push(`${spot.has} := 0`);
    }
    for (const [condition, words] of wrong) stages.push(this.#test(condition, words));
    stages.push([{ update }]);
    return this.#chain(stages, next);
  }

  #test(wrong: string, words: string): readonly Action[] {
    const number = this.#sentence(words);
    return [{ guard: wrong, to: UNDONE, update: [`${this.#undone} := ${number}`] }, { guard: notThat(wrong) }];
  }

  #sentence(words: string): number {
    const known = this.#sentences.indexOf(words);
    return known >= 0 ? known + 1 : this.#sentences.push(words);
  }

  #chain(stages: readonly (readonly Action[])[], next: number): number {
    return this.#add({
      kind: "added",
      write: (arm, here, at) => {
        arm.location(UNDONE);
        arm.chain(here, at(next), stages);
      },
    });
  }

  /** Everything is as before the first start; then the routine runs from its top. */
  #restart(): number {
    const ground = this.#ground;
    const stages: (readonly Action[])[] = [];
    const test = (right: string, words: string) => stages.push(this.#test(notThat(right), words));
    for (const state of ground.devices.values()) {
      const { name } = state.device;
      const position = positionAtStart(ground, name);
      test(ground.at(state, position), `${name} is not ${position} when the routine is started again`);
    }
    for (const { gripper, has } of ground.grippers.values())
      test(`${has} = 0`, `${gripper.name} holds a part when the routine is started again`);
    for (const { holder, has, start } of ground.spots)
      test(
        `${has} = ${start}`,
        `${holder.name} ${start === 0 ? "has a part" : "lacks its part"} when the routine is started again`,
      );
    for (const [name, variable] of ground.running)
      test(`${variable} = 0`, `${name} runs when the routine is started again`);
    for (const [name, { level }] of ground.outputs) {
      const initial = ground.cell.signals.get(name)!.initial;
      test(`${level} = ${initial ? 1 : 0}`, `${name} is ${initial ? "off" : "on"} when the routine is started again`);
    }
    const start = this.#flow.start;
    const forgotten = [
      ...this.#answers.values(),
      ...ground.passes.values(),
      ...[...ground.grippers.values()].flatMap(({ shares, holdFrom, freeInto }) => [shares, holdFrom, freeInto]),
      ground.armSpot,
      ground.armExact,
      ground.armGripper,
      this.#stopped,
    ];
    stages.push([
      { update: forgotten.map((name) => `${name} := 0`), events: [{ kind: "restart", stepId: undefined }] },
    ]);
    return this.#chain(stages, start);
  }
}

/** Where the arm is when something is not as it has to be. */
const UNDONE = "recovery_undone";
const endOf = (step: number): string => `recovery_end_${step}`;
