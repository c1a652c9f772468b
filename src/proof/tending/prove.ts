/** The interlocks of a cell explored over every interleaving and every time in the stated ranges, without and with faults. */
import type { Cell } from "../../cell/model.ts";
import { createNetwork, type Exploration, explore, type QueryDescription, type TraceStep } from "../automata/index.ts";
import { type Fault, faultsOf, leavesPath, nameOfFault } from "./faults.ts";
import { possibleMends } from "./mends.ts";
import { lastStep, runOf, type TendingRun } from "./run.ts";
import { sentenceOf } from "./sentences.ts";
import { type Translation, translate } from "./translate.ts";
import { isHarmful, type Trouble, type TroubleKind, troubleKey, type Watch } from "./trouble.ts";
import type { StepMotion } from "./types.ts";

/** A trouble that can come about, with the shortest run to it. */
export interface Violation {
  readonly trouble: Trouble;
  /** Step under way when it comes about. */
  readonly during: string | undefined;
  readonly sentence: string;
  readonly run: TendingRun;
  /** A change of the routine after which it cannot come about any more, nor anything new: tried and proved. */
  readonly mend?: string;
}

/** A rule of the user, or a wait that must come to an end, and whether it is kept. */
export interface RuleProof {
  /** The rule's name, or the id of the step that waits. */
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
  /** Waits without a limit of their own; when all hold, the cycle goes on for ever. */
  readonly waits: readonly RuleProof[];
  readonly states: number;
}

/**
 * - harmless: nothing is dropped or crushed, and the routine goes on as it should
 * - detected: it ends in a stop with a message, at the steps named
 * - stands still: nothing is dropped or crushed, but the routine can wait for ever at a step that gives no message
 * - unnoticed: nothing is dropped or crushed, but a machine runs without a part and no step tells
 * - dangerous: something can be dropped or crushed
 * - undecided: not explored to the end
 */
export type FaultVerdict = "harmless" | "detected" | "stands still" | "unnoticed" | "dangerous" | "undecided";

export interface FaultProof {
  readonly variant: string;
  readonly fault: Fault;
  readonly name: string;
  readonly verdict: FaultVerdict;
  readonly reason?: string;
  /** Where the routine can stop after it, with the message shown there. */
  readonly detectedAt: readonly { readonly stepId: string; readonly message: string }[];
  /** Steps at which it can then wait for ever without a message. */
  readonly standsAt: readonly string[];
  /** Only what cannot come about without the fault. */
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
  /** Told now and then: share of the explorations done, which one runs, states seen so far and waiting in it. */
  readonly onProgress?: (share: number, doing: string, states: number, frontier: number) => void;
  readonly cancelled?: () => boolean;
}

/** Names of the faults that a cell can have while it runs a part variant. */
export const faultNames = (cell: Cell, variant: string): string[] => faultsOf(cell, variant).map(nameOfFault);

/** Explores all variants and faults. Deterministic; pure but for the callbacks. */
export function proveCell(cell: Cell, options: ProofOptions): Proof {
  const nominal: NominalProof[] = [];
  const faults: FaultProof[] = [];
  const assumptions = new Set<string>();
  let states = 0;
  const work = [...options.variants].map(([variant, motions]) => ({
    variant,
    motions,
    faults: faultsOf(cell, variant).filter((fault) => options.faults?.includes(nameOfFault(fault)) ?? true),
  }));
  const total = work.reduce((sum, { faults: list }) => sum + 1 + list.length, 0);
  let done = 0;
  const progress = (doing: string) => (found: number, frontier: number) =>
    options.onProgress?.(done / Math.max(1, total), doing, states + found, frontier);

  for (const { variant, motions, faults: list } of work) {
    const explorer = new Explorer(cell, variant, motions, options, assumptions);
    progress(variant)(0, 0);
    const sound = explorer.nominal(progress(variant));
    nominal.push(sound);
    states += sound.states;
    done++;
    const known = new Set(sound.violations.map(({ trouble }) => troubleKey(trouble)));
    const alike = new Map<string, FaultProof>();
    for (const fault of list) {
      const name = nameOfFault(fault);
      const doing = `${variant}, ${name}`;
      progress(doing)(0, 0);
      const before = alike.get(likeness(fault));
      const proof = before ?? explorer.fault(fault, known, progress(doing));
      alike.set(likeness(fault), proof);
      faults.push(before === undefined ? proof : { ...proof, fault, name, states: 0 });
      if (before === undefined) states += proof.states;
      done++;
    }
  }
  return { nominal, faults, states, assumptions: [...assumptions] };
}

