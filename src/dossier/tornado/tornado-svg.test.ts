import { SaxesParser } from "saxes";
import { expect, it } from "vitest";
import { renderTornadoSvg } from "./tornado-svg.ts";

const words = { title: "What <matters>", axis: "worth, EUR", figure: (value: number) => value.toFixed(0) };
const tornado = {
  outcome: "npv" as const,
  likely: 100,
  bars: [
    { input: "part value", low: 0.9, high: 1.1, atLow: 40, atHigh: 160 },
    { input: "interest", low: 0.06, high: 0.1, atLow: 120, atHigh: 90 },
  ],
};

/** Rectangles of the bars, in order. */
function barsOf(svg: string) {
  const found: { kind: string; x: number; width: number }[] = [];
  const parser = new SaxesParser();
  parser.on("error", (error) => {
    throw error;
  });
  parser.on("opentag", ({ name, attributes }) => {
    const { class: kind, x, width } = attributes as Record<string, string>;
    if (name === "rect" && (kind === "low" || kind === "high"))
      found.push({ kind, x: Number(x), width: Number(width) });
  });
  parser.write(svg).close();
  return found;
}

it("draws each bar to scale from the likely value to its ends", () => {
  const bars = barsOf(renderTornadoSvg(tornado, words));
  expect(bars.map((b) => b.kind)).toEqual(["low", "high", "low", "high"]);
  const unit = bars[0]!.width / 60;
  const middle = bars[1]!.x;
  expect(bars[0]!.x + bars[0]!.width).toBeCloseTo(middle, 1);
  expect(bars[1]!.width).toBeCloseTo(60 * unit, 1);
  // Interest: the low end lies to the right of the likely value, the high end to the left.
  expect(bars[2]!.x).toBeCloseTo(middle, 1);
  expect(bars[2]!.width).toBeCloseTo(20 * unit, 1);
  expect(bars[3]!.x + bars[3]!.width).toBeCloseTo(middle, 1);
  expect(bars[3]!.width).toBeCloseTo(10 * unit, 1);
});

it("is the same for the same tornado, escapes names and says when nothing is uncertain", () => {
  const svg = renderTornadoSvg(tornado, words);
  expect(renderTornadoSvg(tornado, words)).toBe(svg);
  expect(svg).toContain("What &lt;matters&gt;");
  const none = renderTornadoSvg({ ...tornado, bars: [] }, words);
  expect(barsOf(none)).toEqual([]);
  expect(none).toContain("No input is stated as a range.");
});
