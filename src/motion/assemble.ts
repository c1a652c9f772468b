/** One motion from its timed runs. */
import type { SingularityKind, SingularityMeasures, SingularityMeter } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { RunPath } from "./path/run-path.ts";
import { type MovingRun, sweptRuns } from "./spread.ts";
import type { Survey } from "./survey.ts";
import type { TimedRun } from "./timed-run.ts";
import type { LimitSpan, Motion, MotionNote } from "./types.ts";

/** A run with its timing; `undefined` where it does not move. Segment ends count from the start of the run. */
export interface FinishedRun {
  readonly moved: { readonly path: RunPath; readonly timed: TimedRun; readonly survey: Survey } | undefined;
  readonly segmentEnds: readonly number[];
}

/** Samples per run when looking for the nearest singularity. */
const SINGULARITY_STEPS = 48;
const KINDS: readonly SingularityKind[] = ["wrist", "elbow", "shoulder", "unnamed"];

/**
 * @param end joint values at the end of the last segment
 * @param meterOf asked only when `nearestSingularity` is read
 */
export function assembleMotion(
  arm: Arm,
  runs: readonly FinishedRun[],
  end: Float64Array,
  blends: readonly number[],
  notes: readonly MotionNote[],
  meterOf: () => SingularityMeter,
): Motion {
  const { n } = arm;
  const moving: MovingRun[] = [];
  const segmentEnds: number[] = [];
  let duration = 0;
  let peakToolSpeed = 0;
  let peakToolAcceleration = 0;
  let torqueShare: number[] | undefined;
  for (const { moved, segmentEnds: ends } of runs) {
    const from = duration;
    for (const time of ends) segmentEnds.push(from + time);
    if (moved === undefined) continue;
    const { path, timed, survey } = moved;
    moving.push({ path, timed, from });
    duration += timed.duration;
    peakToolSpeed = Math.max(peakToolSpeed, survey.speed);
    peakToolAcceleration = Math.max(peakToolAcceleration, survey.acceleration);
    if (survey.torqueShare !== undefined) {
      torqueShare ??= new Array<number>(n).fill(0);
      for (let i = 0; i < n; i++) torqueShare[i] = Math.max(torqueShare[i], survey.torqueShare[i]);
    }
  }
  if (segmentEnds.length > 0) segmentEnds[segmentEnds.length - 1] = duration;

  const along = new Float64Array(4);
  const [q, q1, q2, q3] = Array.from({ length: 4 }, () => new Float64Array(n));
  let last = 0;
  const runAt = (time: number) => {
    if (last >= moving.length || time < moving[last].from) last = 0;
    while (last + 1 < moving.length && time >= moving[last + 1].from) last++;
    return moving[last];
  };

  const nearest = (): Motion["nearestSingularity"] => {
    const meter = meterOf();
    const measures: SingularityMeasures = { wrist: 0, elbow: 0, shoulder: 0, unnamed: 0 };
    const before: SingularityMeasures = { wrist: 0, elbow: 0, shoulder: 0, unnamed: 0 };
    let found: Motion["nearestSingularity"];
    const look = (time: number): void => {
      const { path, timed, from } = runAt(time);
      timed.at(time - from, along);
      path.joints(along[0], q, q1, q2, q3);
      meter.measure(q, measures);
    };
    const keep = (kind: SingularityKind, measure: number, time: number): void => {
      if (found === undefined || measure < found.measure) found = { kind, measure, time };
    };
    for (const { from, timed } of moving) {
      const step = timed.duration / SINGULARITY_STEPS;
      for (let k = 0; k <= SINGULARITY_STEPS; k++) {
        const time = from + k * step;
        look(time);
        const here = { ...measures };
        for (const kind of KINDS) {
          if (Number.isNaN(here[kind])) continue;
          keep(kind, Math.abs(here[kind]), time);
          // Passed between two samples: the measure is signed.
          if (k === 0 || kind === "unnamed" || !(before[kind] * here[kind] < 0)) continue;
          let low = time - step;
          let high = time;
          for (let i = 0; i < 40; i++) {
            const middle = (low + high) / 2;
            look(middle);
            if (measures[kind] * before[kind] > 0) low = middle;
            else high = middle;
          }
          keep(kind, Math.abs(measures[kind]), high);
        }
        Object.assign(before, here);
      }
    }
    return found;
  };
  let limits: readonly LimitSpan[] | undefined;
  let singularity: { readonly value: Motion["nearestSingularity"] } | undefined;

  return {
    duration,
    segmentEnds,
    end,
    get limits() {
      limits ??= moving.flatMap(({ timed, from }) =>
        timed.limits.map((span) => ({ ...span, from: from + span.from, to: from + span.to })),
      );
      return limits;
    },
    swept: sweptRuns(moving, end, duration),
    blends,
    notes,
    torqueShare,
    peakToolSpeed,
    peakToolAcceleration,
    get nearestSingularity() {
      singularity ??= { value: nearest() };
      return singularity.value;
    },
    sample(time, out) {
      if (moving.length === 0) {
        out.q.set(end);
        out.qd.fill(0);
        out.qdd.fill(0);
        return;
      }
      const clamped = time > 0 ? Math.min(time, duration) : 0;
      const { path, timed, from } = runAt(clamped);
      timed.at(clamped - from, along);
      const v = along[1];
      const a = along[2];
      path.joints(along[0], q, q1, q2, q3);
      for (let i = 0; i < n; i++) {
        out.q[i] = q[i];
        out.qd[i] = q1[i] * v;
        out.qdd[i] = q2[i] * v * v + q1[i] * a;
      }
    },
  };
}
