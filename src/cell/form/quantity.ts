/**
 * Quantities as written, "420 mm", and their units. A unit is a product of powers of the symbols below ("kg m^2", "deg/s^2",
 * "lbf in"); its dimension decides where it fits. Angle is a dimension of its own, so that deg/s and 1/s do not mix.
 *
 * Exact factors: inch 25.4 mm, pound 0.45359237 kg (international yard and pound agreement of 1959; NIST SP 811, 2008, app. B.8);
 * pound-force = pound × standard gravity 9.80665 m/s² (3rd CGPM, 1901) = 4.4482216152605 N.
 */

/** Exponents of metre, kilogram, second, radian, ampere. */
export type Dimension = readonly [length: number, mass: number, time: number, angle: number, current: number];

/** Value in SI = written · factor / divisor; the divisor keeps decimal prefixes free of rounding. */
interface Unit {
  readonly factor: number;
  readonly divisor: number;
  readonly dimension: Dimension;
  /** "%" only: a share, which is not the same as a plain number. */
  readonly share?: boolean;
}

const unit = (factor: number, divisor: number, ...dimension: [number, number, number, number, number]): Unit => ({
  factor,
  divisor,
  dimension,
});

const POUND = 0.45359237;
const POUND_FORCE = 4.4482216152605;

const symbols: ReadonlyMap<string, Unit> = new Map([
  ["m", unit(1, 1, 1, 0, 0, 0, 0)],
  ["cm", unit(1, 100, 1, 0, 0, 0, 0)],
  ["mm", unit(1, 1000, 1, 0, 0, 0, 0)],
  ["um", unit(1, 1e6, 1, 0, 0, 0, 0)],
  ["µm", unit(1, 1e6, 1, 0, 0, 0, 0)],
  ["μm", unit(1, 1e6, 1, 0, 0, 0, 0)],
  ["in", unit(254, 10000, 1, 0, 0, 0, 0)],
  ["inch", unit(254, 10000, 1, 0, 0, 0, 0)],
  ["ft", unit(3048, 10000, 1, 0, 0, 0, 0)],
  ["kg", unit(1, 1, 0, 1, 0, 0, 0)],
  ["g", unit(1, 1000, 0, 1, 0, 0, 0)],
  ["lb", unit(POUND, 1, 0, 1, 0, 0, 0)],
  ["s", unit(1, 1, 0, 0, 1, 0, 0)],
  ["ms", unit(1, 1000, 0, 0, 1, 0, 0)],
  ["min", unit(60, 1, 0, 0, 1, 0, 0)],
  ["h", unit(3600, 1, 0, 0, 1, 0, 0)],
  ["rad", unit(1, 1, 0, 0, 0, 1, 0)],
  ["deg", unit(Math.PI / 180, 1, 0, 0, 0, 1, 0)],
  ["°", unit(Math.PI / 180, 1, 0, 0, 0, 1, 0)],
  ["turn", unit(2 * Math.PI, 1, 0, 0, 0, 1, 0)],
  ["rpm", unit(2 * Math.PI, 60, 0, 0, -1, 1, 0)],
  ["N", unit(1, 1, 1, 1, -2, 0, 0)],
  ["mN", unit(1, 1000, 1, 1, -2, 0, 0)],
  ["kN", unit(1000, 1, 1, 1, -2, 0, 0)],
  ["Nm", unit(1, 1, 2, 1, -2, 0, 0)],
  ["lbf", unit(POUND_FORCE, 1, 1, 1, -2, 0, 0)],
  ["A", unit(1, 1, 0, 0, 0, 0, 1)],
  ["mA", unit(1, 1000, 0, 0, 0, 0, 1)],
  ["V", unit(1, 1, 2, 1, -3, 0, -1)],
  ["mV", unit(1, 1000, 2, 1, -3, 0, -1)],
  ["%", { ...unit(1, 100, 0, 0, 0, 0, 0), share: true }],
]);

