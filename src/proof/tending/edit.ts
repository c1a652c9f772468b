/** Routines changed by one step, to try a mend. */
import type { Cell } from "../../cell/model.ts";
import type { Routine, Step } from "../../cell/steps.ts";

/** The step before one in the same list. */
export function stepBefore(cell: Cell, id: string): Step | undefined {
  let before: Step | undefined;
  changed(cell, (steps) => {
    const index = steps.findIndex((step) => step.id === id);
    if (index > 0) before = steps[index - 1];
    return steps;
  });
  return before;
}

/** The same cell with another step in the place of one. */
export const replaced = (cell: Cell, id: string, step: Step): Cell =>
  changed(cell, (steps) => steps.map((s) => (s.id === id ? step : s)));

/** The same cell with a step added before one; its id is made from that one's. */
export const insertedBefore = (cell: Cell, id: string, step: Step): Cell =>
  changed(cell, (steps) => {
    const index = steps.findIndex((s) => s.id === id);
    return index < 0 ? steps : [...steps.slice(0, index), step, ...steps.slice(index)];
  });

function changed(cell: Cell, change: (steps: readonly Step[]) => readonly Step[]): Cell {
  const inside = (steps: readonly Step[]): readonly Step[] =>
    change(
      steps.map((step) => {
        if (step.kind === "each") return { ...step, steps: inside(step.steps) };
        // biome-ignore lint/suspicious/noThenProperty: the step's own word
        if (step.kind === "when") return { ...step, then: inside(step.then), otherwise: inside(step.otherwise) };
        return step;
      }),
    );
  const routines = new Map<string, Routine>();
  for (const [name, routine] of cell.routines) routines.set(name, { ...routine, steps: inside(routine.steps) });
  return { ...cell, routines, locate: (path) => cell.locate(path) };
}
