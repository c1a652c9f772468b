import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { measures, parseQuantity, parseUnit } from "./quantity.ts";

const si = (text: string) => {
  const found = parseQuantity(text);
  return "value" in found ? found.value : found.problem;
};

describe("exact definitions", () => {
  // NIST Special Publication 811 (2008), appendix B.8: exact factors of the international inch, foot, pound and pound-force.
  it.each([
    ["1 in", 0.0254],
    ["1 ft", 0.3048],
    ["1 lb", 0.45359237],
    ["1 lbf", 4.4482216152605],
    ["1 in/s", 0.0254],
    ["1 lb in^2", 0.45359237 * 0.0254 ** 2],
    ["1 lbf in", 4.4482216152605 * 0.0254],
    ["1 lbf ft", 4.4482216152605 * 0.3048],
  ])("%s", (text, value) => {
    const found = si(text) as number;
    // A product of factors may differ by one rounding from the same product in another order.
    expect(Math.abs(found - value)).toBeLessThanOrEqual(Number.EPSILON * Math.abs(value));
  });

  it("takes pound-force as pound times standard gravity (3rd CGPM 1901: 9.80665 m/s²)", () => {
    expect(si("1 lbf")).toBeCloseTo(0.45359237 * 9.80665, 13);
  });

  // SI Brochure, 9th edition (2019): prefixes, minute, hour; degree = π/180 rad.
  it.each([
    ["420 mm", 0.42],
    ["1.5 cm", 0.015],
    ["12 um", 12e-6],
    ["0.3 m", 0.3],
    ["250 ms", 0.25],
    ["2 min", 120],
    ["8 h", 28800],
    ["500 g", 0.5],
    ["20 mA", 0.02],
    ["2 kN", 2000],
    ["90 deg", 90 * (Math.PI / 180)],
    ["90°", 90 * (Math.PI / 180)],
    ["1 turn", 2 * Math.PI],
    ["60 rpm", 2 * Math.PI],
    ["180 deg/s", 180 * (Math.PI / 180)],
    ["600 deg/s^2", 600 * (Math.PI / 180)],
    ["6 m/min", 0.1],
    ["3 N m", 3],
    ["3 N·m", 3],
    ["3 Nm", 3],
    ["0.02 kg m^2", 0.02],
    ["0.02 kg·m²", 0.02],
    ["7 kg cm^2", 7e-4],
    ["2 m/s/s", 2],
    ["80 %", 0.8],
    ["80%", 0.8],
    ["36 /h", 0.01],
    ["36 1/h", 0.01],
    ["-30 deg", -30 * (Math.PI / 180)],
    ["+.5e1 mm", 0.005],
    ["−5 mm", -0.005],
    ["420mm", 0.42],
  ])("%s", (text, value) => {
    expect(si(text)).toBeCloseTo(value, 14);
  });
});

it("keeps decimal millimetres free of rounding: n mm is exactly n / 1000", () => {
  fc.assert(
    fc.property(fc.integer({ min: -1_000_000, max: 1_000_000 }), (tenths) => {
      expect(si(`${tenths / 10} mm`)).toBe(tenths / 10 / 1000 || 0);
    }),
    { seed: 811, numRuns: 300 },
  );
});

it("brings any value back from any unit of its measure to 1e-15", () => {
  const unit = fc.constantFrom(...Object.values(measures).flatMap((measure) => measure.units));
  fc.assert(
    fc.property(unit, fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (name, value) => {
      const factor = parseUnit(name)!;
      const found = si(`${value} ${name}`) as number;
      expect(Math.abs((found * factor.divisor) / factor.factor / value - 1)).toBeLessThan(1e-15 * 2);
    }),
    { seed: 812, numRuns: 500 },
  );
});

it("gives every unit of a measure the dimension of that measure", () => {
  for (const measure of Object.values(measures))
    for (const name of measure.units) expect(parseUnit(name)?.dimension, name).toEqual(measure.dimension);
});

it.each([
  ["420", "no unit"],
  ["-1e3", "no unit"],
  ["", "not a quantity"],
  ["mm", "not a quantity"],
  ["12 13 mm", "unknown unit"],
  ["12 mmm", "unknown unit"],
  ["12 mm^0", "unknown unit"],
  ["12 mm^9", "unknown unit"],
  ["12 /", "unknown unit"],
  ["12 m//s", "unknown unit"],
  ["12 % mm", "unknown unit"],
  ["0,5 s", "decimal comma"],
  [".nan mm", "not finite"],
  ["NaN", "not finite"],
  ["-.inf N", "not finite"],
  ["Infinity", "not finite"],
  ["1e400 mm", "not finite"],
  ["0x10 mm", "unknown unit"],
  ["5 constructor", "unknown unit"],
  ["5 __proto__", "unknown unit"],
])("%s is refused: %s", (text, problem) => {
  expect(si(text)).toBe(problem);
});

it("never throws and never gives a value that is not finite", () => {
  fc.assert(
    fc.property(
      fc.oneof(
        fc.string(),
        fc.tuple(fc.double(), fc.string()).map(([n, s]) => `${n} ${s}`),
      ),
      (text) => {
        const found = parseQuantity(text);
        if ("value" in found) expect(Number.isFinite(found.value)).toBe(true);
      },
    ),
    { seed: 813, numRuns: 500 },
  );
});
