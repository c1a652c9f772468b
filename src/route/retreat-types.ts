/** Straight ways out of a machine: what is asked for and what comes out. */

import type { Pose } from "../math/pose.ts";
import type { Metres } from "../math/units.ts";

export interface RetreatRequest {
  /** Joint values at the part: in the chuck, over the tray. */
  readonly inside: Float64Array;
  readonly flangeFromTool: Pose;
  /** Bodies of the scene that the tool is to be drawn out of: the chuck and its jaws, or the whole enclosure. */
  readonly from: readonly number[];
  /** Directions to try first, base axes, any length above 0: the normal of an opening, axes of the place. */
  readonly directions?: readonly (readonly [number, number, number])[];
  /** How many directions spread over the half space away from the tool's z axis are tried too; default 32. */
  readonly samples?: number;
  /** Distance that the tool is to have from what it was drawn out of, m; default 0.02. */
  readonly free?: Metres;
  /** Longest stroke, m; default 1. */
  readonly longest?: Metres;
}

/** A straight way out, tool keeping its orientation. Backwards it is the approach. */
export interface Retreat {
  /** Unit vector, base axes. */
  readonly direction: readonly [number, number, number];
  /** Way of the tool, m. */
  readonly stroke: Metres;
  /** Joint values at the end: the retreat pose, and the pose to approach from. */
  readonly outside: Float64Array;
  readonly baseFromTool: Pose;
  /** Joint values from the part outwards, straight in joint space in between, certified clear over the whole length. */
  readonly path: readonly Float64Array[];
  /** Upper bound of how far the tool centre point leaves the straight line between these, m. */
  readonly deviation: Metres;
  /** Lower bound of the least distance along the way of the scene's pairs that joints move against each other, m; at least the margin. */
  readonly clearance: Metres;
}

export type RetreatOutcome =
  | {
      readonly ok: true;
      /**
       * First those that no other one beats in both stroke and clearance, shortest first; then the others, shortest first.
       */
      readonly retreats: readonly Retreat[];
      readonly tried: number;
    }
  | {
      readonly ok: false;
      readonly reason: "inside outside limits" | "inside not clear" | "no straight way";
      readonly message: string;
      /** The pair that is not clear at the part. */
      readonly pair?: readonly [number, number];
      readonly tried: number;
    };
