/**
 * The main job: a cell in, a verdict with numbers and findings out.
 *
 * Runs the entry routine for every part variant at nominal, fastest and slowest device times, and asks every engineering
 * subject about it. Not computed here: clearance between bodies, and the interlocks under faults, stops and restarts.
 */
import { buildArm, createInverse } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import { type Pace, simulate } from "../cycle/index.ts";
import type { MotionMemory } from "../motion/index.ts";
import { countPoints } from "../wiring/index.ts";
import { addPlaceFindings } from "./at-place.ts";
import { cycleReport, type VariantRuns } from "./cycle-report.ts";
import { FindingList } from "./findings.ts";
import {
  addGripFindings,
  addLoadFindings,
  addNothingRun,
  addPointFindings,
  addRateFindings,
  addReachFindings,
  addStandingCautions,
} from "./fixed-findings.ts";
import { gripReports } from "./grips.ts";
import { createMover } from "./mover.ts";
import { surveyLoads } from "./payload.ts";
import { reachReports } from "./reach.ts";
import { type CheckReport, SCHEMA_VERSION } from "./result.ts";
import { addRunFindings, addUnstatedLimits } from "./run-findings.ts";

export interface CheckOptions {
  /** Only these part variants; default: those of the production batches, else all parts. */
  readonly variants?: readonly string[];
  /** Motions planned by earlier checks, of this cell or another: those still wanted are not planned again. */
  readonly memory?: MotionMemory;
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
}

export type CheckOutcome = ({ readonly ok: true } & CheckResult) | { readonly ok: false; readonly reason: "cancelled" };

const PACES: readonly Pace[] = ["nominal", "slowest", "fastest"];

/** The part variants that a check runs: those produced in batches, else all. */
export function variantsOf(cell: Cell): string[] {
  const batches = (cell.production?.batches ?? []).map((batch) => batch.part);
  return [...new Set(batches.length > 0 ? batches : cell.parts.keys())];
}

/** Checks a whole cell. Deterministic; pure but for the callbacks. */
export function checkCell(cell: Cell, options: CheckOptions = {}): CheckOutcome {
  const arm = buildArm(cell.arm);
  const inverse = createInverse(arm);
  const mover = createMover(cell, arm, options.memory, inverse);
  const variants = options.variants ?? variantsOf(cell);
  const runs = new Map<string, VariantRuns>();
  const cancelled = options.cancelled ?? (() => false);
  let done = 0;
  for (const variant of variants) {
    const paces = {} as Record<Pace, VariantRuns[Pace]>;
    for (const pace of PACES) {
      // The first run plans the motions and takes nearly all of the time; the others find them remembered.
      const doing = `${variant}, ${pace} times`;
      const run = simulate(cell, mover, {
        variant,
        pace,
        cancelled,
        onProgress: (passes, of) =>
          options.onProgress?.((done + passes / Math.max(1, of)) / (variants.length * PACES.length), doing),
      });
      if (run.outcome === "cancelled") return { ok: false, reason: "cancelled" };
      paces[pace] = run;
      done++;
    }
    runs.set(variant, paces);
  }

  const nominal = [...runs.values()].map((r) => r.nominal);
  const findings = new FindingList(cell);
  const reach = variants.length === 0 ? [] : reachReports(cell, arm, variants, nominal, inverse);
  const grip = gripReports(cell, arm, nominal);
  const loads = surveyLoads(cell, arm, nominal);
  const signals = { ports: countPoints(cell) };
  const cycle = cycleReport(cell, runs);

  addNothingRun(variants, nominal, findings);
  addRunFindings(cell, runs, findings);
  for (const run of nominal) addPlaceFindings(cell, arm, run, findings);
  addReachFindings(cell, reach, runs, findings);
  addUnstatedLimits(cell, arm, findings);
  addLoadFindings(cell, loads, findings);
  addGripFindings(grip, findings);
  addPointFindings(signals, findings);
  addRateFindings(cell, cycle, findings);
  addStandingCautions(findings);

  const list = findings.sorted();
  const report: CheckReport = {
    schemaVersion: SCHEMA_VERSION,
    cell: cell.name,
    verdict: list.some((f) => f.severity === "error") ? "not feasible" : "feasible",
    findings: list.map(({ place, ...rest }) => ({ ...rest, ...place })),
    cycle,
    clearance: null,
    proof: null,
    joints: arm.jointNames.map((name, i) => ({ name, kind: arm.prismatic[i] === 1 ? "prismatic" : "revolute" })),
    reach,
    grip,
    payload: loads.report,
    signals,
  };
  return { ok: true, report, arm, runs };
}
