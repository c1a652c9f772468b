/**
 * Walks a routine step by step: enters `run`, repeats `each`, chooses in `when`, and hands out the steps that do something.
 * It can look ahead across the border of a `run` for the next motion of a chain, but not across the border of an `each`
 * (another place) nor into a `when` that depends on something that may change while the arm moves.
 */

import type { Cell } from "../cell/model.ts";
import type { ByVariant, Condition, EachStep, RunStep, Step, WhenStep } from "../cell/steps.ts";
import { ContractError } from "../math/contract-error.ts";

export type PlainStep = Exclude<Step, RunStep | EachStep | WhenStep>;

export interface WalkHooks {
  holds(
    condition: Condition,
    pass: { first: boolean; last: boolean } | undefined,
    places: ReadonlyMap<string, number>,
  ): boolean;
  /** A pass of an outermost `each` begins (`index` counted over the run, `of` known so far) or is over. */
  passStarts(step: EachStep, index: number, of: number): void;
  passEnds(): void;
  /** An `each` begins: names resolved, with how many places each holder has and how many passes there will be. */
  eachStarts(step: EachStep, holders: readonly { name: string; places: number }[], passes: number): void;
  unresolved(step: Step): void;
}

interface Frame {
  readonly kind: "routine" | "each" | "branch";
  readonly steps: readonly Step[];
  index: number;
  /** For "each". */
  readonly each?: EachStep;
  readonly holders?: readonly string[];
  pass: number;
  readonly passes: number;
}

/** Routines nested deeper than this are taken to run themselves. */
const DEEPEST = 200;

export class RoutineWalk {
  readonly #cell: Cell;
  readonly #variant: string;
  readonly #hooks: WalkHooks;
  readonly #frames: Frame[] = [];
  readonly #mostTurns: number;
  /** The walk gave up going round without meeting a step that does something. */
  runaway = false;
  #passCount = 0;
  #passesKnown = 0;
  /** Pass of the outermost `each` being run, -1 outside. */
  pass = -1;
  #places: ReadonlyMap<string, number> = new Map();

  /** @param mostTurns borders crossed without meeting a step before the walk is taken to go round for ever */
  constructor(cell: Cell, variant: string, mostTurns: number, hooks: WalkHooks) {
    this.#mostTurns = mostTurns;
    this.#cell = cell;
    this.#variant = variant;
    this.#hooks = hooks;
    this.#enter(cell.entry);
  }

  /** Current place of each holder walked by an enclosing `each`. The same map until it changes. */
  get places(): ReadonlyMap<string, number> {
    return this.#places;
  }

  resolve(name: ByVariant): string | undefined {
    return name.variants.get(this.#variant) ?? name.default;
  }

  /**
   * The next step that does something; undefined at the end of the routine. With `ahead`, only what surely follows
   * without anything happening between; undefined otherwise.
   */
  next(ahead = false): PlainStep | undefined {
    for (let turns = 0; ; turns++) {
      const frame = this.#frames.at(-1);
      if (frame === undefined) return undefined;
      if (turns > this.#mostTurns) {
        this.runaway = true;
        return undefined;
      }
      const step = frame.steps[frame.index];
      if (step === undefined) {
        if (frame.kind === "each") {
          if (ahead) return undefined;
          this.#endPass(frame);
        } else this.#frames.pop();
        continue;
      }
      if (ahead && (step.kind === "each" || (step.kind === "when" && mayChange(step.condition)))) return undefined;
      frame.index++;
      switch (step.kind) {
        case "run":
          this.#enter(step.routine);
          break;
        case "each":
          this.#enterEach(step);
          break;
        case "when": {
          const holds = this.#hooks.holds(step.condition, this.#innerPass(), this.#places);
          this.#push({ kind: "branch", steps: holds ? step.then : step.otherwise, index: 0, pass: 0, passes: 1 });
          break;
        }
        default:
          return step;
      }
    }
  }

  /** Runs another routine in place of the rest of the one that the last step belongs to. */
  replaceRoutine(name: string): void {
    for (;;) {
      const frame = this.#frames.pop();
      if (frame === undefined) break;
      if (frame.kind === "each") this.#leftEach();
      if (frame.kind === "routine") break;
    }
    this.#enter(name);
  }

  /** Leaves everything. */
  abandon(): void {
    while (this.#frames.length > 0) if (this.#frames.pop()!.kind === "each") this.#leftEach();
  }

  #push(frame: Frame): void {
    if (this.#frames.length >= DEEPEST)
      throw new ContractError(`simulate: routines nest deeper than ${DEEPEST}; a routine must not run itself`);
    this.#frames.push(frame);
  }

  #enter(name: string): void {
    const routine = this.#cell.routines.get(name);
    if (routine === undefined) throw new ContractError(`simulate: the cell has no routine "${name}"`);
    this.#push({ kind: "routine", steps: routine.steps, index: 0, pass: 0, passes: 1 });
  }

  #enterEach(step: EachStep): void {
    const holders: { name: string; places: number }[] = [];
    for (const over of step.over) {
      const name = this.resolve(over);
      if (name === undefined) {
        this.#hooks.unresolved(step);
        return;
      }
      const holder = this.#cell.holders.get(name);
      if (holder === undefined) throw new ContractError(`simulate: the cell has no holder "${name}"`);
      holders.push({ name, places: holder.places.length });
    }
    const passes = holders.length > 0 ? Math.min(...holders.map((h) => h.places)) : (step.times ?? 0);
    this.#hooks.eachStarts(step, holders, passes);
    if (passes < 1) return;
    const outermost = this.pass < 0;
    this.#push({
      kind: "each",
      steps: step.steps,
      index: 0,
      each: step,
      holders: holders.map((h) => h.name),
      pass: 0,
      passes,
    });
    if (outermost) {
      this.#passesKnown += passes;
      this.#startPass(step);
    }
    this.#locate();
  }

  #endPass(frame: Frame): void {
    const outermost = this.#frames.find((f) => f.kind === "each") === frame;
    if (frame.pass + 1 >= frame.passes) {
      this.#frames.pop();
      this.#leftEach();
      return;
    }
    frame.pass++;
    frame.index = 0;
    if (outermost) {
      this.#hooks.passEnds();
      this.#startPass(frame.each!);
    }
    this.#locate();
  }

  #startPass(step: EachStep): void {
    this.pass = this.#passCount++;
    this.#hooks.passStarts(step, this.pass, this.#passesKnown);
  }

  #leftEach(): void {
    if (!this.#frames.some((f) => f.kind === "each")) {
      this.pass = -1;
      this.#hooks.passEnds();
    }
    this.#locate();
  }

  #innerPass(): { first: boolean; last: boolean } | undefined {
    const frame = this.#frames.findLast((f) => f.kind === "each");
    return frame && { first: frame.pass === 0, last: frame.pass === frame.passes - 1 };
  }

  #locate(): void {
    const places = new Map<string, number>();
    for (const frame of this.#frames) for (const holder of frame.holders ?? []) places.set(holder, frame.pass);
    this.#places = places;
  }
}

/** Whether a condition may change while the arm moves: signals, and what holders contain. */
function mayChange(condition: Condition): boolean {
  switch (condition.kind) {
    case "signal":
    case "holder":
      return true;
    case "all":
    case "any":
      return condition.of.some(mayChange);
    case "not":
      return mayChange(condition.of);
    default:
      return false;
  }
}
