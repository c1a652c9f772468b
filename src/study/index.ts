/**
 * The study floor: many variations of one cell, compared. A quick look at every layout (reach, clearance, joint margin,
 * torque, an estimate of the cycle time), the front of those that none beats, and the full check of the best.
 *
 * Not computed here: contacts between motions looked at, parts resting in trays, the proof of the interlocks.
 */
export { AS_IT_IS, type Axis, type Change, type Layouts, type LayoutValues, layoutsOf, type Sampling } from "./axes.ts";
export type { Figures, Verdict } from "./figures.ts";
export { floorMap, type MapSubject, mapStudy, USUAL_MAP_STEPS } from "./floor-map.ts";
export {
  type Changes,
  type CheckedJson,
  changesOf,
  checkedJson,
  checkedLine,
  checkedOf,
  type FiguresJson,
  figuresJson,
  headerLine,
  type KeptResults,
  keptResults,
  RESULTS_VERSION,
  type ResultsHeader,
  rowLine,
  rowOf,
} from "./lines.ts";
export type { GridMap, MapMark, MapOutline } from "./map.ts";
export { byCompromise, paretoFront } from "./pareto.ts";
export { type Rewritten, rewriteCell, type TextChange } from "./rewrite.ts";
export { type CheckedLayout, createStudyRun, type StudyRow, type StudyRun } from "./run-study.ts";
export { standOf } from "./stand.ts";
export { MORE_IS_BETTER, OBJECTIVES, type Objective, type Study, USUAL_OBJECTIVES } from "./study.ts";
export { baseAxisFrom, DEFAULT_CHECKS, loadStudy, MOST_LAYOUTS } from "./study-file.ts";
export { type Improvement, objectiveValue, type Summary, summarise, toCheck } from "./summary.ts";
export { varyCell } from "./vary-cell.ts";
export { changeSentence, layoutText, objectiveNoun, objectiveText, valueText } from "./words.ts";
