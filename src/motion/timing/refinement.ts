/** Where a grid is to be made finer. */
import { type Attempt, intervalTimes, type Spline } from "./solve-grid.ts";

/** Share of the time spent below all limits that is worth a finer grid. */
const WORTH = 0.012;
/** A need for more time than this that tightening could not take away calls for a finer grid. */
const BULGE = 1.004;
/** A need from which an interval is halved twice. */
const WIDE = 1.03;

/** Uncertainty of the check that calls for a finer one. */
const UNSURE = 2e-4;

/** How often to halve the intervals in which most of the time is spent below all limits; undefined if that is little. */
export function slackIntervals(attempt: Attempt): Int32Array | undefined {
  const { spline, fill, needs, need } = attempt;
  if (!fill || !needs) return undefined;
  const times = intervalTimes(spline);
  const n = times.length;
  let total = 0;
  let lost = 0;
  for (let k = 0; k < n; k++) {
    total += times[k]!;
    lost += times[k]! * (1 - fill[k]!);
  }
  const out = new Int32Array(n);
  if (need > BULGE) {
    for (let k = 0; k < n; k++) if (needs[k]! > 1 + (need - 1) / 3) out[k] = needs[k]! > WIDE ? 2 : 1;
    return out;
  }
  if (!(lost > WORTH * total)) return undefined;
  for (let k = 0; k < n; k++) if (times[k]! * (1 - fill[k]!) > (0.5 * lost) / n) out[k] = 1;
  return out;
}

/** How often each interval is to be halved so that none takes more than the `parts`-th part of the time, at most 3 times. */
export function halvings(spline: Spline, parts: number): Int32Array | undefined {
  const times = intervalTimes(spline);
  const n = times.length;
  let total = 0;
  for (let k = 0; k < n; k++) total += times[k]!;
  const out = new Int32Array(n);
  let any = false;
  for (let k = 0; k < n; k++) {
    const share = (times[k]! * parts) / total;
    out[k] = share <= 1.2 ? 0 : Math.min(3, Math.ceil(Math.log2(share / 1.2)));
    if (out[k]! > 0) any = true;
  }
  return any ? out : undefined;
}

/** The intervals to be halved so that the check of a solution becomes surer; undefined: sure enough. */
export function unsureIntervals({ doubts }: Attempt): Int32Array | undefined {
  if (!doubts?.some((doubt) => doubt > UNSURE)) return undefined;
  return Int32Array.from(doubts, (doubt) => (doubt > UNSURE ? 1 : 0));
}
