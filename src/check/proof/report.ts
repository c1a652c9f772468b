/** A proof as it is reported: plain data with units in its names, the same in `check --json` and `prove --json`. */
import { type FaultProof, isHarmful, type NominalProof, type Proof, type TendingRun } from "../../proof/index.ts";
import { eventWords } from "./event-words.ts";

export interface ProofReport {
  /** Without faults, over all part variants: violated if one is, undecided if one is and none is violated. */
  readonly verdict: "holds" | "violated" | "undecided";
  /** Symbolic states over all explorations. */
  readonly states: number;
  /** What can go wrong without any fault. */
  readonly violations: readonly ViolationReport[];
  readonly variants: readonly VariantProofReport[];
  /** Null: no fault was supposed. */
  readonly faults: readonly FaultReport[] | null;
  /** What the proof takes for granted of this cell, besides what docs/explanation/interlock-proof.md tells. */
  readonly assumptions: readonly string[];
}

export interface VariantProofReport {
  readonly variant: string;
  readonly verdict: "holds" | "violated" | "undecided";
  /** Why undecided. */
  readonly reason: string | null;
  readonly states: number;
  /** The user's rules. */
  readonly rules: readonly RuleReport[];
  /** Steps at which the routine waits without a limit of its own. */
  readonly waits: readonly RuleReport[];
}

export interface RuleReport {
  /** The rule's name, or the step's id. */
  readonly name: string;
  readonly verdict: "holds" | "violated" | "undecided";
  readonly run: RunReport | null;
}

export interface ViolationReport {
  readonly variant: string;
  readonly kind: string;
  /** Whether a part can be dropped or crushed, or bodies meet. */
  readonly harmful: boolean;
  /** Step that runs into it, or that is under way. */
  readonly step: string | null;
  readonly subject: string;
  readonly other: string | null;
  readonly sentence: string;
  /** Tried and proved; null where no simple change helps. */
  readonly mend: string | null;
  readonly run: RunReport;
}

export interface FaultReport {
  readonly variant: string;
  readonly name: string;
  readonly verdict: FaultProof["verdict"];
  readonly reason: string | null;
  /** Where the routine can stop after it, and the message shown there. */
  readonly detectedAt: readonly { readonly step: string; readonly message: string }[];
  /** Steps at which it can then wait for ever without a message. */
  readonly standsAt: readonly string[];
  readonly violations: readonly ViolationReport[];
  readonly states: number;
}

/** A counterexample: how things stood, and what happened when. */
export interface RunReport {
  /** From power-up to the moment in which it goes wrong. */
  readonly duration_s: number;
  /** Beginning of the last pass. */
  readonly from_s: number;
  readonly lanes: readonly {
    readonly kind: TendingRun["lanes"][number]["kind"];
    readonly name: string;
    readonly spans: readonly { readonly from_s: number; readonly to_s: number; readonly text: string }[];
  }[];
  readonly events: readonly { readonly at_s: number; readonly text: string }[];
}

/** @param faultsSupposed whether the proof went through faults at all */
export function proofReport(proof: Proof, faultsSupposed: boolean): ProofReport {
  const violations = proof.nominal.flatMap(({ variant, violations: all }) => reported(variant, all));
  return {
    verdict: worst(proof.nominal.map(({ verdict }) => verdict)),
    states: proof.states,
    violations,
    variants: proof.nominal.map(variantReport),
    faults: faultsSupposed ? proof.faults.map(faultReport) : null,
    assumptions: proof.assumptions,
  };
}

const worst = (verdicts: readonly ProofReport["verdict"][]): ProofReport["verdict"] =>
  verdicts.includes("violated") ? "violated" : verdicts.includes("undecided") ? "undecided" : "holds";

function variantReport({ variant, verdict, reason, states, rules, waits }: NominalProof): VariantProofReport {
  const told = ({ name, verdict: kept, run }: NominalProof["rules"][number]): RuleReport => ({
    name,
    verdict: kept,
    run: run === undefined ? null : runReport(run),
  });
  return { variant, verdict, reason: reason ?? null, states, rules: rules.map(told), waits: waits.map(told) };
}

function faultReport(fault: FaultProof): FaultReport {
  return {
    variant: fault.variant,
    name: fault.name,
    verdict: fault.verdict,
    reason: fault.reason ?? null,
    detectedAt: fault.detectedAt.map(({ stepId, message }) => ({ step: stepId, message })),
    standsAt: fault.standsAt,
    violations: reported(fault.variant, fault.violations),
    states: fault.states,
  };
}

/** What comes about soonest first. */
const reported = (variant: string, violations: NominalProof["violations"]): ViolationReport[] =>
  violations.toSorted((a, b) => a.run.duration - b.run.duration).map((v) => violationReport(variant, v));

function violationReport(variant: string, violation: NominalProof["violations"][number]): ViolationReport {
  const { trouble, sentence, mend, run, during } = violation;
  return {
    variant,
    kind: trouble.kind,
    harmful: isHarmful(trouble.kind),
    step: trouble.stepId ?? during ?? null,
    subject: trouble.subject,
    other: trouble.other ?? null,
    sentence,
    mend: mend ?? null,
    run: runReport(run),
  };
}

function runReport({ duration, from, lanes, events }: TendingRun): RunReport {
  return {
    duration_s: duration,
    from_s: from,
    lanes: lanes.map(({ kind, name, spans }) => ({
      kind,
      name,
      spans: spans.map((span) => ({ from_s: span.from, to_s: span.to, text: span.text })),
    })),
    events: events.flatMap(({ at, event }) => {
      const text = eventWords(event);
      return text === undefined ? [] : [{ at_s: at, text }];
    }),
  };
}
