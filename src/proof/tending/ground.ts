/** The variables that stand for a cell: levels of signals, positions of devices, parts in places and grippers, zones that the arm is in. */

import { devicesOf, processesOf } from "../../cell/equipment.ts";
import type { Feeds } from "../../cell/feeds.ts";
import type { Cell, Device, Gripper, Holder, Process, Signal, TimeRange } from "../../cell/model.ts";
import type { RuleCondition } from "../../cell/rules.ts";
import type { ByVariant, Condition, SignalCondition } from "../../cell/steps.ts";
import { ContractError } from "../../math/contract-error.ts";
import type { Fault } from "./faults.ts";
import type { Flow, Loop } from "./flow.ts";
import { type Action, both, DEAD_END, either, type NetworkWriter, notThat } from "./network-writer.ts";
import { type Trouble, TroubleList, type Watch } from "./trouble.ts";

/** A place for one part, or the current place of a holder that an `each` walks. */
export interface Spot {
  readonly holder: Holder;
  /** Variable: 0 nothing, else the number of the part's stage. */
  readonly has: string;
  /** Variable: what the routine, keeping count, takes to be there; `has` itself where the two cannot differ. */
  readonly kept: string;
  /** Counted from 1. */
  readonly number: number;
  /** Clamping device of the holder, when it has one. */
  readonly clamp: Device | undefined;
  /** A part stays there by its weight when nothing clamps it. */
  readonly rests: boolean;
  /** Stage number at the start. */
  readonly start: number;
}

export interface GripperState {
  readonly gripper: Gripper;
  readonly device: DeviceState;
  /** Stage number of the part held, and of that which the routine takes to be held. */
  readonly has: string;
  readonly kept: string;
  /** Number of the spot whose clamp holds the same part. */
  readonly shares: string;
  /** Number of the spot from which a `hold` takes, into which a `free` leaves. */
  readonly holdFrom: string;
  readonly freeInto: string;
}

export interface DeviceState {
  readonly device: Device;
  /** Variable: index of the position, or their number while it moves. */
  readonly at: string;
  readonly moving: number;
  /** Variable: index of the position where it stands or to which it moves. */
  readonly target: string;
}

export interface OutputState {
  readonly level: string;
  readonly rise: string;
  readonly fall: string;
  /** For outputs taken as pulses: the least width that is seen, ms, and clocks since the last rise and fall. */
  readonly pulsed:
    | { readonly width: number; readonly sinceRise: string; readonly sinceFall: string; readonly fell: string }
    | undefined;
}

export interface InputState {
  readonly level: string;
  readonly seen: string;
  /** Broadcast when the level changes; undefined: it is seen at once or never changes. */
  readonly change: string | undefined;
  /** Broadcast when the arm begins to wait for it, for inputs that a person works. */
  readonly asked: string | undefined;
  /** Variable, for such inputs: 1 while the arm waits for it to go on, 2 for it to go off. */
  readonly wanted: string | undefined;
}

/** A variable that a run is drawn from. */
export interface Lane {
  readonly kind: "gripper" | "holder" | "device" | "process" | "zone" | "output" | "input";
  /** As the cell names it. */
  readonly name: string;
  readonly variable: string;
  /** By value. */
  readonly words: readonly string[];
}

/** Milliseconds, rounded down for shortest and up for longest times. */
export const shortest = (seconds: number): number => Math.floor(seconds * 1000 + 1e-6);
export const longest = (seconds: number): number => Math.ceil(seconds * 1000 - 1e-6);

/**
 * A time in a range as an invariant and the least time to leave it. Something that takes at most as long as a dwell or a limit is over
 * when that one ends, though both end at the same instant: so the longest time itself is left out, and all before it are in.
 */
export function lasting(
  clock: string,
  { min, max }: TimeRange,
): { readonly invariant: string; readonly least: number } {
  const most = longest(max);
  if (most === 0) return { invariant: `${clock} <= 0`, least: 0 };
  return { invariant: `${clock} < ${most}`, least: Math.min(shortest(min), most - 1) };
}

