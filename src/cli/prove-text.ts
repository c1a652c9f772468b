/** A proof as text for people: the verdict, what can go wrong with its timing diagram and mend, faults, what is taken for granted. */
import type { FaultReport, ProofReport, RunReport, ViolationReport } from "../check/index.ts";
import { fixed } from "../dossier/figures.ts";
import {
  type GatheredViolation,
  gatheredFaults,
  gatheredViolations,
  PROOF_CAUTIONS,
  timingDiagram,
} from "../dossier/index.ts";
import { headed, heading } from "./check-text.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";
import { drawTiming } from "./timing-text.ts";

export function proveText(cell: string, proof: ProofReport, layout: Layout): string {
  const colors = colorsFor(layout);
  const lines: string[] = [heading(cell, colors), ""];
  for (const variant of proof.variants) {
    const color = { holds: colors.green, violated: colors.red, undecided: colors.yellow }[variant.verdict];
    lines.push(`${color(variant.verdict)}  ${clean(variant.variant)}  ${variant.states} states`);
    if (variant.reason !== null) lines.push(...told(variant.reason, layout));
    for (const wait of variant.waits)
      if (wait.verdict !== "holds")
        lines.push(
          ...told(`The wait at ${wait.name} ${wait.verdict === "violated" ? "need not end" : "is undecided"}.`, layout),
        );
    for (const rule of variant.rules) {
      lines.push(...told(`rule "${rule.name}": ${rule.verdict}`, layout));
      if (rule.run !== null) lines.push("", ...drawTiming(timingDiagram(rule.run), layout, 4), "");
    }
  }
  lines.push("");
  for (const violation of gatheredViolations(proof.violations)) lines.push(...violationLines(violation, layout), "");
  if (proof.faults !== null) lines.push(...faultLines(proof.faults, layout), "");
  lines.push(heading("Taken for granted", colors));
  for (const text of [...proof.assumptions, ...PROOF_CAUTIONS])
    lines.push(...paragraph(clean(text), layout.width, "- ", "  "));
  lines.push("", `${proof.states} states explored`);
  return `${lines.join("\n")}\n`;
}

const told = (text: string, layout: Layout): string[] => paragraph(clean(text), layout.width, "    ", "    ");

function violationLines(violation: GatheredViolation, layout: Layout): string[] {
  const colors = colorsFor(layout);
  const { variants, step, kind, harmful, sentence, mend, run } = violation;
  const title = `${kind}${step === null ? "" : ` at ${step}`} (${variants})`;
  return [
    (harmful ? colors.red : colors.yellow)(clean(title)),
    ...told(sentence, layout),
    ...told(mend === null ? "No single change that was tried prevents it." : `Mend: ${mend}`, layout),
    "",
    ...diagramLines(run, violation, layout),
  ];
}

const diagramLines = (run: RunReport, { subject, other }: ViolationReport, layout: Layout): string[] =>
  drawTiming(timingDiagram(run, [subject, other]), layout, 4);

/** A table of all faults, then the dangerous ones one by one. */
function faultLines(faults: readonly FaultReport[], layout: Layout): string[] {
  const colors = colorsFor(layout);
  const gathered = gatheredFaults(faults);
  const rows = gathered.map(({ name, variants, verdict, tells }) => [name, variants, verdict, tells].map(clean));
  const columns = [
    { title: "fault", align: "left", atLeast: 20 },
    { title: "part", align: "left", atLeast: 5, dropped: 1 },
    { title: "verdict", align: "left" },
    { title: "told by, or what goes wrong", align: "left", atLeast: 20 },
  ] as const;
  const lines = [
    heading("Faults, each once at any moment", colors),
    ...headed(table(columns, rows, layout.width, layout.ascii), colors),
    "",
  ];
  for (const { name, variants, verdict, violations } of gathered) {
    if (verdict !== "dangerous" && verdict !== "unnoticed") continue;
    lines.push((verdict === "dangerous" ? colors.red : colors.yellow)(clean(`${verdict}: ${name} (${variants})`)));
    for (const { sentence, run } of violations)
      lines.push(...told(`${sentence} First at ${fixed(run.duration_s, 2)} s.`, layout));
    const [first] = violations;
    if (first !== undefined) lines.push("", ...diagramLines(first.run, first, layout), "");
  }
  return lines;
}
