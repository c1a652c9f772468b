/** All steps of routines, with those inside `each` and `when`. */
import type { Cell } from "./model.ts";
import type { Step } from "./steps.ts";

/** Every step of a list with those inside `each` and `when`, in the order of the file. */
export function* stepsWithin(steps: readonly Step[]): Generator<Step> {
  for (const step of steps) {
    yield step;
    if (step.kind === "each") yield* stepsWithin(step.steps);
    if (step.kind === "when") {
      yield* stepsWithin(step.then);
      yield* stepsWithin(step.otherwise);
    }
  }
}

/** Every step of a cell, routine by routine. */
export function* stepsOf({ routines }: Pick<Cell, "routines">): Generator<Step> {
  for (const { steps } of routines.values()) yield* stepsWithin(steps);
}

/** The step with an id, wherever it is. */
export function stepOf(cell: Pick<Cell, "routines">, id: string): Step | undefined {
  for (const step of stepsOf(cell)) if (step.id === id) return step;
  return undefined;
}

/** Every step of a cell by its id, which is unique. */
export const stepsById = (cell: Pick<Cell, "routines">): Map<string, Step> =>
  new Map(Array.from(stepsOf(cell), (step) => [step.id, step]));
