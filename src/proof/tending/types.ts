/** What the proof of a tending cell needs from outside, and what it takes for granted. */
import type { Seconds } from "../../math/units.ts";

/** A motion step as the motion floor and the clearance know it. */
export interface StepMotion {
  /** Over all places and loads with which it is run. */
  readonly shortest: Seconds;
  readonly longest: Seconds;
  /** Zones that arm, tool or held part are in at some time of the motion, and at its end. */
  readonly zones: readonly string[];
  readonly endZones: readonly string[];
}

/** A way in which the routine can come to a stand, by a number. */
export interface Ending {
  readonly number: number;
  readonly stepId: string;
  /** Shown where it stops; undefined: it waits, longer than anything sound can take, and nobody is told. */
  readonly message: string | undefined;
}
