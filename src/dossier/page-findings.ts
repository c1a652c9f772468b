/** Findings of a page, grouped by severity, each with its place and its mend. */
import type { CheckReport } from "../check/result.ts";
import { html, type Markup } from "./markup.ts";

const GROUPS = [
  { severity: "error", title: "Errors", note: "These make the cell not feasible as it is described." },
  {
    severity: "warning",
    title: "Warnings",
    note: "The cell can run, but something will disappoint or is not known well enough.",
  },
  { severity: "caution", title: "Cautions", note: "For the risk assessment and for whoever starts the cell up." },
] as const;

/** All findings; an explicit sentence when there are none. */
export function findingsMarkup(findings: CheckReport["findings"]): Markup {
  if (findings.length === 0) return html`<p>No findings.</p>`;
  const groups = GROUPS.map(({ severity, title, note }) => {
    const some = findings.filter((f) => f.severity === severity);
    if (some.length === 0) return html``;
    return html`<h3 class="${severity}">${title} (${some.length})</h3><p class="note">${note}</p>${some.map(
      (f) =>
        html`<div class="finding ${severity}"><p class="head"><span class="code id">${f.code}</span><span class="id">${f.file}:${f.line}:${f.column}</span>${f.where !== "" && html`<span class="id muted">${f.where}</span>`}</p><p>${f.message}</p>${f.mend !== "" && html`<p class="mend"><b>Mend:</b> ${f.mend}</p>`}</div>`,
    )}`;
  });
  return html`${groups}`;
}
