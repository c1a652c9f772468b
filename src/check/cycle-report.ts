/** The cycle as reported: nominal figures of each part variant, with the period at the fastest and slowest device times. */
import type { Cell } from "../cell/model.ts";
import type { CycleRun, Pace } from "../cycle/index.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { CycleReport } from "./result.ts";
import { stepTable } from "./step-table.ts";

/** The runs of one part variant. */
export type VariantRuns = Readonly<Record<Pace, CycleRun<MotionFailure>>>;

/** Whether the times of a run mean something: it ended by itself, finished a part, and every motion could be made. */
const isTimed = (run: CycleRun<MotionFailure>): boolean =>
  run.outcome === "complete" && run.partsFinished > 0 && run.moves.every((move) => move.outcome.ok);

/** Null when no variant could be timed; the first variant speaks for the cell, all are listed under `variants`. */
export function cycleReport(cell: Cell, runs: ReadonlyMap<string, VariantRuns>): CycleReport | null {
  const variants = [...runs.values()].filter((r) => Object.values(r).every(isTimed)).map((r) => variantReport(cell, r));
  const [first] = variants;
  return first === undefined ? null : { ...first, variants };
}

function variantReport(cell: Cell, { fastest, nominal, slowest }: VariantRuns): Omit<CycleReport, "variants"> {
  return {
    variant: nominal.variant,
    period_s: nominal.period,
    robot_s: nominal.robot_s,
    machine_s: nominal.machine_s,
    spindleIdle_s: nominal.spindleIdle_s,
    partsPerHour: nominal.partsPerHour,
    fastest_s: fastest.period,
    slowest_s: slowest.period,
    steps: stepTable(cell, nominal),
  };
}
