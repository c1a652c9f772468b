/** What a cell makes over days and what that is worth, as reported. */
import type { Cell } from "../../cell/model.ts";
import { Calendar, unattendedRun } from "../../production/index.ts";
import type { VariantRuns } from "../cycle-report.ts";
import { type DaysReport, type DaysRequest, daysReport, USUAL_DAYS } from "./days-report.ts";
import { type MachinesPerArm, machinesPerArm } from "./machines-per-arm.ts";
import { lineModel, type Unstated } from "./model.ts";
import { type MoneyReport, moneyInputs, moneyReport } from "./money-report.ts";

export interface UnattendedReport {
  /** From full trays and new tools, until it needs somebody although nothing went wrong, s; null: never. */
  readonly longest_s: number | null;
  readonly by: "trays" | "tools" | "nothing";
  /** The same with every device at its longest and shortest time. */
  readonly shortest_s: number | null;
  /** Mean time until it needs somebody, s, and parts made in it, in the longest stretch of the week without people. */
  readonly stretch_s: number | null;
  readonly mean_s: number | null;
  readonly meanParts: number | null;
  /** Probability that nothing that needs somebody happens before. */
  readonly undisturbed: number;
}

export interface ProductionReport {
  readonly variant: string;
  readonly period_s: number;
  readonly fastest_s: number;
  readonly slowest_s: number;
  readonly partsPerFilling: number | null;
  readonly unattended: UnattendedReport;
  /** With people only, and going on without them until one is needed; null without shifts. */
  readonly attended: DaysReport | null;
  readonly runningOn: DaysReport | null;
  /** Which of the two the money is computed for. */
  readonly plan: "attended" | "running on";
  /** Null when not asked for, or when it has no answer: no machine, or parts that are worked on more than once. */
  readonly machinesPerArm: MachinesPerArm | null;
  /** Null when no costs are stated. */
  readonly money: MoneyReport | null;
  readonly assumptions: readonly string[];
  readonly unstated: readonly Unstated[];
}

export interface ProductionOptions extends Partial<DaysRequest> {
  readonly filling?: number;
  /** Also look at other numbers of machines; default false, as it takes longer. */
  readonly machines?: boolean;
}

/** Every figure is an estimate from what the file states and from the simulated cycle. Null when the variant was not timed. */
export function productionReport(
  cell: Cell,
  runs: VariantRuns,
  options: ProductionOptions = {},
): ProductionReport | null {
  const timed = Object.values(runs).every(
    (run) =>
      run.outcome === "complete" &&
      run.partsFinished > 0 &&
      run.period > 0 &&
      run.moves.every((move) => move.outcome.ok),
  );
  if (!timed) return null;
  const request: DaysRequest = {
    days: options.days ?? USUAL_DAYS.days,
    replications: options.replications ?? USUAL_DAYS.replications,
    seed: options.seed ?? USUAL_DAYS.seed,
  };
  const { production } = cell;
  const filling = options.filling === undefined ? {} : { filling: options.filling };
  const line = lineModel(cell, runs, { unattended: false, ...filling });
  const on = lineModel(cell, runs, { unattended: true, ...filling });
  const { nominal } = line.period;
  const attended = line.days === undefined ? null : daysReport(line.days, nominal, request);
  const runningOn = on.days === undefined ? null : daysReport(on.days, nominal, request);
  const plan = production?.unattended === undefined ? "attended" : "running on";
  const assumptions = [
    ...line.assumptions,
    plan === "attended"
      ? "money is computed for the attended hours, as production.unattended is not stated"
      : "money is computed for a cell that goes on without people until it needs one, as production.unattended is stated",
  ];
  const unstated = [...line.unstated];
  if (production?.costs !== undefined && production.shift !== undefined && production.shift.weeksPerYear === undefined)
    unstated.push({
      what: "production.shift.weeks per year",
      unknowable: "parts per year, and money that follows from them",
    });
  const costs = production?.costs;
  if (costs !== undefined) {
    const running = [costs.toolingPerPart, costs.cellPerHour, costs.operatorPerHour, costs.upkeepPerYear];
    if (running.every((item) => item === undefined))
      unstated.push({
        what: "production.costs: tooling, cell per hour, operator or upkeep",
        unknowable: "running costs; cost per part and a computed saving are without them",
      });
    if (costs.materialPerPart === undefined)
      assumptions.push("cost per part and a computed saving are without material, as material per part is not stated");
  }
  const days = plan === "attended" ? attended : runningOn;
  return {
    variant: runs.nominal.variant,
    period_s: nominal,
    fastest_s: line.period.fastest,
    slowest_s: line.period.slowest,
    partsPerFilling: line.filling ?? null,
    unattended: unattendedReport(cell, line.period, line.filling),
    attended,
    runningOn,
    plan,
    machinesPerArm: options.machines === true ? (machinesPerArm(cell, runs, request.seed) ?? null) : null,
    money: production?.costs === undefined ? null : moneyReport(cell, moneyInputs(cell, line, days), request.seed),
    assumptions,
    unstated,
  };
}

function unattendedReport(
  cell: Cell,
  period: { readonly fastest: number; readonly nominal: number },
  filling: number | undefined,
): UnattendedReport {
  const { stops, toolChanges, shift } = cell.production ?? {};
  const byPerson = <T extends { readonly needs?: "person" | "nobody" }>(list: Iterable<T> | undefined) =>
    [...(list ?? [])].filter((entry) => entry.needs !== "nobody");
  const inputs = (time: number) => ({
    period: time as never,
    partsPerFilling: filling,
    partsPerTool: byPerson(toolChanges?.values()).map((change) => change.parts),
    stopsEvery: byPerson(stops?.values()).map((stop) => stop.every),
  });
  const stretch = shift === undefined ? Number.POSITIVE_INFINITY : new Calendar(shift).longestUnattended();
  const found = unattendedRun(inputs(period.nominal), stretch as never);
  const finite = (value: number) => (Number.isFinite(value) ? value : null);
  return {
    longest_s: finite(found.longest),
    by: found.by,
    shortest_s: finite(unattendedRun(inputs(period.fastest), stretch as never).longest),
    stretch_s: finite(stretch),
    mean_s: finite(found.mean),
    meanParts: finite(found.meanParts),
    undisturbed: found.undisturbed,
  };
}
