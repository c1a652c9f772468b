/** Guarding as text for people: the caution, then stops, ways to the arm, contact, gaps, hazards, functions and what lower speeds cost. */
import type { ApproachReport, CheckReport, CostReport, GuardReport, ZoneReport } from "../check/index.ts";
import { fixed, NONE, percent, seconds } from "../dossier/figures.ts";
import { findingLines, headed, heading } from "./check-text.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";

const mm = (metres: number | null): string => (metres === null ? NONE : `${fixed(1000 * metres, 0)} mm`);
const speed = (value: number | null): string => (value === null ? NONE : `${fixed(1000 * value, 0)} mm/s`);
const kg = (value: number | null): string => (value === null ? NONE : `${fixed(value, 1)} kg`);

/** Lines of the report, ending in newlines. */
export function guardText(
  cell: string,
  report: GuardReport,
  findings: CheckReport["findings"],
  layout: Layout,
): string {
  const colors = colorsFor(layout);
  const lines: string[] = [heading(cell, colors), ""];
  const say = (text: string) => lines.push(...paragraph(clean(text), layout.width, "  ", "    "));
  const rows = (columns: Parameters<typeof table>[0], cells: readonly (readonly string[])[]) =>
    lines.push(
      ...headed(
        table(
          columns,
          cells.map((row) => row.map(clean)),
          layout.width,
          layout.ascii,
        ),
        colors,
      ),
      "",
    );
  lines.push(...paragraph(report.caution, layout.width, "", ""), "");
  lines.push(...paragraph(`After ${report.editions.join(", ")}; other editions differ.`, layout.width, "", ""), "");
  if (report.unknown.length > 0) {
    lines.push(heading("Not known", colors));
    for (const text of report.unknown) say(text);
    lines.push("");
  }

  lines.push(heading("Stopping", colors));
  stoppingLines(report, say);
  lines.push("");

  if (report.approaches.length > 0) {
    lines.push(heading("Ways to the arm, straight, seen from above", colors));
    for (const approach of report.approaches) approachLines(approach, say);
    lines.push("");
  }
  if (report.monitoring.length > 0) {
    lines.push(heading("Speed and separation", colors));
    rows(
      [
        { title: "step", align: "left", atLeast: 8 },
        { title: "person", align: "left", atLeast: 6, dropped: 1 },
        { title: "needed", align: "right" },
        { title: "there is", align: "right" },
        { title: "speed that fits", align: "right" },
      ],
      report.monitoring.map((m) => [
        m.step,
        m.person,
        `${m.missing.length > 0 ? "above " : ""}${mm(m.needed_m)}`,
        mm(m.distance_m),
        speed(m.allowed_mps),
      ]),
    );
  }
  const { contact } = report;
  if (contact.steps.length > 0) {
    lines.push(heading("Contact", colors));
    say(
      `moving parts of the arm ${kg(contact.movingMass_kg)}, heaviest load ${kg(contact.heaviestLoad_kg)}; the larger of effective mass and M/2 + m_L governs`,
    );
    lines.push("");
    rows(
      [
        { title: "step", align: "left", atLeast: 8 },
        { title: "what", align: "left", atLeast: 10, dropped: 2 },
        { title: "fastest", align: "right" },
        { title: "effective mass", align: "right", dropped: 1 },
        { title: "M/2 + m_L", align: "right", dropped: 3 },
        { title: "allowed", align: "right" },
        { title: "by", align: "left", dropped: 4 },
      ],
      contact.steps.map((s) => [
        s.step,
        s.what,
        speed(s.peak_mps),
        `${fixed(s.effectiveMin_kg, 1)} to ${kg(s.effectiveMax_kg)}`,
        kg(s.simplified_kg),
        `${speed(s.allowed_mps)}${s.ratio !== null && s.ratio > 1 ? " !" : ""}`,
        s.region === null ? NONE : `${s.region}, ${s.governs}`,
      ]),
    );
    rows(
      [
        { title: "body region", align: "left" },
        { title: "blow up to", align: "right" },
        { title: "clamped up to", align: "right" },
        { title: "governs", align: "left" },
        { title: "", align: "left" },
      ],
      contact.regions.map((r) => [
        r.region,
        r.blow_mps === null ? "none" : speed(r.blow_mps),
        speed(r.clamped_mps),
        r.governs,
        r.stated ? "may be touched" : "",
      ]),
    );
  }
  if (report.gaps.length > 0) {
    lines.push(heading("Gaps in which the body can be crushed", colors));
    rows(
      [
        { title: "between", align: "left", atLeast: 16 },
        { title: "narrowest", align: "right" },
        { title: "step", align: "left", atLeast: 6, dropped: 1 },
        { title: "too narrow for", align: "left", atLeast: 12 },
      ],
      report.gaps.map((g) => [
        g.what,
        g.gap_m === null ? "closes" : mm(g.gap_m),
        g.step ?? NONE,
        g.crushed.length > 6 ? "every part of the body" : g.crushed.join(", "),
      ]),
    );
  }
  lines.push(heading("Hazard register", colors));
  for (const hazard of report.hazards) {
    const { risk } = hazard;
    const needs =
      risk === undefined
        ? ""
        : `: S${risk.S.value} F${risk.F.value} P${risk.P.value}, performance level ${risk.required} required`;
    lines.push(...paragraph(clean(`${hazard.id}${needs}`), layout.width, "  ", "    "));
    const told = (text: string) => lines.push(...paragraph(clean(text), layout.width, "    ", "      "));
    told(`${hazard.group}; ${hazard.origin}; ${hazard.consequence}`);
    told(`phases: ${hazard.phases.join(", ")}; persons: ${hazard.persons.join(", ")}`);
    told(`in the file against it: ${hazard.measures.length === 0 ? "nothing" : hazard.measures.join("; ")}`);
    if (risk !== undefined)
      for (const [name, parameter] of [
        ["S", risk.S],
        ["F", risk.F],
        ["P", risk.P],
      ] as const)
        told(`${name}${parameter.value} ${parameter.stated ? "stated" : "proposed"}: ${parameter.reason}`);
  }
  lines.push("");
  if (report.functions.length > 0) {
    lines.push(heading("Safety functions", colors));
    for (const f of report.functions) {
      say(
        `${f.name}: required ${f.required ?? NONE}, achieved ${f.achieved?.level ?? NONE}, ${f.verdict}${f.covers.length > 0 ? `; covers ${f.covers.join(", ")}` : ""}`,
      );
      if (f.achieved !== undefined)
        say(
          `  MTTFd ${fixed(f.achieved.mttfd, 1)} years (${f.achieved.mttfdBand}), DC ${fixed(100 * f.achieved.coverage, 1)} % (${f.achieved.coverageBand})`,
        );
      for (const text of f.missing) say(`  ${text}`);
      for (const { part, years } of f.replace) say(`  ${part} to be replaced after ${fixed(years, 1)} years`);
    }
    lines.push("");
  }
  if (report.costs !== null && report.costs.length > 0) {
    lines.push(heading("What lower speeds cost", colors));
    for (const cost of report.costs) costLine(cost, say);
    lines.push("");
  }
  lines.push(...findingLines(findings, colors, layout));
  while (lines.at(-1) === "") lines.pop();
  const text = `${lines.join("\n")}\n`;
  return layout.ascii ? text.replaceAll(NONE, "-").replaceAll("²", "2").replaceAll("…", "~") : text;
}

