/**
 * The steady part of a run, from which period and shares are taken.
 *
 * Passes are those of the outermost `each`. Let e(k) be the time of the last completion in pass k, for the passes a … b
 * that finish parts. The first fill ends with e(a); the run-out is everything after e(b - 1), the last pass included,
 * for it has nothing more to fetch. An inner pass k (a < k < b) spans from e(k - 1) to e(k). When the last inner passes
 * repeat (same spans and completions, to 1e-6 s, at least twice in a row) the window is the last pattern of them;
 * otherwise it is all inner passes. Period = window / parts finished in it.
 */
import { TIME_TOLERANCE } from "./pace.ts";
import type { Completion, Pass, SteadyWindow } from "./run.ts";

/** Spans that differ by less count as repeating, s. */
const SAME_SPAN = 1e-6;

export interface Steady extends SteadyWindow {
  /** Passes in one pattern; 1 unless a longer one was found. */
  readonly pattern: number;
  /** First pass from which on the pattern repeats, or the first inner pass. */
  readonly from: number;
}

export function steadyWindow(completions: readonly Completion[], passes: readonly Pass[], duration: number): Steady {
  const busiest = passesWithCompletions(completions, passes);
  const none = { pattern: 1, from: 0 };
  if (busiest.length >= 3) {
    const inner = busiest.slice(1, -1).map((entry, i) => ({ ...entry, span: entry.last - busiest[i]!.last }));
    const { length, repeats } = repeating(inner);
    const window = inner.slice(inner.length - length);
    const first = window[0]!;
    const final = window.at(-1)!;
    return {
      basis: repeats > 0 ? "repeating passes" : "inner passes",
      start: first.last - first.span,
      end: final.last,
      parts: window.reduce((sum, entry) => sum + entry.count, 0),
      passes: { first: first.pass, last: final.pass },
      pattern: repeats > 0 ? length : 1,
      from: inner[inner.length - (repeats > 0 ? length * repeats : length)]!.pass,
    };
  }
  if (busiest.length === 2) {
    const [a, b] = busiest as [PassEnd, PassEnd];
    return {
      basis: "last pass",
      start: a.last,
      end: b.last,
      parts: b.count,
      passes: { first: b.pass, last: b.pass },
      ...none,
    };
  }
  const n = completions.length;
  if (n >= 2 && completions[n - 1]!.time - completions[0]!.time > TIME_TOLERANCE)
    return { basis: "completions", start: completions[0]!.time, end: completions[n - 1]!.time, parts: n - 1, ...none };
  return { basis: "run", start: 0, end: duration, parts: Math.max(1, n), ...none };
}

interface PassEnd {
  readonly pass: number;
  /** Time of the last completion in the pass. */
  readonly last: number;
  readonly count: number;
}

/** Of the outermost `each` that finishes most parts, the passes that finish any. */
function passesWithCompletions(completions: readonly Completion[], passes: readonly Pass[]): PassEnd[] {
  const eachOf = new Map(passes.map((pass) => [pass.index, pass.stepId]));
  const byEach = new Map<string, Map<number, PassEnd>>();
  const totals = new Map<string, number>();
  for (const { pass, time } of completions) {
    const each = eachOf.get(pass);
    if (each === undefined) continue;
    const ends = byEach.get(each) ?? new Map<number, PassEnd>();
    byEach.set(each, ends);
    const known = ends.get(pass);
    ends.set(pass, { pass, last: Math.max(time, known?.last ?? 0), count: (known?.count ?? 0) + 1 });
    totals.set(each, (totals.get(each) ?? 0) + 1);
  }
  let best: string | undefined;
  for (const [each, total] of totals) if (best === undefined || total > totals.get(best)!) best = each;
  return best === undefined ? [] : [...byEach.get(best)!.values()].sort((a, b) => a.pass - b.pass);
}

/** Shortest pattern that the list ends with at least twice, and how often; else the whole list and 0. */
function repeating(inner: readonly { span: number; count: number }[]): { length: number; repeats: number } {
  const n = inner.length;
  const same = (i: number, j: number) =>
    Math.abs(inner[i]!.span - inner[j]!.span) <= SAME_SPAN && inner[i]!.count === inner[j]!.count;
  for (let length = 1; 2 * length <= n; length++) {
    let matched = 0;
    while (matched + length < n && same(n - 1 - matched, n - 1 - matched - length)) matched++;
    if (matched >= length) return { length, repeats: 1 + Math.floor(matched / length) };
  }
  return { length: n, repeats: 0 };
}
