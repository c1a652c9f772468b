/** What the parts of one simulation share. */
import type { Cell } from "../cell/model.ts";
import type { SignalBoard } from "./board.ts";
import type { ActivityLog } from "./log.ts";
import type { ProblemList, ProblemReport } from "./problems.ts";
import type { EventQueue } from "./queue.ts";
import type { Stock } from "./stock.ts";
import type { Pace } from "./types.ts";

export interface World {
  readonly cell: Cell;
  readonly variant: string;
  readonly pace: Pace;
  readonly scan: number;
  readonly queue: EventQueue;
  readonly log: ActivityLog;
  readonly board: SignalBoard;
  readonly stock: Stock;
  readonly problems: ProblemList;
  /** Pass of the outermost `each` that the arm is in. */
  pass(): number;
  /** The step that the arm is at. */
  step(): string | undefined;
}

export function report(world: World, problem: ProblemReport): void {
  world.problems.report(problem, world.queue.now);
}

/** A step that names nothing for the variant being run. */
export function reportUnresolved(world: World, stepId: string): void {
  report(world, {
    code: "no-name-for-variant",
    severity: "error",
    stepId,
    message: `The step names nothing for the part ${world.variant} and has no default; it is left out.`,
    mend: `Add a name for ${world.variant}, or a default.`,
  });
}
