/** What a study comes to: the front, the best by each objective, what improves on the present layout and by which change. */
import type { Figures, Verdict } from "./figures.ts";
import { byCompromise, paretoFront } from "./pareto.ts";
import type { StudyRow } from "./run-study.ts";
import { MORE_IS_BETTER, type Objective, type Study } from "./study.ts";

export interface Summary {
  readonly layouts: number;
  /** Layouts by verdict; all verdicts, 0 included. */
  readonly counts: Readonly<Record<Verdict, number>>;
  /** Layouts that work but have less than the least clearance. */
  readonly tooClose: number;
  readonly present: StudyRow;
  /** Objectives that are known for some layout, of those asked for. */
  readonly objectives: readonly Objective[];
  /** The front, the most even compromise first; of layouts that are alike in every objective the one that changes least. */
  readonly front: readonly StudyRow[];
  /** How many others of the front are alike to one of it, by its number. */
  readonly alike: ReadonlyMap<number, number>;
  /** Best layout by each objective, among those that could be on the front. */
  readonly best: readonly { readonly objective: Objective; readonly row: StudyRow }[];
  /** For each objective the single change that improves on the present layout most. */
  readonly single: readonly Improvement[];
}

export interface Improvement {
  readonly objective: Objective;
  readonly axis: number;
  readonly row: StudyRow;
}

/** Figures that objectives are about; a full check has not all of them. */
export type ObjectiveFigures = Pick<Figures, "cycle_s" | "clearance_m" | "jointMargin_rad" | "torqueShare"> &
  Partial<Pick<Figures, "manipulability" | "armClearance_m">>;

/** Value of an objective, in the unit that the figures have it. */
export function objectiveValue(figures: ObjectiveFigures, objective: Objective): number {
  switch (objective) {
    case "cycle time":
      return figures.cycle_s;
    case "clearance":
      return figures.clearance_m;
    case "arm clearance":
      return figures.armClearance_m ?? Number.NaN;
    case "joint margin":
      return figures.jointMargin_rad;
    case "manipulability":
      return figures.manipulability ?? Number.NaN;
    case "torque share":
      return figures.torqueShare;
  }
}

const costOf = (row: StudyRow, objective: Objective) =>
  MORE_IS_BETTER[objective] ? -objectiveValue(row, objective) : objectiveValue(row, objective);

/**
 * @param rows all layouts of the study in order, or as many as there are; the first is the present one
 */
export function summarise(study: Study, rows: readonly StudyRow[], firstOfSample: number): Summary {
  const counts: Record<Verdict, number> = {
    works: 0,
    "out of reach": 0,
    "line not followed": 0,
    torque: 0,
    collides: 0,
  };
  for (const { verdict } of rows) counts[verdict]++;
  const working = rows.filter(({ verdict }) => verdict === "works");
  const candidates = working.filter(
    ({ clearance_m }) => study.leastClearance === undefined || !(clearance_m < study.leastClearance),
  );
  const objectives = study.objectives.filter((objective) =>
    candidates.some((row) => !Number.isNaN(objectiveValue(row, objective))),
  );
  const width = objectives.length;
  const costs = Float64Array.from(candidates.flatMap((row) => objectives.map((objective) => costOf(row, objective))));
  const front = width === 0 ? [] : byCompromise(paretoFront(costs, width), costs, width);
  const grouped = oneOfEach(
    study,
    front.map((k) => candidates[k]!),
    objectives,
  );
  const present = rows[0]!;
  const alone = rows.slice(1, firstOfSample).filter((row) => candidates.includes(row));
  return {
    layouts: rows.length,
    counts,
    tooClose: working.length - candidates.length,
    present,
    objectives,
    front: grouped.front,
    alike: grouped.alike,
    best: objectives.map((objective) => ({ objective, row: bestBy(candidates, objective)! })),
    single: objectives.flatMap((objective) => {
      const row = bestBy(alone, objective);
      const now = costOf(present, objective);
      if (row === undefined || !(Number.isNaN(now) || costOf(row, objective) < now)) return [];
      return [{ objective, axis: row.values.findIndex((value) => !Number.isNaN(value)), row }];
    }),
  };
}

/** The first of the rows with the least cost; rows where it is not known do not count. */
function bestBy(rows: readonly StudyRow[], objective: Objective): StudyRow | undefined {
  let best: StudyRow | undefined;
  for (const row of rows) {
    const cost = costOf(row, objective);
    if (!Number.isNaN(cost) && (best === undefined || cost < costOf(best, objective))) best = row;
  }
  return best;
}

/** Digits to which figures count as alike. */
const ALIKE = 6;

/** Of layouts that are alike in every objective the one that changes least, where the first of them stands. */
function oneOfEach(
  study: Study,
  front: readonly StudyRow[],
  objectives: readonly Objective[],
): { readonly front: StudyRow[]; readonly alike: ReadonlyMap<number, number> } {
  const groups = new Map<string, StudyRow[]>();
  for (const row of front) {
    const key = objectives.map((objective) => objectiveValue(row, objective).toPrecision(ALIKE)).join();
    groups.set(key, [...(groups.get(key) ?? []), row]);
  }
  const spans = study.axes.map(({ values }) => Math.max(...values.map(Math.abs)) || 1);
  const size = ({ values }: StudyRow) =>
    values.reduce((sum, value, a) => sum + (Number.isNaN(value) ? 0 : Math.abs(value) / spans[a]!), 0);
  const alike = new Map<number, number>();
  const chosen = [...groups.values()].map((group) => {
    const least = group.reduce((best, row) => (size(row) < size(best) ? row : best));
    // The sample may meet a layout again that has been looked at before.
    const others = new Set(
      group.filter((row) => size(row) !== size(least) || !same(row, least)).map((row) => row.values.join()),
    );
    if (others.size > 0) alike.set(least.layout, others.size);
    return least;
  });
  return { front: chosen, alike };
}

const same = (a: StudyRow, b: StudyRow) => a.values.every((value, k) => (value || 0) === (b.values[k] || 0));

/** Layouts to check in full: the best by each objective, then the front in its order; at most as many as the study says. */
export function toCheck({ front, best }: Summary, study: Study): number[] {
  const chosen = new Set<number>();
  const compromise = front[0];
  if (compromise !== undefined) chosen.add(compromise.layout);
  for (const { row } of best) chosen.add(row.layout);
  for (const row of front) chosen.add(row.layout);
  return [...chosen].slice(0, study.checks);
}
