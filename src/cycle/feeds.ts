/**
 * Nests that parts come from or leave by: a nest that the routines only take from is an infeed, filled again at once from
 * outside; one that they only free into (and no process works in) is an outfeed, emptied before the next part comes.
 */
import type { Cell } from "../cell/model.ts";
import type { ByVariant, Step } from "../cell/steps.ts";

export interface Feeds {
  readonly infeeds: ReadonlySet<string>;
  readonly outfeeds: ReadonlySet<string>;
}

export function feedsOf(cell: Cell, variant: string): Feeds {
  const taken = new Set<string>();
  const given = new Set<string>();
  const note = (set: Set<string>, name: ByVariant) => {
    const holder = name.variants.get(variant) ?? name.default;
    if (holder !== undefined) set.add(holder);
  };
  const visit = (steps: readonly Step[]): void => {
    for (const step of steps) {
      if (step.kind === "hold") note(taken, step.from);
      else if (step.kind === "free") note(given, step.into);
      else if (step.kind === "each") visit(step.steps);
      else if (step.kind === "when") {
        visit(step.then);
        visit(step.otherwise);
      }
    }
  };
  for (const routine of cell.routines.values()) visit(routine.steps);
  const worked = new Set([...cell.machines.values()].flatMap((m) => m.processes.map((p) => p.holder)));
  const nests = [...cell.holders.values()].filter((h) => h.kind === "nest" && !worked.has(h.name));
  return {
    infeeds: new Set(
      nests.filter((h) => h.start !== undefined && taken.has(h.name) && !given.has(h.name)).map((h) => h.name),
    ),
    outfeeds: new Set(nests.filter((h) => given.has(h.name) && !taken.has(h.name)).map((h) => h.name)),
  };
}
