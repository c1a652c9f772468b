/** A cell's routine, devices, processes, signals and people as one network of timed automata, in milliseconds. */
import { feedsOf } from "../../cell/feeds.ts";
import type { Cell } from "../../cell/model.ts";
import type { Rule } from "../../cell/rules.ts";
import type { NetworkDescription, QueryDescription } from "../automata/model.ts";
import { type ArmAutomaton, addArm, type MoreOfArm } from "./arm.ts";
import { addDevices } from "./devices.ts";
import { addFault } from "./fault-automaton.ts";
import type { Fault } from "./faults.ts";
import { type Flow, type FlowNode, flowOf } from "./flow.ts";
import { Ground, type Lane, longest } from "./ground.ts";
import { addInputs } from "./inputs.ts";
import { NetworkWriter, type TendingEvent } from "./network-writer.ts";
import { addProcesses } from "./processes.ts";
import type { Trouble, Watch } from "./trouble.ts";
import type { StepMotion } from "./types.ts";

export interface Translation {
  readonly network: NetworkDescription;
  /** Variable with the number of the trouble met. */
  readonly trouble: string;
  /** Variable with the number of the trouble noted last. */
  readonly noted: string;
  /** Troubles that the network can tell, numbered from 1. */
  readonly troubles: readonly Trouble[];
  readonly arm: ArmAutomaton;
  /** Variable: 1 once the supposed fault has happened. */
  readonly faulty: string;
  /** What an edge with a label means. */
  readonly events: ReadonlyMap<string, readonly TendingEvent[]>;
  /** The user's own rules as questions, in the order of the file. */
  readonly rules: readonly QueryDescription[];
  readonly lanes: readonly Lane[];
  readonly assumptions: readonly string[];
}

export type TranslationOutcome =
  | { readonly ok: true; readonly translation: Translation }
  /** The routine cannot be put as a network, and why. */
  | { readonly ok: false; readonly reason: string; readonly stepId?: string };

export interface TranslationOptions {
  /** Part variant that is run. */
  readonly variant: string;
  readonly motions: ReadonlyMap<string, StepMotion>;
  /** What becomes of each trouble. Default: all ends there. */
  readonly watch?: (trouble: Trouble) => Watch;
  /** Supposed to happen once, at any moment. */
  readonly fault?: Fault;
  /** Adds to the network: variables first, then nodes behind those of the routine, and what leads to them. */
  readonly more?: (ground: Ground, flow: Flow) => Addition;
}

export interface Addition {
  /** Condition under which troubles are met. */
  readonly watchedWhile: string;
  /** Appended to the flow's nodes. */
  readonly nodes: readonly FlowNode[];
  /** Of the steps among the nodes. */
  readonly motions: ReadonlyMap<string, StepMotion>;
  readonly arm: MoreOfArm;
}

export function translate(cell: Cell, options: TranslationOptions): TranslationOutcome {
  const { variant, motions } = options;
  const outcome = flowOf(cell, variant);
  if (!outcome.ok) return outcome;
  const { flow } = outcome;
  const writer = new NetworkWriter();
  const ground = new Ground(
    cell,
    variant,
    feedsOf(cell, variant),
    writer,
    flow,
    options.watch ?? (() => "end"),
    options.fault,
  );
  nameSpots(ground, flow);
  const addition = options.more?.(ground, flow);
  writer.watchedWhile = addition?.watchedWhile;
  const calls = addDevices(ground);
  addProcesses(ground, calls);
  addInputs(ground);
  addFault(ground);
  const arm =
    addition === undefined
      ? addArm(ground, flow, motions)
      : addArm(
          ground,
          { ...flow, nodes: [...flow.nodes, ...addition.nodes] },
          new Map([...motions, ...addition.motions]),
          addition.arm,
        );
  return {
    ok: true,
    translation: {
      network: writer.finish(cell.name),
      trouble: ground.trouble,
      noted: ground.noted,
      troubles: ground.troubles.list,
      arm,
      faulty: ground.faulty,
      events: writer.events,
      rules: cell.rules.map((rule) => ruleQuery(ground, rule, flow)),
      lanes: ground.lanes(),
      assumptions: [...ground.assumptions],
    },
  };
}

function ruleQuery(ground: Ground, { name, rule }: Rule, { loops }: Flow): QueryDescription {
  if (rule.kind === "never") return { name, kind: "never", that: ground.rule(rule.that, loops) };
  const { when, followedBy, within } = rule;
  return {
    name,
    kind: "always followed by",
    when: ground.rule(when, loops),
    goal: ground.rule(followedBy, loops),
    ...(within === undefined ? {} : { within: longest(within) }),
  };
}

/** Every place that a step or process names or that has a part in a clamp, so that devices know all of them. */
function nameSpots(ground: Ground, flow: Flow): void {
  for (const loop of flow.loops) for (const holder of loop.holders) ground.spot(holder, [loop]);
  for (const node of flow.nodes) {
    if (node.kind === "choice") ground.condition(node.condition, node.loops);
    if (node.kind !== "step") continue;
    const { step } = node;
    const name =
      step.kind === "hold"
        ? ground.resolve(step.from)
        : step.kind === "free"
          ? ground.resolve(step.into)
          : step.kind === "go" && step.to.kind === "holder"
            ? ground.resolve(step.to.at)
            : undefined;
    if (name !== undefined) ground.spot(name, node.loops);
  }
  for (const rule of ground.cell.rules) ruleQuery(ground, rule, flow);
  for (const { holder } of ground.processes) if (holder !== undefined) ground.spot(holder, []);
  for (const { name, device, start } of ground.cell.holders.values())
    if (device !== undefined && start !== undefined) ground.spot(name, []);
}
