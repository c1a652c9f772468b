/** A study as it is run: what is varied, what is asked, how much is looked at closely. */
import type { Axis, Sampling } from "./axes.ts";

/** What layouts are compared by. */
export const OBJECTIVES = [
  "cycle time",
  "clearance",
  "arm clearance",
  "joint margin",
  "manipulability",
  "torque share",
] as const;
export type Objective = (typeof OBJECTIVES)[number];

/** Those that are compared by unless a study says otherwise. */
export const USUAL_OBJECTIVES: readonly Objective[] = ["cycle time", "arm clearance", "joint margin", "torque share"];

/** Whether more is better. */
export const MORE_IS_BETTER: Readonly<Record<Objective, boolean>> = {
  "cycle time": false,
  clearance: true,
  "arm clearance": true,
  "joint margin": true,
  manipulability: true,
  "torque share": false,
};

export interface Study {
  readonly title: string;
  readonly axes: readonly Axis[];
  readonly sampling: Sampling;
  /** At least one; the front is made of the layouts that none beats in all of them. */
  readonly objectives: readonly Objective[];
  /** Layouts with less do not come onto the front, m; undefined: any clearance does. */
  readonly leastClearance: number | undefined;
  /** Scene shapes that move with the base and grow with its height; undefined: those found under it. */
  readonly stand: readonly string[] | undefined;
  /** Most layouts of the front that are checked in full. */
  readonly checks: number;
  /** Part variants that are run; undefined: those that a check runs. */
  readonly variants: readonly string[] | undefined;
}
