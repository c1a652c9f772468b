/**
 * Performance level of a safety function: required, by the risk graph, and achieved, by the simplified method.
 *
 * Source: ISO 13849-1 (2015 and 2023; risk graph annex A, MTTFd annex C and D, DC annex E, common cause annex F, simplified table
 * 4.5.4), recalled but for the shape of the graph; the worked figures of annexes C and D are tests.
 */
import type { CategoryName, PerformanceLevel } from "../cell/guarding.ts";
import { ContractError } from "../math/contract-error.ts";

export const PERFORMANCE_EDITION = "ISO 13849-1:2015";
export const LEVELS: readonly PerformanceLevel[] = ["a", "b", "c", "d", "e"];

/** Severity, frequency or exposure, possibility of avoiding: 1 is the lighter one. */
export interface RiskParameters {
  readonly S: 1 | 2;
  readonly F: 1 | 2;
  readonly P: 1 | 2;
}

/** Required performance level. */
export const requiredLevel = ({ S, F, P }: RiskParameters): PerformanceLevel =>
  LEVELS[(S === 2 ? 2 : 0) + (F - 1) + (P - 1)]!;

/** True when `a` is at least as high as `b`. */
export const isAtLeast = (a: PerformanceLevel, b: PerformanceLevel): boolean => LEVELS.indexOf(a) >= LEVELS.indexOf(b);

/** Range of the average frequency of dangerous failures of a level, per hour. */
export const failureRange: Readonly<Record<PerformanceLevel, readonly [from: number, below: number]>> = {
  a: [1e-5, 1e-4],
  b: [3e-6, 1e-5],
  c: [1e-6, 3e-6],
  d: [1e-7, 1e-6],
  e: [1e-8, 1e-7],
};

/** Operations a year, n_op = d_op·h_op·3600/t_cycle. @param cycle s */
export const operationsPerYear = (daysPerYear: number, hoursPerDay: number, cycle: number): number =>
  (daysPerYear * hoursPerDay * 3600) / cycle;

/** MTTFd = B10d/(0.1·n_op), years; the part is to be replaced after T10d = B10d/n_op. */
export const fromB10d = (b10d: number, operations: number): { readonly mttfd: number; readonly t10d: number } => ({
  mttfd: b10d / (0.1 * operations),
  t10d: b10d / operations,
});

/** MTTFd of parts in a row, 1/Σ(1/MTTFd), years. */
export const channelMttfd = (parts: readonly number[]): number => 1 / parts.reduce((sum, t) => sum + 1 / t, 0);

/** MTTFd of two unlike channels as that of two like ones, ⅔ (a + b - 1/(1/a + 1/b)), years. */
export const symmetrised = (a: number, b: number): number => (2 / 3) * (a + b - 1 / (1 / a + 1 / b));

/** Average diagnostic coverage, Σ(DC/MTTFd)/Σ(1/MTTFd). */
export function averageCoverage(parts: readonly { readonly mttfd: number; readonly coverage: number }[]): number {
  let weighted = 0,
    sum = 0;
  for (const { mttfd, coverage } of parts) {
    weighted += coverage / mttfd;
    sum += 1 / mttfd;
  }
  return weighted / sum;
}

export type MttfdBand = "too low" | "low" | "medium" | "high";
export type CoverageBand = "none" | "low" | "medium" | "high";

/** An average of equal coverages may come out this much lower. */
const ROUNDING = 1e-12;

/** Band of a channel: 3 to 10 years low, to 30 medium, above high. */
export const mttfdBand = (years: number): MttfdBand =>
  years < 3 ? "too low" : years < 10 ? "low" : years < 30 ? "medium" : "high";
export const coverageBand = (share: number): CoverageBand =>
  share < 0.6 - ROUNDING ? "none" : share < 0.9 - ROUNDING ? "low" : share < 0.99 - ROUNDING ? "medium" : "high";

/** Least score against failures of common cause, of 100. */
export const LEAST_COMMON_CAUSE = 65;
/** Largest MTTFd of a channel that may be counted, years; of category 4. */
const MOST_MTTFD = 100;
const MOST_MTTFD_4 = 2500;
/** Years that a machine is reckoned to be in use. */
export const MISSION_YEARS = 20;

