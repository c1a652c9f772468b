/** The sheet of one check: a page that needs nothing but itself, to be read on a screen or on paper. */
import type { CheckReport, CycleReport } from "../check/result.ts";
import { counted, fixed, jointMargin, millimetres, NONE, percent, seconds } from "./figures.ts";
import { html, Markup } from "./markup.ts";
import { chartMarkup } from "./page-chart.ts";
import { clearanceMarkup } from "./page-clearance.ts";
import type { CheckPageData } from "./page-data.ts";
import { findingsMarkup } from "./page-findings.ts";
import { guardingMarkup } from "./page-guarding.ts";
import { plotScripts, plotsMarkup } from "./page-plots.ts";
import { proofMarkup } from "./page-proof.ts";
import { PAGE_STYLE } from "./page-style.ts";

/** The page as one HTML document. All text from the cell file is escaped; no network address is in it. */
export function renderCheckPage(data: CheckPageData): string {
  const { report, chart, series } = data;
  const zones: { readonly title: string; readonly body: Markup }[] = [];
  zones.push({ title: "Key figures", body: keyFigures(report) });
  zones.push({ title: "Findings", body: findingsMarkup(report.findings) });
  if (chart !== undefined && chart.activities.length > 0 && chart.duration > 0)
    zones.push({ title: `Cycle chart, ${chart.variant}`, body: chartMarkup(chart) });
  if (report.cycle !== null && report.cycle.steps.length > 0)
    zones.push({ title: "Steps", body: stepsTable(report.cycle) });
  const clearance = clearanceMarkup(report, data.pictures);
  if (clearance !== undefined) zones.push({ title: "Clearance", body: clearance });
  if (report.proof !== null) zones.push({ title: "Proof", body: proofMarkup(report.proof) });
  const plotted = series !== undefined && series.time.length > 1 && data.joints.length > 0 ? series : undefined;
  if (plotted !== undefined)
    zones.push({
      title: chart?.pass === undefined ? "Joint motion, whole run" : `Joint motion, pass ${chart.pass.number}`,
      body: plotsMarkup(data, plotted),
    });
  if (report.reach.length > 0) zones.push({ title: "Reach", body: reachTable(report) });
  if (report.grip.length > 0) zones.push({ title: "Grip", body: gripTable(report) });
  if (report.signals.ports.length > 0) zones.push({ title: "Signals", body: signalsTable(report) });

  if (report.guarding !== null) zones.push({ title: "Guarding", body: guardingMarkup(report.guarding) });

  const page = html`<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
<title>${report.cell}: ${report.verdict}</title>
<style>${new Markup(styleSource(data.plotStyle))}${new Markup(PAGE_STYLE)}</style></head>
<body><div class="sheet">
<div class="ruler" aria-hidden="true">${[1, 2, 3, 4, 5, 6, 7, 8].map((k) => html`<span>${k}</span>`)}</div>
${header(data)}
<main>${zones.map(
    (zone, i) =>
      html`<section><h2><span class="zone" aria-hidden="true">${String.fromCharCode(65 + i)}</span>${zone.title}</h2>${zone.body}</section>`,
  )}</main>
<footer><p>Everything on this sheet is computed from what the cell file states. It does not replace the risk assessment, nor a slow first run at the real cell.</p></footer>
</div>
${plotted !== undefined && plotScripts(data, plotted)}
</body></html>
`;
  return `<!doctype html>\n${page.text}`;
}

/** Style text inside a style element: it must not be able to end the element. */
const styleSource = (source: string): string => source.replaceAll(/<(?=\/style|!--)/gi, "\\3c ");

function header(data: CheckPageData): Markup {
  const { report } = data;
  const feasible = report.verdict === "feasible";
  const of = (severity: string) => report.findings.filter((f) => f.severity === severity).length;
  const { cycle } = report;
  const rate =
    cycle === null
      ? "No cycle could be computed."
      : `One part every ${seconds(cycle.period_s)}, ${fixed(cycle.partsPerHour, 1)} parts per hour.`;
  const counts = `${counted(of("error"), "error")}, ${counted(of("warning"), "warning")} and ${counted(of("caution"), "caution")}.`;
  return html`<header><div class="verdict"><p class="stamp ${feasible ? "good" : "bad"}">${report.verdict}</p><h1>${report.cell}</h1><p class="lead">${rate} ${counts}</p></div>
<dl class="title-block"><div class="wide"><dt>Cell file</dt><dd>${data.file}</dd></div>
<div><dt>Arm</dt><dd>${data.arm}</dd></div><div><dt>Part</dt><dd>${cycle?.variant ?? NONE}</dd></div>
<div><dt>Checked</dt><dd>${data.date}</dd></div><div><dt>Millhand</dt><dd>${data.version}</dd></div></dl></header>`;
}

