/** One worker's share of a study: rows of figures for layouts, and full checks of a few of them. */
import { buildArm } from "../arm/index.ts";
import type { Cell } from "../cell/model.ts";
import { type CheckReport, checkCell } from "../check/index.ts";
import type { MeshLibrary } from "../clearance/index.ts";
import { MotionMemory } from "../motion/index.ts";
import { type Layouts, type LayoutValues, layoutsOf } from "./axes.ts";
import type { Figures } from "./figures.ts";
import { createQuickLook, type QuickLook } from "./quick.ts";
import { createReplay } from "./replay.ts";
import type { Study } from "./study.ts";
import { varyCell } from "./vary-cell.ts";

/** Figures of one layout by its number. */
export interface StudyRow extends Figures {
  readonly layout: number;
  readonly values: LayoutValues;
}

/** What the full check of a layout says. Clearance as the check certifies it; null where the check has none. */
export interface CheckedLayout {
  readonly layout: number;
  readonly verdict: CheckReport["verdict"];
  readonly errors: readonly string[];
  /** Mean over the variants by their share, s; NaN where the check has no cycle time for one of them. */
  readonly cycle_s: number;
  readonly clearance_m: number;
  readonly jointMargin_rad: number;
  readonly torqueShare: number;
}

export interface StudyRun {
  readonly layouts: Layouts;
  row(layout: number): StudyRow;
  check(layout: number, cancelled?: () => boolean): CheckedLayout | undefined;
}

/** Choices (words) for which a replay is kept. */
const MOST_CHOICES = 12;

/** Prepares a study of a cell. Rows depend on their number only, not on what was asked before. */
export function createStudyRun(cell: Cell, study: Study, library?: MeshLibrary): StudyRun {
  const layouts = layoutsOf(study.axes, study.sampling);
  const arm = buildArm(cell.arm);
  const memory = new MotionMemory();
  const looks = new Map<string, QuickLook>();

  /** The quick look for a choice of words: other grippers, grips or orders make another run of the routine. */
  const lookFor = (values: LayoutValues): QuickLook => {
    const words = values.map((value, a) => (study.axes[a]!.words === undefined ? Number.NaN : value));
    const key = words.join();
    let look = looks.get(key);
    if (look === undefined) {
      const chosen = varyCell(cell, study, words);
      if (looks.size >= MOST_CHOICES) looks.delete(looks.keys().next().value!);
      look = createQuickLook(
        study,
        createReplay(chosen, arm, study.variants, memory, library && { meshes: library }),
        library,
      );
      looks.set(key, look);
    }
    return look;
  };

  return {
    layouts,
    row(layout) {
      const values = layouts.at(layout);
      // The choice is made in the look's own cell.
      const numbers = values.map((value, a) => (study.axes[a]!.words === undefined ? value : Number.NaN));
      return { layout, values, ...rounded(lookFor(values).evaluate(numbers)) };
    },
    check(layout, cancelled) {
      const varied = varyCell(cell, study, layouts.at(layout));
      const outcome = checkCell(varied, {
        // Where things stand changes nothing of the interlocks but the times of motions.
        proof: "none",
        ...(study.variants === undefined ? {} : { variants: study.variants }),
        ...(cancelled === undefined ? {} : { cancelled }),
        ...(library === undefined ? {} : { meshes: library }),
      });
      return outcome.ok ? checked(layout, varied, outcome.report) : undefined;
    },
  };
}

/** Digits that are kept: far more than mean anything, fewer than rounding inside a solver could change. */
const DIGITS = 9;
const round = (value: number): number => (Number.isFinite(value) ? Number(value.toPrecision(DIGITS)) : value);

const rounded = (figures: Figures): Figures => ({
  ...figures,
  cycle_s: round(figures.cycle_s),
  clearance_m: round(figures.clearance_m),
  armClearance_m: round(figures.armClearance_m),
  jointMargin_rad: round(figures.jointMargin_rad),
  manipulability: round(figures.manipulability),
  torqueShare: round(figures.torqueShare),
});

function checked(layout: number, cell: Cell, report: CheckReport): CheckedLayout {
  const errors = report.findings.filter(({ severity }) => severity === "error");
  const shares = report.payload?.torqueShare;
  const reached = report.reach.filter(({ reachable }) => reachable);
  return {
    layout,
    verdict: report.verdict,
    errors: errors.map(({ code, where }) => `${code} at ${where}`),
    cycle_s: round(meanPeriod(cell, report)),
    clearance_m: report.clearance === null ? Number.NaN : round(report.clearance.min_m),
    jointMargin_rad:
      reached.length === report.reach.length
        ? round(Math.min(...reached.map(({ jointMargin_rad }) => jointMargin_rad)))
        : Number.NaN,
    torqueShare: shares ? round(Math.max(...shares)) : Number.NaN,
  };
}

/** By quantity in the production batches; equal shares without. */
function meanPeriod(cell: Cell, { cycle }: CheckReport): number {
  if (cycle === null) return Number.NaN;
  let sum = 0;
  let total = 0;
  for (const { variant, period_s } of cycle.variants) {
    const quantity = (cell.production?.batches ?? []).reduce((q, b) => q + (b.part === variant ? b.quantity : 0), 0);
    const weight = cell.production?.batches.length ? quantity : 1;
    sum += weight * period_s;
    total += weight;
  }
  return total > 0 ? sum / total : Number.NaN;
}
