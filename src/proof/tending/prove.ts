/** The interlocks of a cell explored over every interleaving and every time in the stated ranges, without and with faults. */
import { feedsOf } from "../../cell/feeds.ts";
import type { Cell } from "../../cell/model.ts";
import { createNetwork, type Exploration, explore, type QueryDescription } from "../automata/index.ts";
import { type Fault, faultsOf, nameOfFault } from "./faults.ts";
import { possibleMends } from "./mends.ts";
import { lastStep, runOf, type TendingRun } from "./run.ts";
import { sentenceOf } from "./sentences.ts";
import { type Translation, translate } from "./translate.ts";
import { isHarmful, type Trouble, type TroubleKind } from "./trouble.ts";
import type { StepMotion } from "./types.ts";

/** A trouble that can come about, with the shortest run to it. */
export interface Violation {
  readonly trouble: Trouble;
  readonly sentence: string;
  readonly run: TendingRun;
  /** A change of the routine after which it cannot come about any more, nor anything new: tried and proved. */
  readonly mend?: string;
}

/** A rule of the user, or a wait that must come to an end, and whether it is kept. */
export interface RuleProof {
  /** The rule's name, or "wait at STEP". */
  readonly name: string;
  readonly verdict: "holds" | "violated" | "undecided";
  readonly reason?: string;
  readonly run?: TendingRun;
}

/** What is said of one part variant without faults. */
export interface NominalProof {
  readonly variant: string;
  readonly verdict: "holds" | "violated" | "undecided";
  /** Why undecided. */
  readonly reason?: string;
  readonly violations: readonly Violation[];
  /** The user's rules; looked at when nothing else is violated. */
  readonly rules: readonly RuleProof[];
  /** Waits without a limit at which the routine may stay for ever: empty means that the cycle goes on for ever. */
  readonly waits: readonly RuleProof[];
  readonly states: number;
}

/**
 * - harmless: nothing is dropped or crushed, and the routine goes on as it should
 * - detected: it ends in a stop with a message, at the steps named
 * - unnoticed: nothing is dropped or crushed, but a machine runs without a part and no step tells
 * - dangerous: something can be dropped or crushed
 * - undecided: not explored to the end
 */
export type FaultVerdict = "harmless" | "detected" | "unnoticed" | "dangerous" | "undecided";

export interface FaultProof {
  readonly variant: string;
  readonly fault: Fault;
  readonly name: string;
  readonly verdict: FaultVerdict;
  readonly reason?: string;
  /** Where the routine can stop after it, with the message shown there. */
  readonly detectedAt: readonly { readonly stepId: string; readonly message: string }[];
  readonly violations: readonly Violation[];
  readonly states: number;
}

export interface Proof {
  readonly nominal: readonly NominalProof[];
  readonly faults: readonly FaultProof[];
  readonly states: number;
  /** What the proof takes for granted. */
  readonly assumptions: readonly string[];
}

export interface ProofOptions {
  /** Motions by step, for each part variant that is run. */
  readonly variants: ReadonlyMap<string, ReadonlyMap<string, StepMotion>>;
  /** Faults to suppose, by name; default: all. An empty list: none. */
  readonly faults?: readonly string[];
  /** Most memory for states, bytes; default 1 GiB. */
  readonly memory?: number;
  /** Told as explorations end, and within one: states so far. */
  readonly onProgress?: (share: number, doing: string, states: number) => void;
  readonly cancelled?: () => boolean;
}

/** Names of the faults that a cell can have. */
export function faultNames(cell: Cell, variant: string): string[] {
  return faultsOf(cell, feedsOf(cell, variant).sources).map(nameOfFault);
}

/** Explores all variants and faults. Deterministic; pure but for the callbacks. */
export function proveCell(cell: Cell, options: ProofOptions): Proof {
  const nominal: NominalProof[] = [];
  const faults: FaultProof[] = [];
  const assumptions = new Set<string>();
  let states = 0;
  const work = [...options.variants].map(([variant, motions]) => ({
    variant,
    motions,
    faults: faultsOf(cell, feedsOf(cell, variant).sources).filter(
      (fault) => options.faults === undefined || options.faults.includes(nameOfFault(fault)),
    ),
  }));
  const total = work.reduce((sum, { faults: list }) => sum + 1 + list.length, 0);
  let done = 0;
  const progress = (doing: string) => (found: number) =>
    options.onProgress?.(done / Math.max(1, total), doing, states + found);

  for (const { variant, motions, faults: list } of work) {
    const explorer = new Explorer(cell, variant, motions, options, assumptions);
    progress(variant)(0);
    const sound = explorer.nominal(progress(variant));
    nominal.push(sound);
    states += sound.states;
    done++;
    for (const fault of list) {
      const doing = `${variant}, ${nameOfFault(fault)}`;
      progress(doing)(0);
      const proof = explorer.fault(fault, progress(doing));
      faults.push(proof);
      states += proof.states;
      done++;
    }
  }
  return { nominal, faults, states, assumptions: [...assumptions] };
}

