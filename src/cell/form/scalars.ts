/** Kinds of single values: quantities, numbers, words, levels. */
import { nearest } from "../text/did-you-mean.ts";
import { describe, isNothing, printable, type Written } from "../text/written.ts";
import type { Kind, Reading } from "./kind.ts";
import {
  type Measure,
  type MeasureName,
  measures,
  nameOfDimension,
  parseQuantity,
  parseUnit,
  sameDimension,
} from "./quantity.ts";

/** Bounds of a number in the unit of the samples' text, so that messages can print them as they stand. */
export interface Bounds {
  /** Value must be above this. */
  readonly above?: string;
  readonly atLeast?: string;
  readonly atMost?: string;
}

export const NUMBER_PATTERN = "[+-]?(?:\\d+\\.?\\d*|\\.\\d+)(?:[eE][+-]?\\d{1,2})?";
const escaped = (unit: string) => unit.replace(/[\^/$.*+?()[\]{}|]/g, "\\$&");

/** Pattern of a quantity as text, without ^ and $. */
export function quantityPattern(measure: Measure): string {
  return `${NUMBER_PATTERN} ?(?:${[...measure.units]
    .sort((a, b) => b.length - a.length)
    .map(escaped)
    .join("|")})`;
}

/** One quantity of a measure, in SI. */
export function quantity(name: MeasureName, bounds: Bounds = {}): Kind<number> {
  const measure: Measure = measures[name];
  const limits = [
    bounds.above !== undefined && `above ${bounds.above}`,
    bounds.atLeast !== undefined && `at least ${bounds.atLeast}`,
    bounds.atMost !== undefined && `at most ${bounds.atMost}`,
  ].filter((limit) => limit !== false);
  const expected =
    limits.length > 0
      ? `${measure.name} ${limits.join(" and ")}, such as ${measure.sample}`
      : `${measure.name} such as ${measure.sample}`;
  const value = (text: string) => {
    const quantity = parseQuantity(text);
    return "value" in quantity ? quantity.value : Number.NaN;
  };
  const above = bounds.above === undefined ? undefined : value(bounds.above);
  const atLeast = bounds.atLeast === undefined ? undefined : value(bounds.atLeast);
  const atMost = bounds.atMost === undefined ? undefined : value(bounds.atMost);
  return {
    expected,
    read(at, reading) {
      const found = readQuantity(at, measure, expected, reading);
      if (found === undefined) return undefined;
      const fits =
        (above === undefined || found > above) &&
        (atLeast === undefined || found >= atLeast) &&
        (atMost === undefined || found <= atMost);
      return fits ? found : reading.log.wrong("out-of-range", at, expected, "Correct the value or its unit.");
    },
    schema(parts) {
      const notNegative = (above ?? atLeast ?? Number.NEGATIVE_INFINITY) >= 0;
      const key = notNegative ? `${name}-not-negative` : name;
      if (!parts.has(key)) {
        const pattern = quantityPattern(measure);
        parts.set(key, {
          type: "string",
          pattern: `^${notNegative ? pattern.replace("[+-]?", "\\+?") : pattern}$`,
          description: `${measure.name} such as ${measure.sample}`,
          examples: [measure.sample],
        });
      }
      return { $ref: `#/$defs/${key}`, description: expected };
    },
  };
}

/** Reads a scalar as a quantity of a measure; `unitFrom` is the unit of a bare number (lists that state the unit once). */
export function readQuantity(
  at: Written,
  measure: Measure,
  expected: string,
  reading: Reading,
  unitFrom?: string,
): number | undefined {
  const unit = measure.units[0]!;
  if (at.kind !== "scalar" || isNothing(at))
    return reading.log.wrong("wrong-type", at, expected, `Write ${measure.name}, such as ${measure.sample}.`);
  const parsed = parseQuantity(at.text);
  if ("value" in parsed) {
    const fits = sameDimension(parsed.dimension, measure.dimension) && parsed.share === (measure.share === true);
    if (fits) return parsed.value;
    const what = nameOfDimension(parsed.dimension, parsed.share);
    reading.log.add(
      "wrong-unit",
      at,
      `${describe(at)}${what ? `, ${what}` : ""}`,
      expected,
      `Write ${measure.name} in ${someUnits(measure)}.`,
    );
    return undefined;
  }
  switch (parsed.problem) {
    case "no unit": {
      const lent = unitFrom === undefined ? undefined : parseUnit(unitFrom);
      if (lent && !at.quoted) return (Number(parsed.number) * lent.factor) / lent.divisor;
      return reading.log.wrong(
        "missing-unit",
        at,
        expected,
        `Write the unit with the number: ${measure.share ? `${Number((Number(parsed.number) * (Math.abs(Number(parsed.number)) <= 1 ? 100 : 1)).toPrecision(12))} %` : `${parsed.number} ${unit}`}.`,
      );
    }
    case "not finite":
      return reading.log.wrong("not-finite", at, expected, "Write a finite number and its unit.");
    case "decimal comma":
      return reading.log.wrong(
        "decimal-comma",
        at,
        expected,
        `Write a decimal point: ${printable(parsed.mended, 40)}.`,
      );
    case "unknown unit": {
      const near = parsed.meant ?? nearest(parsed.unit, measure.units);
      const fits = near !== undefined && parseUnit(near) !== undefined;
      return reading.log.wrong(
        "unknown-unit",
        at,
        expected,
        fits ? `Did you mean ${parsed.number} ${near}?` : `Write ${measure.name} in ${someUnits(measure)}.`,
      );
    }
    default:
      return reading.log.wrong(
        "not-a-quantity",
        at,
        expected,
        `Write a number and its unit, such as ${measure.sample}.`,
      );
  }
}

