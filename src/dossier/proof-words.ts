/** The faults of a proof as people read them: alike ones on one line. */
import type { FaultReport, ViolationReport } from "../check/index.ts";

export interface GatheredFault {
  readonly name: string;
  /** Part variants for which it is so. */
  readonly variants: string;
  readonly verdict: FaultReport["verdict"];
  /** The steps and messages that tell it, or what goes wrong. */
  readonly tells: string;
  readonly violations: readonly ViolationReport[];
}

/** What is said under every proof. */
export const PROOF_CAUTIONS: readonly string[] = [
  "The proof is about the cell file: what is wired, adjusted or programmed otherwise behaves otherwise.",
  "One fault at a time. Outputs keep their levels through a stop; with the power they go off, and the machines keep theirs.",
  "It does not take the place of the risk assessment and of safety functions made by licensed people.",
];

/** Faults in the order given; those with the same verdict and words are one line, and so are categories of a stop. */
export function gatheredFaults(faults: readonly FaultReport[]): GatheredFault[] {
  const lines = new Map<string, { names: string[]; variants: Set<string>; fault: FaultReport; tells: string }>();
  for (const fault of faults) {
    const tells = tellsOf(fault);
    const stopped = /^stopped category (\d), (.*)$/.exec(fault.name);
    const key = [stopped === null ? fault.name : stopped[2], fault.verdict, tells].join("|");
    const line = lines.get(key) ?? { names: [], variants: new Set(), fault, tells };
    const name = stopped === null ? fault.name : stopped[1]!;
    if (!line.names.includes(name)) line.names.push(name);
    line.variants.add(fault.variant);
    lines.set(key, line);
  }
  return [...lines.values()].map(({ names, variants, fault, tells }) => {
    const stopped = /^stopped category \d, (.*)$/.exec(fault.name);
    return {
      name: stopped === null ? fault.name : `stopped category ${names.join(", ")}, ${stopped[1]}`,
      variants: [...variants].join(", "),
      verdict: fault.verdict,
      tells,
      violations: fault.violations,
    };
  });
}

export interface GatheredViolation extends ViolationReport {
  /** Part variants for which it is so. */
  readonly variants: string;
}

/** What goes wrong in the same way for several parts is told once, by the first. */
export function gatheredViolations(violations: readonly ViolationReport[]): GatheredViolation[] {
  const lines = new Map<string, { first: ViolationReport; variants: Set<string> }>();
  for (const violation of violations) {
    const key = [violation.kind, violation.sentence, violation.mend].join("|");
    const line = lines.get(key) ?? { first: violation, variants: new Set() };
    line.variants.add(violation.variant);
    lines.set(key, line);
  }
  return [...lines.values()].map(({ first, variants }) => ({ ...first, variants: [...variants].join(", ") }));
}

function tellsOf({ verdict, reason, detectedAt, standsAt, violations }: FaultReport): string {
  switch (verdict) {
    case "harmless":
      return "";
    case "detected":
      return detectedAt.map(({ step, message }) => `${step}: ${message}`).join("; ");
    case "stands still":
      return `waits for ever at ${standsAt.join(", ")}`;
    case "unnoticed":
    case "dangerous":
      return violations.map(({ sentence }) => sentence).join(" ");
    case "undecided":
      return reason ?? "";
  }
}
