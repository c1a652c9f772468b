/** ISO 13849-1, annexes A, C, D, E and the simplified table. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  achievedLevel,
  averageCoverage,
  channelMttfd,
  failureRange,
  fromB10d,
  isAtLeast,
  LEVELS,
  operationsPerYear,
  requiredLevel,
  simplifiedLevel,
  symmetrised,
} from "./performance.ts";

it("risk graph, annex A (shape read in public texts)", () => {
  const levels = [1, 2].flatMap((S) => [1, 2].flatMap((F) => [1, 2].map((P) => requiredLevel({ S, F, P } as never))));
  expect(levels.join("")).toBe("abbccdde");
});

it("symmetrised MTTFd, annex D: it prints 66 years for 3 and 100", () => {
  expect(symmetrised(3, 100)).toBeCloseTo(66.7249, 4);
  expect(symmetrised(20, 50)).toBeCloseTo(37.1429, 4);
  expect(symmetrised(40, 40)).toBeCloseTo(40, 12);
});

it("B10d, annex C: a valve of 60 million cycles, 220 days of 16 hours, every 5 s (B10d read, the rest recalled)", () => {
  const operations = operationsPerYear(220, 16, 5);
  expect(operations).toBe(2_534_400);
  expect(fromB10d(60e6, operations).mttfd).toBeCloseTo(236.742, 3);
  expect(fromB10d(60e6, operations).t10d).toBeCloseTo(23.674, 3);
  // Recomputed: 2 million, 250 days of 20 hours, every 90 s.
  const often = operationsPerYear(250, 20, 90);
  expect(often).toBe(200_000);
  expect(fromB10d(2e6, often)).toEqual({ mttfd: 100, t10d: 10 });
});

it("average diagnostic coverage, annex E (recomputed)", () => {
  const parts = [
    { mttfd: 50, coverage: 0.99 },
    { mttfd: 80, coverage: 0.9 },
    { mttfd: 120, coverage: 0.6 },
  ];
  expect(averageCoverage(parts)).toBeCloseTo(0.88286, 5);
  expect(channelMttfd(parts.map(({ mttfd }) => mttfd))).toBeCloseTo(24.4898, 4);
});

describe("simplified table (recalled)", () => {
  it.each([
    ["B", "none", "a b -"],
    ["1", "none", "- - c"],
    ["2", "low", "a b c"],
    ["2", "medium", "b c d"],
    ["3", "low", "b c d"],
    ["3", "medium", "c d d"],
    ["4", "high", "- - e"],
    ["4", "medium", "- - -"],
    ["3", "none", "- - -"],
  ] as const)("category %s, DC %s: %s", (category, coverage, row) =>
    expect(
      (["low", "medium", "high"] as const).map((m) => simplifiedLevel(category, coverage, m) ?? "-").join(" "),
    ).toBe(row),
  );

  it("category 2 never reaches e, and too low an MTTFd gives nothing", () => {
    for (const coverage of ["low", "medium", "high"] as const)
      for (const m of ["low", "medium", "high"] as const) expect(simplifiedLevel("2", coverage, m)).not.toBe("e");
    expect(simplifiedLevel("3", "medium", "too low")).toBeUndefined();
  });
});

describe("achieved level", () => {
  const part = (mttfd: number, coverage: number) => ({ mttfd, coverage });
  it("category 3, DC medium, 37 years: d; DC low, 24 years: c", () => {
    expect(
      achievedLevel({ category: "3", channels: [[part(20, 0.9)], [part(50, 0.9)]], commonCause: 65 }),
    ).toMatchObject({ level: "d", mttfdBand: "high", coverageBand: "medium" });
    expect(
      achievedLevel({ category: "3", channels: [[part(24, 0.6)], [part(24, 0.6)]], commonCause: 80 }),
    ).toMatchObject({ level: "c", mttfdBand: "medium", coverageBand: "low" });
  });

  it("a channel counts 100 years at most, 2500 in category 4", () => {
    expect(achievedLevel({ category: "1", channels: [[part(5000, 0)]], commonCause: undefined })).toMatchObject({
      level: "c",
      mttfd: 100,
    });
    const channel = [part(5000, 0.99)];
    expect(achievedLevel({ category: "4", channels: [channel, channel], commonCause: 70 })).toMatchObject({
      level: "e",
      mttfd: 2500,
    });
  });

  it("has no level where something is missing, and says what", () => {
    const two = [[part(50, 0.9)], [part(50, 0.9)]];
    const reasons = (design: Parameters<typeof achievedLevel>[0]) => {
      const { level, reasons } = achievedLevel(design);
      expect(level).toBeUndefined();
      return reasons.join("; ");
    };
    expect(reasons({ category: "3", channels: two, commonCause: undefined })).toContain("annex F) is not stated");
    expect(reasons({ category: "3", channels: two, commonCause: 60 })).toContain("is 60, at least 65");
    expect(reasons({ category: "3", channels: [two[0]!], commonCause: 70 })).toContain("two channels, one is given");
    expect(reasons({ category: "4", channels: two, commonCause: 70 })).toContain("no level in the simplified table");
    expect(reasons({ category: "B", channels: [[part(2, 0)]], commonCause: undefined })).toContain("too low MTTFd");
    expect(() => achievedLevel({ category: "B", channels: [[]], commonCause: undefined })).toThrow("at least one part");
  });

  it("never falls when a part gets better", () => {
    const years = fc.double({ min: 3, max: 3000, noNaN: true });
    const share = fc.double({ min: 0.6, max: 1, noNaN: true });
    fc.assert(
      fc.property(years, years, share, share, (a, b, c, d) => {
        const design = (mttfd: number, coverage: number) => {
          const channel = [part(mttfd, coverage)];
          return achievedLevel({ category: "3", channels: [channel, channel], commonCause: 65 }).level!;
        };
        expect(isAtLeast(design(Math.max(a, b), Math.max(c, d)), design(Math.min(a, b), Math.min(c, d)))).toBe(true);
      }),
      { seed: 13849, numRuns: 300 },
    );
  });
});

it("ranges of PFHd join without gaps, a the most frequent (recalled)", () => {
  for (let i = 1; i < LEVELS.length; i++) expect(failureRange[LEVELS[i]!][1]).toBe(failureRange[LEVELS[i - 1]!][0]);
});
