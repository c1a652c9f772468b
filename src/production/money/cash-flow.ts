/** What an investment is worth: level savings over years, or any flows at the ends of years. */
import { ContractError } from "../../math/contract-error.ts";

/** An investment that saves the same each year. Amounts in one currency. */
export interface LevelInvestment {
  /** Paid at the beginning, >= 0. */
  readonly investment: number;
  /** Saved per year, at its end; may be negative. */
  readonly saving: number;
  /** Years in use, > 0; a fraction of a year counts by the closed form. */
  readonly years: number;
  /** What it is sold for at the end, >= 0; default 0. */
  readonly residual?: number;
}

/** Present worth of 1 a year for `years` at interest `r` per year, r > -1: (1 - (1+r)^-n) / r, or n for r = 0. @throws ContractError */
export function annuityFactor(years: number, r: number): number {
  if (!(years > 0) || !Number.isFinite(years) || !(r > -1) || !Number.isFinite(r))
    throw new ContractError(`annuityFactor: years > 0 and interest > -1 are needed, got ${years}, ${r}`);
  return Math.abs(r) < 1e-12 ? years : -Math.expm1(-years * Math.log1p(r)) / r;
}

/** Net present value -I + C (1 - (1+r)^-n)/r + S (1+r)^-n. @throws ContractError */
export function levelNpv({ investment, saving, years, residual = 0 }: LevelInvestment, r: number): number {
  return -investment + saving * annuityFactor(years, r) + residual * Math.exp(-years * Math.log1p(r));
}

/** Net present value of flows at the times 0, 1, 2, … years, interest r > -1. @throws ContractError */
export function npv(flows: readonly number[], r: number): number {
  if (!(r > -1) || !Number.isFinite(r)) throw new ContractError(`npv: interest > -1 is needed, got ${r}`);
  const x = 1 / (1 + r);
  return flows.reduceRight((sum, flow) => sum * x + flow, 0);
}

/** Years until the savings, without interest, have paid the investment; undefined: never. Not limited to the years in use. */
export function payback(investment: number, saving: number): number | undefined {
  if (investment <= 0) return 0;
  return saving > 0 ? investment / saving : undefined;
}

/**
 * Years until the savings, discounted at r >= 0, have paid the investment: -ln(1 - I r/C) / ln(1+r); undefined: never,
 * which is so when I r >= C.
 */
export function discountedPayback(investment: number, saving: number, r: number): number | undefined {
  if (!(r >= 0)) throw new ContractError(`discountedPayback: interest of at least 0 is needed, got ${r}`);
  if (investment <= 0) return 0;
  if (!(saving > 0) || investment * r >= saving) return undefined;
  return r < 1e-12 ? investment / saving : -Math.log1p((-investment * r) / saving) / Math.log1p(r);
}
