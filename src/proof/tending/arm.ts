/** The arm running its routine, as an automaton: one or a few locations for each step. */
import type { FreeStep, GoStep, HoldStep, PressStep, SignalCondition, Target } from "../../cell/steps.ts";
import { leavesPath } from "./faults.ts";
import type { Flow, FlowNode, Loop, PlainStep } from "./flow.ts";
import { type GripperState, type Ground, longest, type OutputState, type Spot, shortest } from "./ground.ts";
import { type Action, type AutomatonWriter, both, DEAD_END, either, notThat } from "./network-writer.ts";
import type { Ending, StepMotion } from "./types.ts";

export interface ArmAutomaton {
  readonly name: string;
  /** Variable: the number of the ending come to, 0 while none. */
  readonly ended: string;
  readonly endings: readonly Ending[];
  /** Steps that wait without a limit: each must be over within the longest time that what it waits for can take. */
  readonly unlimited: readonly string[];
}

type StepNode = Extract<FlowNode, { kind: "step" }>;

/** A place in a step at which the controller can be stopped. */
export interface InStep {
  /** Number of the step's node in the flow. */
  readonly node: number;
  readonly stepId: string;
  readonly moves: boolean;
  /** Of a motion: what its end does, and its longest time. */
  readonly ends?: Action;
  readonly time?: number;
  /** Output that is on for a time there. */
  readonly pulse?: OutputState;
}

/** Adds more to the arm once its steps are written. @param at location at which a node of the flow begins */
export type MoreOfArm = (
  arm: AutomatonWriter,
  inStep: ReadonlyMap<string, InStep>,
  at: (node: number) => string,
) => void;

export function addArm(
  ground: Ground,
  flow: Flow,
  motions: ReadonlyMap<string, StepMotion>,
  more?: MoreOfArm,
): ArmAutomaton {
  return new ArmWriter(ground, flow, motions).write(more);
}

class ArmWriter {
  readonly #ground: Ground;
  readonly #flow: Flow;
  readonly #motions: ReadonlyMap<string, StepMotion>;
  readonly #arm: AutomatonWriter;
  readonly #clock: string;
  readonly #endings: Ending[] = [];
  readonly #unlimited = new Set<string>();
  readonly #ended: string;
  readonly #grippers: readonly string[];
  /** Locations in which time passes. */
  readonly #inStep = new Map<string, InStep>();
  /** Variable: the arm was stopped on its way and stands where no step has left it. */
  readonly #lost: string;

  constructor(ground: Ground, flow: Flow, motions: ReadonlyMap<string, StepMotion>) {
    this.#ground = ground;
    this.#flow = flow;
    this.#motions = motions;
    this.#arm = ground.writer.automaton("arm", ground.cell.entry, true);
    this.#clock = ground.writer.clock("step", "time");
    this.#grippers = [...ground.grippers.keys()];
    this.#lost = ground.writer.variable("arm", "on_its_way", 1);
    this.#ended = ground.writer.variable("routine", "ended", 10_000);
  }

  write(more?: MoreOfArm): ArmAutomaton {
    const arm = this.#arm;
    for (const [id, node] of this.#flow.nodes.entries()) {
      arm.instant(at(id));
      this.#node(id, node);
    }
    this.#restarts();
    more?.(arm, this.#inStep, at);
    // After power-up nothing happens at the same instant as the first step's command.
    const start = arm.location("power_up");
    arm.edge(start, at(this.#flow.start), {});
    arm.done(start);
    return {
      name: arm.name,
      ended: this.#ended,
      endings: this.#endings,
      unlimited: [...this.#unlimited],
    };
  }

  /** Number of an ending; the same for the same step and message. */
  #ending(stepId: string, message: string | undefined): number {
    const known = this.#endings.find((ending) => ending.stepId === stepId && ending.message === message);
    if (known !== undefined) return known.number;
    const number = this.#endings.length + 1;
    this.#endings.push({ number, stepId, message });
    return number;
  }

  /** A wait that can take no longer than so many units unless something fails. */
  #mustEnd(location: string, stepId: string, within: number): void {
    this.#unlimited.add(stepId);
    this.#arm.edge(location, DEAD_END, {
      guard: `${this.#clock} >= ${within + 1}`,
      update: [`${this.#ended} := ${this.#ending(stepId, undefined)}`],
    });
  }

