import { describe, expect, it } from "vitest";
import { Stream } from "../random.ts";
import { businessOf, type EstimatedInputs } from "./business.ts";
import { annuityFactor, discountedPayback, levelNpv, npv, payback } from "./cash-flow.ts";
import { certain } from "./estimate.ts";
import { internalRate, levelInternalRate, positiveRoots } from "./irr.ts";
import { tornado } from "./tornado.ts";
import { tryOutcomes } from "./trials.ts";

describe("level savings", () => {
  // Worked from NPV = -I + C (1 - (1+r)^-n)/r and discounted payback = -ln(1 - I r/C)/ln(1+r), any textbook of engineering
  // economy; the rates of return were computed apart by bisection. Annuity factors: printed tables, 8 % and 10 %.
  it.each([
    [90_000, 32_000, 5, 0.08, 37_766.72, 2.8125, 3.31196, 0.228477],
    [120_000, 45_000, 4, 0.1, 22_643.95, 2.66667, 3.25416, 0.184505],
  ])("%i, %i a year, %i years, %f", (investment, saving, years, r, worth, simple, discounted, rate) => {
    expect(levelNpv({ investment, saving, years }, r)).toBeCloseTo(worth, 2);
    const flows = [-investment, ...Array.from({ length: years }, () => saving)];
    expect(npv(flows, r)).toBeCloseTo(worth, 2);
    expect(payback(investment, saving)).toBeCloseTo(simple, 5);
    expect(discountedPayback(investment, saving, r)).toBeCloseTo(discounted, 5);
    const found = levelInternalRate({ investment, saving, years });
    expect(found.kind === "one" && found.rate).toBeCloseTo(rate, 6);
  });

  it("annuity factors of the printed tables", () => {
    expect(annuityFactor(5, 0.08)).toBeCloseTo(3.99271, 6);
    expect(annuityFactor(4, 0.1)).toBeCloseTo(3.169865, 6);
    expect(annuityFactor(7, 0)).toBe(7);
    expect(annuityFactor(7, 1e-9)).toBeCloseTo(7, 6);
    expect(() => annuityFactor(0, 0.1)).toThrow(/years/);
  });

  it("never paid back", () => {
    expect(payback(10, 0)).toBeUndefined();
    expect(payback(10, -5)).toBeUndefined();
    expect(discountedPayback(100, 8, 0.08)).toBeUndefined();
    expect(discountedPayback(100, 9, 0.08)).toBeGreaterThan(20);
    expect(discountedPayback(100, 10, 0)).toBe(10);
    expect(payback(0, 1)).toBe(0);
  });
});

describe("internal rate of return", () => {
  it("none, one, several", () => {
    expect(internalRate([-100, -10])).toEqual({ kind: "none" });
    expect(internalRate([])).toEqual({ kind: "none" });
    expect(internalRate([0, 0])).toEqual({ kind: "none" });
    // x² - x + 1 has no real root.
    expect(internalRate([1, -1, 1])).toEqual({ kind: "none" });
    const one = internalRate([-100, 110]);
    expect(one.kind === "one" && one.rate).toBeCloseTo(0.1, 12);
    // -1000 + 2300 x - 1320 x²: the roots of a pump proposal, 10 % and 20 % (Lorie & Savage's problem in small numbers).
    const two = internalRate([-1000, 2300, -1320]);
    expect(two.kind).toBe("several");
    if (two.kind === "several") {
      expect(two.rates[0]).toBeCloseTo(0.1, 9);
      expect(two.rates[1]).toBeCloseTo(0.2, 9);
    }
    const loss = internalRate([-100, 30, 30]);
    expect(loss.kind === "one" && loss.rate).toBeLessThan(0);
  });

  it("a root that only touches counts once", () => {
    // (1 - 1.1 x)² · -1000
    const found = internalRate([-1000, 2200, -1210]);
    expect(found.kind === "one" && found.rate).toBeCloseTo(0.1, 6);
  });

  it("finds all roots of polynomials made from them, seed 4", () => {
    const stream = new Stream(4, 1);
    for (let k = 0; k < 200; k++) {
      const roots = Array.from({ length: 1 + (k % 5) }, (_, i) => 0.4 + 0.5 * i + 0.3 * stream.uniform());
      let c = [k % 2 === 0 ? 1 : -3];
      for (const root of roots) c = [0, ...c].map((v, i) => v - root * (c[i] ?? 0));
      const found = positiveRoots(c);
      expect(found).toHaveLength(roots.length);
      for (const [i, x] of found.entries()) expect(x).toBeCloseTo(roots[i]!, 7);
    }
  });

  it("is where the worth is nothing, for 200 random level investments with and without whole years", () => {
    const stream = new Stream(8, 2);
    for (let k = 0; k < 200; k++) {
      const years = k % 2 === 0 ? 1 + Math.floor(30 * stream.uniform()) : 0.5 + 30 * stream.uniform();
      const level = { investment: 1000, saving: 2000 * stream.uniform() + 1, years, residual: k % 3 === 0 ? 100 : 0 };
      const found = levelInternalRate(level);
      expect(found.kind).toBe("one");
      if (found.kind === "one") expect(Math.abs(levelNpv(level, found.rate))).toBeLessThan(1e-5);
    }
    expect(levelInternalRate({ investment: 1000, saving: -5, years: 2.5 })).toEqual({ kind: "none" });
    expect(levelInternalRate({ investment: 0, saving: 5, years: 2.5 })).toEqual({ kind: "none" });
  });
});

