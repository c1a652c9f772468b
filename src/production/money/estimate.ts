/** An amount that is not known exactly. */
import type { Estimate } from "../../cell/production.ts";

export type { Estimate };

export const certain = (value: number): Estimate => ({ low: value, likely: value, high: value });

export const isCertain = (e: Estimate): boolean => e.low === e.high;
