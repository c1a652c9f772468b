/** Two small plots beside each other: states of a proof against the length of the routine and against the number of machines. */
export interface Point {
  readonly at: number;
  readonly seconds: number;
  readonly states: number;
  readonly decided: boolean;
}

const WIDTH = 320;
const HEIGHT = 220;
const LEFT = 64;
const BOTTOM = 40;
const TOP = 34;

/** @returns an SVG document; its shape depends on the figures only */
export function growthPlot(steps: readonly Point[], machines: readonly Point[]): string {
  const all = [panel(steps, 0, "steps of one machine's routine", false), panel(machines, WIDTH + 40, "machines", true)];
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${2 * WIDTH + 60} ${HEIGHT + 8}" font-family="sans-serif" font-size="11" role="img">
<title>States of an interlock proof without faults</title>
<rect width="100%" height="100%" fill="#ffffff"/>
${all.join("\n")}
</svg>
`;
}

/** @param powers states on a scale of powers of ten */
function panel(points: readonly Point[], x: number, below: string, powers: boolean): string {
  const most = Math.max(...points.map(({ states }) => states));
  const last = Math.max(...points.map(({ at }) => at));
  const decades = Math.ceil(Math.log10(most));
  const top = powers ? decades : niceAbove(most);
  const bottom = powers ? Math.floor(Math.log10(Math.min(...points.map(({ states }) => states)))) : 0;
  const height = HEIGHT - TOP - BOTTOM;
  const px = (at: number) => x + LEFT + (at / last) * (WIDTH - LEFT - 16);
  const py = (value: number) => TOP + height * (1 - ((powers ? Math.log10(value) : value) - bottom) / (top - bottom));
  const ticks = powers
    ? Array.from({ length: top - bottom + 1 }, (_, i) => 10 ** (bottom + i))
    : [0, top / 4, top / 2, (3 * top) / 4, top];
  const grid = ticks.map((value) => {
    const y = py(value).toFixed(1);
    return `<line x1="${x + LEFT}" y1="${y}" x2="${x + WIDTH - 8}" y2="${y}" stroke="#dddddd"/><text x="${x + LEFT - 6}" y="${(py(value) + 4).toFixed(1)}" text-anchor="end" fill="#444444">${value.toLocaleString("en")}</text>`;
  });
  const line = points.map((p) => `${px(p.at).toFixed(1)},${py(p.states).toFixed(1)}`).join(" ");
  const marks = points.map(
    (p) =>
      `<circle cx="${px(p.at).toFixed(1)}" cy="${py(p.states).toFixed(1)}" r="3.5" fill="${p.decided ? "#1f5f8b" : "#ffffff"}" stroke="#1f5f8b"/><text x="${px(p.at).toFixed(1)}" y="${HEIGHT - BOTTOM + 16}" text-anchor="middle" fill="#444444">${p.at}</text>`,
  );
  return `<g>
<text x="${x + LEFT}" y="16" fill="#111111">states (empty mark: not decided in 512 MiB)</text>
${grid.join("\n")}
<polyline points="${line}" fill="none" stroke="#1f5f8b" stroke-width="1.5"/>
${marks.join("\n")}
<text x="${x + (LEFT + WIDTH) / 2}" y="${HEIGHT - 4}" text-anchor="middle" fill="#111111">${below}</text>
</g>`;
}

/** 1, 2 or 4 times a power of ten. */
function niceAbove(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 2, 4, 10].map((times) => times * power).find((nice) => nice >= value)!;
}
