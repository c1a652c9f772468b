/** Holding, carrying and seating parts in a cell: everything that is sized from its runs. */
import type { Arm } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";
import type { CycleRun } from "../../cycle/index.ts";
import type { MotionFailure } from "../../motion/index.ts";
import type { GripReport } from "../result.ts";
import { gripReports } from "./grip-report.ts";
import { surveyGrips } from "./grip-survey.ts";
import { loadCases } from "./load-cases.ts";
import type { LoadCaseReport, SeatingReport } from "./report.ts";
import { seatingReports } from "./seating.ts";

export { addHandlingFindings } from "./findings.ts";

export interface SizedHandling {
  readonly grip: readonly GripReport[];
  /** Empty when the tool's mass is not stated. */
  readonly loads: readonly LoadCaseReport[];
  readonly seating: readonly SeatingReport[];
}

/** @param runs of every part variant, at one pace */
export function sizeHandling(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): SizedHandling {
  return {
    grip: gripReports(cell, surveyGrips(cell, arm, runs)),
    loads: loadCases(cell, arm, runs),
    seating: seatingReports(cell, arm, runs),
  };
}