/** A place is taken to keep a part by its weight up to this angle between its z axis and the vertical. */
const LEVEL = Math.cos(Math.PI / 6);

export class Ground {
  readonly cell: Cell;
  readonly variant: string;
  readonly writer: NetworkWriter;
  readonly troubles = new TroubleList();
  /** Number of the trouble met; 0 while none. */
  readonly trouble: string;
  /** Number of the last trouble met that is only noted. */
  readonly noted: string;
  readonly urgent: string;
  readonly scan: number;
  readonly devices = new Map<string, DeviceState>();
  readonly outputs = new Map<string, OutputState>();
  readonly inputs = new Map<string, InputState>();
  readonly grippers = new Map<string, GripperState>();
  readonly zones = new Map<string, string>();
  readonly running = new Map<string, string>();
  /** Variable of each process: 1 while it works, between the movements that its machine makes before and after. */
  readonly working = new Map<string, string>();
  readonly passes = new Map<number, string>();
  /** Clamped spot at which the arm stands (0: none), whether exactly, and the gripper it stands there with. */
  readonly armSpot: string;
  readonly armExact: string;
  readonly armGripper: string;
  /** What the translation takes for granted or leaves out. */
  readonly assumptions = new Set<string>();
  readonly #spots = new Map<string, Spot>();
  readonly #stages: readonly string[];
  readonly feeds: Feeds;
  readonly fault: Fault | undefined;
  /** Variable: 1 once the fault has happened. */
  readonly faulty: string;
  readonly #watch: (trouble: Trouble) => Watch;
  /** Whether the routine's count of parts can differ from what is there, and is asked for. */
  readonly #keepsCount: boolean;

