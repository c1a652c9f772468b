/** The interlock proof of a cell whose routine has been simulated: the runs tell how long its motions take and where they lead. */
import type { Arm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { type Proof, type ProofOptions, proveCell } from "../../proof/index.ts";
import type { VariantRuns } from "../cycle-report.ts";
import { type StepMotionOptions, stepMotions } from "./step-motions.ts";

/** Without faults; with every fault that the cell can have too; or not at all. */
export type ProofDepth = "nominal" | "all" | "none";

/** `memory` is that of the proof, bytes. */
export interface ProveOptions extends Omit<ProofOptions, "variants">, Pick<StepMotionOptions, "meshes" | "builder"> {}

export function proveRuns(
  cell: Cell,
  arm: Arm,
  runs: ReadonlyMap<string, VariantRuns>,
  { meshes, builder, ...options }: ProveOptions,
): Proof {
  const variants = stepMotions(cell, arm, runs, { ...(meshes && { meshes }), ...(builder && { builder }) });
  return proveCell(cell, { ...options, variants });
}
