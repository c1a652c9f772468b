/** Times taken from ranges. */
import type { TimeRange } from "../cell/model.ts";
import type { Seconds } from "../math/units.ts";
import type { Pace } from "./types.ts";

/** Times closer than this count as equal, s: sums of the same durations in another order differ by less. */
export const TIME_TOLERANCE = 1e-9;

/** Fastest takes the shortest time, slowest the longest, nominal their mean. */
export function timeAt(range: TimeRange, pace: Pace): Seconds {
  if (pace === "fastest") return range.min;
  if (pace === "slowest") return range.max;
  return (range.min + range.max) / 2;
}
