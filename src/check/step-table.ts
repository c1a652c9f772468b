/** The table of steps: how often each ran, how long it took, and which limit kept it from being shorter. */
import type { Cell } from "../cell/model.ts";
import { stepsOf } from "../cell/step-walk.ts";
import type { CycleRun } from "../cycle/index.ts";
import type { LimitSpan, MotionFailure } from "../motion/index.ts";
import { isPlanned } from "./mover.ts";
import type { StepRow } from "./result.ts";
import { stepWords } from "./step-words.ts";

/** Rows of the steps that took part in a run, in the order of the file. */
export function stepTable(cell: Cell, run: CycleRun<MotionFailure>): StepRow[] {
  const limits = limitShares(cell, run);
  const rows: StepRow[] = [];
  for (const step of stepsOf(cell)) {
    const use = run.slack.get(step.id);
    if (use === undefined) continue;
    rows.push({
      id: step.id,
      kind: step.kind,
      what: stepWords(step, run.variant),
      count: use.count,
      mean_s: use.mean_s,
      min_s: use.min_s,
      max_s: use.max_s,
      limitedBy: strongest(limits.get(step.id)),
      slack_s: Number.isFinite(use.steady_s) ? use.steady_s : null,
    });
  }
  return rows;
}

/**
 * Seconds under each limit, by step: in what comes before and after the passes, in the first two, the middle and the last
 * pass, and where a step runs first. To look at every pass would cost more than it tells.
 */
function limitShares(cell: Cell, run: CycleRun<MotionFailure>): Map<string, Map<string, number>> {
  const all = new Map<string, Map<string, number>>();
  const last = run.passes.length - 1;
  const looked = new Set([-1, 0, 1, Math.floor(last / 2), last]);
  for (const move of run.moves) {
    if (!looked.has(move.pass) && move.steps.every((step) => all.has(step.id))) continue;
    if (!move.outcome.ok || !isPlanned(move.outcome.motion)) continue;
    const { motion } = move.outcome.motion;
    let from = 0;
    move.steps.forEach((step, i) => {
      const to = motion.segmentEnds[i]!;
      const shares = all.get(step.id) ?? new Map<string, number>();
      all.set(step.id, shares);
      for (const span of motion.limits) {
        const overlap = Math.min(to, span.to) - Math.max(from, span.from);
        if (overlap > 0) {
          const label = limitWords(cell, span);
          shares.set(label, (shares.get(label) ?? 0) + overlap);
        }
      }
      shares.set("", (shares.get("") ?? 0) + (to - from));
      from = to;
    });
  }
  return all;
}

/** "J2 acceleration", "tool speed". */
function limitWords(cell: Cell, span: Pick<LimitSpan, "kind" | "joint">): string {
  return span.joint === undefined ? span.kind : `${cell.arm.joints[span.joint]!.name} ${span.kind}`;
}

/** The limit in force longest, with its share of the step's time: "J2 acceleration 54 %". */
function strongest(shares: Map<string, number> | undefined): string {
  if (shares === undefined) return "";
  const total = shares.get("") ?? 0;
  let best = "";
  for (const [label, seconds] of shares)
    if (label !== "" && seconds > (best === "" ? 0 : shares.get(best)!) + 1e-12) best = label;
  if (best === "" || total <= 0) return "";
  return `${best} ${Math.round((100 * shares.get(best)!) / total)} %`;
}
