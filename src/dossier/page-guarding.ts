/** Guarding on the page of a check: the caution first, then ways to the arm, contact, gaps, hazard register and safety functions. */
import type { ApproachReport, ContactReport, GuardReport, MonitoringReport, ZoneReport } from "../check/index.ts";
import type { FunctionVerdict, Hazard } from "../guarding/index.ts";
import { toMm } from "../math/units.ts";
import { fixed, NONE, percent, seconds } from "./figures.ts";
import { html, type Markup } from "./markup.ts";

const mm = (metres: number | null): string => (metres === null ? NONE : `${fixed(toMm(metres), 0)} mm`);
const speed = (value: number | null): string => (value === null ? NONE : `${fixed(1000 * value, 0)} mm/s`);
const kg = (value: number | null): string => (value === null ? NONE : `${fixed(value, 1)} kg`);

export function guardingMarkup(report: GuardReport): Markup {
  const { approaches, monitoring, contact, gaps, hazards, functions, unknown, editions } = report;
  return html`<p class="warning"><b>${report.caution}</b></p>
<p class="note">After ${editions.join(", ")}; other editions differ.</p>
<p class="lead">${stopping(report)}</p>
${unknown.length > 0 && html`<details open><summary>Not known (${unknown.length})</summary><ul>${unknown.map((text) => html`<li>${text}</li>`)}</ul></details>`}
${approaches.length > 0 && approachTable(approaches)}
${monitoring.length > 0 && monitoringTable(monitoring)}
${contact.steps.length > 0 && contactTable(contact)}
${
  gaps.length > 0 &&
  html`<div class="scroll"><table><caption>Gaps in which the body can be crushed (ISO 13854)</caption><thead><tr><th>between</th><th class="n">narrowest</th><th>step</th><th>too narrow for</th></tr></thead><tbody>${gaps.map(
    (g) =>
      html`<tr><th scope="row">${g.what}</th><td class="n">${g.gap_m === null ? "closes" : mm(g.gap_m)}</td><td class="id">${g.step ?? NONE}</td><td>${g.crushed.join(", ")}</td></tr>`,
  )}</tbody></table></div>`
}
${hazardTable(hazards)}
${functions.length > 0 && functionTable(functions)}`;
}

function stopping({ stopping: { reaction_s, statedTime_s, statedDistance_m, computed } }: GuardReport): string {
  const time = (value: number | null) => (value === null ? "not stated" : seconds(value));
  const own =
    computed === null
      ? "From the joints' limits the stop cannot be told."
      : `From the joints' limits up to ${seconds(computed.time_s)} (${computed.joint} in ${computed.step}) and ${mm(computed.distance_m)}. The larger governs.`;
  return `Reaction ${time(reaction_s)}, stopping time ${time(statedTime_s)}, stopping distance ${statedDistance_m === null ? "not stated" : mm(statedDistance_m)}. ${own}`;
}

function approachTable(approaches: readonly ApproachReport[]): Markup {
  const zone = (z: ZoneReport) =>
    html`<tr><th scope="row">${z.zone} (${z.by})</th><td class="id">${z.step}</td><td class="n">${mm(z.placed_m)}</td><td class="n">${mm(z.needed_m)}</td><td class="n">${z.missing_m === null ? NONE : z.missing_m > 0 ? html`<b class="error">${mm(z.missing_m)}</b>` : "none"}</td><td>${z.reason}</td></tr>`;
  return html`${approaches.map(
    (a) => html`<h3>${a.person} from ${a.place}</h3>
<p>${percent(a.fenced)} of the arm's points are behind the fence, ${percent(a.watched)} are reached through zones, ${a.open > 0 ? html`<b class="warning">${percent(a.open)} past neither</b>` : "none past neither"}${a.nearestOpen !== null && `, the nearest ${mm(a.nearestOpen.distance_m)} away in ${a.nearestOpen.step}`}.${a.nearestFenced !== null && ` From ${a.nearestFenced.panel} to the arm it is ${mm(a.nearestFenced.distance_m)} at least, in ${a.nearestFenced.step}; what can be reached over or through it (ISO 13857) is not computed.`}</p>
${a.zones.length > 0 && html`<div class="scroll"><table><caption>Straight ways, seen from above; needed: separation distance and the way that the tool goes on</caption><thead><tr><th>zone</th><th>step</th><th class="n">placed</th><th class="n">needed</th><th class="n">missing</th><th>rule</th></tr></thead><tbody>${a.zones.map(zone)}</tbody></table></div>`}`,
  )}`;
}

