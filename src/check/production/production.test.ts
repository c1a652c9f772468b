import { beforeAll, describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { buildArm } from "../../arm/index.ts";
import { type Cell, loadCell } from "../../cell/index.ts";
import type { VariantRuns } from "../cycle-report.ts";
import { FindingList } from "../findings.ts";
import { createMover } from "../mover.ts";
import { runVariants } from "../runs.ts";
import { alternativeRow } from "./alternatives.ts";
import { addProductionFindings } from "./findings.ts";
import { type ProductionReport, productionReport } from "./report.ts";
import { variedCell } from "./vary.ts";

const FULL = `
  stops: { chips: { every: 4 h, time: 3 to 8 min }, sensor: { every: 1 h, time: 10 s, needs: nobody } }
  tool changes: { insert: { parts: 180, time: 4 to 6 min } }
  refill: { time: 3 to 5 min }
  people: { attending: 1, response: 0 to 5 min }
  scrap: 1 %
  costs: { currency: EUR, investment: 80000 to 100000, years: 5, interest: 8 %, part value: 0.9, cell per hour: 3 }
`;
const WEEKS = ["days per week: 5 }", "days per week: 5, weeks per year: 48 }"] as const;

function cellOf(extra: string, ...changes: readonly (readonly [string, string])[]): Cell {
  let text = smallLathe.trimEnd() + extra;
  for (const [find, put] of changes) {
    expect(text).toContain(find);
    text = text.replace(find, put);
  }
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  return loaded.value;
}

function runsOf(cell: Cell): VariantRuns {
  return runVariants(
    cell,
    createMover(cell, buildArm(cell.arm)),
    ["short"],
    () => false,
    () => {},
  )!.get("short")!;
}

function findingsOf(cell: Cell, report: ProductionReport | null) {
  const findings = new FindingList(cell);
  addProductionFindings(cell, report, findings);
  return findings.sorted();
}

describe("the small lathe cell", () => {
  const plain = cellOf("");
  const full = cellOf(FULL, WEEKS);
  let runs: VariantRuns;
  beforeAll(() => {
    runs = runsOf(plain);
  });
  const report = (cell: Cell, options = {}) => productionReport(cell, runs, options)!;

  it("a cell that asks for nothing gets figures and no findings", () => {
    const found = report(plain);
    expect(found.money).toBeNull();
    expect(found.unstated.map((u) => u.what)).toEqual([
      "production.stops",
      "production.refill",
      "production.people",
      "production.scrap",
    ]);
    expect(findingsOf(plain, found)).toEqual([]);
  });

  it("days: attended hours of the shifts, parts by period, trays and stops", () => {
    const { attended, runningOn, partsPerFilling, period_s } = report(full);
    expect(partsPerFilling).toBe(runs.nominal.partsFinished);
    expect(attended!.plannedHoursPerWeek).toBe(80);
    expect(runningOn!.plannedHoursPerWeek).toBe(168);
    const lost = attended!.lost.reduce((sum, { hoursPerWeek }) => sum + hoursPerWeek.mean, 0);
    // What is not lost makes a part in each period.
    expect((80 - lost) * 3600).toBeCloseTo(attended!.partsPerWeek.mean * period_s, -3);
    expect(attended!.availability).toBeCloseTo(1 - lost / 80, 3);
    expect(attended!.effectiveness).toBeCloseTo(1, 2);
    expect(attended!.quality).toBeCloseTo(0.99, 2);
    expect(runningOn!.partsPerWeek.mean).toBeGreaterThan(attended!.partsPerWeek.mean);
    expect(report(full)).toEqual(report(full));
    expect(report(full, { seed: 2 }).attended!.partsPerWeek).not.toEqual(attended!.partsPerWeek);
  });

  it("money: by hand from the parts of the year", () => {
    const { attended, money } = report(full);
    const made = attended!.partsPerWeek.mean * 48;
    expect(money!.inputs["parts per year"]!.likely).toBeCloseTo(made, 6);
    const running = 3 * 80 * 48;
    expect(money!.runningPerYear).toBeCloseTo(running, 6);
    expect(money!.savingPerYear).toBeCloseTo(0.9 * 0.99 * made - running, 4);
    expect(money!.costPerPart).toBeCloseTo((90_000 / 3.9927100371 + running) / (0.99 * made), 6);
    expect(money!.payback).toBeCloseTo(90_000 / money!.savingPerYear!, 9);
    expect(money!.tornado.npv!.bars.map((b) => b.input)).toEqual(
      expect.arrayContaining(["investment", "parts per year"]),
    );
  });

  it("says what is missing and what that makes unknowable", () => {
    const noWeeks = cellOf(FULL);
    const money = report(noWeeks).money!;
    expect(money.costPerPart).toBeNull();
    expect(money.missing["npv"]).toContain("parts per year");
    const found = findingsOf(noWeeks, report(noWeeks));
    const says = (code: string, words: RegExp) => found.some((f) => f.code === code && words.test(f.message));
    expect(says("production-not-stated", /weeks per year is not stated; unknowable without it: parts per year/)).toBe(
      true,
    );
    expect(says("costs-not-stated", /parts per year is not known; unknowable without it: .*net present value/)).toBe(
      true,
    );

    const noShift = cellOf(FULL, ["  shift: { hours: 8 h, per day: 2, days per week: 5 }\n", ""]);
    const without = report(noShift);
    expect(without.attended).toBeNull();
    expect(
      findingsOf(noShift, without)
        .map((f) => f.message)
        .join(),
    ).toMatch(/production.shift is not stated/);

    const noInterest = cellOf(FULL, WEEKS, [", interest: 8 %", ""]);
    expect(report(noInterest).money!.npv).toBeNull();
    expect(report(noInterest).money!.payback).not.toBeNull();
  });

  // Each defect planted alone, and the finding that it must give.
  it.each<[string, string, string, string]>([
    ["unattended: 200 h", "unattended-too-short", "error", "the trays last"],
    [
      "unattended: 3 min\n  stops: { jam: { every: 10 min, time: 1 min } }",
      "unattended-uncertain",
      "warning",
      "in 74 % of all cases",
    ],
    [
      "costs: { investment: 9000000, saving per year: 1000, years: 5, interest: 8 % }",
      "investment-not-earned",
      "warning",
      "net present value",
    ],
    [
      "costs: { investment: { low: 1000, likely: 3000, high: 20000 }, saving per year: 1000, years: 5, interest: 8 % }",
      "investment-uncertain",
      "caution",
      "trials",
    ],
    [
      "stops: { jam: { every: 10 min, time: 10 min } }",
      "rate-below-target-with-stops",
      "warning",
      "good parts per planned hour",
    ],
  ])("%s gives %s", (extra, code, severity, words) => {
    const cell = cellOf(`\n  ${extra}\n`, ["target: 40 /h", "target: 35 /h"]);
    const found = findingsOf(cell, report(cell)).filter((f) => f.code === code);
    expect(found).toHaveLength(1);
    expect(found[0]!.severity).toBe(severity);
    expect(found[0]!.message).toContain(words);
  });

  it("machines per arm: one machine by hand; more rows than the balance", () => {
    const { machinesPerArm } = report(full, { machines: true });
    const { machine_s, arm_s, rows, balance } = machinesPerArm!;
    expect(balance).toBeCloseTo((machine_s + arm_s) / arm_s, 12);
    expect(rows[0]!.fixed).toBeCloseTo(3600 / (machine_s + arm_s), 9);
    expect(rows.length).toBeGreaterThan(balance);
    for (const r of rows) {
      expect(r.simulated).toBeLessThanOrEqual(r.fixed * 1.02);
      expect(r.randomService).toBeLessThanOrEqual(r.constantService + 1e-9);
    }
  });
});

describe("variations", () => {
  const cell = cellOf(FULL, WEEKS);
  const vary = (text: string) => variedCell(cell, text);

  it("change what they name and nothing else", () => {
    const found = vary(
      "faster: lathe.door time 50 %, lathe.turning time 90%, filling 96, people 2, scrap 2 %, investment +4000",
    );
    if (!found.ok) throw new Error(found.message);
    const { name, cell: varied, filling } = found.value;
    expect([name, filling]).toEqual(["faster", 96]);
    const door = (c: Cell) => c.machines.get("lathe")!.devices.find((d) => d.name === "lathe.door")!;
    for (const [position, time] of door(cell).time)
      expect(door(varied).time.get(position)).toEqual({ min: time.min / 2, max: time.max / 2 });
    const turning = cell.parts.get("short")!.processTimes.get("lathe.turning")!;
    expect(varied.parts.get("short")!.processTimes.get("lathe.turning")!.max).toBeCloseTo(0.9 * turning.max, 12);
    expect(varied.production!.people!.attending).toBe(2);
    expect(varied.production!.scrap).toBeCloseTo(0.02, 12);
    const sum = [...varied.production!.costs!.investment!.values()].reduce((s, e) => s + e.likely, 0);
    expect(sum).toBe(94_000);
    expect(varied.production!.stops).toBe(cell.production!.stops);
    expect(vary("gripper: gripper time 50 %").ok).toBe(true);
  });

  it.each([
    ["lathe.door time 50 %", /a name, a colon/],
    ["a: ", /a name, a colon/],
    ["a: lathe.dor time 50 %", /lathe.door/],
    ["a: lathe.door time 0 %", /above 0/],
    ["a: lathe.door quick", /DEVICE or PROCESS time/],
    ["a: filling 0", /whole number/],
    ["a: scrap 200 %", /0 to 100/],
    ["a: investment -1000000", /at least 0/],
  ])("%s is refused", (text, words) => {
    const found = vary(text);
    expect(found.ok).toBe(false);
    if (!found.ok) expect(found.message).toMatch(words);
  });

  it("a faster door makes more parts, a bigger filling fewer refills; side by side", () => {
    const bare = runsOf(cell);
    const base = productionReport(cell, bare)!;
    const door = vary("faster door: lathe.door time 30 %");
    const tray = vary("bigger tray: filling 400");
    if (!door.ok || !tray.ok) throw new Error("refused");
    const faster = productionReport(door.value.cell, runsOf(door.value.cell))!;
    const bigger = productionReport(cell, bare, { filling: 400 })!;
    expect(faster.period_s).toBeLessThan(base.period_s);
    expect(bigger.attended!.refillsPerWeek).toBeLessThan(base.attended!.refillsPerWeek);
    expect(bigger.attended!.partsPerWeek.mean).toBeGreaterThan(base.attended!.partsPerWeek.mean);
    const row = alternativeRow("bigger", cell, "short", bigger);
    expect(row.goodPerDay).toBeCloseTo(bigger.attended!.goodPerWeek.mean / 5, 9);
    expect(row.costPerPart!).toBeLessThan(base.money!.costPerPart!);
    expect(alternativeRow("x", cell, "short", null)).toMatchObject({ period_s: null, goodPerDay: null, npv: null });
  });
});
