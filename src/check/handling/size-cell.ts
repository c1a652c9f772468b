/** Only the handling of a cell: grips, loads and seating, with the findings about them. */
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/model.ts";
import type { MeshLibrary } from "../../clearance/index.ts";
import { simulate } from "../../cycle/index.ts";
import type { MotionMemory } from "../../motion/index.ts";
import { FindingList } from "../findings.ts";
import { addLoadFindings, addNothingRun } from "../fixed-findings.ts";
import { createMover } from "../mover.ts";
import { surveyLoads } from "../payload.ts";
import { type CheckReport, SCHEMA_VERSION } from "../result.ts";
import { variantsOf } from "../runs.ts";
import { addHandlingFindings, type SizedHandling, sizeHandling } from "./index.ts";

export interface SizeReport extends SizedHandling {
  readonly schemaVersion: number;
  readonly cell: string;
  readonly arm: {
    readonly ratedMass_kg: number | null;
    readonly ratedDistance_m: number | null;
  };
  readonly findings: CheckReport["findings"];
}

export interface SizeOptions {
  /** Only these part variants; default: those of the production batches, else all parts. */
  readonly variants?: readonly string[];
  /** Motions planned before, of this cell or another: those still wanted are not planned again. */
  readonly memory?: MotionMemory;
  readonly meshes?: MeshLibrary;
  /** Share of the work done, 0..1, and what is being done. */
  readonly onProgress?: (share: number, doing: string) => void;
}

/** Runs every part variant at nominal times and sizes what the gripper and arm are asked for. Deterministic. */
export function sizeCell(cell: Cell, options: SizeOptions = {}): SizeReport {
  const arm = buildArm(cell.arm);
  const mover = createMover(cell, arm, options.memory, undefined, options.meshes ? { meshes: options.meshes } : {});
  const variants = options.variants ?? variantsOf(cell);
  const runs = variants.map((variant, i) =>
    simulate(cell, mover, {
      variant,
      pace: "nominal",
      onProgress: (done, of) =>
        options.onProgress?.((0.9 * (i + done / Math.max(1, of))) / variants.length, `${variant}, nominal times`),
    }),
  );
  options.onProgress?.(0.9, "loads on grips and joints");
  const sized = sizeHandling(cell, arm, runs);
  const findings = new FindingList(cell);
  addNothingRun(variants, runs, findings);
  const failed = new Set(
    runs.flatMap(({ moves }) => moves.flatMap(({ outcome, steps }) => (outcome.ok ? [] : [steps[outcome.step]!.id]))),
  );
  if (failed.size > 0)
    findings.add(
      "size-incomplete",
      "error",
      ["routines"],
      `some motions cannot be done, so what they would ask of grips and joints is not counted: ${[...failed].join(", ")}`,
      "Run `millhand check` and mend what it says about these steps.",
    );
  addLoadFindings(cell, surveyLoads(cell, arm, runs), findings);
  addHandlingFindings(cell, sized, findings);
  const rated = cell.arm.ratedLoad;
  return {
    schemaVersion: SCHEMA_VERSION,
    cell: cell.name,
    arm: { ratedMass_kg: rated?.mass ?? null, ratedDistance_m: rated?.distance ?? null },
    findings: findings.sorted().map(({ place, ...rest }) => ({ ...rest, ...place })),
    ...sized,
  };
}