function monitoringTable(monitoring: readonly MonitoringReport[]): Markup {
  return html`<div class="scroll"><table><caption>Speed and separation, worst moment of each step</caption><thead><tr><th>step</th><th>person</th><th class="n">needed</th><th class="n">there is</th><th class="n">speed that fits</th></tr></thead><tbody>${monitoring.map(
    (m) =>
      html`<tr><th scope="row" class="id">${m.step}</th><td>${m.person}</td><td class="n">${m.missing.length > 0 && "above "}${mm(m.needed_m)}</td><td class="n">${mm(m.distance_m)}</td><td class="n">${speed(m.allowed_mps)}</td></tr>`,
  )}</tbody></table></div>`;
}

function contactTable({ steps }: ContactReport): Markup {
  return html`<div class="scroll"><table><caption>Contact by a blow; the larger of effective mass and M/2 + m_L governs</caption><thead><tr><th>step</th><th>what</th><th class="n">fastest</th><th class="n">effective mass</th><th class="n">M/2 + m_L</th><th class="n">allowed</th><th>by</th></tr></thead><tbody>${steps.map(
    (s) =>
      html`<tr><th scope="row" class="id">${s.step}</th><td>${s.what}</td><td class="n">${speed(s.peak_mps)}</td><td class="n">${fixed(s.effectiveMin_kg, 1)} to ${kg(s.effectiveMax_kg)}</td><td class="n">${kg(s.simplified_kg)}</td><td class="n">${s.ratio !== null && s.ratio > 1 ? html`<b class="error">${speed(s.allowed_mps)}</b>` : speed(s.allowed_mps)}</td><td>${s.region === null ? NONE : `${s.region}, ${s.governs}`}</td></tr>`,
  )}</tbody></table></div>`;
}

function hazardTable(hazards: readonly Hazard[]): Markup {
  const parameter = (name: string, p: { value: number; reason: string; stated: boolean }) =>
    html`<li><b>${name}${p.value}</b> ${p.stated ? "stated" : "proposed"}: ${p.reason}</li>`;
  return html`<div class="scroll"><table><caption>Hazard register, drawn up from the cell file: where a risk assessment begins</caption><thead><tr><th>entry</th><th>hazard</th><th>phases, persons</th><th>in the file against it</th><th>risk parameters</th><th>level required</th></tr></thead><tbody>${hazards.map(
    ({ id, group, origin, consequence, phases, persons, measures, risk }) =>
      html`<tr><th scope="row" class="id">${id}</th><td>${group}; ${origin}; ${consequence}</td><td>${phases.join(", ")}; ${persons.join(", ")}</td><td>${measures.length === 0 ? "nothing" : measures.join("; ")}</td><td>${risk === undefined ? NONE : html`<ul>${parameter("S", risk.S)}${parameter("F", risk.F)}${parameter("P", risk.P)}</ul>`}</td><td>${risk?.required ?? NONE}</td></tr>`,
  )}</tbody></table></div>`;
}

function functionTable(functions: readonly FunctionVerdict[]): Markup {
  return html`<div class="scroll"><table><caption>Safety functions (ISO 13849-1, simplified method, from the data given)</caption><thead><tr><th>function</th><th>covers</th><th>required</th><th>achieved</th><th class="n">MTTFd</th><th class="n">DC</th><th>verdict</th></tr></thead><tbody>${functions.map(
    (f) =>
      html`<tr><th scope="row">${f.name}</th><td>${f.covers.join(", ")}</td><td>${f.required ?? NONE}</td><td>${f.achieved?.level ?? NONE}</td><td class="n">${f.achieved === undefined ? NONE : `${fixed(f.achieved.mttfd, 1)} years`}</td><td class="n">${f.achieved === undefined ? NONE : `${fixed(100 * f.achieved.coverage, 1)} %`}</td><td>${f.verdict}${[...f.missing, ...f.replace.map((r) => `${r.part} to be replaced after ${fixed(r.years, 1)} years`)].map((text) => html`<br>${text}`)}</td></tr>`,
  )}</tbody></table></div>`;
}
