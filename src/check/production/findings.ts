/** Findings about days and money. */
import type { Cell } from "../../cell/model.ts";
import type { FindingList } from "../findings.ts";
import type { ProductionReport } from "./report.ts";

/** Probability below which time without people is called uncertain. */
const SURE = 0.9;

const hours = (s: number): string => `${(s / 3600).toFixed(1)} h`;

/** Nothing is said about a cell whose file asks nothing about days, people or money. */
export function addProductionFindings(cell: Cell, report: ProductionReport | null, findings: FindingList): void {
  const { production } = cell;
  if (production === undefined || report === null) return;
  const { stops, toolChanges, refill, people, scrap, unattended, costs } = production;
  if ([stops, toolChanges, refill, people, scrap, unattended, costs].every((asked) => asked === undefined)) return;
  const path = ["production"];
  for (const { what, unknowable } of report.unstated)
    findings.add(
      "production-not-stated",
      "caution",
      path,
      `${what} is not stated; unknowable without it: ${unknowable}`,
      `State ${what}; the cell file's reference tells how.`,
      what,
    );
  addUnattended(cell, report, findings);
  addRate(cell, report, findings);
  addMoney(report, findings);
}

function addUnattended(cell: Cell, report: ProductionReport, findings: FindingList): void {
  const wanted = cell.production?.unattended;
  if (wanted === undefined) return;
  const path = ["production", "unattended"];
  const { shortest_s, longest_s, by } = report.unattended;
  const rate = [...(cell.production?.stops?.values() ?? [])]
    .filter((stop) => stop.needs !== "nobody")
    .reduce((sum, stop) => sum + 1 / stop.every, 0);
  const odds = Math.exp(-rate * wanted);
  if (longest_s !== null && longest_s < wanted)
    findings.add(
      "unattended-too-short",
      "error",
      path,
      `${hours(wanted)} without people are wanted; ${by === "trays" ? `the trays last ${report.partsPerFilling} parts` : "the first tool change comes"} after ${hours(longest_s)}`,
      by === "trays"
        ? "Take larger or more trays, or have them changed in between."
        : "Take longer-lived or sister tools.",
    );
  else if (shortest_s !== null && shortest_s < wanted)
    findings.add(
      "unattended-uncertain",
      "warning",
      path,
      `${hours(wanted)} without people are wanted; with every device at its shortest time the cell needs somebody after ${hours(shortest_s)}`,
      "Give the trays a few places more.",
      by,
    );
  if (odds < SURE)
    findings.add(
      "unattended-uncertain",
      "warning",
      path,
      `${hours(wanted)} without people are wanted; with the stops stated the cell gets that far without needing somebody in ${(100 * odds).toFixed(0)} % of all cases`,
      "Remove the causes of the stops that need a person, most frequent first.",
      "stops",
    );
}

function addRate(cell: Cell, report: ProductionReport, findings: FindingList): void {
  const target = cell.production?.target;
  const days = report.attended;
  if (target === undefined || days === null || 3600 / report.period_s < target || days.goodPerHour >= target) return;
  const worst = [...days.lost].sort((a, b) => b.hoursPerWeek.mean - a.hoursPerWeek.mean)[0];
  findings.add(
    "rate-below-target-with-stops",
    "warning",
    ["production", "target"],
    `${Number(target.toFixed(2))} parts per hour are wanted; with stops, tool changes, trays and scrap as stated ${report.variant} comes to about ${days.goodPerHour.toFixed(1)} good parts per planned hour`,
    worst === undefined
      ? "Shorten the cycle."
      : `Most is lost to ${worst.cause}, about ${worst.hoursPerWeek.mean.toFixed(1)} h a week: begin there.`,
    report.variant,
  );
}

function addMoney(report: ProductionReport, findings: FindingList): void {
  const { money } = report;
  if (money === null) return;
  const path = ["production", "costs"];
  const lacking = new Map<string, string[]>();
  const words: Readonly<Record<string, string>> = {
    runningPerYear: "running costs",
    savingPerYear: "saving",
    costPerPart: "cost per part",
    npv: "net present value",
    payback: "payback",
    discountedPayback: "discounted payback",
    irr: "rate of return",
  };
  for (const [figure, inputs] of Object.entries(money.missing))
    for (const input of inputs) lacking.set(input, [...(lacking.get(input) ?? []), words[figure]!]);
  for (const [input, figures] of lacking)
    findings.add(
      "costs-not-stated",
      "caution",
      path,
      `${input} is not known; unknowable without it: ${figures.join(", ")}`,
      `State ${/parts|planned|working/.test(input) && !input.endsWith("part") ? "production.shift with weeks per year" : `production.costs.${input}`}.`,
      input,
    );
  const amount = (value: number) => `${Math.round(value)}${money.currency === "" ? "" : ` ${money.currency}`}`;
  if (money.npv !== null && money.npv < 0)
    findings.add(
      "investment-not-earned",
      "warning",
      path,
      `with the likely values the investment is not earned back in its years: net present value ${amount(money.npv)}`,
      "See in the tornado of `millhand cycle --money` which value matters most.",
    );
  else if (money.trials.npv !== null && money.trials.npv.p5 < 0)
    findings.add(
      "investment-uncertain",
      "caution",
      path,
      `in ${(100 * (1 - money.trials.npv.positive)).toFixed(0)} % of ${money.trials.npv.trials} trials over the stated ranges the investment is not earned back`,
      "Narrow the ranges that matter most: see the tornado of `millhand cycle --money`.",
    );
}