  constructor(
    cell: Cell,
    variant: string,
    feeds: Feeds,
    writer: NetworkWriter,
    flow: Flow,
    watch: (trouble: Trouble) => Watch,
    fault: Fault | undefined,
  ) {
    this.#watch = watch;
    this.#keepsCount =
      (fault?.kind === "part missing" || fault?.kind === "part slipped" || fault?.kind === "power lost") &&
      flow.nodes.some((node) => node.kind === "choice" && asksForParts(node.condition));
    this.fault = fault;
    this.faulty = writer.variable("fault", "happened", 1);
    this.cell = cell;
    this.variant = variant;
    this.writer = writer;
    this.feeds = feeds;
    this.scan = longest(cell.controller.scan);
    this.#stages = (cell.parts.get(variant)?.stages ?? []).map((stage) => stage.name);
    this.trouble = writer.variable("trouble", "met", 10_000);
    this.noted = writer.variable("trouble", "noted", 10_000);
    this.urgent = writer.channel("at", "once", true);
    this.armSpot = writer.variable("arm", "spot", 1000);
    this.armExact = writer.variable("arm", "exact", 1);
    this.armGripper = writer.variable("arm", "gripper", Math.max(1, cell.tool.grippers.size - 1));
    const all = devicesOf(cell);
    for (const device of all) this.devices.set(device.name, this.#device(device));
    const pulsed = this.#pulseWidths(all);
    for (const signal of cell.signals.values())
      if (signal.direction === "output") this.outputs.set(signal.name, this.#output(signal, pulsed.get(signal.name)));
    const feedback = new Map<string, boolean>();
    for (const device of all)
      for (const [position, signal] of device.feedback) feedback.set(signal, position === device.start);
    const driven = this.#drivenInputs(all);
    for (const signal of cell.signals.values())
      if (signal.direction === "input")
        this.inputs.set(signal.name, this.#input(signal, feedback.get(signal.name), driven.has(signal.name)));
    for (const gripper of cell.tool.grippers.values())
      this.grippers.set(gripper.name, {
        gripper,
        device: this.device(gripper.device.name),
        ...this.#contents("in", gripper.name, 0),
        shares: writer.variable("shared", gripper.name, 1000),
        holdFrom: writer.variable("holding", gripper.name, 1000),
        freeInto: writer.variable("freeing", gripper.name, 1000),
      });
    for (const zone of cell.scene.zones.keys()) this.zones.set(zone, writer.variable("arm_in", zone, 1));
    for (const process of this.processes) {
      this.running.set(process.name, writer.variable("running", process.name, 1));
      this.working.set(process.name, writer.variable("working", process.name, 1));
    }
    for (const loop of flow.loops) this.passes.set(loop.index, writer.variable("pass", String(loop.index), 3));
    this.#walkedTwice(flow.loops);
  }

  /** What a run is drawn from: each variable with the words for its values, in the order of a drawing. */
  lanes(): Lane[] {
    const levels = ["off", "on"];
    const stages = ["nothing", ...this.#stages];
    return [
      ...[...this.grippers].map(([name, { has }]): Lane => ({ kind: "gripper", name, variable: has, words: stages })),
      ...this.spots.map(
        (spot): Lane => ({ kind: "holder", name: spot.holder.name, variable: spot.has, words: stages }),
      ),
      ...[...this.devices].map(
        ([name, { device, at }]): Lane => ({
          kind: "device",
          name,
          variable: at,
          words: [...device.positions, "moving"],
        }),
      ),
      ...[...this.running].map(
        ([name, variable]): Lane => ({ kind: "process", name, variable, words: ["idle", "running"] }),
      ),
      ...[...this.zones].map(
        ([name, variable]): Lane => ({ kind: "zone", name, variable, words: ["clear", "arm inside"] }),
      ),
      ...[...this.outputs].map(([name, { level }]): Lane => ({ kind: "output", name, variable: level, words: levels })),
      ...[...this.inputs].map(([name, { level }]): Lane => ({ kind: "input", name, variable: level, words: levels })),
    ];
  }

  /**
   * Longest time, ms, after which nothing happens any more while the arm waits: it gives no command, so every process ends once,
   * with the moves of its machine, every device arrives, and every person has given what is asked. What has not come then never comes.
   */
  get settled(): number {
    const strokes = [...this.devices.values()].map(({ device }) =>
      Math.max(0, ...[...device.time.values()].map(({ max }) => longest(max))),
    );
    const processes = this.processes.map((process) => {
      const range = this.cell.parts.get(this.variant)?.processTimes.get(process.name) ?? process.time;
      const moves = [...process.before, ...process.after].map(({ device, position }) =>
        longest(this.device(device).device.time.get(position)?.max ?? 0),
      );
      return longest(range?.max ?? 0) + longest(process.done?.width ?? 0) + moves.reduce((a, b) => a + b, 0);
    });
    const people = [...this.cell.signals.values()].map(({ operator }) =>
      operator === undefined ? 0 : longest(operator.delay.max) + longest(operator.hold ?? 0),
    );
    return [...strokes, ...processes, ...people].reduce((a, b) => a + b, 0);
  }

  get processes(): readonly Process[] {
    return processesOf(this.cell);
  }

  get spots(): readonly Spot[] {
    return [...this.#spots.values()];
  }

  device(name: string): DeviceState {
    const state = this.devices.get(name);
    if (state === undefined) throw new ContractError(`proof: the cell has no device "${name}"`);
    return state;
  }

  resolve(name: ByVariant): string | undefined {
    return name.variants.get(this.variant) ?? name.default;
  }

  stage(name: string): number {
    return this.#stages.indexOf(name) + 1;
  }

  /** The spot meant by a holder's name inside the loops: its current place, else its first. */
  spot(holderName: string, loops: readonly Loop[]): Spot {
    const walked = loops.some((loop) => loop.holders.includes(holderName));
    const key = walked ? `${holderName} now` : holderName;
    const known = this.#spots.get(key);
    if (known !== undefined) return known;
    const holder = this.cell.holders.get(holderName);
    if (holder === undefined) throw new ContractError(`proof: the cell has no holder "${holderName}"`);
    const stage = this.feeds.starts.get(holderName)?.stage;
    const start = stage === undefined ? 0 : Math.max(1, this.stage(stage));
    const clamp = holder.device === undefined ? undefined : this.device(holder.device).device;
    const spot: Spot = {
      holder,
      ...this.#contents("has", holderName, start),
      number: this.#spots.size + 1,
      clamp: clamp?.clamps === undefined ? undefined : clamp,
      rests: this.#rests(holder),
      start,
    };
    this.#spots.set(key, spot);
    return spot;
  }

  #contents(kind: string, name: string, start: number): { readonly has: string; readonly kept: string } {
    const most = this.#stages.length;
    const has = this.writer.variable(kind, name, most, start);
    return { has, kept: this.#keepsCount ? this.writer.variable(`kept_${kind}`, name, most, start) : has };
  }

  /** Whether a part in the holder's first place stays there by its weight: the place's z axis points up, away from the seat. */
  #rests(holder: Holder): boolean {
    const pose = holder.places[0]!.worldFromPlace;
    const [x, y, z] = this.cell.gravity;
    const size = Math.hypot(x, y, z);
    return size > 0 && -(x * pose[2]! + y * pose[6]! + z * pose[10]!) / size >= LEVEL;
  }

  /** An action that meets a trouble; what happens instead when it is not to end there. */
  meets(trouble: Trouble, instead: Action = {}): Action {
    const watch = this.#watch(trouble);
    if (watch === "no") return instead;
    const number = this.troubles.number(trouble);
    if (watch === "note") return { ...instead, update: [...(instead.update ?? []), `${this.noted} := ${number}`] };
    return {
      update: [`${this.trouble} := ${number}`],
      events: [{ kind: "trouble", trouble: number }],
      to: DEAD_END,
      instead,
    };
  }

  at({ device, at }: DeviceState, position: string): string {
    return `${at} = ${device.positions.indexOf(position)}`;
  }

  isMoving({ at, moving }: DeviceState): string {
    return `${at} = ${moving}`;
  }

  /** The controller's view of a condition on signals, or how things are. */
  signals(condition: SignalCondition, view: "seen" | "level"): string {
    switch (condition.kind) {
      case "signal":
        return `${this.levelOf(condition.signal, view)} = ${condition.is ? 1 : 0}`;
      case "all":
        return both(...condition.of.map((c) => this.signals(c, view))) ?? "true";
      case "any":
        return either(condition.of.map((c) => this.signals(c, view)));
    }
  }

  levelOf(signal: string, view: "seen" | "level"): string {
    const output = this.outputs.get(signal);
    if (output !== undefined) return output.level;
    const input = this.inputs.get(signal);
    if (input === undefined) throw new ContractError(`proof: the cell has no signal "${signal}"`);
    return view === "seen" ? input.seen : input.level;
  }

  /** How things stand, whether or not the controller can know it. Of a walked tray: the place being served. */
  rule(condition: RuleCondition, loops: readonly Loop[]): string {
    switch (condition.kind) {
      case "signal":
        return this.signals(condition, "level");
      case "device": {
        const state = this.device(this.deviceName(condition.device));
        return condition.is === "moving" ? this.isMoving(state) : this.at(state, condition.is);
      }
      case "process":
        return `${this.running.get(condition.process)!} = ${condition.is === "running" ? 1 : 0}`;
      case "zone":
        return `${this.zones.get(condition.zone)!} = ${condition.has === "arm" ? 1 : 0}`;
      case "holder":
        return this.#hasPart(this.spot(condition.holder, loops).has, condition.has);
      case "gripper":
        return this.#hasPart(this.grippers.get(condition.gripper)!.has, condition.has);
      case "all":
        return both(...condition.of.map((c) => this.rule(c, loops))) ?? "true";
      case "any":
        return either(condition.of.map((c) => this.rule(c, loops)));
      case "not":
        return notThat(this.rule(condition.of, loops));
    }
  }

  /** A gripper goes by its own name as a device. */
  deviceName(name: string): string {
    return this.cell.tool.grippers.get(name)?.device.name ?? name;
  }

  #hasPart(variable: string, wanted: "part" | "nothing" | { readonly stage: string }): string {
    if (wanted === "nothing") return `${variable} = 0`;
    return wanted === "part" ? `${variable} > 0` : `${variable} = ${this.stage(wanted.stage)}`;
  }

  /** A condition as the routine knows it: signals as seen, parts as counted. */
  condition(condition: Condition, loops: readonly Loop[]): string {
    switch (condition.kind) {
      case "signal":
        return this.signals(condition, "seen");
      case "variant":
        return condition.part === this.variant ? "true" : "false";
      case "holder":
        return this.#hasPart(this.spot(condition.holder, loops).kept, condition.has);
      case "gripper":
        return this.#hasPart(this.grippers.get(condition.gripper)!.kept, condition.has);
      case "pass": {
        const loop = loops.at(-1);
        if (loop === undefined) return "false";
        const pass = this.passes.get(loop.index)!;
        return condition.which === "first" ? `${pass} = 0 or ${pass} = 3` : `${pass} = 2 or ${pass} = 3`;
      }
      case "all":
        return both(...condition.of.map((c) => this.condition(c, loops))) ?? "true";
      case "any":
        return either(condition.of.map((c) => this.condition(c, loops)));
      case "not":
        return notThat(this.condition(condition.of, loops));
    }
  }

  /** Whether the supposed fault is of a kind and concerns a signal, device, holder or gripper. */
  isFaulty(kind: Fault["kind"], subject: string, detail?: string): boolean {
    const { fault } = this;
    if (fault?.kind !== kind) return false;
    switch (fault.kind) {
      case "slow device":
        return fault.device === subject && fault.position === detail;
      case "stuck input":
      case "broken wire":
        return fault.signal === subject;
      case "part missing":
        return fault.holder === subject;
      case "part slipped":
        return fault.gripper === subject;
      default:
        return true;
    }
  }

  /** Switches an output; nothing happens when it has the level already. */
  switchOutput(signal: string, level: boolean, stepId: string): readonly Action[] {
    const output = this.outputs.get(signal);
    if (output === undefined) throw new ContractError(`proof: the cell has no output "${signal}"`);
    const { pulsed } = output;
    const broken = level && this.isFaulty("broken wire", signal);
    const changes: Action = {
      guard: both(`${output.level} = ${level ? 0 : 1}`, broken ? `${this.faulty} = 0` : undefined)!,
      send: level ? output.rise : output.fall,
      update: [
        `${output.level} := ${level ? 1 : 0}`,
        ...(pulsed === undefined || level ? [] : [`${pulsed.fell} := 1`]),
      ],
      reset: pulsed === undefined ? [] : [level ? pulsed.sinceRise : pulsed.sinceFall],
      events: [{ kind: "signal", signal, level, seen: false }],
    };
    const same: Action[] = [{ guard: `${output.level} = ${level ? 1 : 0}` }];
    // A broken wire: the output is on, but whoever listens takes it as off.
    if (broken) same.push({ guard: both(`${output.level} = 0`, `${this.faulty} = 1`)! });
    if (pulsed === undefined) return [changes, ...same];
    const wrong = level
      ? both(`${output.level} = 0`, `${pulsed.fell} = 1`, `${pulsed.sinceFall} < ${this.scan}`)!
      : both(`${output.level} = 1`, `${pulsed.sinceRise} < ${pulsed.width}`)!;
    const trouble: Action = {
      // Not watched for: taken as not seen, so that the level changes and nobody reacts.
      ...this.meets(
        { kind: level ? "pulses-too-close" : "pulse-too-short", stepId, subject: signal },
        {
          update: changes.update!,
          reset: changes.reset!,
        },
      ),
      guard: wrong,
    };
    // A disjunction with clocks is not a guard: one edge for each of its parts.
    return level
      ? [
          { ...changes, guard: both(changes.guard, `${pulsed.fell} = 0`)! },
          { ...changes, guard: both(changes.guard, `${pulsed.fell} = 1`, `${pulsed.sinceFall} >= ${this.scan}`)! },
          ...same,
          trouble,
        ]
      : [{ ...changes, guard: both(changes.guard, `${pulsed.sinceRise} >= ${pulsed.width}`)! }, ...same, trouble];
  }

  /** Sets an input's level; nothing happens when it has it already. */
  setInput(signal: string, level: boolean): readonly Action[] {
    const input = this.inputs.get(signal);
    if (input === undefined) return [];
    const value = level ? 1 : 0;
    return [
      {
        guard: `${input.level} = ${1 - value}`,
        ...(input.change === undefined ? {} : { send: input.change }),
        update: [`${input.level} := ${value}`, ...(input.change === undefined ? [`${input.seen} := ${value}`] : [])],
        events: [{ kind: "signal", signal, level, seen: input.change === undefined }],
      },
      { guard: `${input.level} = ${value}` },
    ];
  }

  #device(device: Device): DeviceState {
    const start = device.positions.indexOf(device.start);
    return {
      device,
      moving: device.positions.length,
      at: this.writer.variable("at", device.name, device.positions.length, start),
      target: this.writer.variable("to", device.name, device.positions.length - 1, start),
    };
  }

  /** Outputs that somebody takes as pulses, with the least width that all of them see, ms. */
  #pulseWidths(devices: readonly Device[]): Map<string, number> {
    const widths = new Map<string, number>();
    const add = (signal: string, width: number) =>
      widths.set(signal, Math.max(widths.get(signal) ?? 0, longest(width)));
    for (const { command } of devices) {
      if (command.style === "toggling pulse") add(command.signal, command.width);
      if (command.style === "pulse") for (const signal of command.signals.values()) add(signal, command.width);
    }
    for (const { start } of this.processes) if (start.style === "pulse") add(start.signal, start.width);
    return widths;
  }

  #output(signal: Signal, width: number | undefined): OutputState {
    const { writer } = this;
    return {
      level: writer.variable("out", signal.name, 1, signal.initial ? 1 : 0),
      rise: writer.channel("rise", signal.name),
      fall: writer.channel("fall", signal.name),
      pulsed:
        width === undefined
          ? undefined
          : {
              width,
              sinceRise: writer.clock("since_rise", signal.name),
              sinceFall: writer.clock("since_fall", signal.name),
              fell: writer.variable("fell", signal.name, 1),
            },
    };
  }

