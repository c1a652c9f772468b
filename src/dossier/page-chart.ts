/** The cycle chart of a page: one pass with a labelled bar per activity, and the whole run as a strip. */
import { fixed, seconds } from "./figures.ts";
import { html, type Markup } from "./markup.ts";
import type { PageActivity, PageChart } from "./page-data.ts";
import { brokenScale, type TimeScale } from "./time-scale.ts";

const LANE = 26;
const TOP = 24;
const THIN_LANE = 16;
/** Activities beyond this many are listed in the table but not all of them drawn as separate elements. */
const MOST_ROWS = 600;

const order = (activities: readonly PageActivity[]): string[] => {
  const lanes = new Set<string>(activities.some((a) => a.lane === "arm") ? ["arm"] : []);
  for (const a of activities) lanes.add(a.lane);
  return [...lanes];
};

const percentOf = (share: number): string => `${fixed(share * 100, 3)}%`;

/** Chart of one steady pass, or of the whole run when there is none; the whole run as a strip; the same as a table. */
export function chartMarkup(chart: PageChart): Markup {
  const { pass } = chart;
  const from = pass?.from ?? 0;
  const to = pass?.to ?? chart.duration;
  const seen = chart.activities.filter((a) => a.start < to && (a.end > from || a.start === from));
  const title = pass === undefined ? "Whole run" : `Pass ${pass.number} of ${pass.of}, ${seconds(to - from)}`;
  return html`<h3>${title}</h3>
${passChart(seen.slice(0, 4 * MOST_ROWS), from, to, title)}
<p class="key"><span><i class="k-bar"></i>runs</span><span><i class="k-wait"></i>waits</span><span><i class="k-critical"></i>on the critical path: lengthening it lengthens the run</span><span><i class="k-break"></i>drawn shorter than it lasts</span></p>
${pass === undefined ? undefined : html`<h3>Whole run, ${seconds(chart.duration)}</h3>${runStrip(chart)}`}
<details><summary>Cycle chart as a table</summary>${activityTable(seen)}</details>`;
}

/** Marks of a time axis, and grey bands where it is broken. `from` is where its time 0 stands. */
function axis(scale: TimeScale, from: number, height: number): Markup[] {
  const ticks = scale.ticks(12);
  const decimals = Math.max(
    0,
    ...ticks.map((t) => Math.min(3, (String(Number(t.toFixed(6))).split(".")[1] ?? "").length)),
  );
  const bands = scale.breaks.map((b) => {
    const [x, end] = [scale.at(b.from), scale.at(b.to)];
    return html`<rect class="break" x="${percentOf(x)}" y="${TOP - 6}" width="${percentOf(end - x)}" height="${height - TOP + 6}"><title>${seconds(b.to - b.from)} in which nothing begins or ends, drawn short</title></rect><text x="${percentOf((x + end) / 2)}" y="${height - 3}" text-anchor="middle">≈ ${fixed(b.to - b.from, 0)} s</text>`;
  });
  const marks = ticks.map((t) => {
    const share = scale.at(from + t);
    const x = percentOf(share);
    const anchor = share < 0.01 ? "start" : share > 0.98 ? "end" : "middle";
    return html`<line class="grid" x1="${x}" x2="${x}" y1="${TOP - 6}" y2="${height}"/><text x="${x}" y="12" text-anchor="${anchor}">${fixed(t, decimals)}${t === 0 ? " s" : ""}</text>`;
  });
  return [...bands, ...marks];
}

function passChart(activities: readonly PageActivity[], from: number, to: number, title: string): Markup {
  const lanes = order(activities);
  const scale = brokenScale(
    from,
    to,
    activities.flatMap((a) => [a.start, a.end]),
  );
  // The last line is for the lengths of what is drawn short.
  const height = TOP + LANE * lanes.length + (scale.breaks.length > 0 ? 18 : 4);
  const row = new Map(lanes.map((lane, i) => [lane, i]));
  const bars = activities.map((a) => {
    const start = Math.max(a.start, from);
    const end = Math.min(a.end, to);
    const x = scale.at(start);
    const width = (scale.at(end) - x) * 100;
    const what = a.label === "" ? a.kind : a.label;
    const slack = a.critical ? "on the critical path" : `slack ${seconds(a.slack)}`;
    const name = `bar ${a.kind === "wait" ? "wait " : ""}${a.critical ? "critical" : ""}`;
    // Narrow bars carry no text: about 7 px a character on a chart some 900 px wide.
    const room = Math.floor((width * 9 - 8) / 7);
    const text = room < 3 ? "" : what.length <= room ? what : `${what.slice(0, room - 1)}…`;
    return html`<svg class="${name.trim()}" x="${percentOf(x)}" y="${TOP + LANE * row.get(a.lane)! + 3}" width="${fixed(Math.max(width, 0.12), 3)}%" height="${LANE - 6}"><title>${a.lane}: ${what} (${a.kind}), ${fixed(start - from, 2)} to ${seconds(end - from)}, ${slack}</title><rect width="100%" height="100%"/>${text === "" ? undefined : html`<text x="4" y="14">${text}</text>`}</svg>`;
  });
  return html`<div class="chart"><div class="lanes" aria-hidden="true">${lanes.map((l) => html`<div title="${l}">${l}</div>`)}</div>
<svg height="${height}" role="img" aria-label="Cycle chart: ${title}; the table below holds the same">
<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="hatch-line" x1="0" x2="0" y1="0" y2="6"/></pattern>
<pattern id="hatch-critical" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="hatch-line on" x1="0" x2="0" y1="0" y2="6"/></pattern></defs>
${axis(scale, from, height)}${bars}${links(activities, scale, from, to, row)}</svg></div>`;
}

