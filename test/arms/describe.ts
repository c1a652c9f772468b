/** Arm descriptions for tests, from short tables. */
import type { ArmDescription, InertiaDescription } from "../../src/cell/arm-description.ts";
import { type DhConvention, jointsFromDh } from "../../src/cell/dh.ts";
import { reframeInertia } from "../../src/cell/reframe.ts";

export interface TableRow {
  readonly a: number;
  readonly alpha: number;
  readonly d: number;
  readonly theta?: number;
  readonly kind?: "revolute" | "prismatic";
  /** In the DH frame of the row's link. */
  readonly inertia?: InertiaDescription;
  readonly motorInertia?: number;
}

/** A description without limits from a DH table; link data in DH link frames. */
export function describeDh(
  name: string,
  table: readonly TableRow[],
  convention: DhConvention = "standard",
): ArmDescription {
  const rows = table.map((row) => ({
    kind: row.kind ?? ("revolute" as const),
    a: row.a,
    alpha: row.alpha,
    d: row.d,
    theta: row.theta ?? 0,
  }));
  const placement = jointsFromDh(rows, convention);
  const free = Number.POSITIVE_INFINITY;
  return {
    name,
    joints: placement.joints.map((joint, i) => ({
      ...joint,
      name: `J${i + 1}`,
      min: -free,
      max: free,
      velocity: free,
      acceleration: free,
      jerk: free,
      torque: free,
      motorInertia: table[i]!.motorInertia ?? 0,
    })),
    links: [
      { name: "base", shapes: [] },
      ...table.map((row, i) => ({
        name: `L${i + 1}`,
        shapes: [],
        ...(row.inertia && { inertia: reframeInertia(row.inertia, placement.ownerFromDh[i + 1]!) }),
      })),
    ],
    lastFromFlange: placement.lastFromFlange,
    toolSpeed: free,
    toolAcceleration: free,
    toolJerk: free,
    toolTurnSpeed: free,
    toolTurnAcceleration: free,
  };
}
