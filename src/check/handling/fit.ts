/** A part against the bore of its place, with the deviations between them. */
import type { Cell } from "../../cell/model.ts";
import {
  clearanceRatio,
  type Deviation,
  type EntrySizes,
  entryLimits,
  sharesOf,
  stackCase,
  tryEntries,
  twoPointTilt,
  wedgingDepth,
} from "../../handling/index.ts";
import type { FitReport } from "./report.ts";

const USUAL_INSERTIONS = 1_000_000;
const USUAL_SEED = 1;
/** What usually adds up between a part and its place, by the names used in a cell file. */
const USUAL_DEVIATIONS = ["tray", "jaws", "tcp", "frame"] as const;

export type PlaceFit =
  | {
      readonly ok: true;
      readonly sizes: EntrySizes;
      readonly depth: number | undefined;
      readonly partFrom: "fit" | "shape";
      readonly unstatedChamfers: boolean;
      readonly unstatedTolerances: readonly string[];
    }
  | { readonly ok: false; readonly why: string };

/** Sizes of a part and of the place that it goes into. */
export function placeFit(cell: Cell, holder: string, partName: string): PlaceFit {
  const fit = cell.handling?.fits.get(holder);
  if (fit === undefined)
    return { ok: false, why: "no fit is stated under handling, so whether the part enters is unknowable" };
  const part = cell.parts.get(partName);
  const shape = part?.shape;
  const round = shape !== undefined && shape.kind === "cylinder" && Math.abs(part!.partFromShape[10]!) > 1 - 1e-6;
  const diameter = fit.diameter ?? (round ? 2 * shape.radius : undefined);
  if (diameter === undefined)
    return {
      ok: false,
      why: `the diameter of ${partName} where it enters is not stated and its shape is no cylinder along its z axis, so whether it enters is unknowable`,
    };
  return {
    ok: true,
    depth: fit.depth,
    partFrom: fit.diameter === undefined ? "shape" : "fit",
    unstatedChamfers: fit.chamfer === undefined && fit.partChamfer === undefined,
    unstatedTolerances: [
      ...(fit.tolerance === undefined ? ["bore"] : []),
      ...(part!.tolerance === undefined ? ["part"] : []),
    ],
    sizes: {
      hole: fit.bore,
      part: diameter,
      holeTolerance: fit.tolerance ?? 0,
      partTolerance: part!.tolerance ?? 0,
      distribution: "normal",
      holeChamfer: fit.chamfer ?? 0,
      partChamfer: fit.partChamfer ?? 0,
      friction: fit.friction,
    },
  };
}

/** The arm's repeatability and the stated deviations that act in a holder. */
export function deviationsAt(cell: Cell, holder: string): Deviation[] {
  const out: Deviation[] = [];
  const { repeatability } = cell.arm;
  // RP is the mean distance plus three standard deviations (ISO 9283): taken whole in each direction, which is on the safe side.
  if (repeatability !== undefined) out.push({ name: "arm", within: repeatability, tilt: 0, distribution: "normal" });
  for (const [name, { within, tilt, distribution, at }] of cell.handling?.deviations ?? [])
    if (at.length === 0 || at.includes(holder)) out.push({ name, within, tilt, distribution });
  return out;
}

/** Usual deviations that the cell says nothing about. */
export function missingDeviations(cell: Cell, holder: string): string[] {
  const stated = new Set(deviationsAt(cell, holder).map(({ name }) => name));
  return ["arm", ...USUAL_DEVIATIONS].filter((name) => !stated.has(name));
}

export function fitReport(cell: Cell, holder: string, { sizes, depth, partFrom }: PlaceFit & { ok: true }): FitReport {
  const deviations = deviationsAt(cell, holder);
  const limits = entryLimits(sizes, "nominal");
  const shares = sharesOf(deviations, "within");
  const { handling } = cell;
  const trial = tryEntries(sizes, deviations, handling?.insertions ?? USUAL_INSERTIONS, handling?.seed ?? USUAL_SEED);
  const caseOf = (by: "worst case" | "root sum square") => {
    const { lateral, tilt, enters } = stackCase(sizes, deviations, by);
    return { lateral_m: lateral, tilt_rad: tilt, enters };
  };
  return {
    bore_m: sizes.hole,
    part_m: sizes.part,
    partFrom,
    clearanceRatio: clearanceRatio(sizes.hole, sizes.part),
    lateral_m: limits.lateral,
    tilt_rad: limits.tilt,
    wedgingTilt_rad: limits.wedging ?? null,
    wedgingDepth_m: sizes.friction === undefined ? null : wedgingDepth(sizes.part, sizes.friction),
    twoPointTilt_rad: depth === undefined ? null : (twoPointTilt(sizes.hole, sizes.part, depth) ?? null),
    deviations: deviations.map(({ name, within, tilt, distribution }, i) => ({
      name,
      within_m: within,
      tilt_rad: tilt,
      distribution,
      share: shares[i]!,
    })),
    missing: missingDeviations(cell, holder),
    worstCase: caseOf("worst case"),
    rootSumSquare: caseOf("root sum square"),
    trial: {
      insertions: trial.insertions,
      seed: trial.seed,
      enters: trial.enters,
      clean: trial.clean,
      mayWedge: trial.mayWedge ?? null,
      standardError: trial.error,
    },
  };
}