function someUnits(measure: Measure): string {
  const units = measure.units.slice(0, 4);
  return units.length === 1 ? units[0]! : `${units.slice(0, -1).join(", ")} or ${units.at(-1)}`;
}

/** A plain number without unit. */
export function number(
  bounds: { readonly above?: number; readonly atLeast?: number; readonly atMost?: number } = {},
): Kind<number> {
  return plainNumber("a plain number", bounds, false);
}

/** A whole number. */
export function count(atLeast: number, atMost: number): Kind<number> {
  return plainNumber("a whole number", { atLeast, atMost }, true);
}

/** A number without unit, in decimal or scientific notation. */
export const isPlainNumber = (text: string): boolean => /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/.test(text.trim());

function plainNumber(
  what: string,
  bounds: { readonly above?: number; readonly atLeast?: number; readonly atMost?: number },
  whole: boolean,
): Kind<number> {
  const { above, atLeast, atMost } = bounds;
  const limit =
    atLeast !== undefined && atMost !== undefined
      ? atLeast === atMost
        ? `, ${atLeast}`
        : ` from ${atLeast} to ${atMost}`
      : above !== undefined
        ? ` above ${above}${atMost !== undefined ? ` and at most ${atMost}` : ""}`
        : atLeast !== undefined
          ? ` of at least ${atLeast}`
          : "";
  const expected = `${what}${limit}`;
  return {
    expected,
    read(at, reading) {
      if (at.kind !== "scalar" || isNothing(at))
        return reading.log.wrong("wrong-type", at, expected, `Write ${what} here.`);
      const text = at.text.trim();
      const plain = isPlainNumber(text);
      if (plain && at.quoted) return reading.log.wrong("not-a-number", at, expected, "Leave out the quotes.");
      if (!plain) {
        const parsed = parseQuantity(text);
        const mend =
          "value" in parsed || ("problem" in parsed && parsed.problem === "unknown unit")
            ? "Leave out the unit: this is a plain number."
            : `Write ${what}.`;
        return reading.log.wrong(
          "problem" in parsed && parsed.problem === "not finite" ? "not-finite" : "not-a-number",
          at,
          expected,
          mend,
        );
      }
      const value = Number(text);
      const fits =
        Number.isFinite(value) &&
        (!whole || Number.isInteger(value)) &&
        (above === undefined || value > above) &&
        (atLeast === undefined || value >= atLeast) &&
        (atMost === undefined || value <= atMost);
      return fits ? value : reading.log.wrong("out-of-range", at, expected, "Correct the number.");
    },
    schema: () => ({
      type: whole ? "integer" : "number",
      ...(above === undefined ? {} : { exclusiveMinimum: above }),
      ...(atLeast === undefined ? {} : { minimum: atLeast }),
      ...(atMost === undefined ? {} : { maximum: atMost }),
      description: expected,
    }),
  };
}

/** Free text; anything but nothing, a list or a map. */
export const text: Kind<string> = {
  expected: "some text",
  read: (at, reading) =>
    at.kind === "scalar" && !isNothing(at)
      ? at.text
      : reading.log.wrong(
          "wrong-type",
          at,
          "some text",
          "Write the text on one line, in quotes if it holds ': ' or ' #'.",
        ),
  schema: () => ({ type: ["string", "number", "boolean"] }),
};

/** One of a few words; `values` maps other spellings to the same meaning. */
export function word<T extends string>(words: readonly T[], what = "one of"): Kind<T> {
  const expected = `${what} ${words.join(", ")}`;
  return {
    expected,
    read(at, reading) {
      const found = at.kind === "scalar" ? words.find((candidate) => candidate === at.text.trim()) : undefined;
      if (found !== undefined) return found;
      const near = at.kind === "scalar" ? nearest(at.text, words) : undefined;
      return reading.log.wrong(
        at.kind === "scalar" ? "unknown-word" : "wrong-type",
        at,
        expected,
        near ? `Did you mean ${near}?` : "Write one of these words.",
      );
    },
    schema: () => ({ enum: words, description: expected }),
  };
}

function twoWords(yes: string, no: string, expected: string): Kind<boolean> {
  return {
    expected,
    read(at, reading) {
      if (at.kind === "scalar") {
        const word = at.text.trim().toLowerCase();
        if (word === yes || word === "true") return true;
        if (word === no || word === "false") return false;
      }
      return reading.log.wrong("wrong-type", at, expected, `Write ${yes} or ${no}.`);
    },
    schema: () => ({ enum: [yes, no, true, false], description: expected }),
  };
}

/** A fact: yes or no. */
export const yesNo: Kind<boolean> = twoWords("yes", "no", "yes or no");
/** A signal level: on or off. */
export const level: Kind<boolean> = twoWords("on", "off", "a level, on or off");
