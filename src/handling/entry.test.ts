import { describe, expect, it } from "vitest";
import { ContractError } from "../math/contract-error.ts";
import { type Deviation, sharesOf, spreadOf, sumOf } from "./deviation.ts";
import { type EntrySizes, entryLimits, normalEntry, stackCase, tryEntries } from "./entry.ts";

const sizes: EntrySizes = {
  hole: 0.02,
  part: 0.0195,
  holeTolerance: 0,
  partTolerance: 0,
  distribution: "normal",
  holeChamfer: 0.0002,
  partChamfer: 0,
  friction: 0.15,
};
const deviation = (within: number, distribution: Deviation["distribution"] = "normal", tilt = 0): Deviation => ({
  name: `${distribution} ${within}`,
  within,
  tilt,
  distribution,
});
/** Five standard errors of a share found by trial. */
const near = (share: number, n: number) => 5 * Math.sqrt((share * (1 - share)) / n) + 1e-9;
const N = 200_000;

describe("sums of deviations", () => {
  it("have the standard deviations of their distributions", () => {
    // Half width over 3, √3 and √6: variance of the uniform w²/3, of the symmetric triangular w²/6 (any textbook).
    expect(spreadOf("normal", 0.3)).toBeCloseTo(0.1, 12);
    expect(spreadOf("uniform", 0.3) ** 2).toBeCloseTo(0.03, 12);
    expect(spreadOf("triangular", 0.3) ** 2).toBeCloseTo(0.015, 12);
  });

  it("add up: worst case, root of squares, variance", () => {
    const sum = sumOf([deviation(3), deviation(4), deviation(12, "uniform")], "within");
    expect(sum.worst).toBe(19);
    expect(sum.rss).toBeCloseTo(13, 12);
    expect(sum.sigma ** 2).toBeCloseTo(1 + 16 / 9 + 48, 12);
    expect(sharesOf([deviation(3), deviation(6)], "within")).toEqual([0.2, 0.8]);
    expect(sharesOf([deviation(0)], "within")).toEqual([0]);
  });

  it("are refused for a negative width", () => {
    expect(() => sumOf([deviation(-1)], "within")).toThrow(ContractError);
  });
});

describe("limits of entry", () => {
  it("are those of the sizes as drawn, or at their worst", () => {
    const rough = { ...sizes, holeTolerance: 0.0001, partTolerance: 0.0001 };
    expect(entryLimits(rough, "nominal").lateral).toBeCloseTo(0.00045, 12);
    expect(entryLimits(rough, "tightest").lateral).toBeCloseTo(0.00035, 12);
    expect(entryLimits(sizes, "nominal").tilt).toBeCloseTo(Math.sqrt(0.05), 12);
    expect(entryLimits(sizes, "nominal").wedging).toBeCloseTo(0.025 / 0.15, 12);
    expect(entryLimits({ ...sizes, friction: undefined }, "nominal").wedging).toBeUndefined();
    expect(entryLimits({ ...sizes, part: 0.021 }, "nominal").lateral).toBeLessThan(0);
  });

  it("are met or missed by the worst case and by the root of squares", () => {
    const some = [deviation(0.0001), deviation(0.0001), deviation(0.0001), deviation(0.0001)];
    const worst = stackCase(sizes, some, "worst case");
    expect(worst.lateral).toBeCloseTo(Math.SQRT2 * 0.0004, 12);
    expect(worst.enters).toBe(false);
    const rss = stackCase(sizes, some, "root sum square");
    expect(rss.lateral).toBeCloseTo(Math.SQRT2 * 0.0002, 12);
    expect(rss.enters).toBe(true);
  });
});

