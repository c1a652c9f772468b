/** The procedure of every step of a routine, planned from the states in which a stop finds the cell, and proved. */

import type { Cell } from "../../cell/model.ts";
import { stepsOf } from "../../cell/step-walk.ts";
import { createNetwork, explore, type QueryDescription } from "../automata/index.ts";
import { reachableVariables } from "../automata/reachable.ts";
import { flowOf } from "../tending/flow.ts";
import { lastStep, runOf } from "../tending/run.ts";
import { sentenceOf } from "../tending/sentences.ts";
import type { StepMotion } from "../tending/types.ts";
import { Facts, factVariables } from "./facts.ts";
import { type StopNetwork, stopNetwork } from "./network.ts";
import {
  type AccessPositions,
  accessPositions,
  homeLines,
  Numbers,
  processLines,
  restLines,
  startLines,
} from "./plan.ts";
import { possibleThings } from "./possible.ts";
import type { RecoveryLine, RecoveryProcedure, StepRecovery, StepRetreats, StopCause } from "./types.ts";

export interface RecoveryOptions {
  readonly variant: string;
  readonly motions: ReadonlyMap<string, StepMotion>;
  /** Ways home from each step. */
  readonly retreats: ReadonlyMap<string, StepRetreats>;
  /** Steps to plan for; default: every step of the routine that a node of it runs. */
  readonly steps?: readonly string[];
  readonly causes?: readonly StopCause[];
  /** Most memory for states, bytes; default 1 GiB. */
  readonly memory?: number;
  readonly onProgress?: (share: number, doing: string) => void;
  readonly cancelled?: () => boolean;
}

export type RecoveryOutcome =
  | { readonly ok: true; readonly steps: readonly StepRecovery[]; readonly assumptions: readonly string[] }
  /** The routine cannot be put as a network, or was not explored to the end, and why. */
  | { readonly ok: false; readonly reason: string };

type Lines = Map<string, readonly RecoveryLine[]>;
type StatesAt = ReadonlyMap<string, readonly Facts[]>;

class Failure extends Error {}

/** Plans and proves the procedures of one part variant. Deterministic; pure but for the callbacks. */
export function recoverySteps(cell: Cell, options: RecoveryOptions): RecoveryOutcome {
  const { causes = ["stopped", "power lost"] } = options;
  try {
    const steps = options.steps ?? stepNames(cell, options.variant);
    const found = new Map<string, RecoveryProcedure[]>(steps.map((id) => [id, []]));
    const assumptions = new Set<string>();
    // Of all steps, whatever steps are wanted: what stands open while the arm is inside does not depend on the question.
    const all = new Planner(cell, options, "stopped", stepNames(cell, options.variant), () => {});
    const access = all.access();
    for (const [c, cause] of causes.entries()) {
      const work = new Planner(cell, options, cause, steps, (share, doing) =>
        options.onProgress?.((c + share) / causes.length, doing),
      );
      const planned = work.plan(access);
      for (const assumption of planned.assumptions) assumptions.add(assumption);
      for (const [id, procedure] of planned.procedures) found.get(id)!.push(procedure);
    }
    return {
      ok: true,
      steps: steps.flatMap((stepId) => {
        const procedures = withFallen(found.get(stepId)!);
        return procedures.length === 0 ? [] : [{ stepId, variant: options.variant, procedures }];
      }),
      assumptions: [...assumptions],
    };
  } catch (error) {
    if (error instanceof Failure) return { ok: false, reason: error.message };
    throw error;
  }
}

/** What was held while power was on and is held by nothing once it is lost may have fallen. */
function withFallen(procedures: readonly RecoveryProcedure[]): readonly RecoveryProcedure[] {
  const on = procedures.find(({ cause }) => cause === "stopped");
  return procedures.map((procedure) => {
    if (on === undefined || procedure.cause !== "power lost") return procedure;
    const fallen = on.possible.flatMap(({ what, values }) => {
      if (!what.startsWith("in ") || values.includes("nothing")) return [];
      const now = procedure.possible.find((thing) => thing.what === what);
      return now?.values.includes("nothing") === true
        ? [{ what: `fallen out of ${what.slice(3)}`, values: ["perhaps a part"], usual: "nothing" }]
        : [];
    });
    return { ...procedure, possible: [...fallen, ...procedure.possible] };
  });
}

