/** Internal rate of return: the interest at which an investment is worth nothing. There may be none, or several. */
import { ContractError } from "../../math/contract-error.ts";
import { type LevelInvestment, levelNpv } from "./cash-flow.ts";

export type RateOfReturn =
  /** Interest per year as a share. */
  | { readonly kind: "one"; readonly rate: number }
  /** No interest above -100 % makes it worth nothing. */
  | { readonly kind: "none" }
  /** The flows change their sign more than once, and these, ascending, all make it worth nothing: none of them decides. */
  | { readonly kind: "several"; readonly rates: readonly number[] };

/**
 * Of flows at the times 0, 1, 2, … years. All rates above -100 % are found: with x = 1/(1+r) the net present value is a
 * polynomial, and its positive roots are bracketed between those of its derivative, which are found the same way.
 * Roots closer to each other than 1e-9 count once. @throws ContractError for flows that are not finite, or more than 200
 */
export function internalRate(flows: readonly number[]): RateOfReturn {
  if (flows.length > 200 || flows.some((f) => !Number.isFinite(f)))
    throw new ContractError("internalRate: at most 200 finite flows are needed");
  const rates = positiveRoots(flows)
    .map((x) => 1 / x - 1)
    .filter((r) => Number.isFinite(r))
    .sort((a, b) => a - b);
  return asRate(rates);
}

/** Of level savings; the same for whole years, and by the closed form for others. @throws ContractError */
export function levelInternalRate(level: LevelInvestment): RateOfReturn {
  const { investment, saving, years, residual = 0 } = level;
  if (Number.isInteger(years) && years <= 199) {
    const flows = [-investment, ...Array.from({ length: years }, (_, i) => saving + (i === years - 1 ? residual : 0))];
    return internalRate(flows);
  }
  // One change of sign at most unless the saving is negative and the residual value pays for it, so the worth falls as r rises.
  if (!(investment > 0)) return { kind: "none" };
  const worth = (logRate: number) => levelNpv(level, Math.expm1(logRate));
  let [low, high] = [-1, 1];
  for (let i = 0; i < 5 && worth(low) < 0; i++) low *= 2;
  for (let i = 0; i < 5 && worth(high) > 0; i++) high *= 2;
  if (!(worth(low) >= 0 && worth(high) <= 0)) return { kind: "none" };
  return { kind: "one", rate: Math.expm1(bisect(worth, low, high)) };
}

function asRate(rates: readonly number[]): RateOfReturn {
  if (rates.length === 0) return { kind: "none" };
  return rates.length === 1 ? { kind: "one", rate: rates[0]! } : { kind: "several", rates };
}

/** Positive roots, ascending, of Σ c_k x^k; none of the zero polynomial. */
export function positiveRoots(coefficients: readonly number[]): number[] {
  let c = [...coefficients];
  while (c.length > 0 && c.at(-1) === 0) c.pop();
  // A factor x has the root 0 only.
  while (c.length > 0 && c[0] === 0) c.shift();
  if (c.length < 2) return [];
  const largest = Math.max(...c.map(Math.abs));
  c = c.map((v) => v / largest);
  if (c.every((v) => v >= 0) || c.every((v) => v <= 0)) return [];
  const value = (x: number) => c.reduceRight((sum, v) => sum * x + v, 0);
  // Size of the rounding error of `value`, to tell a touching root from a near miss.
  const noise = (x: number) => 1e-13 * c.reduceRight((sum, v) => sum * x + Math.abs(v), 0);
  // Cauchy's bound: no root is larger in size.
  const bound = 1 + Math.max(...c.slice(0, -1).map((v) => Math.abs(v / c.at(-1)!)));
  const turns = positiveRoots(c.slice(1).map((v, i) => v * (i + 1))).filter((x) => x < bound);
  const ends = [0, ...turns, bound];
  const roots: number[] = [];
  const add = (x: number) => {
    if (x > 0 && !roots.some((known) => Math.abs(known - x) <= 1e-9 * Math.max(1, x))) roots.push(x);
  };
  for (let i = 1; i < ends.length; i++) {
    const [a, b] = [ends[i - 1]!, ends[i]!];
    const [fa, fb] = [value(a), value(b)];
    const [za, zb] = [i > 1 && Math.abs(fa) <= noise(a), Math.abs(fb) <= noise(b)];
    if (za) add(a);
    if (zb) add(b);
    if (!za && !zb && fa < 0 !== fb < 0) add(bisect((x) => (fa < 0 ? -value(x) : value(x)), a, b));
  }
  return roots.sort((a, b) => a - b);
}

/** Root of a function that is >= 0 at `low` and <= 0 at `high`. */
function bisect(f: (x: number) => number, low: number, high: number): number {
  for (let i = 0; i < 200; i++) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    if (f(middle) >= 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