/** A time as a dimension line, to the scale of the longest. */
function dimension(name: string, from: number, to: number, scale: number, text: string): Markup {
  const left = (from / scale) * 100;
  const width = ((to - from) / scale) * 100;
  // Too narrow for its figure: the figure stands beside it, on the side where there is room.
  const short = width < 22;
  const place = short ? (left + width > 80 ? " short left" : " short") : "";
  return html`<div class="dimension"><span>${name}</span><div class="track"><div class="span${place}" style="left:${fixed(Math.min(left, 100), 2)}%;width:${fixed(Math.min(width, 100), 2)}%"><span class="arrow l"></span><b>${text}</b><span class="arrow r"></span></div></div></div>`;
}

function keyFigures(report: CheckReport): Markup {
  const { cycle, payload, clearance, proof } = report;
  const figures: Markup[] = [];
  const figure = (name: string, value: string, note: string) =>
    figures.push(html`<div><dt>${name}</dt><dd>${value}<small>${note}</small></dd></div>`);
  if (cycle !== null) {
    figure("Parts per hour", fixed(cycle.partsPerHour, 1), `part ${cycle.variant}, nominal times`);
    figure(
      "Period, fastest to slowest",
      `${fixed(cycle.fastest_s, 1)} to ${fixed(cycle.slowest_s, 1)} s`,
      "every device and process at its shortest, at its longest time",
    );
    figure(
      "Spindle idle",
      percent(cycle.spindleIdle_s / cycle.period_s),
      `${seconds(cycle.spindleIdle_s)} of each period without cutting`,
    );
  }
  if (report.reach.length > 0) {
    const reached = report.reach.filter((r) => r.reachable);
    const tightest = reached.toSorted((a, b) => a.jointMargin_rad - b.jointMargin_rad)[0];
    figure(
      "Targets reached",
      `${reached.length} of ${report.reach.length}`,
      tightest === undefined ? "" : `least margin to a joint limit ${jointMargin(report, tightest)}`,
    );
  }
  if (payload !== null) {
    figure(
      "Payload",
      `${fixed(payload.mass_kg, 2)} kg`,
      `${payload.rated_kg === null ? "rated load not stated" : `of ${fixed(payload.rated_kg, 2)} kg rated`}, centre of mass ${millimetres(payload.distance_m)} from the flange`,
    );
    if (payload.torqueShare !== null && payload.torqueShare.length > 0) {
      const worst = Math.max(...payload.torqueShare);
      figure(
        "Joint torque",
        percent(worst),
        `of the limit at most, joint ${report.joints[payload.torqueShare.indexOf(worst)]!.name}`,
      );
    }
  }
  if (clearance !== null)
    figure("Least clearance", millimetres(clearance.min_m), `${clearance.pair.join(" and ")}, in ${clearance.step}`);
  if (proof !== null)
    figure(
      "Proof",
      proof.verdict,
      `${counted(proof.states, "state")}, ${counted(proof.violations.length, "violation")}`,
    );
  if (cycle === null)
    return html`<p class="note">No cycle could be computed; the findings below say why.</p><dl class="figures">${figures}</dl>`;
  const scale = Math.max(cycle.period_s, cycle.robot_s, cycle.machine_s, 1e-9);
  return html`<div class="dimensions">
${dimension("Period", 0, cycle.period_s, scale, seconds(cycle.period_s))}
${dimension("Machine cuts", 0, cycle.machine_s, scale, seconds(cycle.machine_s))}
${dimension("Spindle idle", Math.max(0, cycle.period_s - cycle.spindleIdle_s), cycle.period_s, scale, seconds(cycle.spindleIdle_s))}
${dimension("Arm works", 0, cycle.robot_s, scale, seconds(cycle.robot_s))}</div>
<dl class="figures">${figures}</dl>${cycle.variants.length > 0 && variantsTable(cycle)}`;
}