/** Units that people write and that are not read, with what is meant. */
const otherNames: ReadonlyMap<string, string> = new Map(
  Object.entries({
    sec: "s",
    second: "s",
    seconds: "s",
    msec: "ms",
    hr: "h",
    hour: "h",
    hours: "h",
    minute: "min",
    minutes: "min",
    degree: "deg",
    degrees: "deg",
    grad: "deg",
    radian: "rad",
    radians: "rad",
    rev: "turn",
    millimeter: "mm",
    millimetre: "mm",
    meter: "m",
    metre: "m",
    MM: "mm",
    Mm: "mm",
    inches: "in",
    '"': "in",
    "''": "in",
    "'": "ft",
    feet: "ft",
    foot: "ft",
    KG: "kg",
    Kg: "kg",
    kgs: "kg",
    lbs: "lb",
    newton: "N",
    newtons: "N",
    n: "N",
    NM: "N m",
    nm: "N m",
    S: "s",
    mS: "ms",
    M: "m",
    percent: "%",
  }),
);

export type QuantityProblem =
  | { readonly problem: "not a quantity" }
  | { readonly problem: "not finite" }
  | { readonly problem: "decimal comma"; readonly mended: string }
  | { readonly problem: "no unit"; readonly number: string }
  | {
      readonly problem: "unknown unit";
      readonly number: string;
      readonly unit: string;
      readonly meant: string | undefined;
    };

export interface Quantity {
  /** In SI units (radians for angles, 1 for 100 %). */
  readonly value: number;
  readonly dimension: Dimension;
  readonly share: boolean;
  readonly number: string;
  readonly unit: string;
}

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?/;

/** Reads "420 mm". Spaces around and between are free. */
export function parseQuantity(text: string): Quantity | QuantityProblem {
  const trimmed = text.trim().replace(/^[−–]/, "-");
  const number = NUMBER.exec(trimmed)?.[0];
  if (number === undefined)
    return { problem: /^[+-]?\.?(?:nan|inf(?:inity)?)\b/i.test(trimmed) ? "not finite" : "not a quantity" };
  const rest = trimmed.slice(number.length).trim();
  if (rest === "") return { problem: "no unit", number };
  if (/^,\d/.test(rest)) return { problem: "decimal comma", mended: trimmed.replace(",", ".") };
  const found = parseUnit(rest);
  if (found === undefined) return { problem: "unknown unit", number, unit: rest, meant: otherNames.get(rest) };
  const value = (Number(number) * found.factor) / found.divisor;
  if (!Number.isFinite(value)) return { problem: "not finite" };
  return { value, dimension: found.dimension, share: found.share === true, number, unit: rest };
}

/** Reads a unit: factors separated by space, '·' or '*', powers by '^' or ² ³, and '/' before each divisor. */
export function parseUnit(text: string): Unit | undefined {
  if (text.length > 40) return undefined;
  const whole = symbols.get(text);
  if (whole) return whole;
  const tokens = text
    .replace(/²/g, "^2")
    .replace(/³/g, "^3")
    .match(/[^\s·*/^]+|\^\s*-?\d+|[/]/g);
  if (
    tokens === null ||
    tokens.join("").length !==
      text
        .replace(/²/g, "^2")
        .replace(/³/g, "^3")
        .replace(/[\s·*]/g, "").length
  )
    return undefined;
  let factor = 1;
  let divisor = 1;
  const dimension: [number, number, number, number, number] = [0, 0, 0, 0, 0];
  let sign = 1;
  let wanted = true;
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    if (token === "/") {
      if (i > 0 && sign === -1 && wanted) return undefined;
      sign = -1;
      wanted = true;
      continue;
    }
    const symbol = token === "1" && i === 0 && tokens[1] === "/" ? unit(1, 1, 0, 0, 0, 0, 0) : symbols.get(token);
    if (symbol === undefined || symbol.share) return undefined;
    let power = sign;
    if (tokens[i + 1]?.startsWith("^")) {
      const exponent = Number(tokens[i + 1]!.slice(1));
      if (exponent === 0 || Math.abs(exponent) > 4) return undefined;
      power *= exponent;
      i++;
    }
    factor *= power > 0 ? symbol.factor ** power : symbol.divisor ** -power;
    divisor *= power > 0 ? symbol.divisor ** power : symbol.factor ** -power;
    symbol.dimension.forEach((exponent, k) => {
      dimension[k]! += exponent * power;
    });
    // A "/" divides by the one symbol after it.
    sign = 1;
    wanted = false;
  }
  return wanted ? undefined : { factor, divisor, dimension };
}

