import { expect, it } from "vitest";
import type { SafetyFunction, SafetyPart } from "../cell/guarding.ts";
import type { Production } from "../cell/model.ts";
import type { Seconds } from "../math/units.ts";
import { judgeFunction } from "./functions.ts";

const levels = new Map([
  ["arm-impact", "d"],
  ["teaching", "c"],
] as const);
const good: SafetyPart = { mttfdYears: 50, coverage: 0.9 };
const valve: SafetyPart = { b10dCycles: 2e6, every: 90 as Seconds, coverage: 0.9 };
const production: Production = { batches: [], shift: { hours: 8, perDay: 2, daysPerWeek: 5 } };

const judge = (stated: Partial<SafetyFunction>, made?: Production) =>
  judgeFunction("stop", { covers: ["arm-impact"], category: "3", channels: [], ...stated }, made, levels);

it("needs the highest level of what it covers, unless one is stated", () => {
  const channels = [[good], [good]];
  expect(judge({ channels, commonCause: 65, covers: ["teaching", "arm-impact"] })).toMatchObject({
    required: "d",
    verdict: "reached by the data given",
  });
  expect(judge({ channels, commonCause: 65, required: "e" })).toMatchObject({ required: "e", verdict: "not reached" });
  expect(judge({ channels, commonCause: 65, covers: [] })).toMatchObject({
    required: undefined,
    verdict: "cannot be told",
  });
});

it("takes days and hours from the shifts where they are not stated: 260 days of 16 hours", () => {
  const found = judge({ channels: [[valve], [valve]], commonCause: 65 }, production);
  // n_op = 260 · 16 · 3600/90 = 166,400 a year; T10d = 2e6/166,400 = 12.019 years; MTTFd 120 years counts as 100.
  expect(found.replace.map(({ years }) => years.toFixed(3))).toEqual(["12.019", "12.019"]);
  expect(found.achieved).toMatchObject({ mttfd: 100, level: "d" });
});

it.each([
  ["category", { category: undefined as never, channels: [[good], [good]] }],
  ["channels are not stated", {}],
  ["neither MTTFd nor B10d", { channels: [[{ coverage: 0.9 }], [good]] }],
  ["how often it works", { channels: [[{ b10dCycles: 2e6, coverage: 0.9 }], [good]] }],
  ["days per year and hours per day", { channels: [[valve], [good]] }],
  ["diagnostic coverage is not stated", { channels: [[{ mttfdYears: 50 }], [good]] }],
  ["common cause (annex F) is not stated", { channels: [[good], [good]] }],
])("cannot tell without: %s", (reason, stated) => {
  const found = judge(stated);
  expect(found.verdict).toBe("cannot be told");
  expect(found.missing.join("; ")).toContain(reason);
});

it("coverage is not asked for in categories B and 1", () => {
  expect(judge({ category: "1", channels: [[{ mttfdYears: 40 }]], required: "c" })).toMatchObject({
    verdict: "reached by the data given",
    achieved: { level: "c" },
  });
});
