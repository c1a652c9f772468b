/** Findings from the interlock proof: what can go wrong without any fault, rules broken, waits that need not end. */
import type { Cell } from "../../cell/model.ts";
import { stepsById, stepsOf } from "../../cell/step-walk.ts";
import type { AwaitStep } from "../../cell/steps.ts";
import { isHarmful, type NominalProof, type Proof, type TendingRun } from "../../proof/index.ts";
import type { VariantRuns } from "../cycle-report.ts";
import type { FindingList } from "../findings.ts";
import { interlockCode } from "./interlock-codes.ts";

const FALLBACK = "Wait in the routine for what must be so before this step, by feedback where there is one.";

/** @param runs the simulated ones: what they show already is not told again */
export function addProofFindings(cell: Cell, proof: Proof, runs: readonly VariantRuns[], findings: FindingList): void {
  const found = codesByStep(runs);
  const steps = stepsById(cell);
  const pathOf = (stepId: string | undefined) =>
    (stepId === undefined ? undefined : steps.get(stepId)?.path) ?? ["routines"];
  for (const nominal of proof.nominal) {
    for (const { trouble, sentence, during, mend, run } of nominal.violations) {
      const { kind } = trouble;
      const step = trouble.stepId ?? during;
      const { code, same } = interlockCode(kind);
      if (stepsBefore(run).some((id) => same.some((other) => found.get(id)?.has(other)))) continue;
      findings.add(
        code,
        isHarmful(kind) ? "error" : "warning",
        pathOf(step),
        `${sentence} It takes no fault, only times inside the stated ranges: first ${run.duration.toFixed(3)} s after power-up, running ${nominal.variant}.`,
        mend ?? FALLBACK,
        `${trouble.subject}|${trouble.other ?? ""}`,
      );
    }
    addRules(cell, nominal, findings);
    addWaits(nominal, pathOf, findings);
    if (nominal.verdict === "undecided")
      findings.add(
        "interlocks-undecided",
        "warning",
        [],
        `whether the interlocks hold for ${nominal.variant} was not decided: ${nominal.reason ?? "the exploration was not finished"}`,
        "Run `millhand prove` with more memory (`--memory`); until it is decided, take the interlocks as not proved.",
        nominal.variant,
      );
  }
  addUnlimited(cell, findings);
}

/** Codes of the problems in simulated runs, by step; a process runs into it during no step. */
function codesByStep(runs: readonly VariantRuns[]): Map<string, Set<string>> {
  const found = new Map<string, Set<string>>();
  for (const paces of runs)
    for (const { problems } of Object.values(paces))
      for (const { code, stepId } of problems) found.set(stepId, (found.get(stepId) ?? new Set()).add(code));
  return found;
}

/** The steps begun last: what comes of a step shows in one of those that follow. */
function stepsBefore({ events }: TendingRun): string[] {
  const begun = events.flatMap(({ event }) => (event.kind === "step" && event.what === "begins" ? [event.stepId] : []));
  return begun.slice(-LAST_STEPS);
}

const LAST_STEPS = 4;

function addRules(cell: Cell, { variant, rules }: NominalProof, findings: FindingList): void {
  for (const [i, { name, verdict, run }] of rules.entries())
    if (verdict === "violated")
      findings.add(
        "rule-broken",
        "error",
        ["rules", cell.rules[i]?.name ?? name],
        `the rule "${name}" can be broken${run === undefined ? "" : `, first ${run.duration.toFixed(3)} s after power-up`}, running ${variant}`,
        "Run `millhand prove` for the sequence that breaks it.",
      );
}

function addWaits(
  { variant, waits }: NominalProof,
  pathOf: (stepId: string) => readonly (string | number)[],
  findings: FindingList,
): void {
  for (const { name, verdict } of waits)
    if (verdict === "violated")
      findings.add(
        "wait-may-last",
        "warning",
        pathOf(name),
        `the routine may wait at ${name} for ever, running ${variant}, and nobody is told`,
        "Give the await a limit and a message, and see to it that what is awaited comes.",
      );
}

/** Awaits without a limit wait in silence when a sensor fails; only a person may be waited for so. */
function addUnlimited(cell: Cell, findings: FindingList): void {
  for (const step of stepsOf(cell)) {
    if (step.kind !== "await" || step.limit !== undefined) continue;
    if (signalsOf(step.condition).some((signal) => cell.signals.get(signal)?.operator !== undefined)) continue;
    findings.add(
      "await-without-limit",
      "caution",
      step.path,
      `${step.id} waits without a limit for ${signalsOf(step.condition).join(", ")}, which no person gives: if the signal fails, the arm stands there and no message tells why`,
      "State a limit above the longest time that it can take, and a message.",
    );
  }
}

function signalsOf(condition: AwaitStep["condition"]): string[] {
  return condition.kind === "signal" ? [condition.signal] : [...new Set(condition.of.flatMap(signalsOf))];
}