type Say = (text: string) => void;

function stoppingLines({ stopping }: GuardReport, say: Say): void {
  const { reaction_s, statedTime_s, statedDistance_m, computed } = stopping;
  say(
    `stated: reaction ${reaction_s === null ? NONE : seconds(reaction_s)}, stopping time ${statedTime_s === null ? NONE : seconds(statedTime_s)}, distance ${mm(statedDistance_m)}`,
  );
  say(
    computed === null
      ? "from the joints' limits: cannot be told"
      : `from the joints' limits: up to ${seconds(computed.time_s)} (${computed.joint} in ${computed.step}) and ${mm(computed.distance_m)}; the larger governs`,
  );
}

function approachLines(approach: ApproachReport, say: Say): void {
  const { person, place, fenced, watched, open, nearestOpen } = approach;
  say(
    `${person} from ${place}: ${percent(fenced)} of the arm's points behind the fence, ${percent(watched)} through zones, ${percent(open)} past neither${nearestOpen === null ? "" : ` (nearest ${mm(nearestOpen.distance_m)}, ${nearestOpen.step})`}`,
  );
  const { nearestFenced } = approach;
  if (nearestFenced !== null)
    say(
      `  from ${nearestFenced.panel} to the arm ${mm(nearestFenced.distance_m)} at least (${nearestFenced.step}); what can be reached over or through it (ISO 13857) is not computed`,
    );
  for (const zone of approach.zones) say(`  ${zoneWords(zone)}`);
}

function zoneWords(zone: ZoneReport): string {
  const name = `${zone.zone} (${zone.by}): ${mm(zone.placed_m)} from the arm in ${zone.step}`;
  if (zone.needed_m === null) return `${name}; ${zone.reason}`;
  const missing =
    zone.missing_m! > 0 ? `${mm(zone.missing_m)} are missing` : `${mm(-zone.missing_m!)} more than needed`;
  return `${name}; needed ${mm(zone.needed_m)} = ${mm(zone.separation_m)} (${zone.reason}; ${seconds(zone.time_s!)}) + ${mm(zone.overtravel_m)} that the tool goes on; ${missing}`;
}

function costLine(cost: CostReport, say: Say): void {
  const more = cost.limited_s - cost.period_s;
  say(
    `${cost.what}: ${cost.variant} every ${seconds(cost.limited_s)} instead of ${seconds(cost.period_s)}, ${more >= 0 ? "+" : ""}${fixed(more, 2)} s (${fixed((100 * more) / cost.period_s, 1)} %)`,
  );
  if (cost.notPlanned.length > 0)
    say(`  not planned at that speed, counted as they are: ${cost.notPlanned.join(", ")}`);
}
