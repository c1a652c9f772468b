/** Plots of joint positions, speeds and accelerations: the frame for each plot, the data and the program that draws them. */
import { toDegrees, toMm } from "../math/units.ts";
import { floatsToBase64 } from "./base64.ts";
import { fixed, NONE, percent } from "./figures.ts";
import { html, Markup, scriptJson } from "./markup.ts";
import type { CheckPageData, PageJoint, PageSeries } from "./page-data.ts";

interface Quantity {
  readonly name: string;
  readonly unit: { readonly revolute: string; readonly prismatic: string };
  readonly values: (series: PageSeries) => Float64Array;
  readonly limits: (joint: PageJoint) => readonly [min: number, max: number];
}

const QUANTITIES: readonly Quantity[] = [
  {
    name: "position",
    unit: { revolute: "°", prismatic: "mm" },
    values: (s) => s.q,
    limits: (j) => [j.min, j.max],
  },
  {
    name: "velocity",
    unit: { revolute: "°/s", prismatic: "mm/s" },
    values: (s) => s.qd,
    limits: (j) => [-j.velocity, j.velocity],
  },
  {
    name: "acceleration",
    unit: { revolute: "°/s²", prismatic: "mm/s²" },
    values: (s) => s.qdd,
    limits: (j) => [-j.acceleration, j.acceleration],
  },
];

const shown = (joint: PageJoint, value: number): number =>
  Number.isFinite(value) ? (joint.kind === "revolute" ? toDegrees(value) : toMm(value)) : value;

/** Smallest and largest of every n-th value from `offset`. */
function extremes(values: Float64Array, n: number, offset: number): [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let k = offset; k < values.length; k += n) {
    if (values[k]! < low) low = values[k]!;
    if (values[k]! > high) high = values[k]!;
  }
  return [low, high];
}

/** One column of a series in the unit in which it is shown. */
function columnOf(values: Float64Array, n: number, i: number, joint: PageJoint): Float64Array {
  const out = new Float64Array(values.length / n);
  for (let k = 0; k < out.length; k++) out[k] = shown(joint, values[k * n + i]!);
  return out;
}

/** Places for the plots, joint by joint, and the table of their extremes. */
export function plotsMarkup(data: CheckPageData, series: PageSeries): Markup {
  const { joints } = data;
  const n = joints.length;
  const unit = (joint: PageJoint, q: Quantity) => q.unit[joint.kind];
  const blocks = joints.map((joint, i) => {
    const [low, high] = extremes(series.q, n, i);
    const span = `${fixed(shown(joint, low), 1)} to ${fixed(shown(joint, high), 1)} ${unit(joint, QUANTITIES[0]!)}`;
    return html`<div class="joint">${labelOf(joint, i)}<small>moves ${span}; limits ${limitText(joint)}</small></div>${QUANTITIES.map(
      (q, k) =>
        html`<div class="plot" data-joint="${i}" data-quantity="${k}" role="img" aria-label="${q.name} of ${labelOf(joint, i)} over time"><span class="at" aria-hidden="true"></span></div>`,
    )}`;
  });
  return html`<p class="note">Time in s from the start of the stretch. Dashed: limits of the joint. Grey: standstills of more than 3 s, drawn shorter than they are.</p>
<div class="plots">${QUANTITIES.map(
    (q) => html`<div class="col">${q.name}, ${unitsText(joints, q)}</div>`,
  )}${blocks}</div>
<noscript><p class="note">The plots are drawn by a script in this page; scripts are switched off. The table holds the extremes.</p></noscript>
<h3>Extremes of each joint</h3>${extremesTable(joints, series)}`;
}

const labelOf = (joint: PageJoint, i: number): string =>
  joint.name === "" || joint.name.toUpperCase() === `J${i + 1}` ? `J${i + 1}` : `J${i + 1} ${joint.name}`;

const unitsText = (joints: readonly PageJoint[], q: Quantity): string =>
  [...new Set(joints.map((j) => q.unit[j.kind]))].join(" or ");

function limitText(joint: PageJoint): string {
  if (!Number.isFinite(joint.min) && !Number.isFinite(joint.max)) return "none";
  return `${fixed(shown(joint, joint.min), 1)} to ${fixed(shown(joint, joint.max), 1)} ${joint.kind === "revolute" ? "°" : "mm"}`;
}