/** Ids of the steps that the routine has for a part variant, in the order of the cell's text. */
export function stepNames(cell: Cell, variant: string): string[] {
  const outcome = flowOf(cell, variant);
  if (!outcome.ok) return [];
  const used = new Set(outcome.flow.nodes.flatMap((node) => (node.kind === "step" ? [node.step.id] : [])));
  return [...stepsOf(cell)].flatMap(({ id }) => (used.has(id) ? [id] : []));
}

class Planner {
  readonly #cell: Cell;
  readonly #options: RecoveryOptions;
  readonly #cause: StopCause;
  readonly #steps: readonly string[];
  readonly #progress: (share: number, doing: string) => void;

  constructor(
    cell: Cell,
    options: RecoveryOptions,
    cause: StopCause,
    steps: readonly string[],
    progress: (share: number, doing: string) => void,
  ) {
    this.#cell = cell;
    this.#options = options;
    this.#cause = cause;
    this.#steps = steps;
    this.#progress = progress;
  }

  /** Where devices stand while the arm is in their zones, over all stops. */
  access(): AccessPositions {
    const first = this.#network(new Map(this.#steps.map((id) => [id, []])));
    const { states, network } = this.#states(new Map(this.#steps.map((id) => [id, restLines(first.ground)])));
    return accessPositions(network.ground, [...states.values()].flat());
  }

