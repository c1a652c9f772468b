/**
 * What keeps the cycle from being shorter: one critical path is followed back from the end of the steady window to its
 * start, and each lane's share of it counted.
 */
import type { ActivityLog, Arc, Draft } from "./log.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import type { CycleBound } from "./run.ts";

interface Window {
  readonly start: number;
  readonly end: number;
}

/**
 * Follows the critical path back. The cycle is bound by a process (or a person) on that path when the arm has work beside
 * the path, which delays nothing, or when the process has at least the arm's share of it; by the arm otherwise.
 * @param lastEvent event at which the window ends
 * @param armBusy work of the arm in the window, s
 */
export function cycleBound(log: ActivityLog, lastEvent: number, window: Window, armBusy: number): CycleBound {
  const { drafts } = log;
  const into = arcsInto(log.arcs);
  const timeOf = (event: number) => (event & 1 ? drafts[event >> 1]!.end : drafts[event >> 1]!.start);
  const spent = new Map<string, number>();
  const spend = (lane: string, from: number, to: number) => {
    const time = Math.min(to, window.end) - Math.max(from, window.start);
    if (time > 0) spent.set(lane, (spent.get(lane) ?? 0) + time);
  };
  let event = lastEvent;
  while (timeOf(event) > window.start + TIME_TOLERANCE) {
    const at = timeOf(event);
    const draft = drafts[event >> 1]!;
    let best: { from: number; lane: string } | undefined;
    if (event & 1 && draft.start + draft.work >= at - TIME_TOLERANCE) best = { from: event - 1, lane: draft.lane };
    else
      for (const arc of into.get(event) ?? []) {
        if (timeOf(arc.from) + arc.lag < at - TIME_TOLERANCE) continue;
        const lane = laneOfArc(drafts[arc.from >> 1]!, draft);
        if (best === undefined || drafts[arc.from >> 1]!.lane === "arm") best = { from: arc.from, lane };
      }
    if (best === undefined) {
      // Nothing held the event back but the activity itself (a limit that passed, the start of the run).
      spend(draft.lane, event & 1 ? draft.start : window.start, at);
      if (!(event & 1)) break;
      event--;
      continue;
    }
    spend(best.lane, timeOf(best.from), at);
    event = best.from;
  }
  const length = window.end - window.start;
  const shares = new Map(
    [...spent].sort((a, b) => b[1] - a[1]).map(([lane, time]) => [lane, length > 0 ? time / length : 0]),
  );
  return { by: boundBy(drafts, shares, length > 0 ? armBusy / length : 0), shares };
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

/** Time between two activities: a pulse that must last belongs to the arm, what the arm waits after a change to the controller. */
function laneOfArc(from: Draft, to: Draft): string {
  if (from.lane === "arm") return "arm";
  return to.lane === "arm" ? "controller" : from.lane;
}

function arcsInto(arcs: readonly Arc[]): Map<number, Arc[]> {
  const into = new Map<number, Arc[]>();
  for (const arc of arcs) {
    const list = into.get(arc.to);
    if (list === undefined) into.set(arc.to, [arc]);
    else list.push(arc);
  }
  return into;
}
