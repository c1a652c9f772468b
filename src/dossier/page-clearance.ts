/** Clearance on the page of a check: what comes nearest to what, step by step, with pictures of the tightest moments. */
import type { ClearanceScene } from "../check/clearance/scene.ts";
import type { CheckReport, ClearanceReport, NearestReport } from "../check/result.ts";
import { toMm } from "../math/units.ts";
import { counted, fixed, millimetres, NONE, seconds } from "./figures.ts";
import { html, Markup } from "./markup.ts";
import type { PagePicture } from "./page-data.ts";
import { drawingOf } from "./scene/drawing.ts";
import { PLAN } from "./scene/view.ts";
import { description, detailPicture, wholePicture } from "./scene/view-picture.ts";

/** The section; undefined when no clearance was computed. */
export function clearanceMarkup(report: CheckReport, pictures: readonly PagePicture[]): Markup | undefined {
  const { clearance } = report;
  if (clearance === null) return undefined;
  const tightest = pictures.find(({ step }) => step === clearance.step);
  const others = pictures.filter((picture) => picture !== tightest);
  return html`<p class="lead">${summary(clearance)}</p>
${tightest !== undefined && figure(clearance, tightest.scene, "clearance-0", true)}
${stepsTable(clearance)}
${clearance.notConsidered.length > 0 && html`<details><summary>Not considered (${clearance.notConsidered.length})</summary><ul>${clearance.notConsidered.map((words) => html`<li>${words}</li>`)}</ul></details>`}
${others.map((picture, i) => {
  const nearest = clearance.steps.find(({ step }) => step === picture.step)?.nearest;
  if (nearest === undefined || nearest === null) return html``;
  return html`<h3>${picture.step}: ${millimetres(nearest.min_m)}</h3>${figure(nearest, picture.scene, `clearance-${i + 1}`, false)}`;
})}`;
}

function summary({ min_m, pair, step, certified_m, required_m }: ClearanceReport): Markup {
  const least =
    min_m < 0
      ? html`${pair[0]} and ${pair[1]} overlap by <b>${millimetres(-min_m)}</b>`
      : html`The least clearance is <b>${millimetres(min_m)}</b>, between ${pair[0]} and ${pair[1]}`;
  return html`${least}, in <span class="id">${step}</span>. Along every motion, at each moment and not only at samples of it, at least ${fixed(toMm(certified_m), 2)} mm are kept. Wanted: ${millimetres(required_m)}.`;
}

/** "1.24 s into the step, to raw-tray, place 7, part shaft, lathe.door 40 % of the way from open to closed" */
export function momentWords({ time_s, target, device, variant }: NearestReport): string {
  const parts = [time_s === null ? "while the arm stands" : `${seconds(time_s)} into the step`];
  if (target !== "") parts.push(`to ${target}`);
  parts.push(`part ${variant}`);
  if (device !== null)
    parts.push(
      device.from === device.to
        ? `${device.name} ${device.to}`
        : `${device.name} ${fixed(100 * device.share, 0)} % of the way from ${device.from} to ${device.to}`,
    );
  return parts.join(", ");
}

function figure(nearest: NearestReport, scene: ClearanceScene, id: string, plan: boolean): Markup {
  const drawing = drawingOf(scene);
  const size = { width: 560, height: 460 };
  const { name } = drawing.isometric;
  const views = [
    wholePicture(drawing, drawing.isometric, {
      ...size,
      id: `${id}-iso`,
      heading: name.charAt(0).toUpperCase() + name.slice(1),
    }),
  ];
  if (drawing.detail !== undefined)
    views.push(
      detailPicture(drawing.detail, { ...size, id: `${id}-detail`, heading: `Detail, ${drawing.detail.view.name}` }),
    );
  if (plan) views.push(wholePicture(drawing, PLAN, { ...size, id: `${id}-plan`, heading: "Plan" }));
  const item = (i: 0 | 1) => html`<span><i class="ball-key" aria-hidden="true">${i + 1}</i>${nearest.pair[i]}</span>`;
  const key = html`<div class="key">${item(0)}${item(1)}<span>Dashed: outlines that other bodies hide, or of bodies drawn as if clear.</span></div>`;
  const words = momentWords(nearest);
  const when = `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
  return html`<figure class="views">${views}<figcaption${plan && new Markup(' class="beside"')}><p>${description(scene)}</p><p>${when}</p>${key}</figcaption></figure>`;
}

function stepsTable({ steps }: ClearanceReport): Markup {
  const rows = steps.map(({ step, required_m, certified_m, nearest, beyond_m }) => {
    if (nearest === null)
      return html`<tr><th scope="row" class="id">${step}</th><td class="n">over ${fixed(toMm(beyond_m), 0)}</td><td class="n">${fixed(toMm(certified_m), 2)}</td><td class="n">${fixed(toMm(required_m), 1)}</td><td>${NONE}</td><td>${NONE}</td></tr>`;
    const { min_m, pair } = nearest;
    const name = min_m <= 0 ? "error" : min_m < required_m ? "warning" : "";
    const mark = min_m <= 0 ? (min_m < 0 ? "overlap " : "touch ") : min_m < required_m ? "below " : "";
    const value = `${mark}${fixed(toMm(Math.abs(min_m)), 2)}`;
    return html`<tr><th scope="row" class="id">${step}</th><td class="n">${name === "" ? value : html`<span class="${name}">${value}</span>`}</td><td class="n">${fixed(toMm(certified_m), 2)}</td><td class="n">${fixed(toMm(required_m), 1)}</td><td>${pair[0]} – ${pair[1]}</td><td class="when">${momentWords(nearest)}</td></tr>`;
  });
  return html`<div class="scroll"><table><caption>Least clearance of ${counted(steps.length, "step with a motion", "steps with a motion")}, along the whole motion and wherever devices may stand meanwhile.</caption><thead><tr><th>step</th><th class="n">least mm</th><th class="n">certified mm</th><th class="n">wanted mm</th><th>between</th><th>when</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}

/** Steps of which the page shows pictures: the tightest, then those below what is wanted, tightest first. */
export function picturedSteps(clearance: ClearanceReport | null, most = 6): string[] {
  if (clearance === null) return [];
  const below = clearance.steps
    .filter(({ nearest, required_m }) => nearest !== null && nearest.min_m < required_m)
    .toSorted((a, b) => a.nearest!.min_m - b.nearest!.min_m || (a.step < b.step ? -1 : 1))
    .map(({ step }) => step);
  return [...new Set([clearance.step, ...below])].slice(0, most);
}
