/** What a lower tool speed costs: every motion planned again with it, and the cycle timed again. */
import type { Cell } from "../../cell/index.ts";
import type { GoStep } from "../../cell/steps.ts";
import { type CycleRun, createRetiming, type Mover } from "../../cycle/index.ts";
import type { MotionFailure } from "../../motion/index.ts";
import type { CostReport } from "./report.ts";

/**
 * Period of a run with the tool speed of its steps limited. Presses keep their time.
 * @param mover a fresh one: it may not know these steps at their own speed
 * @param cap largest tool speed in a step, m/s, above 0; Infinity: as it is
 */
export function costOf(
  cell: Cell,
  what: string,
  run: CycleRun<MotionFailure>,
  mover: Mover<MotionFailure>,
  cap: (step: GoStep) => number,
): CostReport {
  const work = new Float64Array(run.activities.length).fill(Number.NaN);
  const notPlanned = new Set<string>();
  for (const { kind, steps, context, outcome, activity } of run.moves) {
    if (kind !== "go" || !outcome.ok) continue;
    const chain = steps as readonly GoStep[];
    if (chain.every((step) => cap(step) === Number.POSITIVE_INFINITY)) continue;
    const again = mover.go(
      chain.map((step) => {
        const most = cap(step);
        return most === Number.POSITIVE_INFINITY
          ? step
          : { ...step, speed: { ...step.speed, tool: Math.min(most, ownSpeed(cell, step)) } };
      }),
      context,
    );
    if (!again.ok) {
      for (const { id } of chain) notPlanned.add(id);
      continue;
    }
    again.perStep.forEach((time, k) => {
      work[activity + k] = time;
    });
  }
  return {
    what,
    variant: run.variant,
    period_s: run.period,
    limited_s: createRetiming(run).period(work),
    notPlanned: [...notPlanned],
  };
}

/** Tool speed that a step asks for by itself, m/s. */
const ownSpeed = (cell: Cell, { by, speed }: GoStep): number =>
  speed.tool ?? (by === "joint" ? Number.POSITIVE_INFINITY : cell.motion.lineSpeed);
