/** The people who see to the cell: called in the order in which they are needed, one task each at a time. */
import type { Stream } from "../random.ts";
import type { Calendar } from "./calendar.ts";
import { type Duration, draw } from "./model.ts";

/**
 * As calls are answered in their order and never given up, the moment at which a task ends is known when the call is made.
 * A task begins while somebody is there; what was begun is finished, also past the end of the shift.
 */
export class People {
  readonly #free: Float64Array;
  readonly #calendar: Calendar;
  readonly #response: Duration;
  readonly #stream: Stream;
  /** Time that people spent on tasks, without the way there, s. */
  busy = 0;
  calls = 0;

  constructor(count: number, response: Duration, calendar: Calendar, stream: Stream) {
    this.#free = new Float64Array(count);
    this.#response = response;
    this.#calendar = calendar;
    this.#stream = stream;
  }

  /** Moment at which a task of `time` seconds, called for at `now`, is done. */
  done(now: number, time: number): number {
    const free = this.#free;
    let first = 0;
    for (let i = 1; i < free.length; i++) if (free[i]! < free[first]!) first = i;
    const begin = this.#calendar.nextAttended(Math.max(now, free[first]!)) + draw(this.#response, this.#stream);
    free[first] = begin + time;
    this.busy += time;
    this.calls++;
    return begin + time;
  }
}
