import { describe, expect, it } from "vitest";
import type { GridMap } from "../../study/map.ts";
import { labOf, scaleColor } from "./color-scale.ts";
import { contourLines, roundLevels, roundStep } from "./contours.ts";
import { renderMapSvg } from "./map-picture.ts";

const grid = (nx: number, ny: number, value: (i: number, j: number) => number): Float64Array =>
  Float64Array.from({ length: nx * ny }, (_, k) => value(k % nx, Math.floor(k / nx)));

const map = (over: Partial<GridMap> = {}): GridMap => ({
  title: "Clearance",
  xLabel: "x in mm",
  yLabel: "y in mm",
  legend: "clearance, mm",
  scale: 1000,
  x0: 0,
  y0: 0,
  dx: 0.1,
  dy: 0.1,
  nx: 11,
  ny: 6,
  values: grid(11, 6, (i, j) => (i + j) / 100),
  marks: [{ name: "base", x: 0.3, y: 0.2 }],
  outlines: [
    {
      name: "lathe",
      closed: true,
      points: [
        [0.5, 0.1],
        [0.8, 0.1],
        [0.8, 0.3],
      ],
    },
  ],
  ...over,
});

describe("contours", () => {
  it("are straight and exact through a plane", () => {
    const lines = contourLines(
      grid(6, 5, (i, j) => 2 * i + 3 * j),
      6,
      5,
      7.5,
    );
    expect(lines).toHaveLength(1);
    for (const [x, y] of lines[0]!) expect(2 * x + 3 * y).toBeCloseTo(7.5, 12);
  });

  it("close around a hill, and stay within linear interpolation's error of its circle", () => {
    const n = 81;
    const lines = contourLines(
      grid(n, n, (i, j) => -((i - 40) ** 2) - (j - 40) ** 2),
      n,
      n,
      -900.5,
    );
    expect(lines).toHaveLength(1);
    expect(lines[0]![0]).toEqual(lines[0]!.at(-1));
    // Between two grid points the second derivative is 2: off by at most 1/4 in value, 1/4 / (2 · 30) in place.
    for (const [x, y] of lines[0]!) expect(Math.abs(Math.hypot(x - 40, y - 40) - Math.sqrt(900.5))).toBeLessThan(0.005);
  });

  it("stop where there is no value", () => {
    const values = grid(6, 3, (i) => i);
    values[6 + 3] = Number.NaN;
    expect(contourLines(values, 6, 3, 2.5)).toHaveLength(0);
    expect(contourLines(values, 6, 3, 0.5)).toHaveLength(1);
  });

  it("join the corners of a saddle as its middle says", () => {
    const ends = (level: number) =>
      contourLines([1, 0, 0, 1], 2, 2, level).map((line) =>
        line.map(([x, y]) => x + y > 1).every((v) => v === line[0]![0] + line[0]![1] > 1),
      );
    // Middle 0.5: at 0.4 it is high and goes with (0, 0), at 0.6 not.
    expect(contourLines([1, 0, 0, 1], 2, 2, 0.4)).toHaveLength(2);
    expect(ends(0.6)).toEqual([true, true]);
  });

  it("are at round levels", () => {
    expect(roundLevels(0, 0.7, 7)).toEqual([0.1, 0.2, 0.3, 0.4, 0.5, 0.6]);
    expect(roundLevels(3, 3, 7)).toEqual([]);
    expect([roundStep(0.011), roundStep(1), roundStep(30)]).toEqual([0.02, 1, 50]);
  });
});

describe("colour scale", () => {
  it("grows lighter in even steps, so that it reads in grey and without seeing red from green", () => {
    const labs = Array.from({ length: 65 }, (_, k) => labOf(scaleColor(k / 64)));
    const steps = labs.slice(1).map((lab, k) => Math.hypot(...lab.map((v, i) => v - labs[k]![i]!)));
    const mean = steps.reduce((a, b) => a + b, 0) / steps.length;
    for (const [k, lab] of labs.slice(1).entries()) expect(lab[0]).toBeGreaterThan(labs[k]![0]);
    // Eight bits per channel blur a step by about 0.003.
    for (const step of steps) expect(Math.abs(step / mean - 1)).toBeLessThan(0.45);
  });

  it("begins and ends with the colours of viridis, and holds at its ends", () => {
    expect([scaleColor(0), scaleColor(1), scaleColor(-3), scaleColor(7)]).toEqual([
      "#440154",
      "#fde725",
      "#440154",
      "#fde725",
    ]);
  });
});

describe("picture of a map", () => {
  it("is the same text each time and names what it shows", () => {
    const text = renderMapSvg(map());
    expect(renderMapSvg(map())).toBe(text);
    for (const word of ["Clearance", "x in mm", "y in mm", "clearance, mm", "base", "lathe"])
      expect(text).toContain(word);
    expect(text).toContain("from 0 to 150, on 11 by 6 places");
    // 20, 40 … 140: contours inside 0 to 150.
    for (const level of [40, 80, 120]) expect(text).toMatch(new RegExp(`class="level"[^>]*>${level}<`));
    expect(text).not.toMatch(/NaN|Infinity|undefined|no value/);
  });

  it("covers each square once with the colour of its value", () => {
    const text = renderMapSvg(map({ values: grid(11, 6, (i) => (i < 5 ? 0 : 1)), marks: [], outlines: [] }));
    const paths = [...text.matchAll(/<path fill="(#[0-9a-f]+)" d="([^"]*)"/g)];
    expect(paths).toHaveLength(2);
    // 11 squares take 674 px of width; five of them stand left of the border. Six rows join to one rectangle.
    for (const [, , d] of paths) expect(d!.match(/M/g)).toHaveLength(1);
  });

  it.each([
    ["one value only", map({ nx: 1, ny: 1, values: Float64Array.of(0.2) })],
    ["no value", map({ values: new Float64Array(66).fill(Number.NaN) })],
    ["the same value", map({ values: new Float64Array(66).fill(0.05) })],
    ["one row", map({ ny: 1, values: grid(11, 1, (i) => i) })],
    ["values below zero", map({ values: grid(11, 6, (i) => -i - 1) })],
  ])("draws a map with %s", (_, some) => {
    const text = renderMapSvg(some);
    expect(text).not.toMatch(/NaN|Infinity|undefined/);
    expect(text).toContain("</svg>");
  });

  it("lets no name become markup", () => {
    const evil = `</text><script>alert(1)</script>"`;
    const text = renderMapSvg(
      map({
        title: evil,
        xLabel: evil,
        yLabel: evil,
        legend: evil,
        marks: [{ name: evil, x: 0, y: 0 }],
        outlines: [{ name: evil, closed: false, points: map().outlines[0]!.points }],
      }),
    );
    expect(text).not.toContain("<script");
  });

  it("stays small on many places", () => {
    const text = renderMapSvg(
      map({
        nx: 300,
        ny: 200,
        dx: 0.01,
        dy: 0.01,
        values: grid(300, 200, (i, j) => Math.sin(i / 30) * Math.cos(j / 25)),
      }),
    );
    expect(text.length).toBeLessThan(1_000_000);
  });

  it("refuses numbers that do not fit", () => {
    expect(() => renderMapSvg(map({ nx: 12 }))).toThrow("nx·ny values");
  });
});
