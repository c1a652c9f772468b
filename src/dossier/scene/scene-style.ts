/** Colours and lines of scene pictures: ink on paper by day, chalk on blueprint by night, like the sheet of a check. */
import { DAY, NIGHT, type Palette } from "../page-colors.ts";
import { SHADES, TONES, type Tone } from "./paint.ts";

/** Each tone from the side away from the light to the one turned to it. */
type Tones = Readonly<Record<Exclude<Tone, "clear">, readonly [dark: string, light: string]>>;

const DAY_TONES: Tones = {
  arm: ["#8fa8bd", "#e1eaf1"],
  tool: ["#76899a", "#c3d0da"],
  part: ["#b9a468", "#f3e8c4"],
  machine: ["#b3b5b0", "#ecece8"],
  scene: ["#cbcac2", "#f4f2ea"],
  a: ["#d9784a", "#fbd2b9"],
  b: ["#5b93cb", "#cfe2f4"],
};

const NIGHT_TONES: Tones = {
  arm: ["#33506c", "#7d9cb8"],
  tool: ["#243a50", "#5d7a95"],
  part: ["#6f5f30", "#b9a566"],
  machine: ["#2c3c4a", "#63768a"],
  scene: ["#223443", "#485e71"],
  a: ["#8f4420", "#e08a5c"],
  b: ["#2a6199", "#78afe4"],
};

/** Style for pictures inside elements that `within` selects, in the colours of day or night. */
export function sceneRules(within: string, time: "day" | "night"): string {
  const p: Palette = time === "day" ? DAY : NIGHT;
  const tones = time === "day" ? DAY_TONES : NIGHT_TONES;
  let text = "";
  const rule = (selector: string, body: string) => {
    text += `${within} ${selector}{${body}}\n`;
  };
  for (const tone of TONES) {
    if (tone === "clear") continue;
    const [dark, light] = tones[tone];
    for (let k = 0; k < SHADES; k++) {
      const color = mixed(dark, light, k / (SHADES - 1));
      rule(`.t-${tone} .f${k}`, `fill:${color};stroke:${color}`);
    }
  }
  rule(".t-clear path", `fill:${p.muted};fill-opacity:.05;stroke:none`);
  rule(".e,.scene .o,.scene .g,.scene .d".replaceAll(".scene", within), `fill:none;stroke:${p.ink}`);
  rule(".c", `fill:none;stroke:${p.ink}`);
  rule(".t-clear .o", `fill:none;stroke:${p.muted};stroke-width:6`);
  rule(".t-clear .e", `fill:none;stroke:${p.muted};stroke-width:4`);
  rule(".g", `stroke:${p.muted}`);
  rule(".hatch-a", `stroke:${time === "day" ? p.critical : "#4d1d05"}`);
  rule(".hatch-b", `stroke:${time === "day" ? p.accent : "#0f335a"}`);
  rule(".ground", `stroke:${p.line}`);
  rule(".rule", `stroke:${p.ink}`);
  rule(".blob", `fill:${p.ink}`);
  rule("text", `fill:${p.ink};stroke:${p.panel}`);
  rule(".quiet", `fill:${p.muted}`);
  rule(".gap", `stroke:${p.error}`);
  rule(".gap-end", `fill:${p.error};stroke:${p.panel}`);
  rule(".gap-word", `fill:${p.error}`);
  rule(".ball", `fill:${p.panel};stroke:${p.ink}`);
  rule(".lead", `stroke:${p.ink}`);
  rule(".sheet-ground", `fill:${p.panel};stroke:${p.ink}`);
  rule(".frame", `stroke:${p.line}`);
  return text;
}

/** What does not change between day and night. */
export function sceneShape(within: string, font: string): string {
  return `${within} path,${within} line,${within} polyline{stroke-linejoin:round;stroke-linecap:round}
${SHADE_RULE(within)}
${within} .h{stroke:none}
${within} .o{stroke-width:12}${within} .c{stroke-width:28}${within} .e{stroke-width:6}
${within} .g{stroke-width:7;stroke-dasharray:42 22}${within} .d{stroke-width:6;stroke-dasharray:24 18}
${within} .ground,${within} .frame{fill:none;stroke-width:.7}
${within} .rule{fill:none;stroke-width:1}
${within} .gap{fill:none;stroke-width:2.2}${within} .gap-end{stroke-width:.8}
${within} .ring{fill:none;stroke-width:1.6}
${within} .ball{stroke-width:1.2}${within} .lead{fill:none;stroke-width:.8}
${within} .hatch-a,${within} .hatch-b{stroke-width:9}
${within} text{font-family:${font};font-size:12.5px;stroke-width:3.5px;stroke-linejoin:round;paint-order:stroke}
${within} .head{font-weight:600}${within} .gap-word{font-weight:700;font-size:14px}
${within} .ball-word{font-weight:700;stroke:none;text-anchor:middle}
`;
}

const SHADE_RULE = (within: string) =>
  Array.from({ length: SHADES }, (_, k) => `${within} .f${k}`)
    .join(",")
    .concat("{stroke-width:6}");

/** A colour between two, share 0 to 1 of the way. */
function mixed(from: string, to: string, share: number): string {
  const part = (color: string, i: number) => Number.parseInt(color.slice(i, i + 2), 16);
  return `#${[1, 3, 5]
    .map((i) => Math.round(part(from, i) + share * (part(to, i) - part(from, i))))
    .map((value) => value.toString(16).padStart(2, "0"))
    .join("")}`;
}
