/** Lists of numbers and of like quantities, and ranges. */
import { describe, printable, type Written } from "../text/written.ts";
import type { JsonSchema, Kind, Reading } from "./kind.ts";
import { type Measure, type MeasureName, measures, parseQuantity } from "./quantity.ts";
import { isPlainNumber, NUMBER_PATTERN, quantityPattern, readQuantity } from "./scalars.ts";

/**
 * A list of like quantities, [0 mm, 120 mm, 35 mm]; the unit may stand with the last entry only, and the whole may be plain
 * text, "0, 120, 35 mm".
 */
export function quantities(name: MeasureName, lengths: readonly number[], what: string): Kind<readonly number[]> {
  const measure: Measure = measures[name];
  const sample = `[${Array.from({ length: lengths[0]! }, () => measure.sample.split(" ")[0]).join(", ")} ${measure.units[0]}]`;
  const expected = `${what} such as ${sample}`;
  return {
    expected,
    read(at, reading) {
      const items = itemsOf(at);
      if (items === undefined)
        return reading.log.wrong("wrong-type", at, expected, `Write ${what} in brackets, with the unit.`);
      if (!lengths.includes(items.length))
        return reading.log.report(
          "wrong-length",
          at,
          `${items.length} ${items.length === 1 ? "value" : "values"}`,
          `${what}, ${lengths.join(" or ")} values`,
          "Add or remove values.",
        );
      return readLike(items, measure, `${measure.name} such as ${measure.sample}`, reading);
    },
    schema: () => ({
      anyOf: [
        ...lengths.map((length) => likeSchema(measure, length)),
        {
          type: "string",
          pattern: `^${NUMBER_PATTERN}(?:, ?${NUMBER_PATTERN}){${Math.min(...lengths) - 1},${Math.max(...lengths) - 1}} ?${unitPattern(measure)}$`,
        },
      ],
      description: expected,
    }),
  };
}

const unitPattern = (measure: Measure) => quantityPattern(measure).slice(NUMBER_PATTERN.length).replace(/^ \?/, "");

/** Schema of a list of `length` quantities whose last one carries a unit. */
function likeSchema(measure: Measure, length: number): JsonSchema {
  const own = { type: "string", pattern: `^${quantityPattern(measure)}$` };
  const lent = { anyOf: [own, { type: "number" }] };
  return {
    type: "array",
    prefixItems: [...Array.from({ length: length - 1 }, () => lent), own],
    items: false,
    minItems: length,
  };
}

/** Items of a list, or of text with commas. */
export function itemsOf(at: Written): readonly Written[] | undefined {
  if (at.kind === "list") return at.items;
  if (at.kind !== "scalar" || !at.text.includes(",")) return undefined;
  return at.text.split(",").map((item) => ({ ...at, text: item.trim(), quoted: false }));
}

/** Reads like quantities; bare numbers take the unit of the last item. */
export function readLike(
  items: readonly Written[],
  measure: Measure,
  expected: string,
  reading: Reading,
): readonly number[] | undefined {
  const last = items.at(-1);
  if (last && items.length > 1 && items.every((item) => item.kind === "scalar" && isPlainNumber(item.text))) {
    const shown = items.map((item) => (item.kind === "scalar" ? item.text.trim() : "")).join(", ");
    const mend = `Write the unit with the last number: [${printable(shown, 60)} ${measure.units[0]}].`;
    return reading.log.report("missing-unit", items[0]!, printable(shown, 60), expected, mend);
  }
  const parsed = last?.kind === "scalar" ? parseQuantity(last.text) : undefined;
  const unit = parsed && "value" in parsed ? parsed.unit : undefined;
  const values = items.map((item) => readQuantity(item, measure, expected, reading, unit));
  return values.every((value) => value !== undefined) ? (values as number[]) : undefined;
}

/** A list of plain numbers of a fixed length. */
export function numbers(length: number, what: string): Kind<readonly number[]> {
  const expected = `${what}, ${length} plain numbers`;
  return {
    expected,
    read(at, reading) {
      const items = itemsOf(at);
      if (items?.length !== length)
        return reading.log.wrong("wrong-type", at, expected, `Write ${length} numbers in brackets.`);
      const values = items.map((item) => {
        const plain = item.kind === "scalar" && !item.quoted && isPlainNumber(item.text);
        const value = plain ? Number(item.text) : Number.NaN;
        return Number.isFinite(value)
          ? value
          : reading.log.wrong("not-a-number", item, "a plain number", "Write a finite number without unit.");
      });
      return values.every((value) => value !== undefined) ? (values as number[]) : undefined;
    },
    schema: () => ({
      type: "array",
      items: { type: "number" },
      minItems: length,
      maxItems: length,
      description: expected,
    }),
  };
}

/** A smallest and a largest value: [0.4, 0.6 s] or "0.4 to 0.6 s"; with `single`, one value stands for both. */
export function range(
  name: MeasureName,
  options: { readonly single?: boolean; readonly atLeast?: number } = {},
): Kind<{ readonly min: number; readonly max: number }> {
  const measure: Measure = measures[name];
  const { single = false, atLeast } = options;
  const [amount, unit] = [measure.sample.split(" ")[0]!, measure.units[0]!];
  const sample = `${amount} to ${Number((Number(amount) * 2).toPrecision(6))} ${unit}`;
  const expected = single
    ? `${measure.name} such as ${measure.sample}, or a range such as ${sample}`
    : `a range such as ${sample}`;
  return {
    expected,
    read(at, reading) {
      let items: readonly Written[] | undefined;
      if (at.kind === "list") items = at.items;
      else if (at.kind === "scalar" && / to /.test(at.text))
        items = at.text.split(" to ").map((item) => ({ ...at, text: item.trim(), quoted: false }));
      else if (at.kind === "scalar" && single) items = [at];
      if (items === undefined || (items.length !== 2 && !(single && items.length === 1)))
        return reading.log.wrong(
          "wrong-type",
          at,
          expected,
          `Write the smallest and the largest value: [${amount}, ${Number((Number(amount) * 2).toPrecision(6))} ${unit}].`,
        );
      const values = readLike(items, measure, expected, reading);
      if (values === undefined) return undefined;
      const min = values[0]!;
      const max = values.at(-1)!;
      if (min > max)
        return reading.log.report(
          "range-order",
          at,
          shown(items),
          "the smallest value first",
          "Swap the two values, or correct them.",
        );
      if (atLeast !== undefined && min < atLeast)
        return reading.log.report(
          "out-of-range",
          at,
          shown(items),
          `${measure.name} of at least ${atLeast} ${unit}`,
          "Correct the value.",
        );
      return { min, max };
    },
    schema: () => ({
      anyOf: [
        likeSchema(measure, 2),
        { type: "string", pattern: `^${NUMBER_PATTERN}(?: ?${unitPattern(measure)})? to ${quantityPattern(measure)}$` },
        ...(single ? [{ type: "string", pattern: `^${quantityPattern(measure)}$` }] : []),
      ],
      description: expected,
      examples: [sample],
    }),
  };
}

const shown = (items: readonly Written[]) => items.map(describe).join(" to ");
