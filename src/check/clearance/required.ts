/** The least distance wanted in a motion. */
import type { Cell } from "../../cell/model.ts";
import type { GoStep, PressStep } from "../../cell/steps.ts";

/** Least distance that every motion keeps unless the cell or the step says otherwise, m. */
const DEFAULT_CLEARANCE = 0.01;

export function requiredClearance(cell: Cell, step?: GoStep | PressStep): number {
  return step?.clearance ?? cell.motion.clearance ?? DEFAULT_CLEARANCE;
}