/** Dotted verticals where the critical path goes over from one lane to another. */
function links(
  activities: readonly PageActivity[],
  scale: TimeScale,
  from: number,
  to: number,
  row: ReadonlyMap<string, number>,
): Markup[] {
  const critical = activities.filter((a) => a.critical).sort((a, b) => a.start - b.start || a.end - b.end);
  const marks: Markup[] = [];
  for (const [i, next] of critical.entries()) {
    const before = critical[i - 1];
    if (before === undefined || before.lane === next.lane || next.start < from || next.start > to) continue;
    const x = percentOf(scale.at(next.start));
    const middle = (lane: string) => TOP + LANE * row.get(lane)! + LANE / 2;
    marks.push(html`<line class="link" x1="${x}" x2="${x}" y1="${middle(before.lane)}" y2="${middle(next.lane)}"/>`);
  }
  return marks;
}

/** The whole run without labels: one path per lane for what is on the critical path and one for the rest. */
function runStrip(chart: PageChart): Markup {
  const lanes = order(chart.activities);
  const span = chart.duration;
  const height = THIN_LANE * lanes.length;
  const rows = lanes.map((lane, i) => {
    const y = THIN_LANE * i + 3;
    const boxes = (critical: boolean) =>
      chart.activities
        .filter((a) => a.lane === lane && a.critical === critical && a.kind !== "wait" && a.end > a.start)
        .map((a) => {
          const x = (a.start / span) * 1000;
          const width = Math.max(0.4, ((a.end - a.start) / span) * 1000 - 0.2);
          return `M${fixed(x, 2)} ${y}h${fixed(width, 2)}v${THIN_LANE - 6}h-${fixed(width, 2)}z`;
        })
        .join("");
    return html`<line class="base" x1="0" x2="1000" y1="${y + THIN_LANE - 5}" y2="${y + THIN_LANE - 5}"/><path class="off" d="${boxes(false)}"/><path class="on" d="${boxes(true)}"/>`;
  });
  return html`<div class="chart whole"><div class="lanes" aria-hidden="true" style="line-height:${THIN_LANE}px">${lanes.map((l) => html`<div title="${l}">${l}</div>`)}</div>
<div><svg height="${TOP}" aria-hidden="true">${axis(brokenScale(0, span, []), 0, TOP)}</svg>
<svg height="${height}" viewBox="0 0 1000 ${height}" preserveAspectRatio="none" role="img" aria-label="The whole run, ${seconds(span)}">${rows}</svg></div></div>`;
}

function activityTable(activities: readonly PageActivity[]): Markup {
  const rows = activities
    .slice(0, MOST_ROWS)
    .map(
      (a) =>
        html`<tr><td class="n">${fixed(a.start, 2)}</td><td class="n">${fixed(a.end, 2)}</td><td class="n">${fixed(a.end - a.start, 2)}</td><th scope="row" class="id">${a.lane}</th><td>${a.kind}</td><td>${a.label}</td><td class="n">${a.critical ? "critical" : fixed(a.slack, 2)}</td></tr>`,
    );
  const left = activities.length - rows.length;
  return html`<div class="scroll"><table><caption>Times in seconds from the start of the run</caption><thead><tr><th class="n">start</th><th class="n">end</th><th class="n">lasts</th><th>lane</th><th>kind</th><th>what</th><th class="n">slack</th></tr></thead><tbody>${rows}</tbody></table></div>${left > 0 && html`<p class="note">${left} more are left out here; millhand cycle --json lists all.</p>`}`;
}