  #node(id: number, node: FlowNode): void {
    const arm = this.#arm;
    switch (node.kind) {
      case "end":
        arm.location("complete");
        arm.edge(at(id), "complete", { events: [{ kind: "end" }] });
        return;
      case "jump":
        arm.edge(at(id), at(node.next));
        return;
      case "choice": {
        const holds = this.#ground.condition(node.condition, node.loops);
        arm.edge(at(id), at(node.yes), { guard: holds });
        arm.edge(at(id), at(node.no), { guard: notThat(holds) });
        return;
      }
      case "enter": {
        const { loop } = node;
        arm.edge(at(id), at(node.next), {
          update: [`${this.#pass(loop)} := ${loop.passes === 1 ? 3 : 0}`, ...this.#fresh(loop)],
          events: [{ kind: "pass", stepId: loop.step.id }],
        });
        return;
      }
      case "again":
        this.#again(id, node);
        return;
      case "added":
        node.write(arm, at(id), at);
        return;
      case "step":
        this.#step(id, node);
    }
  }

  /** Stops at any instant and what follows them, when such a fault is supposed. */
  #restarts(): void {
    const ground = this.#ground;
    const { fault } = ground;
    if (fault?.kind !== "stopped" && fault?.kind !== "power lost") return;
    const arm = this.#arm;
    const top = at(this.#flow.start);
    const atStep = fault.kind === "stopped" && fault.restart === "step";
    for (const [location, place] of this.#inStep) {
      // What runs from the top does not come from where the arm stands.
      const lost = leavesPath(fault) && (place.moves || !atStep) ? [`${this.#lost} := 1`] : [];
      const stopped: Action = {
        guard: `${ground.faulty} = 0`,
        update: [`${ground.faulty} := 1`, ...lost],
        events: [{ kind: "fault" }],
      };
      const halted = atStep ? arm.location(`halted_${location}`) : fault.kind === "stopped" ? "halted" : "dark";
      arm.edge(location, halted, stopped);
      if (fault.kind === "stopped" && place.pulse !== undefined)
        arm.edge(location, halted, cutShort(stopped, place.pulse));
      if (atStep) this.#resume(location, halted, place);
    }
    if (fault.kind === "stopped") {
      if (fault.restart === "top") {
        arm.location("halted");
        arm.edge("halted", top, { events: [{ kind: "restart", stepId: undefined }] });
      }
      return;
    }
    arm.instant("dark");
    arm.location("without_power");
    const outputs = [...ground.outputs.keys()];
    arm.chain(
      "dark",
      "without_power",
      outputs.map((signal) => forced(ground, signal, false)),
    );
    const initial = outputs.filter((signal) => ground.cell.signals.get(signal)!.initial);
    arm.chain("without_power", top, [
      // What the routine kept in mind is gone.
      [{ events: [{ kind: "restart", stepId: undefined }], update: forgotten(ground) }],
      ...initial.map((signal) => forced(ground, signal, true)),
    ]);
  }

