/**
 * Inverse kinematics: every joint position that brings the flange to a pose. Closed forms where the arm's geometry has one
 * (found from the axes themselves), a complete elimination for any other arm of six turning joints, a numeric search else.
 */
export { createInverse } from "./create.ts";
export { nearestSolution, withinLimits } from "./limits.ts";
export { type NumericInverseOptions, type NumericInverseResult, numericInverse } from "./numeric.ts";
export type { InverseKinematics, InverseResult } from "./result.ts";
