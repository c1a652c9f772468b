/** From the record of a run to what charts and plots are drawn from. */
import type { CycleRun, MoveRecord } from "../cycle/index.ts";
import type { Motion, MotionState } from "../motion/index.ts";
import type { PageChart, PageSeries } from "./page-data.ts";

/** Finest and coarsest sampling of motions, s, and the number of samples aimed at. */
const FINEST = 0.004;
const COARSEST = 0.05;
const SAMPLES = 4000;
/** Where even the coarsest step would take more than this, the step is as coarse as it must be. */
const MOST_SAMPLES = 20_000;

/**
 * The chart of a run; the pass shown is the last one of the steady stretch from which the period is taken.
 * @param words description of each routine step by its id; the id itself where there is none
 */
export function chartOfRun(run: CycleRun<unknown>, words: ReadonlyMap<string, string>): PageChart {
  const last = run.steady.passes?.last ?? run.passes.at(-1)?.index;
  const pass = run.passes.find((p) => p.index === last);
  return {
    variant: run.variant,
    activities: run.activities.map((a) => ({
      lane: a.lane,
      kind: a.kind,
      label: a.stepId === undefined ? a.label : (words.get(a.stepId) ?? a.label),
      start: a.start,
      end: a.end,
      slack: a.slack,
      critical: a.critical,
    })),
    duration: run.duration,
    pass:
      pass === undefined || !(pass.end > pass.start)
        ? undefined
        : { number: pass.index + 1, of: run.passes.length, from: pass.start, to: pass.end },
  };
}

/**
 * Joint motion of a run between two times: motions sampled evenly, standstills by their ends only.
 * @param motionOf the planned motion of a move; undefined where the arm does not move by its joints (a press, a failure)
 * @returns undefined when nothing moves in the stretch
 */
export function seriesOfRun<F>(
  run: CycleRun<F>,
  motionOf: (move: MoveRecord<F>) => Motion | undefined,
  from: number,
  to: number,
): PageSeries | undefined {
  const moves = run.moves.flatMap((move) => {
    const motion = motionOf(move);
    return motion === undefined ? [] : [{ motion, start: move.start, context: move.context }];
  });
  const first = moves[0];
  if (first === undefined || !(to > from)) return undefined;
  const n = first.context.q.length;
  const inside = moves.filter(
    ({ start, motion }) => start < to && start + motion.duration > from && motion.duration > 0,
  );
  if (inside.length === 0) return undefined;
  const moving = inside.reduce((sum, { motion }) => sum + motion.duration, 0);
  const step = Math.max(moving / MOST_SAMPLES, Math.min(COARSEST, Math.max(FINEST, moving / SAMPLES)));

  const time: number[] = [];
  const q: number[] = [];
  const qd: number[] = [];
  const qdd: number[] = [];
  const state: MotionState = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  const put = (at: number) => {
    time.push(at);
    q.push(...state.q);
    qd.push(...state.qd);
    qdd.push(...state.qdd);
  };
  const rest = (at: number, values: Float64Array) => {
    state.q.set(values);
    state.qd.fill(0);
    state.qdd.fill(0);
    put(at);
  };

  let last = first.context.q;
  for (const { start, motion } of moves) if (start + motion.duration <= from) last = motion.end;
  let now = from;
  for (const { motion, start } of inside) {
    const begin = Math.max(from, start);
    if (begin > now || time.length === 0) {
      if (begin > from) rest(now, last);
      if (begin > now) rest(begin, last);
    }
    const end = Math.min(to, start + motion.duration);
    const count = Math.max(1, Math.ceil((end - begin) / step));
    for (let k = 0; k <= count; k++) {
      const at = k === count ? end : begin + ((end - begin) * k) / count;
      motion.sample(at - start, state);
      put(at);
    }
    now = end;
    last = motion.end;
  }
  if (to > now) {
    rest(now, last);
    rest(to, last);
  }
  return {
    time: Float64Array.from(time),
    q: Float64Array.from(q),
    qd: Float64Array.from(qd),
    qdd: Float64Array.from(qdd),
  };
}
