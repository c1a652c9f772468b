/** The routine simulated for every part variant at nominal, slowest and fastest device times. */
import type { Cell } from "../cell/model.ts";
import { type Mover, type Pace, simulate } from "../cycle/index.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { VariantRuns } from "./cycle-report.ts";

const PACES: readonly Pace[] = ["nominal", "slowest", "fastest"];

/** The part variants that a check runs: those produced in batches, else all. */
export function variantsOf(cell: Cell): string[] {
  const batches = (cell.production?.batches ?? []).map((batch) => batch.part);
  return [...new Set(batches.length > 0 ? batches : cell.parts.keys())];
}

/** The runs of each part variant, the nominal one first. */
export const allPaces = (runs: ReadonlyMap<string, VariantRuns>) =>
  Array.from(runs.values(), ({ nominal, slowest, fastest }) => [nominal, slowest, fastest] as const);

/** @returns undefined when cancelled */
export function runVariants(
  cell: Cell,
  mover: Mover<MotionFailure>,
  variants: readonly string[],
  cancelled: () => boolean,
  onProgress: (share: number, doing: string) => void,
): Map<string, VariantRuns> | undefined {
  const runs = new Map<string, VariantRuns>();
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
          onProgress((done + passes / Math.max(1, of)) / (variants.length * PACES.length), doing),
      });
      if (run.outcome === "cancelled") return undefined;
      paces[pace] = run;
      done++;
    }
    runs.set(variant, paces);
  }
  return runs;
}