function variantsTable(cycle: CycleReport): Markup {
  const others = cycle.variants.filter((v) => v.variant !== cycle.variant);
  if (others.length === 0) return html``;
  const row = (c: Omit<CycleReport, "variants">) =>
    html`<tr><th scope="row">${c.variant}</th><td class="n">${fixed(c.period_s, 2)}</td><td class="n">${fixed(c.fastest_s, 2)}</td><td class="n">${fixed(c.slowest_s, 2)}</td><td class="n">${fixed(c.robot_s, 2)}</td><td class="n">${fixed(c.machine_s, 2)}</td><td class="n">${fixed(c.spindleIdle_s, 2)}</td><td class="n">${fixed(c.partsPerHour, 1)}</td></tr>`;
  return html`<h3>Each part</h3><div class="scroll"><table><thead><tr><th>part</th><th class="n">period s</th><th class="n">fastest s</th><th class="n">slowest s</th><th class="n">arm s</th><th class="n">machine s</th><th class="n">spindle idle s</th><th class="n">parts/h</th></tr></thead><tbody>${[row(cycle), ...others.map(row)]}</tbody></table></div>`;
}

function stepsTable(cycle: CycleReport): Markup {
  const rows = cycle.steps.map((s) => {
    const time = (value: number) => (s.count === 0 ? NONE : fixed(value, 2));
    // Null: nothing ever waits for the step.
    const slack =
      s.count === 0 || s.slack_s === null
        ? NONE
        : s.slack_s < 0.0005
          ? html`<span class="critical-word">critical</span>`
          : fixed(s.slack_s, 2);
    return html`<tr><th scope="row" class="id">${s.id}</th><td>${s.kind}</td><td>${s.what}</td><td class="n">${s.count}</td><td class="n">${time(s.mean_s)}</td><td class="n">${time(s.min_s)}</td><td class="n">${time(s.max_s)}</td><td class="n">${slack}</td><td>${s.limitedBy.replace(" %", "\u00a0%")}</td></tr>`;
  });
  return html`<div class="scroll"><table><caption>Nominal times of each step over the run, part ${cycle.variant}. Slack: by how much it could last longer without lengthening the run.</caption><thead><tr><th>step</th><th>kind</th><th>what</th><th class="n">times</th><th class="n">mean s</th><th class="n">min s</th><th class="n">max s</th><th class="n">slack s</th><th>limited by</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}

function reachTable(report: CheckReport): Markup {
  const rows = report.reach.map(
    (r) =>
      html`<tr><th scope="row">${r.target}</th><td>${r.reachable ? "reached" : html`<span class="error">${r.miss_m > 0 ? `missed by ${millimetres(r.miss_m)}` : "outside the joint limits"}</span>`}</td><td class="n">${r.branches}</td><td class="n">${r.reachable ? jointMargin(report, r) : NONE}</td><td>${r.singularity ?? NONE}</td></tr>`,
  );
  return html`<div class="scroll"><table><thead><tr><th>target</th><th>reach</th><th class="n">branches</th><th class="n">margin to a joint limit</th><th>near a singularity</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}

function gripTable(report: CheckReport): Markup {
  const rows = report.grip.map(
    (g) =>
      html`<tr><th scope="row">${g.gripper}</th><td>${g.part}</td><td>${g.grip}</td><td class="n">${g.needed_N === null ? NONE : fixed(g.needed_N, 1)}</td><td class="n">${g.sizing.stop?.needed_N == null ? NONE : fixed(g.sizing.stop.needed_N, 1)}</td><td class="n">${g.available_N === null ? NONE : fixed(g.available_N, 1)}</td><td class="n">${fixed(g.acceleration_mps2, 1)}</td><td>${g.cautions.join("; ")}</td></tr>`,
  );
  return html`<div class="scroll"><table><thead><tr><th>gripper</th><th>part</th><th>grip</th><th class="n">needed N per jaw</th><th class="n">in a stop N</th><th class="n">available N</th><th class="n">at m/s²</th><th>cautions</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}

function signalsTable(report: CheckReport): Markup {
  const use = ([used, available]: readonly [number, number]) =>
    used > available
      ? html`<span class="error">${used} of ${available}</span>`
      : used === 0 && available === 0
        ? NONE
        : `${used} of ${available}`;
  const rows = report.signals.ports.map(
    (p) =>
      html`<tr><th scope="row">${p.name}</th><td class="n">${use(p.digitalInputs)}</td><td class="n">${use(p.digitalOutputs)}</td><td class="n">${use(p.analogueInputs)}</td><td class="n">${use(p.analogueOutputs)}</td></tr>`,
  );
  return html`<div class="scroll"><table><caption>Points used of those available</caption><thead><tr><th>port</th><th class="n">digital inputs</th><th class="n">digital outputs</th><th class="n">analogue inputs</th><th class="n">analogue outputs</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}
