/** When people are there: shifts from 0:00 of the first days of each week. */
import { ContractError } from "../../math/contract-error.ts";

export interface ShiftPattern {
  /** Hours of one shift, > 0. */
  readonly hours: number;
  readonly perDay: number;
  readonly daysPerWeek: number;
}

const DAY = 86_400;
export const WEEK = 7 * DAY;

/** Attended stretches of a week, in seconds from its beginning; shifts that follow each other without a gap are one stretch. */
export class Calendar {
  readonly #starts: readonly number[];
  readonly #ends: readonly number[];
  /** Attended hours per week. */
  readonly attendedHours: number;
  /** Somebody is there at every hour of the week. */
  readonly always: boolean;

  /** The shifts of a day follow each other. @throws ContractError for shifts that do not fit in a day or week */
  constructor({ hours, perDay, daysPerWeek }: ShiftPattern) {
    const attended = hours * perDay;
    const fits = hours > 0 && perDay >= 1 && attended <= 24 + 1e-9 && Number.isInteger(daysPerWeek);
    if (!fits || daysPerWeek < 1 || daysPerWeek > 7)
      throw new ContractError(`Calendar: ${perDay} shifts of ${hours} h on ${daysPerWeek} days do not fit in a week`);
    const whole = attended >= 24 - 1e-9;
    const days = Array.from({ length: daysPerWeek }, (_, d) => d * DAY);
    this.#starts = whole ? [0] : days;
    this.#ends = whole ? [daysPerWeek * DAY] : days.map((d) => d + attended * 3600);
    this.attendedHours = attended * daysPerWeek;
    this.always = whole && daysPerWeek === 7;
  }

  attended(t: number): boolean {
    if (this.always) return true;
    const w = t - Math.floor(t / WEEK) * WEEK;
    for (let i = 0; i < this.#starts.length; i++) if (w >= this.#starts[i]! && w < this.#ends[i]!) return true;
    return false;
  }

  /** The first moment from `t` on at which somebody is there. */
  nextAttended(t: number): number {
    if (this.attended(t)) return t;
    const week = Math.floor(t / WEEK) * WEEK;
    for (const start of this.#starts) if (week + start >= t) return week + start;
    return week + WEEK + this.#starts[0]!;
  }

  /** The first moment after `t` at which people come or go; infinite when somebody is always there. */
  nextChange(t: number): number {
    if (this.always) return Number.POSITIVE_INFINITY;
    const week = Math.floor(t / WEEK) * WEEK;
    for (let w = week; ; w += WEEK)
      for (let i = 0; i < this.#starts.length; i++) {
        if (w + this.#starts[i]! > t) return w + this.#starts[i]!;
        if (w + this.#ends[i]! > t) return w + this.#ends[i]!;
      }
  }

  /** Longest stretch of a week without anybody, s; 0 when somebody is always there. */
  longestUnattended(): number {
    if (this.always) return 0;
    let longest = WEEK - this.#ends.at(-1)! + this.#starts[0]!;
    for (let i = 1; i < this.#starts.length; i++) longest = Math.max(longest, this.#starts[i]! - this.#ends[i - 1]!);
    return longest;
  }
}
