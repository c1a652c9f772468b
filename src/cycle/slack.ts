/** Slack of every activity and every routine step. */
import type { ActivityLog, Draft } from "./log.ts";
import { lateTimes, longestFrom, type Network, positionsOf } from "./network.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import type { Pass, StepSlack } from "./run.ts";
import type { Steady } from "./steady.ts";

export interface ActivitySlack {
  readonly slack: number;
  readonly critical: boolean;
}

/**
 * By how much each activity could last longer without lengthening the run. An activity that nothing waits for may last
 * until the end of the run, or until something relies on it without waiting (a jaw that a dwell stands in for).
 * @param last the arm's last activity, whose end is the end of the run
 */
export function activitySlack(log: ActivityLog, network: Network, last: number, runEnd: number): ActivitySlack[] {
  const late = lateTimes(network, 2 * last + 1);
  return log.drafts.map(({ index, end }) => {
    const event = 2 * index + 1;
    const float = late[event]! - end;
    const deadline = log.deadlines.get(event);
    const free = Math.min(
      float === Number.POSITIVE_INFINITY ? runEnd - end : float,
      deadline === undefined ? Number.POSITIVE_INFINITY : deadline - end,
    );
    const slack = free > TIME_TOLERANCE ? free : 0;
    return { slack, critical: float <= TIME_TOLERANCE };
  });
}

/** Passes over which a lengthened step is followed to see whether it delays its own return. */
const FOLLOWED = 16;
/** Passes of a pattern from which it is followed. */
const STARTS = 8;

/**
 * By how much each step could last longer in every pass without lengthening the period: from the end of the step's
 * activity in one steady pass the longest path is followed to its return in each of the next passes; the time by which
 * the return comes later than that path asks for is the slack of that way round, and the least over all ways counts.
 * Steps that do not run in two steady passes have no entry.
 */
export function steadySlack(
  arm: readonly Draft[],
  network: Network,
  passes: readonly Pass[],
  steady: Steady,
): Map<string, number> {
  const slack = new Map<string, number>();
  if (steady.passes === undefined) return slack;
  const lastPass = steady.passes.last;
  const firstPass = Math.max(steady.from, lastPass - FOLLOWED);
  if (lastPass <= firstPass) return slack;
  const until = passes.find((p) => p.index === lastPass)?.end ?? Number.POSITIVE_INFINITY;
  const returns = occurrences(arm, firstPass, lastPass);
  const position = positionsOf(network);
  const length = new Float64Array(network.time.length);
  const starts = Math.min(steady.pattern, STARTS);
  for (const [key, activities] of returns) {
    const stepId = key.slice(0, key.lastIndexOf("#"));
    let least = slack.get(stepId) ?? Number.POSITIVE_INFINITY;
    for (let s = 0; s < Math.min(starts, activities.length - 1); s++) {
      const from = 2 * activities[s]! + 1;
      longestFrom(network, from, position, until, length);
      for (let r = s + 1; r < activities.length; r++) {
        const back = 2 * activities[r]! + 1;
        if (length[back] === Number.NEGATIVE_INFINITY) continue;
        least = Math.min(least, network.time[back]! - network.time[from]! - length[back]!);
      }
    }
    if (activities.length > 1) slack.set(stepId, least > TIME_TOLERANCE ? least : 0);
  }
  return slack;
}

/** Activities of each step in the passes, told apart by their turn within the pass. */
function occurrences(arm: readonly Draft[], firstPass: number, lastPass: number): Map<string, number[]> {
  const found = new Map<string, number[]>();
  const turns = new Map<string, number>();
  let pass = -1;
  for (const draft of arm) {
    if (draft.pass < firstPass || draft.pass > lastPass || draft.stepId === undefined) continue;
    if (draft.pass !== pass) {
      pass = draft.pass;
      turns.clear();
    }
    const turn = turns.get(draft.stepId) ?? 0;
    turns.set(draft.stepId, turn + 1);
    const key = `${draft.stepId}#${turn}`;
    const list = found.get(key);
    if (list === undefined) found.set(key, [draft.index]);
    else list.push(draft.index);
  }
  return found;
}

/** Times and least slack per routine step, in the order in which the steps first ran. */
export function stepSlack(
  arm: readonly Draft[],
  slack: readonly ActivitySlack[],
  steady: ReadonlyMap<string, number>,
): Map<string, StepSlack> {
  const steps = new Map<string, { count: number; min: number; sum: number; max: number; run: number }>();
  for (const { stepId, index, start, end } of arm) {
    if (stepId === undefined) continue;
    const time = end - start;
    const own = slack[index]!.slack;
    const known = steps.get(stepId);
    if (known === undefined) steps.set(stepId, { count: 1, min: time, sum: time, max: time, run: own });
    else {
      known.count++;
      known.sum += time;
      known.min = Math.min(known.min, time);
      known.max = Math.max(known.max, time);
      known.run = Math.min(known.run, own);
    }
  }
  return new Map(
    [...steps].map(([stepId, s]) => [
      stepId,
      {
        stepId,
        count: s.count,
        min_s: s.min,
        mean_s: s.sum / s.count,
        max_s: s.max,
        run_s: s.run,
        steady_s: steady.get(stepId) ?? s.run,
      },
    ]),
  );
}