interface Looked {
  readonly translation: Translation;
  readonly exploration: Exploration;
}

class Explorer {
  readonly #cell: Cell;
  readonly #variant: string;
  readonly #motions: ReadonlyMap<string, StepMotion>;
  readonly #options: ProofOptions;
  readonly #assumptions: Set<string>;

  constructor(
    cell: Cell,
    variant: string,
    motions: ReadonlyMap<string, StepMotion>,
    options: ProofOptions,
    assumptions: Set<string>,
  ) {
    this.#cell = cell;
    this.#variant = variant;
    this.#motions = motions;
    this.#options = options;
    this.#assumptions = assumptions;
  }

  nominal(progress: (states: number) => void): NominalProof {
    const variant = this.#variant;
    const first = this.#look(undefined, () => true, anyTrouble, progress);
    const open = { variant, violations: [], rules: [], waits: [] };
    if (typeof first === "string") return { ...open, verdict: "undecided", reason: first, states: 0 };
    const { exploration } = first;
    const [answer] = exploration.queries;
    const { states } = exploration;
    if (answer!.verdict === "holds") return this.#goesOn(states, progress);
    if (answer!.verdict === "undecided") return { ...open, verdict: "undecided", reason: answer!.reason!, states };
    const all = this.#look(undefined, () => true, eachTrouble, progress);
    const violations = typeof all === "string" ? [] : violationsOf(all);
    return {
      ...open,
      verdict: "violated",
      violations: violations.map((v) => this.#mended(v, violations)),
      states,
    };
  }

  /** Nothing goes wrong; do the waits end, and are the user's rules kept? */
  #goesOn(before: number, progress: (states: number) => void): NominalProof {
    const variant = this.#variant;
    const queriesOf = (translation: Translation) => [...waitsOf(translation), ...translation.rules];
    const looked = this.#look(
      undefined,
      () => true,
      queriesOf,
      (found) => progress(before + found),
    );
    if (typeof looked === "string")
      return { variant, verdict: "undecided", reason: looked, violations: [], rules: [], waits: [], states: before };
    const { translation, exploration } = looked;
    const answers = exploration.queries.map(
      ({ name, verdict, reason, trace }): RuleProof => ({
        name,
        verdict,
        ...(reason === undefined ? {} : { reason }),
        ...(trace === undefined ? {} : { run: runOf(translation, trace) }),
      }),
    );
    const waits = answers.slice(0, translation.arm.waits.length);
    const rules = answers.slice(translation.arm.waits.length);
    const verdict = answers.some((a) => a.verdict === "violated")
      ? "violated"
      : answers.some((a) => a.verdict === "undecided")
        ? "undecided"
        : "holds";
    return { variant, verdict, violations: [], rules, waits, states: before + exploration.states };
  }

  /** The first mend that removes a violation and adds none. */
  #mended(violation: Violation, all: readonly Violation[]): Violation {
    const known = new Set(all.map(({ trouble }) => troubleKey(trouble)));
    for (const mend of possibleMends(this.#cell, violation)) {
      if (this.#options.cancelled?.()) break;
      const explorer = new Explorer(mend.cell, this.#variant, this.#motions, this.#options, new Set());
      const looked = explorer.#look(
        undefined,
        () => true,
        eachTrouble,
        () => {},
      );
      if (typeof looked === "string" || looked.exploration.queries.some(({ verdict }) => verdict === "undecided"))
        continue;
      const left = violationsOf(looked).map(({ trouble }) => troubleKey(trouble));
      if (left.includes(troubleKey(violation.trouble)) || left.some((key) => !known.has(key))) continue;
      return { ...violation, mend: `${mend.words}: proved to prevent it.` };
    }
    return violation;
  }

  fault(fault: Fault, progress: (states: number) => void): FaultProof {
    const head = { variant: this.#variant, fault, name: nameOfFault(fault) };
    const nothing = { detectedAt: [], violations: [] };
    const harm = this.#look(fault, isHarmful, (t) => [...anyTrouble(t), ...stopsOf(t)], progress);
    if (typeof harm === "string") return { ...head, ...nothing, verdict: "undecided", reason: harm, states: 0 };
    const [answer, ...stops] = harm.exploration.queries;
    const { states } = harm.exploration;
    const undecided = harm.exploration.queries.find(({ verdict }) => verdict === "undecided");
    const detectedAt = harm.translation.arm.stops
      .filter((_, i) => stops[i]!.verdict === "holds")
      .map(({ stepId, message }) => ({ stepId, message }));
    if (answer!.verdict === "violated") {
      const all = this.#look(fault, isHarmful, eachTrouble, progress);
      const violations = typeof all === "string" ? [] : violationsOf(all);
      return { ...head, verdict: "dangerous", detectedAt, violations, states };
    }
    if (undecided !== undefined)
      return { ...head, ...nothing, detectedAt, verdict: "undecided", reason: undecided.reason!, states };
    // Nothing is harmed; is anything wasted without a word?
    const waste = this.#look(fault, (kind) => isHarmful(kind) || WASTEFUL.has(kind), anyTrouble, progress);
    const wasted = typeof waste === "string" ? [] : violationsOf(waste);
    if (wasted.length > 0) return { ...head, verdict: "unnoticed", detectedAt, violations: wasted, states };
    return { ...head, verdict: detectedAt.length > 0 ? "detected" : "harmless", detectedAt, violations: [], states };
  }

  /** Explores the network for one fault and what is watched; text: why that is not possible. */
  #look(
    fault: Fault | undefined,
    watches: (kind: TroubleKind) => boolean,
    queriesOf: (translation: Translation) => readonly QueryDescription[],
    progress: (states: number) => void,
  ): Looked | string {
    const outcome = translate(this.#cell, {
      variant: this.#variant,
      motions: this.#motions,
      watches,
      ...(fault === undefined ? {} : { fault }),
    });
    if (!outcome.ok) return outcome.reason;
    const { translation } = outcome;
    for (const assumption of translation.assumptions) this.#assumptions.add(assumption);
    const built = createNetwork(translation.network, queriesOf(translation));
    const { memory, cancelled } = this.#options;
    const exploration = explore(built.network, built.queries, {
      onProgress: progress,
      ...(memory === undefined ? {} : { memory }),
      ...(cancelled === undefined ? {} : { cancelled }),
    });
    return { translation, exploration };
  }
}