function extremesTable(joints: readonly PageJoint[], series: PageSeries): Markup {
  const n = joints.length;
  const rows = joints.map((joint, i) => {
    const [low, high] = extremes(series.q, n, i);
    const margin = Math.min(low - joint.min, joint.max - high);
    const peak = (values: Float64Array) => Math.max(...extremes(values, n, i).map(Math.abs));
    const speed = peak(series.qd);
    const acceleration = peak(series.qdd);
    return html`<tr><th scope="row">${labelOf(joint, i)}</th><td class="n">${fixed(shown(joint, low), 1)}</td><td class="n">${fixed(shown(joint, high), 1)}</td><td class="n">${Number.isFinite(margin) ? fixed(shown(joint, margin), 1) : NONE}</td><td>${joint.kind === "revolute" ? "°" : "mm"}</td><td class="n">${fixed(shown(joint, speed), 1)}</td><td class="n">${share(speed, joint.velocity)}</td><td class="n">${fixed(shown(joint, acceleration), 1)}</td><td class="n">${share(acceleration, joint.acceleration)}</td></tr>`;
  });
  return html`<div class="scroll"><table><thead><tr><th>joint</th><th class="n">lowest</th><th class="n">highest</th><th class="n">margin to limit</th><th>unit</th><th class="n">peak velocity /s</th><th class="n">of limit</th><th class="n">peak acceleration /s²</th><th class="n">of limit</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}

const share = (value: number, limit: number): string => (Number.isFinite(limit) ? percent(value / limit) : NONE);

/** Data and programs for the end of the page. */
export function plotScripts(data: CheckPageData, series: PageSeries): Markup {
  const { joints } = data;
  const n = joints.length;
  const origin = series.time[0] ?? 0;
  const embedded = {
    time: floatsToBase64(series.time.map((t) => t - origin)),
    plots: joints.map((joint, i) =>
      QUANTITIES.map((q) => ({
        values: floatsToBase64(columnOf(q.values(series), n, i, joint)),
        limits: q.limits(joint).map((limit) => (Number.isFinite(limit) ? shown(joint, limit) : null)),
        unit: q.unit[joint.kind],
      })),
    ),
  };
  return html`<script type="application/json" id="series">${scriptJson(embedded)}</script>
<script>${scriptSource(data.plotScript)}</script>
<script>${scriptSource(DRAW)}</script>`;
}

/** Program text inside a script element: it must not be able to end the element. */
const scriptSource = (source: string): Markup => new Markup(source.replaceAll(/<(?=\/script|!--)/gi, "\\x3c"));

const DRAW = `"use strict";
(() => {
  const data = JSON.parse(document.getElementById("series").textContent);
  const floats = (text) => {
    const raw = atob(text), view = new DataView(new ArrayBuffer(raw.length));
    for (let i = 0; i < raw.length; i++) view.setUint8(i, raw.charCodeAt(i));
    return Float64Array.from({ length: raw.length / 4 }, (_, i) => view.getFloat32(4 * i, true));
  };
  const time = floats(data.time);
  // Motions are sampled densely, so a long step in time is a standstill: it is drawn as a narrow gap.
  const STILL = 3;
  const steps = Array.from(time, (t, i) => (i === 0 ? 0 : t - time[i - 1]));
  const moving = steps.reduce((sum, dt) => sum + (dt > STILL ? 0 : dt), 0);
  const gap = Math.max(0.03 * moving, 0.1);
  const gaps = [];
  const x = new Float64Array(time.length);
  const stretches = [{ from: 0, to: 0 }];
  for (let i = 1; i < time.length; i++) {
    const still = steps[i] > STILL && moving > 0;
    x[i] = x[i - 1] + (still ? gap : steps[i]);
    if (still) {
      gaps.push([x[i - 1], x[i]]);
      stretches.push({ from: i, to: i });
    } else stretches.at(-1).to = i;
  }
  const total = x.at(-1);
  const ticksFor = (width) => {
    const rough = (total / Math.max(2, width / 46)) || 1;
    const power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((f) => f * power).find((s) => s >= rough * 0.999);
    const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    const ticks = [];
    for (const { from, to } of stretches) {
      for (let k = Math.ceil(time[from] / step - 1e-9); k * step <= time[to] + 1e-9; k++) {
        const at = x[from] + k * step - time[from];
        if (ticks.length === 0 || at - ticks.at(-1).at > 0.6 * step) ticks.push({ at, text: (k * step).toFixed(digits) });
      }
    }
    return ticks;
  };
  const places = [...document.querySelectorAll(".plot")].map((place) => {
    const plot = data.plots[place.dataset.joint][place.dataset.quantity];
    return { place, at: place.querySelector(".at"), values: floats(plot.values), limits: plot.limits, unit: plot.unit };
  });
  const rangeOf = ({ values, limits }) => {
    let low = Infinity, high = -Infinity;
    for (const v of values) { if (v < low) low = v; if (v > high) high = v; }
    if (!(low <= high)) return [-1, 1];
    const size = Math.max(high - low, 1e-3);
    // A limit far away would flatten the curve: beyond twice its span the limit is written, not drawn.
    for (const limit of limits) {
      if (limit === null) continue;
      if (limit < low && low - limit < 2 * size) low = limit;
      if (limit > high && limit - high < 2 * size) high = limit;
    }
    const pad = Math.max((high - low) * 0.08, 1e-3);
    return [low - pad, high + pad];
  };
  let charts = [];
  const draw = (width) => {
    for (const chart of charts) chart.destroy();
    const style = getComputedStyle(document.documentElement);
    const color = (name) => style.getPropertyValue("--" + name).trim();
    const ink = color("muted"), grid = color("line"), curve = color("accent"), limit = color("error");
    const axis = { stroke: ink, grid: { stroke: grid, width: 1 }, ticks: { stroke: grid, size: 4, width: 1 }, font: "11px " + color("mono") };
    charts = places.map((p) => {
      const range = rangeOf(p);
      const wide = width || p.place.clientWidth;
      const ticks = ticksFor(wide - 52);
      return new uPlot({
        width: wide, height: 124, legend: { show: false }, padding: [12, 6, 0, 0],
        cursor: { sync: { key: "time" }, y: false, points: { size: 6 }, drag: { x: false, y: false } },
        scales: { x: { time: false }, y: { range } },
        axes: [{ ...axis, size: 22, gap: 2, splits: ticks.map((t) => t.at), values: ticks.map((t) => t.text) }, { ...axis, size: 46, gap: 3, space: 24 }],
        series: [{}, { stroke: curve, width: 1.5, points: { show: false } }],
        hooks: {
          drawClear: [(u) => {
            u.ctx.save();
            u.ctx.fillStyle = grid;
            u.ctx.globalAlpha = 0.45;
            for (const [from, to] of gaps) {
              const left = u.valToPos(from, "x", true);
              u.ctx.fillRect(left, u.bbox.top, u.valToPos(to, "x", true) - left, u.bbox.height);
            }
            u.ctx.restore();
          }],
          draw: [(u) => {
            u.ctx.save();
            u.ctx.strokeStyle = limit;
            u.ctx.lineWidth = devicePixelRatio;
            u.ctx.setLineDash([6 * devicePixelRatio, 4 * devicePixelRatio]);
            const far = [];
            for (const value of p.limits) {
              if (value === null) continue;
              if (value < range[0] || value > range[1]) {
                far.push(value.toFixed(1));
                continue;
              }
              const y = u.valToPos(value, "y", true);
              u.ctx.beginPath();
              u.ctx.moveTo(u.bbox.left, y);
              u.ctx.lineTo(u.bbox.left + u.bbox.width, y);
              u.ctx.stroke();
            }
            if (far.length > 0) {
              u.ctx.fillStyle = limit;
              u.ctx.font = 11 * devicePixelRatio + "px " + color("mono");
              u.ctx.textAlign = "left";
              u.ctx.textBaseline = "top";
              u.ctx.fillText((far.length > 1 ? "limits " : "limit ") + far.join(" and "), u.bbox.left + 4 * devicePixelRatio, u.bbox.top - 5 * devicePixelRatio);
            }
            u.ctx.restore();
          }],
          setCursor: [(u) => {
            const i = u.cursor.idx;
            p.at.textContent = i == null ? "" : time[i].toFixed(2) + " s: " + p.values[i].toFixed(1) + " " + p.unit;
          }],
        },
      }, [x, p.values], p.place);
    });
  };
  draw();
  let width = document.documentElement.clientWidth;
  addEventListener("resize", () => {
    if (document.documentElement.clientWidth === width) return;
    width = document.documentElement.clientWidth;
    draw();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw());
  addEventListener("beforeprint", () => {
    document.documentElement.classList.add("on-paper");
    // A4 upright inside its margins, less the frame: 640 px wide.
    draw(200);
  });
  addEventListener("afterprint", () => {
    document.documentElement.classList.remove("on-paper");
    draw();
  });
})();
`;
