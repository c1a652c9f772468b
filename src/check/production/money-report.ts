/** Money as reported: figures, what they lack, what matters, and their ranges. */
import type { Cell } from "../../cell/model.ts";
import {
  businessOf,
  certain,
  type Estimate,
  type EstimatedInputs,
  type Figure,
  type InputName,
  likelyInputs,
  type RateOfReturn,
  type Tornado,
  type Trials,
  tornado,
  tryOutcomes,
} from "../../production/index.ts";
import type { DaysReport } from "./days-report.ts";
import type { LineModel } from "./model.ts";

export interface MoneyReport {
  /** "" when it is not stated. */
  readonly currency: string;
  /** What every figure was computed from, by the key of the cell file or what it follows from. */
  readonly inputs: Readonly<Record<string, Estimate>>;
  /** Null where something is missing. Likely values. */
  readonly runningPerYear: number | null;
  readonly savingPerYear: number | null;
  readonly costPerPart: number | null;
  readonly npv: number | null;
  /** Years; null when unknown or never. */
  readonly payback: number | null;
  readonly discountedPayback: number | null;
  /** Whether it is ever paid back, without and with interest; null when unknown. */
  readonly paysBack: boolean | null;
  readonly paysBackDiscounted: boolean | null;
  readonly irr: RateOfReturn | null;
  /** By figure, the keys that it lacks. */
  readonly missing: Readonly<Record<string, readonly string[]>>;
  readonly tornado: { readonly npv: TornadoReport | null; readonly costPerPart: TornadoReport | null };
  readonly trials: { readonly npv: Trials | null; readonly costPerPart: Trials | null };
}

export interface TornadoReport extends Omit<Tornado, "bars"> {
  readonly bars: readonly {
    readonly input: string;
    readonly low: number;
    readonly high: number;
    readonly atLow: number;
    readonly atHigh: number;
  }[];
}

/** Where each input comes from, in the words of the cell file. */
const INPUT_WORDS: Readonly<Record<InputName, string>> = {
  investment: "investment",
  residual: "residual value",
  years: "years",
  interest: "interest",
  saving: "saving per year",
  partValue: "part value",
  material: "material per part",
  tooling: "tooling per part",
  hourRate: "cell per hour",
  operatorRate: "operator per hour",
  operatorHours: "operator time per day",
  upkeep: "upkeep per year",
  made: "parts per year",
  goodShare: "share of good parts",
  plannedHours: "planned hours per year",
  workingDays: "working days per year",
};

/** The same where a value is given, with its unit. */
const VALUE_WORDS: typeof INPUT_WORDS = {
  ...INPUT_WORDS,
  interest: "interest, share per year",
  operatorHours: "operator time per day, h",
};

const TRIALS = 10_000;

/** Undefined costs count as not stated. `days`: the days that the money is earned in. */
export function moneyInputs(cell: Cell, line: LineModel, days: DaysReport | null): EstimatedInputs {
  const { costs, shift, scrap = 0 } = cell.production ?? {};
  const weeks = shift?.weeksPerYear;
  const inputs: Partial<Record<InputName, Estimate>> = {};
  const set = (name: InputName, value: Estimate | undefined) => {
    if (value !== undefined) inputs[name] = value;
  };
  const items = costs?.investment === undefined ? [] : [...costs.investment.values()];
  const sum = (end: keyof Estimate) => items.reduce((total, item) => total + item[end], 0);
  if (items.length > 0) set("investment", { low: sum("low"), likely: sum("likely"), high: sum("high") });
  set("residual", costs?.residualValue);
  set("years", costs?.years);
  set("interest", costs?.interest);
  set("saving", costs?.savingPerYear);
  set("partValue", costs?.partValue);
  set("material", costs?.materialPerPart);
  set("tooling", costs?.toolingPerPart);
  set("hourRate", costs?.cellPerHour);
  set("operatorRate", costs?.operatorPerHour);
  set("operatorHours", costs?.operatorHoursPerDay);
  set("upkeep", costs?.upkeepPerYear);
  set("goodShare", certain(1 - scrap));
  if (weeks !== undefined && shift !== undefined && days !== null) {
    // The range: every pass at the slowest and at the fastest times that the file states.
    const { fastest, nominal, slowest } = line.period;
    const made = days.partsPerWeek.mean * weeks;
    set("made", { low: made * (nominal / slowest), likely: made, high: made * (nominal / fastest) });
    set("plannedHours", certain(days.plannedHoursPerWeek * weeks));
    set("workingDays", certain(shift.daysPerWeek * weeks));
  }
  return inputs;
}

export function moneyReport(cell: Cell, inputs: EstimatedInputs, seed: number): MoneyReport {
  const found = businessOf(likelyInputs(inputs));
  const missing: Record<string, readonly string[]> = {};
  const value = <T>(name: string, figure: Figure<T>): T | null => {
    if (figure.known) return figure.value;
    missing[name] = figure.missing.map((input) => INPUT_WORDS[input]);
    return null;
  };
  const number = (name: string, figure: Figure<number>) => value(name, figure);
  const years = (name: string, figure: Figure<number | undefined>) => value(name, figure) ?? null;
  const pays = (figure: Figure<number | undefined>) => (figure.known ? figure.value !== undefined : null);
  const bars = (outcome: "npv" | "costPerPart"): TornadoReport | null => {
    const t = tornado(inputs, outcome);
    return t === undefined ? null : { ...t, bars: t.bars.map((bar) => ({ ...bar, input: VALUE_WORDS[bar.input] })) };
  };
  const trials = (outcome: "npv" | "costPerPart") => tryOutcomes(inputs, outcome, TRIALS, seed) ?? null;
  return {
    currency: cell.production?.costs?.currency ?? "",
    inputs: Object.fromEntries(
      Object.entries(inputs).map(([name, estimate]) => [VALUE_WORDS[name as InputName], estimate]),
    ),
    runningPerYear: number("runningPerYear", found.runningPerYear),
    savingPerYear: number("savingPerYear", found.savingPerYear),
    costPerPart: number("costPerPart", found.costPerPart),
    npv: number("npv", found.npv),
    payback: years("payback", found.payback),
    discountedPayback: years("discountedPayback", found.discountedPayback),
    paysBack: pays(found.payback),
    paysBackDiscounted: pays(found.discountedPayback),
    irr: value("irr", found.irr),
    missing,
    tornado: { npv: bars("npv"), costPerPart: bars("costPerPart") },
    trials: { npv: trials("npv"), costPerPart: trials("costPerPart") },
  };
}
