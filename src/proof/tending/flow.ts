/**
 * The routine as a graph of what can follow what, for one part variant: calls expanded, passes of an `each` told apart as first,
 * inner and last only, so that the graph does not grow with the number of places.
 */
import type { Cell } from "../../cell/model.ts";
import type { ByVariant, Condition, EachStep, RunStep, Step, WhenStep } from "../../cell/steps.ts";
import type { AutomatonWriter } from "./network-writer.ts";

export type PlainStep = Exclude<Step, RunStep | EachStep | WhenStep>;

/** An `each` being run. */
export interface Loop {
  readonly step: EachStep;
  /** Number of it in the graph. */
  readonly index: number;
  /** Holders walked, by name. */
  readonly holders: readonly string[];
  readonly passes: number;
}

export type FlowNode =
  | {
      readonly kind: "step";
      readonly step: PlainStep;
      readonly next: number;
      /** Where an `await` goes on whose limit has passed; undefined: the routine stops. */
      readonly otherwise: number | undefined;
      readonly loops: readonly Loop[];
    }
  | {
      readonly kind: "choice";
      readonly condition: Condition;
      readonly yes: number;
      readonly no: number;
      readonly loops: readonly Loop[];
    }
  | { readonly kind: "enter"; readonly loop: Loop; readonly next: number }
  | { readonly kind: "again"; readonly loop: Loop; readonly body: number; readonly after: number }
  | { readonly kind: "jump"; readonly next: number }
  /** Not part of the routine: writes itself, between the locations of nodes, see recovery. */
  | {
      readonly kind: "added";
      readonly write: (arm: AutomatonWriter, here: string, at: (node: number) => string) => void;
    }
  | { readonly kind: "end" };

export interface Flow {
  readonly nodes: readonly FlowNode[];
  readonly start: number;
  readonly loops: readonly Loop[];
}

export type FlowOutcome =
  | { readonly ok: true; readonly flow: Flow }
  | { readonly ok: false; readonly reason: string; readonly stepId?: string };

/** More would be a routine that calls itself without end. */
const MOST_NODES = 50_000;

class Unfit {
  readonly reason: string;
  readonly stepId: string | undefined;
  constructor(reason: string, stepId?: string) {
    this.reason = reason;
    this.stepId = stepId;
  }
}

interface Place {
  readonly loops: readonly Loop[];
  /** What follows the routine being run. */
  readonly after: number;
  readonly depth: number;
}

export function flowOf(cell: Cell, variant: string): FlowOutcome {
  const nodes: FlowNode[] = [{ kind: "end" }];
  const loops: Loop[] = [];
  const entered = new Map<string, number>();
  const add = (node: FlowNode): number => {
    if (nodes.length >= MOST_NODES)
      throw new Unfit(`the routine has more than ${MOST_NODES} steps when its calls are expanded`);
    nodes.push(node);
    return nodes.length - 1;
  };
  const resolve = (name: ByVariant) => name.variants.get(variant) ?? name.default;

  const routine = (name: string, after: number, around: readonly Loop[], depth: number): number => {
    const key = `${name}|${after}|${around.map((l) => l.index).join()}`;
    const known = entered.get(key);
    if (known !== undefined) return known;
    if (depth > 200) throw new Unfit(`routines nest deeper than 200; ${name} runs itself`);
    const jump = add({ kind: "jump", next: after });
    entered.set(key, jump);
    const next = sequence(cell.routines.get(name)?.steps ?? [], after, { loops: around, after, depth: depth + 1 });
    nodes[jump] = { kind: "jump", next };
    return jump;
  };

  const sequence = (steps: readonly Step[], next: number, place: Place): number =>
    steps.reduceRight((following, step) => one(step, following, place), next);

  const one = (step: Step, next: number, place: Place): number => {
    switch (step.kind) {
      case "run":
        return routine(step.routine, next, place.loops, place.depth);
      case "when":
        return add({
          kind: "choice",
          condition: step.condition,
          yes: sequence(step.then, next, place),
          no: sequence(step.otherwise, next, place),
          loops: place.loops,
        });
      case "each":
        return each(step, next, place);
      case "await": {
        const { otherwise } = step;
        const instead =
          step.limit !== undefined && otherwise.kind === "run"
            ? routine(otherwise.routine, place.after, place.loops, place.depth)
            : undefined;
        return add({ kind: "step", step, next, otherwise: instead, loops: place.loops });
      }
      default:
        return add({ kind: "step", step, next, otherwise: undefined, loops: place.loops });
    }
  };

  const each = (step: EachStep, next: number, place: Place): number => {
    const holders: string[] = [];
    for (const over of step.over) {
      const holder = resolve(over);
      if (holder === undefined) throw new Unfit(`${step.id} names no holder for ${variant}`, step.id);
      holders.push(holder);
    }
    const counts = holders.map((holder) => cell.holders.get(holder)?.places.length ?? 0);
    const passes = counts.length > 0 ? Math.min(...counts) : (step.times ?? 0);
    if (passes < 1) return next;
    const loop: Loop = { step, index: loops.length, holders, passes };
    loops.push(loop);
    const again = add({ kind: "again", loop, body: next, after: next });
    const body = sequence(step.steps, again, { ...place, loops: [...place.loops, loop] });
    nodes[again] = { kind: "again", loop, body, after: next };
    return add({ kind: "enter", loop, next: body });
  };

  try {
    const start = routine(cell.entry, 0, [], 0);
    return { ok: true, flow: { nodes, start, loops } };
  } catch (error) {
    if (error instanceof Unfit)
      return { ok: false, reason: error.reason, ...(error.stepId === undefined ? {} : { stepId: error.stepId }) };
    throw error;
  }
}
