/** What keeps the cycle from being shorter: the lanes on the critical path of one period. */
import type { Draft } from "./log.ts";
import type { Network } from "./network.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import type { CycleBound } from "./run.ts";

interface Window {
  readonly start: number;
  readonly end: number;
}

/** A stretch of the path, on one lane, ending with an event. */
interface Stretch {
  readonly lane: string;
  readonly from: number;
  readonly to: number;
  /** Names the event at its end, the same in every pass. */
  readonly key: string;
}

/** Times of two rounds that differ by less count as one period apart, s. */
const SAME_ROUND = 1e-6;

/**
 * Follows one critical path back from the end of the steady window. Where the path comes round to the same event one
 * window earlier, that round is taken (the end of the window need not itself lie on it); otherwise the window as it is.
 *
 * The cycle is bound by a process (or a person) on the path when the arm has work beside the path, which delays nothing,
 * or when the process has at least the arm's share of it; by the arm otherwise.
 * @param lastEvent event at which the window ends
 * @param armBusy work of the arm in the window, s
 */
export function cycleBound(
  drafts: readonly Draft[],
  network: Network,
  lastEvent: number,
  window: Window,
  armBusy: number,
): CycleBound {
  const length = window.end - window.start;
  const path = criticalPath(drafts, network, lastEvent, window.start - length);
  const round = oneRound(path, length) ?? window;
  const spent = new Map<string, number>();
  for (const { lane, from, to } of path) {
    const time = Math.min(to, round.end) - Math.max(from, round.start);
    if (time > 0) spent.set(lane, (spent.get(lane) ?? 0) + time);
  }
  const shares = new Map(
    [...spent].sort((a, b) => b[1] - a[1]).map(([lane, time]) => [lane, length > 0 ? time / length : 0]),
  );
  return { by: boundBy(drafts, shares, length > 0 ? armBusy / length : 0), shares };
}

/** The path from the event back to a time, latest stretch first. */
function criticalPath(drafts: readonly Draft[], network: Network, lastEvent: number, until: number): Stretch[] {
  const { firstInto, from, lagInto } = network;
  const timeOf = (event: number) => network.time[event]!;
  const path: Stretch[] = [];
  for (let event = lastEvent; timeOf(event) > until; ) {
    const at = timeOf(event);
    const draft = drafts[event >> 1]!;
    const isEnd = (event & 1) === 1;
    let best: { from: number; lane: string } | undefined;
    if (isEnd && draft.start + draft.work >= at - TIME_TOLERANCE) best = { from: event - 1, lane: draft.lane };
    else
      for (let k = firstInto[event]!; k < firstInto[event + 1]!; k++) {
        if (timeOf(from[k]!) + lagInto[k]! < at - TIME_TOLERANCE) continue;
        const cause = drafts[from[k]! >> 1]!;
        if (best === undefined || cause.lane === "arm") best = { from: from[k]!, lane: laneOfArc(cause, draft) };
      }
    // Nothing held the event back but the activity itself: the start of the run.
    if (best === undefined && isEnd) best = { from: event - 1, lane: draft.lane };
    if (best === undefined) break;
    const key = `${draft.lane}|${draft.stepId ?? ""}|${draft.label}|${isEnd}`;
    path.push({ lane: best.lane, from: timeOf(best.from), to: at, key });
    event = best.from;
  }
  return path;
}

/** The latest stretch of the path that is one period long and ends as it begins. */
function oneRound(path: readonly Stretch[], length: number): Window | undefined {
  const times = new Map<string, number[]>();
  for (const { key, to } of path) {
    const known = times.get(key);
    if (known === undefined) times.set(key, [to]);
    else known.push(to);
  }
  for (const { key, to } of path)
    if (times.get(key)!.some((t) => Math.abs(to - t - length) <= SAME_ROUND)) return { start: to - length, end: to };
  return undefined;
}

function boundBy(drafts: readonly Draft[], shares: ReadonlyMap<string, number>, armBusyShare: number): string {
  const machineLanes = new Set(drafts.filter((d) => d.kind === "process" || d.kind === "operator").map((d) => d.lane));
  const arm = shares.get("arm") ?? 0;
  for (const [lane, share] of shares) {
    if (!machineLanes.has(lane) || share <= 0) continue;
    const armHasTimeToSpare = armBusyShare > arm + 1e-6;
    return armHasTimeToSpare || share >= arm ? lane : "arm";
  }
  return "arm";
}

/** Time between two activities: what follows a step of the arm belongs to the arm, what the arm waits to see to the controller. */
function laneOfArc(from: Draft, to: Draft): string {
  if (from.lane === "arm") return "arm";
  return to.lane === "arm" ? "controller" : from.lane;
}
