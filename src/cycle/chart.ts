/** The cycle chart: one steady pass cut out of a run, lane by lane. */
import type { CycleRun } from "./run.ts";
import type { Activity } from "./types.ts";

export interface CycleBar {
  readonly activity: Activity;
  /** Time of the bar within the chart, s, clipped to it. */
  readonly start: number;
  readonly end: number;
  /** It began before the chart, or goes on after it. */
  readonly cutAtStart: boolean;
  readonly cutAtEnd: boolean;
}

export interface CycleChartLane {
  readonly name: string;
  readonly kind: "arm" | "device" | "process" | "operator";
  readonly bars: readonly CycleBar[];
}

export interface CycleChart {
  /** Pass shown; undefined when the run has none and the whole of it is shown. */
  readonly pass: number | undefined;
  /** Times in the run, s. */
  readonly start: number;
  readonly end: number;
  readonly lanes: readonly CycleChartLane[];
}

/**
 * Cuts a pass out of a run: the arm first, then grippers and devices, processes and people in the order of first use.
 * @param pass default: the last pass of the steady window, or the only one; the whole run when it has no passes
 */
export function cycleChart(
  run: CycleRun<unknown>,
  pass = run.steady.passes?.last ?? run.passes.at(-1)?.index,
): CycleChart {
  const shown = run.passes.find((p) => p.index === pass);
  const start = shown?.start ?? 0;
  const end = shown?.end ?? run.duration;
  const lanes = new Map<string, { kind: CycleChartLane["kind"]; bars: CycleBar[] }>();
  for (const activity of run.activities) {
    const inside =
      activity.start === activity.end
        ? activity.start >= start &&
          (activity.start < end || (activity.start === end && activity.pass === shown?.index))
        : activity.end > start && activity.start < end;
    if (!inside) continue;
    const lane = lanes.get(activity.lane) ?? { kind: kindOf(activity), bars: [] };
    lanes.set(activity.lane, lane);
    lane.bars.push({
      activity,
      start: Math.max(activity.start, start) - start,
      end: Math.min(activity.end, end) - start,
      cutAtStart: activity.start < start,
      cutAtEnd: activity.end > end,
    });
  }
  const rank = { arm: 0, device: 1, process: 2, operator: 3 };
  return {
    pass: shown?.index,
    start,
    end,
    lanes: [...lanes]
      .map(([name, { kind, bars }]) => ({ name, kind, bars }))
      .sort((a, b) => rank[a.kind] - rank[b.kind]),
  };
}

function kindOf(activity: Activity): CycleChartLane["kind"] {
  if (activity.lane === "arm") return "arm";
  return activity.kind === "process" || activity.kind === "operator" ? activity.kind : "device";
}
