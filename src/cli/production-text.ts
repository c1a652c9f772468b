/** Days, money and alternatives as text. */
import type { AlternativeRow, DaysReport, MoneyReport, ProductionReport, TornadoReport } from "../check/index.ts";
import { fixed, NONE, percent, seconds } from "../dossier/figures.ts";
import { headed, heading } from "./check-text.ts";
import type { ProductionWishes } from "./job.ts";
import { type Colors, colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";

/** An amount of money, with as many digits as it deserves. */
export function moneyFigure(value: number, of: "npv" | "costPerPart"): string {
  return of === "npv" ? grouped(value) : fixed(value, 3);
}

const grouped = (value: number): string =>
  Number.isFinite(value) ? fixed(value, 0).replaceAll(/\B(?=(\d{3})+(?!\d))/g, ",") : NONE;
const hoursOf = (s: number | null): string => (s === null ? NONE : `${fixed(s / 3600, 2)} h`);
type Mean = DaysReport["oee"];
const spread = ({ mean, half }: Mean, digits: number): string =>
  half === null ? fixed(mean, digits) : `${fixed(mean, digits)} ± ${fixed(half, digits)}`;

/** Lines of the report, ending in newlines. */
export function productionText(
  cell: string,
  variant: string,
  report: ProductionReport | null,
  alternatives: readonly AlternativeRow[] | null,
  wishes: ProductionWishes,
  layout: Layout,
): string {
  const colors = colorsFor(layout);
  const lines: string[] = [colors.bold(clean(`${cell}, part ${variant}`))];
  const say = (name: string, text: string) =>
    lines.push(...paragraph(clean(text), layout.width, name.padEnd(14), " ".repeat(14)));
  if (report === null) {
    say(
      "Period",
      "not known: the routine does not come to its end, a motion cannot be made, or no part is finished; see millhand check",
    );
  } else {
    say(
      "Period",
      `${seconds(report.period_s)} per part, ${seconds(report.fastest_s)} to ${seconds(report.slowest_s)}; ${fixed(3600 / report.period_s, 1)} parts per hour without stops`,
    );
    say("Trays", traysText(report));
    say("Alone", aloneText(report));
    if (wishes.showDays) lines.push(...daysLines(report, colors, layout), ...machinesLines(report, colors, layout));
    if (wishes.showMoney) lines.push(...moneyLines(report.money, wishes.tornado, colors, layout));
  }
  if (alternatives !== null)
    lines.push(...alternativeLines(alternatives, report?.money?.currency ?? "", colors, layout));
  if (report !== null) {
    lines.push("", heading("All figures are estimates", colors));
    for (const text of report.assumptions) lines.push(...paragraph(clean(text), layout.width, "- ", "  "));
    for (const { what, unknowable } of report.unstated)
      lines.push(...paragraph(clean(`${what} is not stated: ${unknowable}`), layout.width, "- ", "  "));
  }
  return `${lines.join("\n")}\n`;
}

function traysText({ partsPerFilling, period_s }: ProductionReport): string {
  return partsPerFilling === null
    ? "no tray limits the routine"
    : `${partsPerFilling} parts from full trays, ${hoursOf(partsPerFilling * period_s)}`;
}

function aloneText({ unattended }: ProductionReport): string {
  const { longest_s, by, mean_s, stretch_s, meanParts, undisturbed } = unattended;
  if (longest_s === null && mean_s === null) return "nothing that is stated needs a person";
  const ends = longest_s === null ? "" : `${by === "trays" ? "the trays" : "the tools"} last ${hoursOf(longest_s)}; `;
  const most = stretch_s === null ? "" : `, in a stretch of ${hoursOf(stretch_s)} without people`;
  return `${ends}it needs somebody after ${hoursOf(mean_s)} and ${fixed(meanParts ?? Number.NaN, 0)} parts on average${most}${undisturbed < 1 ? `; ${percent(undisturbed)} of the runs come to their end undisturbed` : ""}`;
}

function daysLines(report: ProductionReport, colors: Colors, layout: Layout): string[] {
  const { attended, runningOn } = report;
  if (attended === null || runningOn === null)
    return ["", heading("Days", colors), "not known without production.shift"];
  const both = (name: string, value: (days: DaysReport) => string) => [name, value(attended), value(runningOn)];
  const rows = [
    both("planned hours", (d) => fixed(d.plannedHoursPerWeek, 1)),
    both("parts", (d) => spread(d.partsPerWeek, 0)),
    both("good parts", (d) => spread(d.goodPerWeek, 0)),
    both("good parts per planned hour", (d) => fixed(d.goodPerHour, 2)),
    both("parts made without people", (d) => spread(d.unattendedPartsPerWeek, 0)),
    both("hours produced without people", (d) => spread(d.unattendedHoursPerWeek, 1)),
    ...attended.lost.map(({ cause }, i) =>
      both(`hours lost to ${clean(cause)}`, (d) => spread(d.lost[i]!.hoursPerWeek, 1)),
    ),
    both("tray changes", (d) => fixed(d.refillsPerWeek, 1)),
    both("calls of a person", (d) => fixed(d.callsPerWeek, 1)),
    both("a person's hours", (d) => fixed(d.peopleHoursPerWeek, 1)),
    both("availability", (d) => share(d.availability)),
    both("effectiveness", (d) => share(d.effectiveness)),
    both("quality", (d) => share(d.quality)),
    both("OEE (ISO 22400-2)", (d) => share(d.oee.mean)),
  ];
  const columns = [
    { title: "per week", align: "left", atLeast: 14 },
    { title: "attended hours", align: "right" },
    { title: "going on alone", align: "right" },
  ] as const;
  const title = `Days: ${attended.replications} simulations of ${fixed(attended.days, 0)} days, seed ${attended.seed}; ± half of the 95 % interval`;
  return ["", heading(title, colors), ...headed(table(columns, rows, layout.width, layout.ascii), colors)];
}

const share = (value: number | null): string => (value === null ? NONE : `${fixed(100 * value, 1)} %`);

function machinesLines({ machinesPerArm }: ProductionReport, colors: Colors, layout: Layout): string[] {
  if (machinesPerArm === null)
    return [
      "",
      heading("Machines per arm", colors),
      ...paragraph(
        "not told: there is no machine, or a part is worked on more than once on its way",
        layout.width,
        "",
        "",
      ),
    ];
  const { machine_s, arm_s, balance, rows } = machinesPerArm;
  const columns = [
    { title: "machines", align: "right" },
    { title: "fixed times", align: "right" },
    { title: "times as stated", align: "right" },
    { title: "machining random", align: "right" },
    { title: "both random", align: "right" },
  ] as const;
  return [
    "",
    heading("Machines per arm: parts per hour without stops", colors),
    ...headed(
      table(
        columns,
        rows.map((r) => [
          String(r.machines),
          fixed(r.fixed, 1),
          fixed(r.simulated, 1),
          fixed(r.constantService, 1),
          fixed(r.randomService, 1),
        ]),
        layout.width,
        layout.ascii,
      ),
      colors,
    ),
    ...paragraph(
      `One machine takes ${seconds(machine_s)}, the arm ${seconds(arm_s)} for it, while the machine stands: neither waits with ${fixed(balance, 2)} machines. The arm is taken to go to whichever machine calls first.`,
      layout.width,
      "",
      "",
    ),
  ];
}

function moneyLines(money: MoneyReport | null, of: "npv" | "costPerPart", colors: Colors, layout: Layout): string[] {
  const lines = ["", heading("Money", colors)];
  if (money === null) return [...lines, "not known without production.costs"];
  const unit = money.currency === "" ? "" : ` ${clean(money.currency)}`;
  const say = (name: string, text: string) =>
    lines.push(...paragraph(text, layout.width, name.padEnd(20), " ".repeat(20)));
  const lacking = (figure: string) => `not known without ${clean((money.missing[figure] ?? []).join(", "))}`;
  const amount = (figure: "runningPerYear" | "savingPerYear" | "npv", name: string) =>
    say(name, money[figure] === null ? lacking(figure) : `${grouped(money[figure])}${unit}${tail(figure)}`);
  const tail = (figure: string) => (figure === "npv" ? rangeText(money.trials.npv, "npv") : "");
  amount("runningPerYear", "Running, per year");
  amount("savingPerYear", "Saving, per year");
  say(
    "Cost per good part",
    money.costPerPart === null
      ? lacking("costPerPart")
      : `${fixed(money.costPerPart, 3)}${unit}${rangeText(money.trials.costPerPart, "costPerPart")}`,
  );
  amount("npv", "Net present value");
  const used = money.inputs["years"]?.likely ?? Number.POSITIVE_INFINITY;
  const years = (value: number | null, pays: boolean | null, figure: string) =>
    pays === null
      ? lacking(figure)
      : value === null
        ? "never"
        : `${fixed(value, 2)} years${value > used ? ", longer than it is used" : ""}`;
  say("Payback", years(money.payback, money.paysBack, "payback"));
  say("With interest", years(money.discountedPayback, money.paysBackDiscounted, "discountedPayback"));
  say("Rate of return", rateText(money, lacking("irr")));
  const tornado = money.tornado[of];
  if (tornado !== null) lines.push(...tornadoLines(tornado, of, unit, colors, layout));
  return lines;
}

function rangeText(trials: MoneyReport["trials"]["npv"], of: "npv" | "costPerPart"): string {
  if (trials === null || trials.p5 === trials.p95) return "";
  const odds = of === "npv" ? `, above 0 in ${percent(trials.positive)}` : "";
  return `; 90 of 100 trials over the ranges give ${moneyFigure(trials.p5, of)} to ${moneyFigure(trials.p95, of)}${odds} (${grouped(trials.trials)} trials, seed ${trials.seed})`;
}

function rateText({ irr }: MoneyReport, lacking: string): string {
  if (irr === null) return lacking;
  if (irr.kind === "none") return "there is none: no rate makes it worth nothing";
  const rate = (r: number) => `${fixed(100 * r, 1)} %`;
  if (irr.kind === "one") return `${rate(irr.rate)} per year`;
  return `several, so none decides: ${irr.rates.map(rate).join(", ")}`;
}

function tornadoLines(
  t: TornadoReport,
  of: "npv" | "costPerPart",
  unit: string,
  colors: Colors,
  layout: Layout,
): string[] {
  const what = of === "npv" ? "net present value" : "cost per good part";
  const title = heading(`What matters for the ${what}${unit === "" ? "" : `,${unit}`}: one value at a time`, colors);
  if (t.bars.length === 0) return ["", title, "no value is stated as a range"];
  const ends = t.bars.flatMap((bar) => [bar.atLow, bar.atHigh, t.likely]);
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  const room = Math.max(16, Math.min(40, layout.width - 60));
  const column = (value: number) => Math.round(((value - low) / (high - low)) * (room - 1));
  const middle = column(t.likely);
  const [fill, line] = layout.ascii ? ["=", "|"] : ["█", "│"];
  const rows = t.bars.map((bar) => {
    const [a, b] = [column(Math.min(bar.atLow, bar.atHigh)), column(Math.max(bar.atLow, bar.atHigh))];
    const drawn = Array.from({ length: room }, (_, i) => (i === middle ? line : i >= a && i <= b ? fill : " ")).join(
      "",
    );
    return [
      clean(bar.input),
      `${figure(bar.low)} to ${figure(bar.high)}`,
      moneyFigure(bar.atLow, of),
      moneyFigure(bar.atHigh, of),
      drawn,
    ];
  });
  const columns = [
    { title: "value", align: "left", atLeast: 10 },
    { title: "from its low to its high end", align: "right", dropped: 2 },
    { title: "at low", align: "right" },
    { title: "at high", align: "right" },
    { title: "", align: "left", dropped: 1 },
  ] as const;
  return ["", title, ...headed(table(columns, rows, layout.width, layout.ascii), colors)];
}

const figure = (value: number): string => String(Number(value.toPrecision(4)));

function alternativeLines(rows: readonly AlternativeRow[], currency: string, colors: Colors, layout: Layout): string[] {
  const or = (value: number | null, digits: number) => (value === null ? NONE : fixed(value, digits));
  const columns = [
    { title: "alternative", align: "left", atLeast: 10 },
    { title: "period s", align: "right" },
    { title: "good/day", align: "right" },
    { title: "alone h/week", align: "right", dropped: 1 },
    { title: "OEE", align: "right", dropped: 2 },
    { title: "cost/part", align: "right" },
    { title: "worth", align: "right" },
    { title: "payback a", align: "right" },
  ] as const;
  const body = rows.map((row) => [
    clean(row.name),
    or(row.period_s, 2),
    or(row.goodPerDay, 0),
    or(row.unattendedHoursPerWeek, 1),
    row.oee === null ? NONE : percent(row.oee),
    or(row.costPerPart, 3),
    row.npv === null ? NONE : grouped(row.npv),
    row.paysBack === false ? "never" : or(row.payback, 2),
  ]);
  return [
    "",
    heading(`Alternatives${currency === "" ? "" : `, money in ${clean(currency)}`}`, colors),
    ...headed(table(columns, body, layout.width, layout.ascii), colors),
  ];
}