interface Looked {
  readonly translation: Translation;
  readonly exploration: Exploration;
}

type Progress = (states: number, frontier: number) => void;
type Questions = (translation: Translation) => readonly QueryDescription[];

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

  nominal(progress: Progress): NominalProof {
    const variant = this.#variant;
    const first = this.#look(undefined, everything, (t) => [anyTrouble(t), ...eachEnding(t)], progress);
    const open = { variant, violations: [], rules: [], waits: [] };
    if (typeof first === "string") return { ...open, verdict: "undecided", reason: first, states: 0 };
    const { exploration, translation } = first;
    const [answer, ...endings] = exploration.queries;
    const { states } = exploration;
    if (answer!.verdict === "undecided") return { ...open, verdict: "undecided", reason: answer!.reason!, states };
    if (answer!.verdict === "violated") {
      const all = this.#look(undefined, everything, eachTrouble, progress);
      const violations = typeof all === "string" ? [] : violationsOf(all);
      return {
        ...open,
        verdict: "violated",
        violations: violations.map((v) => this.#mended(v, violations)),
        states: states + (typeof all === "string" ? 0 : all.exploration.states),
      };
    }
    const waits = new Map(
      translation.arm.unlimited
        .toReversed()
        .map((stepId): [string, RuleProof] => [stepId, { name: stepId, verdict: "holds" }]),
    );
    for (const [i, { stepId }] of translation.arm.endings.entries()) {
      const { verdict, reason, trace } = endings[i]!;
      if (waits.has(stepId) && verdict !== "holds")
        waits.set(stepId, ruleProof(stepId, verdict, reason, trace, translation));
    }
    return this.#goesOn([...waits.values()], states, progress);
  }

  /** Nothing goes wrong; are the user's rules kept? */
  #goesOn(waits: readonly RuleProof[], before: number, progress: Progress): NominalProof {
    const variant = this.#variant;
    let states = before;
    const rules: RuleProof[] = [];
    if (this.#cell.rules.length > 0) {
      const looked = this.#look(
        undefined,
        everything,
        (t) => t.rules,
        (found, frontier) => progress(before + found, frontier),
      );
      if (typeof looked === "string")
        return { variant, verdict: "undecided", reason: looked, violations: [], rules, waits, states };
      const { translation, exploration } = looked;
      states += exploration.states;
      for (const { name, verdict, reason, trace } of exploration.queries)
        rules.push(ruleProof(name, verdict, reason, trace, translation));
    }
    const all = [...waits, ...rules];
    const verdict = all.some((a) => a.verdict === "violated")
      ? "violated"
      : all.some((a) => a.verdict === "undecided")
        ? "undecided"
        : "holds";
    const reason = verdict === "undecided" ? all.find((a) => a.reason !== undefined)?.reason : undefined;
    return { variant, verdict, ...(reason === undefined ? {} : { reason }), violations: [], rules, waits, states };
  }

  /** The first mend that removes a violation and adds none: what shows only later than it did was there before, behind it. */
  #mended(violation: Violation, all: readonly Violation[]): Violation {
    const known = new Set(all.map(({ trouble }) => troubleKey(trouble)));
    for (const mend of possibleMends(this.#cell, violation)) {
      if (this.#options.cancelled?.()) break;
      const explorer = new Explorer(mend.cell, this.#variant, this.#motions, this.#options, new Set());
      const looked = explorer.#look(undefined, everything, eachTrouble, () => {});
      if (typeof looked === "string" || looked.exploration.queries.some(({ verdict }) => verdict === "undecided"))
        continue;
      const left = violationsOf(looked);
      if (left.some(({ trouble }) => troubleKey(trouble) === troubleKey(violation.trouble))) continue;
      const fresh = left.filter(({ trouble }) => !known.has(troubleKey(trouble)));
      // An await for what never comes prevents all that follows, and mends nothing.
      const blocks = fresh.some(({ trouble }) => trouble.kind === "limit-passed");
      if (blocks || fresh.some(({ run }) => run.duration <= violation.run.duration)) continue;
      const behind = fresh.length === 0 ? "" : " What comes after it then shows something else that is wrong.";
      return { ...violation, mend: `${mend.words}: proved to prevent it.${behind}` };
    }
    return violation;
  }

  /** @param known troubles that come about without the fault */
  fault(fault: Fault, known: ReadonlySet<string>, progress: Progress): FaultProof {
    const head = { variant: this.#variant, fault, name: nameOfFault(fault) };
    const watch = (trouble: Trouble): Watch => {
      if (known.has(troubleKey(trouble))) return "no";
      return isHarmful(trouble.kind) ? "end" : WASTEFUL.has(trouble.kind) ? "note" : "no";
    };
    const looked = this.#look(fault, watch, (t) => [...eachTrouble(t), ...eachNote(t), ...eachEnding(t)], progress);
    if (typeof looked === "string")
      return {
        ...head,
        verdict: "undecided",
        reason: looked,
        detectedAt: [],
        standsAt: [],
        violations: [],
        states: 0,
      };
    const { translation, exploration } = looked;
    const { queries, states } = exploration;
    const violations = violationsOf(looked);
    // The network is written from the routine's end.
    const endings = translation.arm.endings
      .filter((_, i) => queries[2 * translation.troubles.length + i]!.verdict === "violated")
      .reverse();
    const detectedAt = endings.flatMap(({ stepId, message }) => (message === undefined ? [] : [{ stepId, message }]));
    const standsAt = endings.flatMap(({ stepId, message }) => (message === undefined ? [stepId] : []));
    const undecided = queries.find(({ verdict }) => verdict === "undecided");
    const harmful = violations.filter(({ trouble }) => isHarmful(trouble.kind));
    const told = { ...head, detectedAt, standsAt, states };
    if (harmful.length > 0) return { ...told, verdict: "dangerous", violations: harmful };
    if (undecided !== undefined) return { ...told, verdict: "undecided", reason: undecided.reason!, violations: [] };
    if (violations.length > 0) return { ...told, verdict: "unnoticed", violations };
    const verdict = standsAt.length > 0 ? "stands still" : detectedAt.length > 0 ? "detected" : "harmless";
    return { ...told, verdict, violations: [] };
  }

  /** Explores the network for one fault and what is watched; text: why that is not possible. */
  #look(
    fault: Fault | undefined,
    watch: (trouble: Trouble) => Watch,
    questions: Questions,
    progress: Progress,
  ): Looked | string {
    const outcome = translate(this.#cell, {
      variant: this.#variant,
      motions: this.#motions,
      watch,
      ...(fault === undefined ? {} : { fault }),
    });
    if (!outcome.ok) return outcome.reason;
    const { translation } = outcome;
    for (const assumption of translation.assumptions) this.#assumptions.add(assumption);
    const built = createNetwork(translation.network, questions(translation));
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

const everything = (): Watch => "end";

/** Faults with the same text have the same network. The category of a stop matters only where the arm goes on from its way. */
const likeness = (fault: Fault): string =>
  fault.kind === "stopped"
    ? `stopped ${fault.restart} ${leavesPath(fault) ? "off the path" : "on the path"}`
    : nameOfFault(fault);

const anyTrouble = ({ trouble }: Translation): QueryDescription => ({
  name: "no trouble",
  kind: "never",
  that: `${trouble} > 0`,
});

const numbered = (variable: string, count: number): QueryDescription[] =>
  Array.from({ length: count }, (_, i) => ({ name: String(i + 1), kind: "never", that: `${variable} = ${i + 1}` }));

const eachTrouble: Questions = ({ trouble, troubles }) => numbered(trouble, troubles.length);
const eachNote: Questions = ({ noted, troubles }) => numbered(noted, troubles.length);
const eachEnding: Questions = ({ arm }) => numbered(arm.ended, arm.endings.length);

function ruleProof(
  name: string,
  verdict: RuleProof["verdict"],
  reason: string | undefined,
  trace: readonly TraceStep[] | undefined,
  translation: Translation,
): RuleProof {
  return {
    name,
    verdict,
    ...(reason === undefined ? {} : { reason }),
    ...(trace === undefined ? {} : { run: runOf(translation, trace) }),
  };
}

/** Troubles met or noted. */
function violationsOf({ translation, exploration }: Looked): Violation[] {
  const { troubles } = translation;
  return exploration.queries.slice(0, 2 * troubles.length).flatMap(({ verdict, trace }, i) => {
    const trouble = troubles[i % troubles.length];
    if (verdict !== "violated" || trace === undefined || trouble === undefined) return [];
    const run = runOf(translation, trace);
    const during = lastStep(run);
    return [{ trouble, during, sentence: sentenceOf(trouble, during), run }];
  });
}