  /** Inputs that something of the cell changes. */
  #drivenInputs(devices: readonly Device[]): Set<string> {
    const driven = new Set<string>();
    for (const device of devices) for (const signal of device.feedback.values()) driven.add(signal);
    for (const { done, running } of this.processes) {
      if (done !== undefined) driven.add(done.signal);
      if (running !== undefined) driven.add(running);
    }
    for (const { partPresent } of this.cell.tool.grippers.values())
      if (partPresent !== undefined) driven.add(partPresent);
    for (const signal of this.cell.signals.values()) if (signal.operator !== undefined) driven.add(signal.name);
    return driven;
  }

  #input(signal: Signal, feedback: boolean | undefined, driven: boolean): InputState {
    const { writer } = this;
    const start = (feedback ?? signal.constant ?? signal.initial) ? 1 : 0;
    const level = writer.variable("in", signal.name, 1, start);
    if (!driven || signal.constant !== undefined)
      return { level, seen: level, change: undefined, asked: undefined, wanted: undefined };
    const asked = signal.operator === undefined ? undefined : writer.channel("ask", signal.name);
    const wanted = asked === undefined ? undefined : writer.variable("wants", signal.name, 2);
    if (this.scan === 0 && !this.isFaulty("stuck input", signal.name))
      return { level, seen: level, change: undefined, asked, wanted };
    return {
      level,
      seen: writer.variable("seen", signal.name, 1, start),
      change: writer.channel("change", signal.name),
      asked,
      wanted,
    };
  }

  #walkedTwice(loops: readonly Loop[]): void {
    const walked = new Map<string, number>();
    for (const loop of loops) for (const holder of loop.holders) walked.set(holder, (walked.get(holder) ?? 0) + 1);
    for (const [holder, times] of walked)
      if (times > 1)
        this.assumptions.add(
          `${holder} is walked by more than one each: it is taken to be as at the start whenever one begins`,
        );
  }
}

function asksForParts(condition: Condition): boolean {
  switch (condition.kind) {
    case "holder":
    case "gripper":
      return true;
    case "all":
    case "any":
      return condition.of.some(asksForParts);
    case "not":
      return asksForParts(condition.of);
    default:
      return false;
  }
}
