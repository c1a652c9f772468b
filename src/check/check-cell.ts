/**
 * The main job: a cell in, a verdict with numbers and findings out.
 *
 * Runs the entry routine for every part variant at nominal, fastest and slowest device times, and asks every engineering
 * subject about it: clearance along all motions and the proof of the interlocks among them.
 */
import { buildArm, createInverse } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import type { MeshLibrary } from "../clearance/index.ts";
import type { MotionMemory } from "../motion/index.ts";
import { surveyWiring } from "../wiring/index.ts";
import { addPlaceFindings } from "./at-place.ts";
import { addClearanceFindings } from "./clearance/findings.ts";
import { ClearanceMemory } from "./clearance/memory.ts";
import { sceneOf } from "./clearance/picture.ts";
import { clearanceReport, nearestOf } from "./clearance/report.ts";
import type { ClearanceScene } from "./clearance/scene.ts";
import { type Survey, surveyClearance } from "./clearance/survey.ts";
import { cycleReport, type VariantRuns } from "./cycle-report.ts";
import { FindingList } from "./findings.ts";
import {
  addLoadFindings,
  addNothingRun,
  addRateFindings,
  addReachFindings,
  addStandingCautions,
} from "./fixed-findings.ts";
import { addGuardFindings } from "./guarding/findings.ts";
import { guardRuns } from "./guarding/guard-runs.ts";
import { addHandlingFindings, sizeHandling } from "./handling/index.ts";
import { createMover } from "./mover.ts";
import { surveyLoads } from "./payload.ts";
import { addProductionFindings } from "./production/findings.ts";
import { productionReport } from "./production/report.ts";
import { addProofFindings } from "./proof/findings.ts";
import { type ProofDepth, proveRuns } from "./proof/prove-runs.ts";
import { proofReport } from "./proof/report.ts";
import { reachReports } from "./reach.ts";
import { type CheckReport, SCHEMA_VERSION } from "./result.ts";
import { createRetreatAdvice } from "./route/retreat-advice.ts";
import { addRunFindings, addUnstatedLimits } from "./run-findings.ts";
import { allPaces, runVariants, variantsOf } from "./runs.ts";
import { addWiringFindings, signalReport } from "./wiring.ts";

export interface CheckOptions {
  /** Only these part variants; default: those of the production batches, else all parts. */
  readonly variants?: readonly string[];
  /** Motions planned by earlier checks, of this cell or another: those still wanted are not planned again. */
  readonly memory?: MotionMemory;
  /** Clearances measured by earlier checks, together with `memory`: those still wanted are not measured again. */
  readonly clearanceMemory?: ClearanceMemory;
  /** Meshes of the files that the cell names; shapes whose file it lacks are not considered. */
  readonly meshes?: MeshLibrary;
  /** How much of the interlock proof is done: without faults (default), with all faults too, or none. */
  readonly proof?: ProofDepth;
  /** Most memory for the states of the proof, bytes; default 1 GiB. */
  readonly proofMemory?: number;
  /** Share of the work done, 0..1, and what is being done. */
  readonly onProgress?: (share: number, doing: string) => void;
  /** Asked now and then; true ends the check. */
  readonly cancelled?: () => boolean;
}

export interface CheckResult {
  readonly report: CheckReport;
  readonly arm: Arm;
  /** The simulated runs, by part variant. */
  readonly runs: ReadonlyMap<string, VariantRuns>;
  readonly clearance: Survey;
  /** The bodies at the moment of the least clearance of a step, or of the whole routine; undefined when nothing came near. */
  picture(step?: string): ClearanceScene | undefined;
}

export type CheckOutcome = ({ readonly ok: true } & CheckResult) | { readonly ok: false; readonly reason: "cancelled" };

/** Shares of the work done after planning and simulating, and after the clearances. */
const SIMULATED = 0.65;
const MEASURED = 0.95;

