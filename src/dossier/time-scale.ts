/** A time axis that draws long stretches in which nothing begins or ends shorter than they are. */

export interface TimeScale {
  /** Place of a time on the axis, 0 at its start to 1 at its end; linear between breaks. */
  at(time: number): number;
  /** Stretches drawn short, in order, s. */
  readonly breaks: readonly { readonly from: number; readonly to: number }[];
  /** Times worth a mark: multiples of a tidy step outside the breaks, far enough apart; s from the start. */
  ticks(most: number): number[];
}

/** A stretch without events is drawn short when it is longer than this share of the whole. */
const LONG = 0.4;
/** Share of the axis that each break is given. */
const BREAK = 0.08;

/** An axis from `from` to `to` (s) broken between the given event times. */
export function brokenScale(from: number, to: number, events: readonly number[]): TimeScale {
  const span = to - from;
  const times = [from, ...events.filter((t) => t > from && t < to), to].sort((a, b) => a - b);
  const breaks: { from: number; to: number }[] = [];
  for (let i = 1; i < times.length; i++)
    if (times[i]! - times[i - 1]! > LONG * span) breaks.push({ from: times[i - 1]!, to: times[i]! });
  // Nothing to be gained where the breaks leave nothing else.
  const rest = span - breaks.reduce((sum, b) => sum + b.to - b.from, 0);
  const kept = rest > 1e-6 * span ? breaks : [];
  const unit = kept.length === 0 ? 1 / span : (1 - BREAK * kept.length) / rest;

  const at = (time: number): number => {
    const t = Math.min(to, Math.max(from, time));
    let place = 0;
    let done = from;
    for (const b of kept) {
      if (t <= b.from) break;
      place += (b.from - done) * unit;
      if (t < b.to) return place + (BREAK * (t - b.from)) / (b.to - b.from);
      place += BREAK;
      done = b.to;
    }
    return Math.min(1, place + (t - done) * unit);
  };
  const ticks = (most: number): number[] => {
    const step = tidyStep(1 / unit, most);
    const marks: number[] = [];
    for (let k = 0; k * step <= span * (1 + 1e-9); k++) {
      const t = from + k * step;
      if (kept.some((b) => t > b.from && t < b.to)) continue;
      const before = marks.at(-1);
      if (before !== undefined && at(t) - at(from + before) < 0.6 * step * unit) continue;
      marks.push(k * step);
    }
    return marks;
  };
  return { at, breaks: kept, ticks };
}

/** A step of 1, 2 or 5 times a power of ten that cuts `span` into at most `most` parts. */
export function tidyStep(span: number, most: number): number {
  if (!(span > 0)) return 1;
  const rough = span / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  for (const factor of [1, 2, 5, 10]) if (factor * power >= rough * (1 - 1e-9)) return factor * power;
  return 10 * power;
}
