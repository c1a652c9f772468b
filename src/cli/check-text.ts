/** A check as text for people: the verdict first, then figures, steps, cycle chart and findings with their mends. */
import type { CheckReport, ClearanceReport, CycleReport, GripReport } from "../check/result.ts";
import { counted, fixed, jointMargin, millimetres, NONE, percent, seconds } from "../dossier/figures.ts";
import type { PageChart } from "../dossier/page-data.ts";
import { drawCycleChart } from "./cycle-chart.ts";
import { type Colors, colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";

type Finding = CheckReport["findings"][number];
type Severity = Finding["severity"];

const SEVERITIES: readonly { severity: Severity; title: string }[] = [
  { severity: "error", title: "Errors" },
  { severity: "warning", title: "Warnings" },
  { severity: "caution", title: "Cautions" },
];

/** The report, lines ending in newlines. */
export function checkText(report: CheckReport, chart: PageChart | undefined, layout: Layout): string {
  const colors = colorsFor(layout);
  const lines: string[] = [...verdictLines(report, colors, layout), ""];
  if (report.cycle !== null) lines.push(...cycleLines(report.cycle, colors, layout));
  lines.push(...figureLines(report, colors, layout));
  if (report.clearance !== null) lines.push(...clearanceLines(report.clearance, colors, layout));
  if (report.cycle !== null && report.cycle.steps.length > 0) {
    lines.push(heading("Steps", colors), ...stepLines(report.cycle, colors, layout), "");
  }
  if (chart !== undefined) {
    const window = chart.pass ?? { from: 0, to: chart.duration };
    const which = chart.pass === undefined ? "whole run" : `pass ${chart.pass.number} of ${chart.pass.of}`;
    lines.push(heading(`Cycle chart, ${which}`, colors), ...drawCycleChart(chart.activities, window, layout), "");
  }
  lines.push(...findingLines(report.findings, colors, layout));
  while (lines.at(-1) === "") lines.pop();
  return `${lines.join("\n")}\n`;
}

export const heading = (text: string, colors: Colors): string => colors.bold(clean(text));

/** "2 errors, 1 warning and 3 cautions" */
function countsOf(findings: readonly Finding[]): string {
  const of = (severity: Severity) => findings.filter((f) => f.severity === severity).length;
  return `${counted(of("error"), "error")}, ${counted(of("warning"), "warning")} and ${counted(of("caution"), "caution")}`;
}

function verdictLines(report: CheckReport, colors: Colors, layout: Layout): string[] {
  const feasible = report.verdict === "feasible";
  const word = report.verdict.toUpperCase();
  const badge = layout.color
    ? feasible
      ? colors.bgGreen(colors.black(` ${word} `))
      : colors.bgRed(colors.white(colors.bold(` ${word} `)))
    : word;
  const lines = [`${badge}  ${colors.bold(clean(report.cell))}`];
  const cycle = report.cycle;
  const rate =
    cycle === null
      ? "No cycle could be computed."
      : `One part every ${seconds(cycle.period_s)}, ${fixed(cycle.partsPerHour, 1)} parts per hour.`;
  lines.push(...paragraph(`${rate} ${countsOf(report.findings)}.`, layout.width, "", ""));
  return lines;
}

function cycleLines(cycle: CycleReport, colors: Colors, layout: Layout): string[] {
  const row = (c: Omit<CycleReport, "variants">) => [
    clean(c.variant),
    fixed(c.period_s, 2),
    fixed(c.fastest_s, 2),
    fixed(c.slowest_s, 2),
    fixed(c.robot_s, 2),
    fixed(c.machine_s, 2),
    fixed(c.spindleIdle_s, 2),
    fixed(c.partsPerHour, 1),
  ];
  const columns = [
    { title: "part", align: "left", atLeast: 8 },
    { title: "period s", align: "right" },
    { title: "fastest", align: "right", dropped: 4 },
    { title: "slowest", align: "right", dropped: 3 },
    { title: "arm s", align: "right", dropped: 6 },
    { title: "machine s", align: "right", dropped: 5 },
    { title: "spindle idle s", align: "right" },
    { title: "parts/h", align: "right" },
  ] as const;
  const others = cycle.variants.filter((v) => v.variant !== cycle.variant);
  return [
    heading("Cycle", colors),
    ...headed(table(columns, [row(cycle), ...others.map(row)], layout.width, layout.ascii), colors),
    "",
  ];
}

/** "raw, place 6 by 21.7 mm" */
const missText = ({ target, miss_m }: CheckReport["reach"][number]): string =>
  miss_m > 0 ? `${target} by ${millimetres(miss_m)}` : `${target} (outside the joint limits)`;

export const headed = (lines: readonly string[], colors: Colors): string[] => [
  colors.dim(lines[0]!),
  ...lines.slice(1),
];

/** Reach, payload, grip and signals, one line each where there is something to say. */
function figureLines(report: CheckReport, colors: Colors, layout: Layout): string[] {
  const facts: [string, string][] = [];
  if (report.reach.length > 0) {
    const reached = report.reach.filter((r) => r.reachable);
    let text = `${reached.length} of ${counted(report.reach.length, "target")} reached`;
    const tightest = reached.reduce<(typeof reached)[number] | undefined>(
      (least, r) => (least === undefined || r.jointMargin_rad < least.jointMargin_rad ? r : least),
      undefined,
    );
    if (tightest !== undefined)
      text += `; nearest to a joint limit: ${jointMargin(report, tightest)} at ${tightest.target}`;
    const misses = report.reach.filter((r) => !r.reachable);
    if (misses.length > 0) text += `; missed: ${misses.map(missText).join(", ")}`;
    facts.push(["Reach", text]);
  }
  if (report.payload !== null) {
    const { mass_kg, rated_kg, distance_m, torqueShare } = report.payload;
    let text = `${fixed(mass_kg, 2)} kg`;
    text += rated_kg === null ? ", rated load not stated" : ` of ${fixed(rated_kg, 2)} kg rated`;
    text += `; centre of mass ${millimetres(distance_m)} from the flange`;
    if (torqueShare !== null) {
      const worst = torqueShare.indexOf(Math.max(...torqueShare));
      text += `; torque up to ${percent(torqueShare[worst]!)} of the limit (${report.joints[worst]!.name})`;
    }
    facts.push(["Payload", text]);
  }
  for (const grip of report.grip) facts.push(["Grip", gripText(grip)]);
  for (const seat of report.seating.flatMap((seating) => seatText(seating) ?? [])) facts.push(["Seat", seat]);
  if (report.clearance !== null) {
    const { min_m, pair, step, required_m } = report.clearance;
    facts.push([
      "Clearance",
      `${distanceText(min_m)} between ${pair[0]} and ${pair[1]} in ${step}; ${millimetres(required_m)} wanted`,
    ]);
  }
  if (report.proof !== null) {
    const { verdict, states, violations } = report.proof;
    facts.push([
      "Proof",
      `${verdict}; ${counted(states, "state")} explored, ${counted(violations.length, "violation")}`,
    ]);
  }
  for (const port of report.signals.ports) {
    const uses = [
      `${port.digitalInputs.join(" of ")} digital inputs`,
      `${port.digitalOutputs.join(" of ")} digital outputs`,
      `${port.analogueInputs.join(" of ")} analogue inputs`,
      `${port.analogueOutputs.join(" of ")} analogue outputs`,
    ].filter((use) => !use.startsWith("0 of 0"));
    facts.push(["Signals", `${port.name}: ${uses.length === 0 ? "no points" : uses.join(", ")}`]);
  }
  if (facts.length === 0) return [];
  const lines = [heading("Key figures", colors)];
  let last = "";
  for (const [name, text] of facts) {
    const label = name === last ? "" : name;
    last = name;
    lines.push(...paragraph(clean(text), layout.width, label.padEnd(11), " ".repeat(11)));
  }
  return [...lines, ""];
}

/** "9.6 mm", "overlap of 3.1 mm" */
const distanceText = (metres: number): string =>
  metres < 0 ? `overlap of ${millimetres(-metres)}` : millimetres(metres);

/** Steps listed in the table of clearances. */
const TIGHTEST = 8;

/** The steps that come nearest to something, nearest first. */
function clearanceLines(clearance: ClearanceReport, colors: Colors, layout: Layout): string[] {
  const columns = [
    { title: "step", align: "left", atLeast: 12 },
    { title: "least mm", align: "right" },
    { title: "certified", align: "right", dropped: 3 },
    { title: "wanted", align: "right", dropped: 1 },
    { title: "at s", align: "right", dropped: 2 },
    { title: "between", align: "left", atLeast: 30 },
    { title: "to", align: "left", atLeast: 24, dropped: 4 },
  ] as const;
  const inMm = (metres: number) => fixed(1000 * metres, 1);
  const near = clearance.steps
    .flatMap((step) => (step.nearest === null ? [] : [{ ...step, nearest: step.nearest }]))
    .sort((a, b) => a.nearest.min_m - b.nearest.min_m);
  const rows = near
    .slice(0, TIGHTEST)
    .map(({ step, nearest, certified_m, required_m }) => [
      clean(step),
      inMm(nearest.min_m),
      inMm(certified_m),
      inMm(required_m),
      nearest.time_s === null ? NONE : fixed(nearest.time_s, 2),
      clean(`${nearest.pair[0]}, ${nearest.pair[1]}${deviceText(nearest.device)}`),
      clean(nearest.target),
    ]);
  const lines = [heading("Clearance", colors), ...headed(table(columns, rows, layout.width, layout.ascii), colors)];
  const others = clearance.steps.length - rows.length;
  if (others > 0) {
    const least = Math.min(...near.slice(TIGHTEST).map(({ nearest }) => nearest.min_m), clearance.steps[0]!.beyond_m);
    lines.push(`${counted(others, "other step")} with ${millimetres(least)} or more`);
  }
  for (const text of clearance.notConsidered)
    lines.push(...paragraph(clean(`not considered: ${text}`), layout.width, "", "  "));
  return [...lines, ""];
}

const deviceText = (device: ClearanceReport["device"]): string =>
  device === null ? "" : ` (${device.name} ${fixed(device.share, 2)} from ${device.from} to ${device.to})`;

/** Forces of a grip; what else is said about it is in `millhand size` and, where it matters, in a finding. */
function gripText(grip: GripReport): string {
  const { needed_N, available_N, sizing } = grip;
  const available = available_N === null ? "available force not stated" : `${fixed(available_N, 1)} N available`;
  const stop = sizing.stop?.needed_N ?? null;
  const needed =
    needed_N === null
      ? "needed force not known, no friction is stated"
      : `${fixed(needed_N, 1)} N per jaw needed by the motions${stop === null ? "" : `, ${fixed(stop, 1)} N in a stop`}`;
  const factor = `safety factor ${sizing.safetyFactor}${sizing.safetyFactorFrom === "default" ? " by default" : ""}`;
  return `${grip.gripper} on ${grip.part} (${grip.grip}): ${needed}, ${available}; ${factor}`;
}

/** "short in lathe.chuck: 99.9800 % of the trial insertions enter; caught up to 2.70 mm off" */
function seatText({ part, holder, fit }: CheckReport["seating"][number]): string | undefined {
  if (fit === null) return undefined;
  return `${part} in ${holder}: ${fixed(100 * fit.trial.enters, 4)} % of the trial insertions enter; caught up to ${fixed(1000 * fit.lateral_m, 2)} mm off`;
}

function stepLines(cycle: CycleReport, colors: Colors, layout: Layout): string[] {
  const columns = [
    { title: "step", align: "left", atLeast: 20 },
    { title: "kind", align: "left", dropped: 3 },
    { title: "what", align: "left", atLeast: 16 },
    { title: "times", align: "right", dropped: 4 },
    { title: "mean s", align: "right" },
    { title: "min s", align: "right", dropped: 6 },
    { title: "max s", align: "right", dropped: 5 },
    { title: "slack s", align: "right" },
    { title: "limited by", align: "left", atLeast: 16, dropped: 1 },
  ] as const;
  const rows = cycle.steps.map((s) => [
    clean(s.id),
    s.kind,
    clean(s.what),
    String(s.count),
    s.count === 0 ? NONE : fixed(s.mean_s, 2),
    s.count === 0 ? NONE : fixed(s.min_s, 2),
    s.count === 0 ? NONE : fixed(s.max_s, 2),
    // Null: nothing ever waits for the step.
    s.count === 0 || s.slack_s === null ? NONE : s.slack_s < 0.0005 ? "critical" : fixed(s.slack_s, 2),
    clean(s.limitedBy),
  ]);
  return headed(table(columns, rows, layout.width, layout.ascii), colors);
}

export function findingLines(findings: readonly Finding[], colors: Colors, layout: Layout): string[] {
  const lines: string[] = [];
  for (const { severity, title } of SEVERITIES) {
    const some = findings.filter((f) => f.severity === severity);
    if (some.length === 0) continue;
    const paint = severity === "error" ? colors.red : severity === "warning" ? colors.yellow : colors.cyan;
    lines.push(`${paint(colors.bold(title))} (${some.length})`);
    for (const finding of some) {
      const place = `${finding.file}:${finding.line}:${finding.column}`;
      lines.push(...placeLines(clean(finding.code), clean(place), clean(finding.where), paint, colors, layout));
      lines.push(...paragraph(clean(finding.message), layout.width, "    ", "    "));
      if (finding.mend !== "") lines.push(...paragraph(clean(finding.mend), layout.width, "    Mend: ", "          "));
    }
    lines.push("");
  }
  return lines;
}

/** Code, file:line:column and path in the cell on one line, or the path on a line of its own where there is no room. */
function placeLines(
  code: string,
  place: string,
  where: string,
  paint: (text: string) => string,
  colors: Colors,
  layout: Layout,
): string[] {
  const first = `  ${paint(code)}  ${place}`;
  if (where === "") return [first];
  if (2 + code.length + 2 + place.length + 2 + where.length <= layout.width) return [`${first}  ${colors.dim(where)}`];
  return [first, `    ${colors.dim(where)}`];
}
