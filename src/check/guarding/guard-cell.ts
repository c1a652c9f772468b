/** `millhand guard`: the routine run and measured, then everything that guarding computes, with what lower speeds cost. */
import { buildArm, createInverse } from "../../arm/index.ts";
import type { Finding } from "../../cell/finding.ts";
import type { Cell } from "../../cell/index.ts";
import type { MeshLibrary } from "../../clearance/index.ts";
import { MotionMemory } from "../../motion/index.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { surveyClearance } from "../clearance/survey.ts";
import { FindingList } from "../findings.ts";
import { createMover } from "../mover.ts";
import { addRunFindings } from "../run-findings.ts";
import { allPaces, runVariants, variantsOf } from "../runs.ts";
import { addGuardFindings } from "./findings.ts";
import { guardRuns } from "./guard-runs.ts";
import type { GuardReport } from "./report.ts";

export interface GuardOptions {
  readonly meshes?: MeshLibrary;
  readonly onProgress?: (share: number, doing: string) => void;
  readonly cancelled?: () => boolean;
}

export type GuardOutcome =
  | { readonly ok: true; readonly report: GuardReport; readonly findings: readonly Finding[] }
  | { readonly ok: false; readonly reason: "cancelled" };

/** Shares of the work done after simulating and after the clearances. */
const SIMULATED = 0.4;
const MEASURED = 0.7;

/** Guarding of a whole cell. Deterministic; pure but for the callbacks. */
export function guardCell(cell: Cell, options: GuardOptions = {}): GuardOutcome {
  const arm = buildArm(cell.arm);
  const inverse = createInverse(arm);
  const memory = new MotionMemory();
  const clearanceMemory = new ClearanceMemory();
  const cancelled = options.cancelled ?? (() => false);
  const routes = { memory: clearanceMemory, cancelled, ...(options.meshes && { meshes: options.meshes }) };
  const mover = createMover(cell, arm, memory, inverse, routes);
  const runs = runVariants(cell, mover, variantsOf(cell), cancelled, (share, doing) =>
    options.onProgress?.(SIMULATED * share, doing),
  );
  if (runs === undefined) return { ok: false, reason: "cancelled" };
  const clearance = surveyClearance(cell, arm, allPaces(runs), {
    ...(options.meshes && { meshes: options.meshes }),
    memory: clearanceMemory,
    cancelled,
    onProgress: (share) => options.onProgress?.(SIMULATED + (MEASURED - SIMULATED) * share, "clearance"),
  });
  if (clearance === undefined || cancelled()) return { ok: false, reason: "cancelled" };
  options.onProgress?.(MEASURED, "guarding");
  const nominal = [...runs.values()].map((r) => r.nominal);
  const result = guardRuns(cell, arm, nominal, clearance, () => createMover(cell, arm, memory, inverse, routes));
  const findings = new FindingList(cell);
  addRunFindings(cell, runs, findings);
  addGuardFindings(cell, result, findings);
  return { ok: true, report: result.report, findings: findings.sorted() };
}
