/** The interlock proof on the page of a check: the verdict, what can go wrong with its timing diagram, faults, what is taken for granted. */
import type { FaultReport, ProofReport, RuleReport, ViolationReport } from "../check/index.ts";
import { counted, fixed } from "./figures.ts";
import { html, type Markup } from "./markup.ts";
import {
  type GatheredFault,
  type GatheredViolation,
  gatheredFaults,
  gatheredViolations,
  PROOF_CAUTIONS,
} from "./proof-words.ts";
import { timingMarkup } from "./timing/timing-svg.ts";

/** Diagrams of one page; the others are told in words. */
const MOST_DIAGRAMS = 12;

export function proofMarkup(proof: ProofReport): Markup {
  const { variants, violations, faults, assumptions } = proof;
  let left = MOST_DIAGRAMS;
  const drawn = ({ run, sentence, subject, other }: ViolationReport): Markup | false =>
    left-- > 0 && timingMarkup(run, sentence, [subject, other], `timing-${left}`);
  const gathered = faults === null ? [] : gatheredFaults(faults);
  return html`<p class="lead">${summary(proof)}</p>
<div class="scroll"><table><caption>Without faults, every interleaving and every time inside the stated ranges</caption><thead><tr><th>part</th><th>verdict</th><th class="n">states</th><th>rules of the cell</th><th>waits without a limit</th></tr></thead><tbody>${variants.map(
    (v) =>
      html`<tr><th scope="row">${v.variant}</th><td>${word(v.verdict)}${v.reason !== null && html`: ${v.reason}`}</td><td class="n">${v.states}</td><td>${kept(v.rules, v.verdict)}</td><td>${kept(v.waits, v.verdict)}</td></tr>`,
  )}</tbody></table></div>
${gatheredViolations(violations).map((violation) => html`<h3>${title(violation)}</h3><p class="${violation.harmful ? "error" : "warning"}">${violation.sentence}</p><p>${violation.mend === null ? "No single change that was tried prevents it." : html`<b>Mend:</b> ${violation.mend}`}</p>${drawn(violation)}`)}
${faults !== null && faultTable(gathered)}
${gathered
  .filter(({ verdict }) => verdict === "dangerous")
  .map(({ name, variants: parts, violations: all }) => {
    const [first] = all;
    if (first === undefined) return html``;
    return html`<h3>${name} (${parts})</h3><ul>${all.map(({ sentence, run }) => html`<li>${sentence} First at ${fixed(run.duration_s, 2)} s.</li>`)}</ul>${drawn(first)}`;
  })}
<details><summary>Taken for granted (${assumptions.length + PROOF_CAUTIONS.length})</summary><ul>${[...assumptions, ...PROOF_CAUTIONS].map((text) => html`<li>${text}</li>`)}</ul></details>`;
}

function summary({ verdict, states, violations, faults }: ProofReport): Markup {
  const said = {
    holds: html`The interlocks <b class="good">hold</b> as the cell should run`,
    violated: html`${counted(gatheredViolations(violations).length, "thing")} can go <b class="error">wrong</b> though nothing fails`,
    undecided: html`Whether the interlocks hold is <b class="warning">undecided</b>`,
  }[verdict];
  const dangerous = gatheredFaults(faults ?? []).filter((fault) => fault.verdict === "dangerous").length;
  const under =
    faults === null
      ? html`Faults, stops and restarts were not supposed; <span class="id">millhand prove</span> does that.`
      : html`${counted(dangerous, "fault")} of ${gatheredFaults(faults).length} can drop or crush something.`;
  return html`${said}: ${counted(states, "state")} explored. ${under}`;
}

const title = ({ kind, step, variants }: GatheredViolation): string =>
  `${kind}${step === null ? "" : ` at ${step}`} (${variants})`;

const CLASS = {
  holds: "good",
  harmless: "good",
  detected: "good",
  violated: "error",
  dangerous: "error",
  unnoticed: "warning",
  "stands still": "warning",
  undecided: "warning",
} as const;

const word = (verdict: ProofReport["verdict"] | FaultReport["verdict"]): Markup =>
  html`<span class="${CLASS[verdict]}">${verdict}</span>`;

/** Rules and waits are looked at once nothing else goes wrong. */
function kept(list: readonly RuleReport[], verdict: ProofReport["verdict"]): Markup | string {
  if (list.length === 0) return verdict === "holds" ? "none" : "not looked at";
  const broken = list.filter(({ verdict }) => verdict !== "holds");
  return broken.length === 0
    ? `all ${list.length} hold`
    : html`${broken.map(({ name, verdict }) => html`${name}: ${word(verdict)} `)}`;
}

function faultTable(faults: readonly GatheredFault[]): Markup {
  const rows = faults.map(
    ({ name, variants, verdict, tells }) =>
      html`<tr><th scope="row">${name}</th><td>${variants}</td><td>${word(verdict)}</td><td>${tells}</td></tr>`,
  );
  return html`<h3>Faults</h3><div class="scroll"><table><caption>Each supposed once, at any moment. Detected: the routine stops at the step with its message. Stands still: it waits and no message tells why.</caption><thead><tr><th>fault</th><th>part</th><th>verdict</th><th>told by, or what goes wrong</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}
