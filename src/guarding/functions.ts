/** Safety functions of a cell: what level they need and what the data given for them achieve. */
import type { PerformanceLevel, SafetyFunction, SafetyPart } from "../cell/guarding.ts";
import type { Production } from "../cell/model.ts";
import {
  type Achieved,
  achievedLevel,
  type ChannelPart,
  fromB10d,
  isAtLeast,
  LEVELS,
  MISSION_YEARS,
  operationsPerYear,
} from "./performance.ts";

/** Weeks of a year, for operation after the shift pattern. */
const WEEKS = 52;

export interface FunctionVerdict {
  readonly name: string;
  readonly covers: readonly string[];
  /** Undefined: neither stated nor known from what it covers. */
  readonly required: PerformanceLevel | undefined;
  /** Undefined: cannot be told; `missing` says why. */
  readonly achieved: Achieved | undefined;
  readonly missing: readonly string[];
  /** Parts that wear out before the machine's twenty years, with the years after which they are to be replaced. */
  readonly replace: readonly { readonly part: string; readonly years: number }[];
  readonly verdict: "reached by the data given" | "not reached" | "cannot be told";
}

/** @param levels required levels of the entries of the hazard register, by their names */
export function judgeFunction(
  name: string,
  stated: SafetyFunction,
  production: Production | undefined,
  levels: ReadonlyMap<string, PerformanceLevel>,
): FunctionVerdict {
  const missing: string[] = [];
  const replace: { part: string; years: number }[] = [];
  const required = stated.required ?? highest(stated.covers.flatMap((id) => levels.get(id) ?? []));
  if (required === undefined) missing.push("no required level is stated, and it covers no entry that has one");
  const { category } = stated;
  if (category === undefined) missing.push("the category of its architecture is not stated");
  if (stated.channels.length === 0) missing.push("its channels are not stated");
  const operation = operationOf(stated, production);
  const channels = stated.channels.map((parts, c) =>
    parts.map((part, i) => {
      const called = stated.channels.length === 1 ? `part ${i + 1}` : `channel ${c + 1}, part ${i + 1}`;
      const mttfd = mttfdOf(part, called, operation, missing, replace);
      const covered = category === undefined || category === "B" || category === "1" || part.coverage !== undefined;
      if (!covered) missing.push(`${called}: its diagnostic coverage is not stated`);
      return { mttfd, coverage: part.coverage ?? 0 };
    }),
  );
  const complete = channels.every((parts) => parts.every(({ mttfd }) => mttfd !== undefined));
  if (category === undefined || channels.length === 0 || !complete || missing.some((m) => m.includes("coverage")))
    return { name, covers: stated.covers, required, achieved: undefined, missing, replace, verdict: "cannot be told" };
  const achieved = achievedLevel({ category, channels: channels as ChannelPart[][], commonCause: stated.commonCause });
  missing.push(...achieved.reasons);
  const verdict =
    achieved.level === undefined || required === undefined
      ? "cannot be told"
      : isAtLeast(achieved.level, required)
        ? "reached by the data given"
        : "not reached";
  return { name, covers: stated.covers, required, achieved, missing, replace, verdict };
}

function operationOf(
  stated: SafetyFunction,
  production: Production | undefined,
): { days: number; hours: number } | undefined {
  const shift = production?.shift;
  const days = stated.daysPerYear ?? (shift && shift.daysPerWeek * WEEKS);
  const hours = stated.hoursPerDay ?? (shift && shift.hours * shift.perDay);
  return days === undefined || hours === undefined ? undefined : { days, hours };
}

function mttfdOf(
  part: SafetyPart,
  called: string,
  operation: { days: number; hours: number } | undefined,
  missing: string[],
  replace: { part: string; years: number }[],
): number | undefined {
  if (part.mttfdYears !== undefined) return part.mttfdYears;
  if (part.b10dCycles === undefined) {
    missing.push(`${called}: neither MTTFd nor B10d is stated`);
    return undefined;
  }
  if (part.every === undefined) {
    missing.push(`${called}: how often it works (every) is not stated, so its B10d cannot be turned into years`);
    return undefined;
  }
  if (operation === undefined) {
    missing.push(`${called}: days per year and hours per day are not stated, nor shifts of production`);
    return undefined;
  }
  const { mttfd, t10d } = fromB10d(part.b10dCycles, operationsPerYear(operation.days, operation.hours, part.every));
  if (t10d < MISSION_YEARS) replace.push({ part: called, years: t10d });
  return mttfd;
}

const highest = (levels: readonly PerformanceLevel[]): PerformanceLevel | undefined =>
  LEVELS.findLast((level) => levels.includes(level));