/** A machine that runs without a part harms nothing but says nothing either. */
const WASTEFUL: ReadonlySet<TroubleKind> = new Set<TroubleKind>(["process-without-part"]);

const anyTrouble = ({ trouble }: Translation): QueryDescription[] => [
  { name: "no trouble", kind: "never", that: `${trouble} > 0` },
];

const eachTrouble = ({ trouble, troubles }: Translation): QueryDescription[] =>
  troubles.map((_, i) => ({ name: String(i + 1), kind: "never", that: `${trouble} = ${i + 1}` }));

/** Each wait without a limit is always followed by something else. */
const waitsOf = ({ arm }: Translation): QueryDescription[] =>
  arm.waits.map(({ location, stepId, within, clock }) => {
    const name = `wait at ${stepId}`;
    const waiting = `${arm.name}.${location}`;
    return within === undefined
      ? { name, kind: "always followed by", when: waiting, goal: `not ${waiting}` }
      : { name, kind: "never", that: `${waiting} and ${clock} > ${within}` };
  });

const stopsOf = ({ arm }: Translation): QueryDescription[] =>
  arm.stops.map(({ location }) => ({ name: location, kind: "can reach", that: `${arm.name}.${location}` }));

const troubleKey = ({ kind, subject, other, stepId }: Trouble): string => [kind, subject, other, stepId].join("|");

function violationsOf({ translation, exploration }: Looked): Violation[] {
  return exploration.queries.flatMap(({ kind, verdict, trace }) => {
    if (kind !== "never" || verdict !== "violated" || trace === undefined) return [];
    const number = trace.at(-1)?.variables[translation.trouble] as number;
    const trouble = translation.troubles[number - 1]!;
    const run = runOf(translation, trace);
    return [{ trouble, sentence: sentenceOf(trouble, lastStep(run)), run }];
  });
}
