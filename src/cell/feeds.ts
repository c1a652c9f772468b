/**
 * What holders start with and what comes and goes by them, as the routines use them.
 *
 * - A nest that the routines only take from is an infeed, filled again at once from outside; one that they only free into
 *   (and no process works in) is an outfeed, emptied before the next part comes.
 * - A holder from which the same step takes parts whichever variant is run is filled with the variant being run, though the
 *   file can state one part only. Where the step names another holder for each variant, what the file states is kept.
 */
import { processesOf } from "./equipment.ts";
import type { Cell } from "./model.ts";
import { stepsOf } from "./step-walk.ts";
import type { ByVariant } from "./steps.ts";

export interface Feeds {
  readonly infeeds: ReadonlySet<string>;
  readonly outfeeds: ReadonlySet<string>;
  /** Where parts rest for good: trays, and nests that nothing is taken from. */
  readonly outlets: ReadonlySet<string>;
  /** Where parts come from: trays and infeeds. */
  readonly sources: ReadonlySet<string>;
  /** What each holder has at the start; no entry: nothing. */
  readonly starts: ReadonlyMap<string, Start>;
}

interface Start {
  readonly part: string;
  readonly stage: string;
}

export function feedsOf(cell: Cell, variant: string): Feeds {
  const taken = new Set<string>();
  const given = new Set<string>();
  const shared = new Set<string>();
  const resolve = (name: ByVariant, part: string) => name.variants.get(part) ?? name.default;
  const note = (set: Set<string>, name: ByVariant) => {
    const holder = resolve(name, variant);
    if (holder !== undefined) set.add(holder);
  };
  for (const step of stepsOf(cell)) {
    if (step.kind === "hold") {
      note(taken, step.from);
      for (const holder of cell.holders.values()) {
        const stated = holder.start?.part;
        if (
          stated !== undefined &&
          resolve(step.from, variant) === holder.name &&
          resolve(step.from, stated) === holder.name
        )
          shared.add(holder.name);
      }
    } else if (step.kind === "free") note(given, step.into);
  }
  const worked = new Set(processesOf(cell).map(({ holder }) => holder));
  const nests = [...cell.holders.values()].filter((h) => h.kind === "nest" && !worked.has(h.name));
  const starts = new Map<string, Start>();
  const stages = cell.parts.get(variant)?.stages ?? [];
  for (const { name, start } of cell.holders.values()) {
    if (start === undefined) continue;
    const stage = stages.find((s) => s.name === start.stage) ?? stages[0];
    starts.set(name, shared.has(name) && stage !== undefined ? { part: variant, stage: stage.name } : start);
  }
  const trays = [...cell.holders.values()].filter((h) => h.kind === "tray").map((h) => h.name);
  const stands = [...cell.holders.values()].filter((h) => h.kind === "nest" && !taken.has(h.name)).map((h) => h.name);
  const infeeds = nests
    .filter((h) => h.start !== undefined && taken.has(h.name) && !given.has(h.name))
    .map((h) => h.name);
  return {
    starts,
    outlets: new Set([...trays, ...stands]),
    sources: new Set([...trays, ...infeeds]),
    infeeds: new Set(infeeds),
    outfeeds: new Set(nests.filter((h) => given.has(h.name) && !taken.has(h.name)).map((h) => h.name)),
  };
}