describe("a cell's money", () => {
  const cell = {
    investment: 100_000,
    years: 5,
    interest: 0.08,
    partValue: 2,
    material: 0.5,
    tooling: 0.1,
    hourRate: 3,
    operatorRate: 40,
    operatorHours: 1,
    made: 50_000,
    goodShare: 0.98,
    plannedHours: 4000,
    workingDays: 250,
  };

  it("by hand", () => {
    const found = businessOf(cell);
    // 0.1 · 50000 + 3 · 4000 + 40 · 1 · 250
    expect(found.runningPerYear).toEqual({ known: true, value: 27_000 });
    // 2 · 49000 - 0.5 · 50000 - 27000
    expect(found.savingPerYear).toEqual({ known: true, value: 46_000 });
    // (100000 / 3.992710 + 27000 + 25000) / 49000
    expect(found.costPerPart.known && found.costPerPart.value).toBeCloseTo((100_000 / 3.99271 + 52_000) / 49_000, 6);
    expect(found.payback).toEqual({ known: true, value: 100 / 46 });
  });

  it("says what is missing, and only where it matters", () => {
    const { interest: _, ...without } = cell;
    const found = businessOf(without);
    expect(found.npv).toEqual({ known: false, missing: ["interest"] });
    expect(found.costPerPart).toEqual({ known: false, missing: ["interest"] });
    expect(found.payback.known).toBe(true);
    expect(businessOf({ ...without, operatorHours: 1, workingDays: undefined } as never).runningPerYear).toEqual({
      known: false,
      missing: ["workingDays"],
    });
    expect(businessOf({}).npv).toMatchObject({
      known: false,
      missing: ["partValue", "made", "goodShare", "investment", "years", "interest"],
    });
    expect(() => businessOf({ investment: -1 })).toThrow(/investment/);
    expect(() => businessOf({ goodShare: 1.2 })).toThrow(/goodShare/);
    expect(() => businessOf({ years: 0 })).toThrow(/years/);
  });

  it("nothing good made costs without bound", () => {
    expect(businessOf({ ...cell, goodShare: 0 }).costPerPart).toEqual({ known: true, value: Number.POSITIVE_INFINITY });
  });

  const estimates: EstimatedInputs = {
    investment: { low: 80_000, likely: 90_000, high: 120_000 },
    saving: { low: 28_000, likely: 32_000, high: 34_000 },
    years: certain(5),
    interest: { low: 0.06, likely: 0.08, high: 0.1 },
  };

  it("the tornado: widest bar first, its ends by the closed form", () => {
    const found = tornado(estimates, "npv")!;
    expect(found.likely).toBeCloseTo(37_766.72, 2);
    expect(found.bars.map((b) => b.input)).toEqual(["investment", "saving", "interest"]);
    expect(found.bars[0]).toMatchObject({ low: 80_000, high: 120_000 });
    expect(found.bars[0]!.atLow - found.bars[0]!.atHigh).toBeCloseTo(40_000, 6);
    expect(found.bars[1]!.atHigh - found.bars[1]!.atLow).toBeCloseTo(6000 * 3.99271, 1);
    expect(tornado({ investment: certain(1) }, "npv")).toBeUndefined();
    expect(tornado(estimates, "costPerPart")).toBeUndefined();
  });

  it("trials: the mean of what is linear is that of the means; repeat for a seed", () => {
    const linear = { ...estimates, interest: certain(0.08) };
    const found = tryOutcomes(linear, "npv", 40_000, 7)!;
    const expected = -(80 + 90 + 120) / 3e-3 + ((28 + 32 + 34) / 3e-3) * annuityFactor(5, 0.08);
    // Variance of a triangular number: (a² + b² + c² - ab - ac - bc)/18.
    const spread = (a: number, b: number, c: number) => Math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18);
    const sigma = Math.hypot(spread(80_000, 90_000, 120_000), annuityFactor(5, 0.08) * spread(28_000, 32_000, 34_000));
    expect(Math.abs(found.mean - expected)).toBeLessThan((3.5 * sigma) / Math.sqrt(40_000));
    expect(found.p5).toBeLessThan(found.p50);
    expect(found.p95 - found.p5).toBeCloseTo(2 * 1.645 * sigma, -4);
    expect(found.positive).toBeGreaterThan(0.9);
    expect(tryOutcomes(linear, "npv", 40_000, 7)).toEqual(found);
    expect(tryOutcomes(linear, "npv", 40_000, 8)).not.toEqual(found);
    expect(tryOutcomes({}, "npv", 10, 1)).toBeUndefined();
  });
});