  plan(access: AccessPositions) {
    const lines: Lines = new Map(this.#steps.map((id) => [id, []]));
    const extend = (
      share: number,
      more: (states: readonly Facts[], id: string, network: StopNetwork) => RecoveryLine[],
    ) => {
      this.#progress(share, `${this.#options.variant}, ${this.#cause}`);
      const { states, network } = this.#states(lines);
      for (const [id, at] of states) {
        const before = lines.get(id)!;
        // Nothing comes so far: the procedure has ended before.
        if (at.length > 0) lines.set(id, [...before, ...more(at, id, network)]);
      }
      return { states, network };
    };
    const numbers = (id: string) => new Numbers(lines.get(id)!);
    const first = this.#network(lines);
    for (const id of this.#steps) lines.set(id, restLines(first.ground));
    extend(0.05, (states, id, { ground }) => processLines(ground, states, numbers(id)));
    const atRest = new Map<string, RecoveryProcedure["possible"]>();
    const waited = this.#states(lines);
    for (const [id, states] of waited.states) {
      const { ground } = waited.network;
      if (states.length === 0) continue;
      atRest.set(id, possibleThings(ground, states));
      const retreats = this.#options.retreats.get(id) ?? { retreats: [], reason: "no way home was looked for" };
      lines.set(id, [...lines.get(id)!, ...homeLines(ground, states, access, retreats, numbers(id))]);
    }
    extend(0.5, (states, id, { ground }) =>
      startLines(ground, states, access, this.#options.retreats.get(id)?.last, numbers(id)),
    );
    this.#progress(0.7, `${this.#options.variant}, ${this.#cause}: proof`);
    const verdicts = this.prove(lines);
    const procedures = new Map<string, RecoveryProcedure>();
    for (const id of this.#steps) {
      const possible = atRest.get(id);
      if (possible === undefined) continue;
      const { reasons, trained } = verdicts.of(id);
      const open = [...reasons, ...openReasons(lines.get(id)!)];
      procedures.set(id, {
        cause: this.#cause,
        lines: lines.get(id)!,
        possible,
        verdict: open.length === 0 ? "proved" : "not proved",
        reasons: open,
        trained,
      });
    }
    return { procedures, assumptions: first.translation.assumptions };
  }

  #network(lines: Lines): StopNetwork {
    const { variant, motions } = this.#options;
    const made = stopNetwork(this.#cell, variant, motions, this.#cause, this.#steps, (id) => lines.get(id)!);
    if (!made.ok) throw new Failure(made.reason);
    return made.made;
  }

  /** The states at the end of the lines so far. */
  #states(lines: Lines): { readonly states: StatesAt; readonly network: StopNetwork } {
    const network = this.#network(lines);
    const { translation, ground, endOf } = network;
    const variables = factVariables(ground);
    const index = new Map(variables.map((name, i) => [name, i]));
    const open = this.#steps.filter((id) => lines.get(id)!.at(-1)?.kind !== "restart");
    const places = new Map(open.map((id) => [endOf(this.#steps.indexOf(id)), id]));
    const { memory, cancelled } = this.#options;
    const reached = reachableVariables(
      createNetwork(translation.network).network,
      translation.arm.name,
      [...places.keys()],
      variables,
      { ...(memory === undefined ? {} : { memory }), ...(cancelled === undefined ? {} : { cancelled }) },
    );
    if (!reached.ok) throw new Failure(reached.reason);
    const states = new Map<string, readonly Facts[]>();
    for (const [place, id] of places)
      states.set(
        id,
        reached.at.get(place)!.map((values) => new Facts(ground, index, values)),
      );
    return { states, network };
  }

  /** Explores the network with the whole procedures. */
  prove(lines: Lines): ProofOfLines {
    const { memory, cancelled } = this.#options;
    return proveLines(this.#network(lines), this.#steps, {
      ...(memory === undefined ? {} : { memory }),
      ...(cancelled === undefined ? {} : { cancelled }),
    });
  }
}

export interface ProofOfLines {
  of(stepId: string): { readonly reasons: readonly string[]; readonly trained: boolean };
}

/**
 * Explores a cell stopped in any of the steps and then run through their procedures: no trouble is met from the stop on, the routine
 * is started again only in the state in which it starts, and it then meets none either. That a procedure comes to its end follows
 * from its form: its lines are done one after the other, waits and motions have longest times, and a limit that passes is a trouble.
 */
export function proveLines(
  network: StopNetwork,
  steps: readonly string[],
  options: { readonly memory?: number; readonly cancelled?: () => boolean } = {},
): ProofOfLines {
  const { translation, stopped, undone, called, recovering, sentences } = network;
  const { trouble } = translation;
  const queries: QueryDescription[] = steps.flatMap((id, k): QueryDescription[] => [
    { name: `${id} trouble`, kind: "never", that: `${trouble} > 0 and ${stopped} = ${k + 1}` },
    { name: `${id} undone`, kind: "never", that: `${undone} > 0 and ${stopped} = ${k + 1}` },
    { name: `${id} trained`, kind: "can reach", that: `${called} = 1 and ${stopped} = ${k + 1}` },
  ]);
  queries.push({
    name: "restart",
    kind: "never",
    that: `${trouble} > 0 and ${stopped} = 0 and ${recovering} = 1`,
  });
  const built = createNetwork(translation.network, queries);
  const { queries: answers } = explore(built.network, built.queries, options);
  const reasonsOf = new Map<string, string[]>(steps.map((id) => [id, []]));
  const trained = new Set<string>();
  for (const [k, id] of steps.entries()) {
    const [met, left, calls] = answers.slice(3 * k, 3 * k + 3);
    const reasons = reasonsOf.get(id)!;
    for (const answer of [met!, left!])
      if (answer.verdict === "undecided") reasons.push(`It was not explored to the end: ${answer.reason}.`);
    if (met!.verdict === "violated") {
      const number = met!.trace!.at(-1)!.variables[trouble] as number;
      const run = runOf(translation, met!.trace!);
      reasons.push(sentenceOf(translation.troubles[number - 1]!, lastStep(run)));
    }
    if (left!.verdict === "violated")
      reasons.push(`It can come about that ${sentences[(left!.trace!.at(-1)!.variables[undone] as number) - 1]}.`);
    if (calls!.verdict === "holds") trained.add(id);
  }
  const restart = answers.at(-1)!;
  if (restart.verdict !== "holds") {
    const words =
      restart.verdict === "undecided"
        ? `What follows the restart was not explored to the end: ${restart.reason}.`
        : `Once the routine runs again: ${sentenceOf(
            translation.troubles[(restart.trace!.at(-1)!.variables[trouble] as number) - 1]!,
            lastStep(runOf(translation, restart.trace!)),
          )}`;
    for (const reasons of reasonsOf.values()) reasons.push(words);
  }
  return { of: (id) => ({ reasons: reasonsOf.get(id)!, trained: trained.has(id) }) };
}

/** What a network does not look at. */
function openReasons(lines: readonly RecoveryLine[]): string[] {
  const reasons = new Set<string>();
  for (const line of lines) {
    if (line.kind !== "move") continue;
    for (const { moves } of line.retreats)
      for (const { clearance, to } of moves) {
        const { least, required } = clearance;
        if (least !== undefined && least < required - 1e-9)
          reasons.add(
            `The motion to ${to} is certified for ${(1000 * Math.max(0, least)).toFixed(1)} mm of clearance where ${(1000 * required).toFixed(1)} mm are wanted.`,
          );
      }
  }
  return [...reasons];
}