  /** On in the step that was stopped: a motion makes the rest of its way, anything else is done once more. */
  #resume(location: string, halted: string, { node, stepId, ends, time }: InStep): void {
    const arm = this.#arm;
    const events: Action["events"] = [{ kind: "restart", stepId }];
    if (ends === undefined || time === undefined) {
      arm.edge(halted, at(node), { events });
      return;
    }
    const rest = arm.location(`rest_${location}`, `${this.#clock} <= ${time}`);
    const inside = either([...this.#ground.zones.values()].map((zone) => `${zone} = 1`));
    const unplanned = both(`${this.#lost} = 1`, inside)!;
    const wrong = this.#ground.meets({ kind: "moved-from-inside", stepId, subject: "arm" }, { to: rest });
    arm.edge(halted, rest, {
      ...wrong,
      guard: unplanned,
      events: [...events, ...(wrong.events ?? [])],
      reset: [this.#clock],
    });
    arm.edge(halted, rest, { guard: notThat(unplanned), events, reset: [this.#clock] });
    arm.edge(rest, at((this.#flow.nodes[node] as StepNode).next), {
      ...ends,
      update: [...(ends.update ?? []), `${this.#lost} := 0`],
    });
  }

  #pass(loop: Loop): string {
    return this.#ground.passes.get(loop.index)!;
  }

  /** The walked holders are at another place: as they were at the start. */
  #fresh(loop: Loop): string[] {
    return loop.holders.flatMap((holder) => {
      const spot = this.#ground.spot(holder, [loop]);
      return [`${spot.has} := ${spot.start}`, ...(spot.kept === spot.has ? [] : [`${spot.kept} := ${spot.start}`])];
    });
  }

  #again(id: number, { loop, body, after }: Extract<FlowNode, { kind: "again" }>): void {
    const arm = this.#arm;
    const pass = this.#pass(loop);
    const turn = (from: number, to: number) =>
      arm.edge(at(id), at(body), {
        guard: `${pass} = ${from}`,
        update: [`${pass} := ${to}`, ...this.#fresh(loop)],
        events: [{ kind: "pass", stepId: loop.step.id }],
      });
    if (loop.passes === 2) turn(0, 2);
    if (loop.passes > 2) {
      turn(0, 1);
      turn(1, 1);
      turn(1, 2);
    }
    arm.edge(at(id), at(after), { guard: `${pass} >= 2`, update: [`${pass} := 0`] });
  }

  #step(id: number, node: StepNode): void {
    const { step } = node;
    const ground = this.#ground;
    const arm = this.#arm;
    const begins: Action["events"] = [{ kind: "step", stepId: step.id, what: "begins" }];
    const next = at(node.next);
    if (step.kind === "dwell" || step.kind === "pulse" || step.kind === "await")
      this.#inStep.set(during(id), {
        node: id,
        stepId: step.id,
        moves: false,
        ...(step.kind === "pulse" ? { pulse: ground.outputs.get(step.signal)! } : {}),
      });
    switch (step.kind) {
      case "go":
      case "press":
        this.#move(id, node, step);
        return;
      case "dwell": {
        const time = longest(step.time);
        arm.location(during(id), `${this.#clock} <= ${time}`);
        arm.edge(at(id), during(id), { reset: [this.#clock], events: begins });
        arm.edge(during(id), next, { guard: `${this.#clock} >= ${time}` });
        return;
      }
      case "drive":
        arm.chain(at(id), next, [ground.switchOutput(step.signal, step.to, step.id).map((a) => told(a, begins))]);
        return;
      case "pulse": {
        const output = ground.outputs.get(step.signal)!;
        const width = longest(step.width);
        const needed = output.pulsed?.width ?? 0;
        const onHigh = ground.meets({ kind: "pulse-on-high-signal", stepId: step.id, subject: step.signal });
        arm.location(during(id), `${this.#clock} <= ${width}`);
        arm.edge(at(id), during(id), { ...onHigh, guard: `${output.level} = 1`, reset: [this.#clock] });
        const rises = ground
          .switchOutput(step.signal, true, step.id)
          .filter(({ guard }) => guard !== `${output.level} = 1`)
          .map((action) => told({ ...action, reset: [...(action.reset ?? []), this.#clock] }, begins));
        const tooShort = width < needed;
        for (const rise of rises) {
          if (!tooShort) arm.edge(at(id), during(id), rise);
          else {
            const { send: _, ...unseen } = rise;
            const short = ground.meets({ kind: "pulse-too-short", stepId: step.id, subject: step.signal }, unseen);
            arm.edge(at(id), during(id), { ...short, guard: rise.guard! });
          }
        }
        const fall: Action = {
          guard: both(`${this.#clock} >= ${width}`, `${output.level} = 1`)!,
          send: output.fall,
          update: [`${output.level} := 0`, ...(output.pulsed === undefined ? [] : [`${output.pulsed.fell} := 1`])],
          reset: output.pulsed === undefined ? [] : [output.pulsed.sinceFall],
          events: [{ kind: "signal", signal: step.signal, level: false, seen: false }],
        };
        arm.edge(during(id), next, fall);
        // Off before the end: a broken wire, or power that failed.
        arm.edge(during(id), next, { guard: both(`${this.#clock} >= ${width}`, `${output.level} = 0`)! });
        return;
      }
      case "hold":
      case "free":
        this.#jaws(id, node, step);
        return;
      case "await":
        this.#await(id, node, step);
    }
  }

  #move(id: number, node: StepNode, step: GoStep | PressStep): void {
    const ground = this.#ground;
    const arm = this.#arm;
    const stepId = step.id;
    const tests: (readonly Action[])[] = [];
    const test = (wrong: string, trouble: Omit<Parameters<Ground["meets"]>[0], "stepId">) =>
      tests.push([{ ...ground.meets({ ...trouble, stepId }), guard: wrong }, { guard: notThat(wrong) }]);
    const motion = this.#motions.get(stepId);
    for (const { gripper, device, shares } of ground.grippers.values()) {
      if (step.kind === "go") test(`${shares} > 0`, { kind: "moved-while-both-hold", subject: gripper.name });
      test(ground.isMoving(device), { kind: "moved-before-jaws", subject: gripper.name });
    }
    if (step.kind === "go")
      for (const spot of ground.spots)
        if (spot.clamp !== undefined)
          test(
            both(
              `${ground.armSpot} = ${spot.number}`,
              `${ground.armExact} = 1`,
              ground.isMoving(ground.device(spot.clamp.name)),
            )!,
            {
              kind: "moved-before-clamp",
              subject: spot.clamp.name,
            },
          );
    for (const zone of motion?.zones ?? [])
      for (const state of ground.devices.values())
        if (state.device.sweeps.includes(zone))
          test(both(`${ground.zones.get(zone)!} = 0`, ground.isMoving(state))!, {
            kind: "zone-shared",
            subject: zone,
            other: state.device.name,
          });
    if (step.kind === "go" && leavesPath(ground.fault))
      // Begun from where it was stopped, and not from where the routine has it come from.
      test(both(`${this.#lost} = 1`, either([...ground.zones.values()].map((zone) => `${zone} = 1`)))!, {
        kind: "moved-from-inside",
        subject: "arm",
      });
    const inZones = (zones: readonly string[]) =>
      [...ground.zones].map(([zone, variable]) => `${variable} := ${zones.includes(zone) ? 1 : 0}`);
    const { clock, time } = { clock: this.#clock, time: this.#timeOf(step, motion) };
    arm.location(during(id), `${clock} <= ${time.max}`);
    const leaves =
      step.kind === "press"
        ? [`${ground.armExact} := 1`]
        : [`${this.#lost} := 0`, `${ground.armSpot} := 0`, `${ground.armExact} := 0`, ...this.#uses(step.gripper)];
    arm.chain(at(id), during(id), [
      ...tests,
      [
        {
          update: [...leaves, ...(motion === undefined ? [] : inZones(motion.zones))],
          reset: [clock],
          events: [{ kind: "step", stepId, what: "begins" }],
        },
      ],
    ]);
    const ends: Action = {
      update: [
        ...(step.kind === "go" ? this.#stands(step.to, node.loops) : []),
        ...(motion === undefined ? [] : inZones(motion.endZones)),
      ],
      events: [{ kind: "step", stepId, what: "ends" }],
    };
    arm.edge(during(id), at(node.next), { ...ends, guard: `${clock} >= ${time.min}` });
    this.#inStep.set(during(id), { node: id, stepId, moves: true, ends, time: time.max });
  }

  #timeOf(step: GoStep | PressStep, motion: StepMotion | undefined): { readonly min: number; readonly max: number } {
    if (motion !== undefined) return { min: shortest(motion.shortest), max: longest(motion.longest) };
    if (step.kind === "press") return { min: shortest(step.time), max: longest(step.time + step.travel / step.speed) };
    this.#ground.assumptions.add(`${step.id} was never timed: it is taken to last between 0 and 60 s`);
    return { min: 0, max: 60_000 };
  }

  #uses(gripper: string | undefined): string[] {
    const index = gripper === undefined ? -1 : this.#grippers.indexOf(gripper);
    return index < 0 ? [] : [`${this.#ground.armGripper} := ${index}`];
  }

  /** Where a motion has brought the arm: of interest at holders that clamp. */
  #stands(target: Target, loops: readonly Loop[]): string[] {
    const ground = this.#ground;
    const name = target.kind === "holder" ? ground.resolve(target.at) : undefined;
    if (name === undefined) return [];
    const holder = ground.cell.holders.get(name);
    if (holder?.device === undefined) return [];
    const spot = ground.spot(name, loops);
    return [`${ground.armSpot} := ${spot.number}`, `${ground.armExact} := ${target.offset === undefined ? 1 : 0}`];
  }

  #jaws(id: number, node: StepNode, step: HoldStep | FreeStep): void {
    const ground = this.#ground;
    const arm = this.#arm;
    const state = ground.grippers.get(step.gripper)!;
    const holder = ground.resolve(step.kind === "hold" ? step.from : step.into);
    const begins: Action["events"] = [{ kind: "step", stepId: step.id, what: "begins" }];
    const next = at(node.next);
    if (holder === undefined) {
      arm.edge(at(id), next, { events: begins });
      return;
    }
    const spot = ground.spot(holder, node.loops);
    const position = step.kind === "hold" ? "closed" : "open";
    const target = `${state.device.target} = ${state.gripper.device.positions.indexOf(position)}`;
    const already = ground.meets({
      kind: step.kind === "hold" ? "hold-already-closed" : "free-already-open",
      stepId: step.id,
      subject: step.gripper,
    });
    const expects =
      step.kind === "hold"
        ? [`${state.holdFrom} := ${spot.number}`, `${state.freeInto} := 0`]
        : [`${state.freeInto} := ${spot.number}`, `${state.holdFrom} := 0`];
    if (state.kept !== state.has) expects.push(...counted(ground, step.kind, state, spot));
    const first: Action = {
      guard: notThat(target),
      update: [...expects, ...this.#uses(step.gripper)],
      events: begins,
    };
    const feedback = state.gripper.device.feedback.get(position);
    const commanded = feedback === undefined ? next : arm.location(`wait_${id}`);
    // Told again, it changes nothing; its feedback is waited for all the same.
    arm.edge(at(id), commanded, { ...told(already, begins), guard: target, reset: [this.#clock] });
    arm.chain(at(id), commanded, [
      [first],
      ...this.#command(id, step, position),
      ...(feedback === undefined ? [] : [[{ reset: [this.#clock] }]]),
    ]);
    if (feedback === undefined) return;
    arm.edge(commanded, next, { guard: `${ground.levelOf(feedback, "seen")} = 1`, send: ground.urgent });
    const within = longest(state.gripper.device.time.get(position)?.max ?? 0) + ground.scan;
    this.#mustEnd(commanded, step.id, within);
    this.#inStep.set(commanded, { node: id, stepId: step.id, moves: false });
  }

  /** Stages that switch the outputs which send a gripper to a position. */
  #command(id: number, step: HoldStep | FreeStep, position: string): (readonly Action[])[] {
    const ground = this.#ground;
    const { command } = ground.grippers.get(step.gripper)!.gripper.device;
    switch (command.style) {
      case "level":
        return [ground.switchOutput(command.signal, position === command.on, step.id)];
      case "pair":
        return [
          ...[...command.signals]
            .filter(([other]) => other !== position)
            .map(([, signal]) => ground.switchOutput(signal, false, step.id)),
          ground.switchOutput(command.signals.get(position) ?? "", true, step.id),
        ];
      case "pulse":
      case "toggling pulse": {
        const signal = command.style === "pulse" ? (command.signals.get(position) ?? "") : command.signal;
        const done = this.#pulser(id, signal, longest(command.width));
        return [ground.switchOutput(signal, true, step.id), [{ send: done }]];
      }
      case "none":
        return [[ground.meets({ kind: "gripper-not-commanded", stepId: step.id, subject: step.gripper })]];
    }
  }

  /** Ends the pulse that a gripper's command began, while the arm goes on. @returns the channel that starts it */
  #pulser(id: number, signal: string, width: number): string {
    const ground = this.#ground;
    const begin = ground.writer.channel("pulse", `${signal}_${id}`);
    const automaton = ground.writer.automaton("pulser", `${signal}_${id}`);
    const clock = ground.writer.clock("pulse_time", `${signal}_${id}`);
    automaton.location("idle");
    automaton.location("on", `${clock} <= ${width}`);
    automaton.edge("idle", "on", { receive: begin, reset: [clock] });
    const output = ground.outputs.get(signal)!;
    automaton.edge("on", "idle", {
      guard: `${clock} >= ${width}`,
      send: output.fall,
      update: [`${output.level} := 0`, ...(output.pulsed === undefined ? [] : [`${output.pulsed.fell} := 1`])],
      reset: output.pulsed === undefined ? [] : [output.pulsed.sinceFall],
      events: [{ kind: "signal", signal, level: false, seen: false }],
    });
    automaton.done("idle");
    return begin;
  }

  #await(id: number, node: StepNode, step: Extract<PlainStep, { kind: "await" }>): void {
    const ground = this.#ground;
    const arm = this.#arm;
    const { condition, limit } = step;
    const clock = this.#clock;
    const seen = ground.signals(condition, "seen");
    const really = ground.signals(condition, "level");
    const waiting = during(id);
    const next = at(node.next);
    const signals = signalsIn(condition);
    const persons = signals.flatMap(({ signal, is }) => {
      const { asked, wanted } = ground.inputs.get(signal) ?? {};
      return asked === undefined || wanted === undefined ? [] : [{ signal, asked, wanted, is }];
    });
    arm.location(waiting, limit === undefined ? undefined : `${clock} <= ${longest(limit)}`);
    arm.chain(at(id), waiting, [
      [{ reset: [clock], events: [{ kind: "step", stepId: step.id, what: "begins" }] }],
      ...persons.map(({ asked, wanted, is }) => [{ send: asked, update: [`${wanted} := ${is ? 1 : 2}`] }]),
    ]);
    const ends: Action["events"] = [{ kind: "step", stepId: step.id, what: "ends" }];
    const over = persons.map(({ wanted }) => `${wanted} := 0`);
    // A button that was let go again is no lie: it was pressed.
    const stale = seen === really || persons.length > 0 ? undefined : both(seen, notThat(really))!;
    const passes: Action = { send: ground.urgent, events: ends, update: over };
    arm.edge(waiting, next, { ...passes, guard: stale === undefined ? seen : both(seen, really)! });
    if (stale !== undefined) {
      const trouble = ground.meets(
        { kind: "stale-input", stepId: step.id, subject: signals.map(({ signal }) => signal).join(", ") },
        passes,
      );
      arm.edge(waiting, next, { ...trouble, send: ground.urgent, guard: stale });
    }
    if (limit === undefined) {
      const delays = persons.map(({ signal }) => {
        const { delay, hold } = ground.cell.signals.get(signal)!.operator!;
        return longest(delay.max) + longest(hold ?? 0);
      });
      const within = delays.length === signals.length ? delays.reduce((a, b) => a + b, 0) : ground.settled;
      this.#mustEnd(waiting, step.id, within + ground.scan);
      return;
    }
    const late = both(`${clock} >= ${longest(limit)}`, notThat(seen))!;
    const message =
      step.otherwise.kind === "stop" ? (step.otherwise.message ?? `the limit of ${step.id} has passed`) : "";
    const stop = `stop_${id}`;
    arm.location(stop);
    const goesOn: Action =
      node.otherwise === undefined
        ? {
            events: [{ kind: "stop", stepId: step.id, message }],
            update: [...over, `${this.#ended} := ${this.#ending(step.id, message)}`],
          }
        : { to: at(node.otherwise), events: ends, update: over };
    arm.edge(waiting, stop, {
      ...ground.meets(
        { kind: "limit-passed", stepId: step.id, subject: signals.map(({ signal }) => signal).join(", ") },
        goesOn,
      ),
      guard: late,
    });
  }
}

/** An output switched by power going or coming, however short it was on. */
export function forced(ground: Ground, signal: string, level: boolean): readonly Action[] {
  const output = ground.outputs.get(signal)!;
  return [
    {
      guard: `${output.level} = ${level ? 0 : 1}`,
      send: level ? output.rise : output.fall,
      update: [`${output.level} := ${level ? 1 : 0}`],
      events: [{ kind: "signal", signal, level, seen: false }],
    },
    { guard: `${output.level} = ${level ? 1 : 0}` },
  ];
}

/** The count as it is before the routine begins. */
const forgotten = (ground: Ground): string[] => [
  ...[...ground.grippers.values()].flatMap(({ has, kept }) => (kept === has ? [] : [`${kept} := 0`])),
  ...ground.spots.flatMap(({ has, kept, start }) => (kept === has ? [] : [`${kept} := ${start}`])),
];

/** The routine's own count of parts as it takes one or leaves one. */
function counted(ground: Ground, kind: "hold" | "free", gripper: GripperState, spot: Spot): string[] {
  const { infeeds, outfeeds } = ground.feeds;
  if (kind === "hold")
    return [`${gripper.kept} := ${spot.kept}`, `${spot.kept} := ${infeeds.has(spot.holder.name) ? spot.start : 0}`];
  return [...(outfeeds.has(spot.holder.name) ? [] : [`${spot.kept} := ${gripper.kept}`]), `${gripper.kept} := 0`];
}

/** A stop that takes the level from an output which is on for a time. */
const cutShort = (stopped: Action, { level, fall, pulsed }: OutputState): Action => ({
  ...stopped,
  guard: both(stopped.guard, `${level} = 1`)!,
  send: fall,
  update: [...stopped.update!, `${level} := 0`, ...(pulsed === undefined ? [] : [`${pulsed.fell} := 1`])],
  reset: pulsed === undefined ? [] : [pulsed.sinceFall],
});

const at = (node: number): string => `n${node}`;
const during = (node: number): string => `d${node}`;
const told = (action: Action, events: Action["events"]): Action => ({
  ...action,
  events: [...(events ?? []), ...(action.events ?? [])],
});

function signalsIn(condition: SignalCondition): { readonly signal: string; readonly is: boolean }[] {
  if (condition.kind === "signal") return [condition];
  return condition.of.flatMap(signalsIn).filter((one, i, all) => all.findIndex((o) => o.signal === one.signal) === i);
}