/** Checks a whole cell. Deterministic; pure but for the callbacks. */
export function checkCell(cell: Cell, options: CheckOptions = {}): CheckOutcome {
  const arm = buildArm(cell.arm);
  const inverse = createInverse(arm);
  const clearanceMemory = options.clearanceMemory ?? new ClearanceMemory();
  const cancelled = options.cancelled ?? (() => false);
  const mover = createMover(cell, arm, options.memory, inverse, {
    memory: clearanceMemory,
    cancelled,
    ...(options.meshes && { meshes: options.meshes }),
  });
  const variants = options.variants ?? variantsOf(cell);
  const runs = runVariants(cell, mover, variants, cancelled, (share, doing) =>
    options.onProgress?.(SIMULATED * share, doing),
  );
  if (runs === undefined) return { ok: false, reason: "cancelled" };

  const paces = allPaces(runs);
  const clearance = surveyClearance(cell, arm, paces, {
    ...(options.meshes && { meshes: options.meshes }),
    memory: clearanceMemory,
    cancelled,
    onProgress: (share) => options.onProgress?.(SIMULATED + (MEASURED - SIMULATED) * share, "clearance"),
  });
  if (clearance === undefined) return { ok: false, reason: "cancelled" };

  const depth = options.proof ?? "nominal";
  const proof =
    depth === "none"
      ? undefined
      : proveRuns(cell, arm, runs, {
          ...(options.meshes && { meshes: options.meshes }),
          ...(options.proofMemory === undefined ? {} : { memory: options.proofMemory }),
          ...(depth === "all" ? {} : { faults: [] }),
          builder: clearance.builder,
          cancelled,
          onProgress: (share, doing) => options.onProgress?.(MEASURED + (1 - MEASURED) * share, `proof: ${doing}`),
        });
  if (cancelled()) return { ok: false, reason: "cancelled" };

  const nominal = [...runs.values()].map((r) => r.nominal);
  const findings = new FindingList(cell);
  const reach = variants.length === 0 ? [] : reachReports(cell, arm, variants, nominal, inverse);
  const sized = sizeHandling(cell, arm, nominal);
  const loads = surveyLoads(cell, arm, nominal);
  const wiring = surveyWiring(cell);
  const cycle = cycleReport(cell, runs);
  const guard = cell.guarding === undefined ? undefined : guardRuns(cell, arm, nominal, clearance);

  addNothingRun(variants, nominal, findings);
  addRunFindings(cell, runs, findings);
  for (const run of nominal) addPlaceFindings(cell, arm, run, findings);
  addReachFindings(cell, reach, runs, findings);
  const advice = createRetreatAdvice(cell, arm, paces.flat(), clearance.builder, clearanceMemory);
  addClearanceFindings(cell, clearance, findings, advice);
  if (proof !== undefined) addProofFindings(cell, proof, [...runs.values()], findings);
  addUnstatedLimits(cell, arm, findings);
  addLoadFindings(cell, loads, findings);
  addHandlingFindings(cell, sized, findings);
  addWiringFindings(wiring, findings);
  addRateFindings(cell, cycle, findings);
  const timed = runs.get(cycle?.variant ?? "");
  const production = timed === undefined ? null : productionReport(cell, timed);
  addProductionFindings(cell, production, findings);
  if (guard !== undefined) addGuardFindings(cell, guard, findings);
  addStandingCautions(findings, depth);

  const list = findings.sorted();
  const report: CheckReport = {
    schemaVersion: SCHEMA_VERSION,
    cell: cell.name,
    verdict: list.some((f) => f.severity === "error") ? "not feasible" : "feasible",
    findings: list.map(({ place, ...rest }) => ({ ...rest, ...place })),
    cycle,
    clearance: clearanceReport(cell, clearance),
    proof: proof === undefined ? null : proofReport(proof, depth === "all"),
    joints: arm.jointNames.map((name, i) => ({ name, kind: arm.prismatic[i] === 1 ? "prismatic" : "revolute" })),
    reach,
    grip: sized.grip,
    payload: loads.report && { ...loads.report, loads: sized.loads },
    seating: sized.seating,
    signals: signalReport(cell, wiring),
    guarding: guard?.report ?? null,
    production,
  };
  const picture = (step?: string) => {
    const seen = step === undefined ? nearestOf(clearance) : clearance.steps.find((s) => s.step.id === step)?.nearest;
    return seen && sceneOf(cell, arm, clearance, seen);
  };
  return { ok: true, report, arm, runs, clearance, picture };
}