/** What kind of quantity a dimension is, for messages; undefined when it has no common name. */
export function nameOfDimension(dimension: Dimension, share = false): string | undefined {
  if (share) return "a share";
  return Object.values(measures).find((measure) => !measure.share && sameDimension(measure.dimension, dimension))?.name;
}

export function sameDimension(a: Dimension, b: Dimension): boolean {
  return a.every((exponent, k) => exponent === b[k]);
}

export interface Measure {
  /** With its article: "a length". */
  readonly name: string;
  readonly dimension: Dimension;
  readonly share?: boolean;
  /** Units offered by the schema; the first is the one messages use. */
  readonly units: readonly string[];
  readonly sample: string;
}

const measure = (name: string, dimension: Dimension, sample: string, ...units: string[]): Measure => ({
  name,
  dimension,
  sample,
  units,
});

/** Every kind of quantity of a cell file. */
export const measures = {
  length: measure("a length", [1, 0, 0, 0, 0], "420 mm", "mm", "cm", "m", "um", "in", "ft"),
  angle: measure("an angle", [0, 0, 0, 1, 0], "90 deg", "deg", "°", "rad", "turn"),
  time: measure("a time", [0, 0, 1, 0, 0], "0.5 s", "s", "ms", "min", "h"),
  mass: measure("a mass", [0, 1, 0, 0, 0], "2.4 kg", "kg", "g", "lb"),
  force: measure("a force", [1, 1, -2, 0, 0], "20 N", "N", "kN", "mN", "lbf"),
  torque: measure("a torque", [2, 1, -2, 0, 0], "3 N m", "N m", "Nm", "mN m", "lbf in", "lbf ft"),
  inertia: measure(
    "an inertia",
    [2, 1, 0, 0, 0],
    "0.02 kg m^2",
    "kg m^2",
    "kg cm^2",
    "kg mm^2",
    "g mm^2",
    "g cm^2",
    "lb in^2",
    "lb ft^2",
  ),
  speed: measure(
    "a speed",
    [1, 0, -1, 0, 0],
    "250 mm/s",
    "mm/s",
    "m/s",
    "cm/s",
    "m/min",
    "mm/min",
    "in/s",
    "in/min",
    "ft/s",
    "ft/min",
  ),
  acceleration: measure("an acceleration", [1, 0, -2, 0, 0], "2 m/s^2", "m/s^2", "mm/s^2", "in/s^2", "ft/s^2"),
  jerk: measure("a jerk", [1, 0, -3, 0, 0], "20 m/s^3", "m/s^3", "mm/s^3", "in/s^3", "ft/s^3"),
  turnSpeed: measure("a turning speed", [0, 0, -1, 1, 0], "180 deg/s", "deg/s", "rad/s", "rpm", "turn/s", "turn/min"),
  turnAcceleration: measure("a turning acceleration", [0, 0, -2, 1, 0], "600 deg/s^2", "deg/s^2", "rad/s^2"),
  turnJerk: measure("a turning jerk", [0, 0, -3, 1, 0], "6000 deg/s^3", "deg/s^3", "rad/s^3"),
  area: measure("an area", [2, 0, 0, 0, 0], "1 cm^2", "cm^2", "mm^2", "m^2", "in^2"),
  current: measure("a current", [0, 0, 0, 0, 1], "20 mA", "mA", "A"),
  voltage: measure("a voltage", [2, 1, -3, 0, -1], "24 V", "V", "mV"),
  rate: measure("a rate", [0, 0, -1, 0, 0], "40 /h", "/h", "1/h", "/min", "1/min"),
  share: { ...measure("a share", [0, 0, 0, 0, 0], "80 %", "%"), share: true },
} as const satisfies Record<string, Measure>;

export type MeasureName = keyof typeof measures;