describe("trial insertions", () => {
  it("agree with the Rayleigh distribution for normal deviations", () => {
    for (const w of [0.0003, 0.0006, 0.0012]) {
      const some = [deviation(w), deviation(w / 2)];
      const expected = normalEntry(0.00045, sumOf(some, "within"));
      const found = tryEntries(sizes, some, N, 5);
      expect(Math.abs(found.enters - expected)).toBeLessThan(near(expected, N));
      const clean = normalEntry(0.00025, sumOf(some, "within"));
      expect(Math.abs(found.clean - clean)).toBeLessThan(near(clean, N));
    }
  });

  it("agree with areas for a uniform deviation: a circle in a square", () => {
    const w = 0.0006;
    const expected = (Math.PI * 0.00045 ** 2) / (4 * w * w);
    const { enters, error } = tryEntries(sizes, [deviation(w, "uniform")], N, 6);
    expect(Math.abs(enters - expected)).toBeLessThan(near(expected, N));
    expect(error).toBeCloseTo(Math.sqrt((expected * (1 - expected)) / N), 4);
  });

  it("agree with the triangular distribution: the sum of two uniform ones of half the width, drawn apart", () => {
    const one = tryEntries(sizes, [deviation(0.001, "triangular")], N, 1);
    const two = tryEntries(sizes, [deviation(0.0005, "uniform"), deviation(0.0005, "uniform")], N, 2);
    expect(Math.abs(one.enters - two.enters)).toBeLessThan(2 * near(two.enters, N));
    expect(one.enters).toBeLessThan(0.9);
  });

  it("agree with the Rayleigh distribution in tilt, for entering and for wedging", () => {
    const limits = entryLimits(sizes, "nominal");
    const tilted = [deviation(0, "normal", 3 * 0.12)];
    const { enters, mayWedge } = tryEntries(sizes, tilted, N, 9);
    const expected = normalEntry(limits.tilt, sumOf(tilted, "tilt"));
    expect(Math.abs(enters - expected)).toBeLessThan(near(expected, N));
    const wedging = expected - normalEntry(limits.wedging!, sumOf(tilted, "tilt"));
    expect(wedging).toBeGreaterThan(0.01);
    expect(Math.abs(mayWedge! - wedging)).toBeLessThan(near(wedging, N));
  });

  it("count the tolerances of both diameters: the share with room, from the normal distribution", () => {
    // Gap normal with mean 0.5 mm and deviation √2 · 0.25 mm: P(gap > 0) = Φ(√2) = 0.92135 (table of the normal distribution).
    const rough = { ...sizes, holeTolerance: 0.00075, partTolerance: 0.00075 };
    const { enters } = tryEntries(rough, [], N, 4);
    expect(Math.abs(enters - 0.92135)).toBeLessThan(near(0.92135, N));
  });

  it("let nothing in that is too thick, and all of what has no deviation", () => {
    expect(tryEntries({ ...sizes, part: 0.0201 }, [], 1000, 1)).toMatchObject({
      enters: 0,
      clean: 0,
      mayWedge: 0,
      error: 0.003,
    });
    expect(tryEntries(sizes, [], 1000, 1)).toMatchObject({ enters: 1, clean: 1, mayWedge: 0 });
    expect(tryEntries({ ...sizes, friction: undefined }, [], 1000, 1).mayWedge).toBeUndefined();
  });

  it("give the same figures for the same seed, and others for another", () => {
    const some = [deviation(0.0008), deviation(0.0004, "uniform", 0.01), deviation(0.0002, "triangular")];
    const once = tryEntries(sizes, some, 20_000, 42);
    expect(tryEntries(sizes, some, 20_000, 42)).toEqual(once);
    expect(tryEntries(sizes, some, 20_000, 43).enters).not.toBe(once.enters);
    // Pinned: figures of a report must not change unless the method does.
    expect(once).toMatchObject({ enters: 0.5216, clean: 0.20145, mayWedge: 0 });
  });

  it("fall with every larger deviation, and grow with a wider chamfer", () => {
    const shares = [0.0003, 0.0006, 0.0009, 0.0012].map((w) => tryEntries(sizes, [deviation(w)], 50_000, 8).enters);
    for (let i = 1; i < shares.length; i++) expect(shares[i]!).toBeLessThan(shares[i - 1]!);
    const wide = tryEntries({ ...sizes, holeChamfer: 0.0006 }, [deviation(0.0012)], 50_000, 8).enters;
    expect(wide).toBeGreaterThan(shares[3]!);
  });

  it.each([0, 1.5, Number.NaN])("are refused for %d insertions", (count) => {
    expect(() => tryEntries(sizes, [], count, 1)).toThrow(ContractError);
  });
});