export interface ChannelPart {
  /** Years. */
  readonly mttfd: number;
  /** Diagnostic coverage, 0 to 1. */
  readonly coverage: number;
}

export interface FunctionDesign {
  readonly category: CategoryName;
  /** One or two. */
  readonly channels: readonly (readonly ChannelPart[])[];
  /** Score of measures against common cause, 0 to 100; undefined: not stated. */
  readonly commonCause: number | undefined;
}

export interface Achieved {
  readonly edition: typeof PERFORMANCE_EDITION;
  /** Undefined: the data do not give one. */
  readonly level: PerformanceLevel | undefined;
  /** Why there is none, or what is missing. */
  readonly reasons: readonly string[];
  /** Years, capped as the standard says and symmetrised. */
  readonly mttfd: number;
  readonly mttfdBand: MttfdBand;
  readonly coverage: number;
  readonly coverageBand: CoverageBand;
}

/** By low, medium and high MTTFd; undefined where the table has no entry. */
const TABLE: readonly {
  readonly category: CategoryName;
  readonly coverage: CoverageBand;
  readonly levels: readonly (PerformanceLevel | undefined)[];
}[] = [
  { category: "B", coverage: "none", levels: ["a", "b", undefined] },
  { category: "1", coverage: "none", levels: [undefined, undefined, "c"] },
  { category: "2", coverage: "low", levels: ["a", "b", "c"] },
  { category: "2", coverage: "medium", levels: ["b", "c", "d"] },
  { category: "3", coverage: "low", levels: ["b", "c", "d"] },
  { category: "3", coverage: "medium", levels: ["c", "d", "d"] },
  { category: "4", coverage: "high", levels: [undefined, undefined, "e"] },
];

/** Entry of the simplified table; a higher coverage than a category knows counts as its highest. */
export function simplifiedLevel(
  category: CategoryName,
  coverage: CoverageBand,
  mttfd: MttfdBand,
): PerformanceLevel | undefined {
  const counted =
    category === "B" || category === "1"
      ? "none"
      : (category === "2" || category === "3") && coverage === "high"
        ? "medium"
        : coverage;
  const row = TABLE.find((entry) => entry.category === category && entry.coverage === counted);
  return mttfd === "too low" ? undefined : row?.levels[["low", "medium", "high"].indexOf(mttfd)];
}

/** Performance level of a safety function by the simplified method. @throws ContractError without a channel or with an empty one */
export function achievedLevel({ category, channels, commonCause }: FunctionDesign): Achieved {
  if (channels.length === 0 || channels.length > 2 || channels.some((parts) => parts.length === 0))
    throw new ContractError("achievedLevel: one or two channels with at least one part each");
  const reasons: string[] = [];
  const most = category === "4" ? MOST_MTTFD_4 : MOST_MTTFD;
  const each = channels.map((parts) => Math.min(most, channelMttfd(parts.map(({ mttfd }) => mttfd))));
  const mttfd = each.length === 2 ? symmetrised(each[0]!, each[1]!) : each[0]!;
  const band = mttfdBand(mttfd);
  const coverage = averageCoverage(channels.flat());
  const covered = coverageBand(coverage);
  const redundant = category === "3" || category === "4";
  if (redundant && channels.length !== 2) reasons.push(`category ${category} has two channels, one is given`);
  if (!redundant && channels.length !== 1) reasons.push(`category ${category} has one channel, two are given`);
  if (category === "2" || redundant) {
    if (commonCause === undefined) reasons.push("the score against failures of common cause (annex F) is not stated");
    else if (commonCause < LEAST_COMMON_CAUSE)
      reasons.push(
        `the score against failures of common cause is ${commonCause}, at least ${LEAST_COMMON_CAUSE} is needed`,
      );
  }
  const found = simplifiedLevel(category, covered, band);
  if (found === undefined)
    reasons.push(
      `category ${category} with ${band} MTTFd (${mttfd.toFixed(1)} years) and ${covered === "none" ? "no" : covered} diagnostic coverage (${(100 * coverage).toFixed(1)} %) has no level in the simplified table`,
    );
  return {
    edition: PERFORMANCE_EDITION,
    level: reasons.length === 0 ? found : undefined,
    reasons,
    mttfd,
    mttfdBand: band,
    coverage,
    coverageBand: covered,
  };
}
