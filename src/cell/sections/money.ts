/** `production.costs`: amounts that may be ranges. */
import { mapOf } from "../form/collections.ts";
import { given, type Kind, named, refined } from "../form/kind.ts";
import { range } from "../form/lists.ts";
import { may, need, record } from "../form/records.ts";
import { NUMBER_PATTERN, number, text } from "../form/scalars.ts";
import type { Costs, Estimate } from "../production.ts";
import type { Written } from "../text/written.ts";

/** No amount is larger: sums and products of amounts stay finite. */
const MOST = 1e15;

const certain = (value: number): Estimate => ({ low: value, likely: value, high: value });

/** A plain number, a range "80000 to 100000" (its middle is likely), or { low, likely, high }. */
function amount(what: string, bounds: { readonly atLeast?: number; readonly above?: number } = {}): Kind<Estimate> {
  const plain = number({ ...bounds, atMost: MOST });
  const three = record(what, {
    low: need(plain, "lowest value"),
    likely: need(plain, "likely value"),
    high: need(plain, "highest value"),
  });
  const limit =
    bounds.above !== undefined
      ? ` above ${bounds.above}`
      : bounds.atLeast !== undefined
        ? ` of at least ${bounds.atLeast}`
        : "";
  const expected = `${what}: a plain number${limit}, a range such as 80 to 100, or { low, likely, high }`;
  const ordered = (e: Estimate, at: Written, reading: Parameters<Kind<Estimate>["read"]>[1]): Estimate | undefined =>
    e.low <= e.likely && e.likely <= e.high
      ? e
      : reading.log.wrong("range-order", at, expected, "Write the lowest value first and the highest last.");
  return {
    expected,
    read(at, reading) {
      if (at.kind === "map") {
        const read = three.read(at, reading);
        return read && ordered({ low: read.low, likely: read.likely, high: read.high }, at, reading);
      }
      if (at.kind === "scalar" && / to /.test(at.text)) {
        const ends = at.text.split(" to ").map((end) => ({ ...at, text: end.trim(), quoted: false }));
        if (ends.length !== 2)
          return reading.log.wrong("wrong-type", at, expected, "Write a lowest and a highest value: 80 to 100.");
        const [low, high] = ends.map((end) => plain.read(end, reading));
        if (low === undefined || high === undefined) return undefined;
        return ordered({ low, likely: (low + high) / 2, high }, at, reading);
      }
      const value = plain.read(at, reading);
      return value === undefined ? undefined : certain(value);
    },
    schema: (parts) => ({
      anyOf: [
        plain.schema(parts),
        { type: "string", pattern: `^${NUMBER_PATTERN} to ${NUMBER_PATTERN}$` },
        three.schema(parts),
      ],
      description: expected,
    }),
  };
}

/** One value or a range of a measure; the middle is likely. */
const measured = (name: "share" | "time"): Kind<Estimate> =>
  refined(range(name, { single: true, atLeast: 0 }), ({ min, max }) => ({
    low: min,
    likely: (min + max) / 2,
    high: max,
  }));

const money = named("money", () => amount("an amount of money", { atLeast: 0 }));
const anyMoney = named("money-or-loss", () => amount("an amount of money"));

const items = mapOf("items by name", money, { least: 1 });
const THREE = ["low", "likely", "high"];

/** One amount, or items by name. */
const investment: Kind<ReadonlyMap<string, Estimate>> = {
  expected: "an amount of money, or items by name",
  read(at, reading) {
    if (at.kind === "map" && !at.entries.every(({ key }) => THREE.includes(key))) return items.read(at, reading);
    const whole = money.read(at, reading);
    return whole && new Map([["investment", whole]]);
  },
  schema: (parts) => ({ anyOf: [money.schema(parts), items.schema(parts)], description: "investment, or its items" }),
};

const HOUR = 3600;
const DAY_HOURS = 24;

const operatorTime: Kind<Estimate> = refined(measured("time"), ({ low, likely, high }, at, reading) =>
  high > 100 * DAY_HOURS * HOUR
    ? reading.log.wrong("out-of-range", at, "hours of people per day, at most 2400 h", "Correct the value or its unit.")
    : { low: low / HOUR, likely: likely / HOUR, high: high / HOUR },
);

const years: Kind<Estimate> = refined(amount("years", { above: 0 }), (value, at, reading) =>
  value.high > 100 ? reading.log.wrong("out-of-range", at, "years in use, at most 100", "Correct the value.") : value,
);

export const costsKind: Kind<Costs> = refined(
  record(
    "costs",
    {
      currency: may(text, "currency"),
      investment: may(investment, "investment, or its items by name"),
      "residual value": may(money, "what the cell is sold for at the end"),
      years: may(years, "years in use"),
      interest: may(measured("share"), "interest per year, 8 %"),
      "saving per year": may(anyMoney, "saved per year, when it is known without Millhand"),
      "part value": may(anyMoney, "what one good part earns, or would cost made otherwise"),
      "material per part": may(money, "material of every part made"),
      "tooling per part": may(money, "tools worn per part made"),
      "cell per hour": may(money, "energy, floor and upkeep per planned hour"),
      "operator per hour": may(money, "what an operator's hour costs"),
      "operator time per day": may(operatorTime, "time that people spend on the cell per working day, 1.5 h"),
      "upkeep per year": may(money, "upkeep per year"),
    },
    { note: true, atMostOne: [["saving per year", "part value"]] },
  ),
  (value): Costs =>
    given({
      currency: value.currency,
      investment: value.investment,
      residualValue: value["residual value"],
      savingPerYear: value["saving per year"],
      years: value.years,
      interest: value.interest,
      partValue: value["part value"],
      materialPerPart: value["material per part"],
      toolingPerPart: value["tooling per part"],
      cellPerHour: value["cell per hour"],
      operatorPerHour: value["operator per hour"],
      operatorHoursPerDay: value["operator time per day"],
      upkeepPerYear: value["upkeep per year"],
    }),
);
