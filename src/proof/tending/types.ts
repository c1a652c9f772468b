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

/** A place in the routine at which it may wait for ever. */
export interface Waiting {
  readonly location: string;
  readonly stepId: string;
  /** It must be over by then, in units of the network, measured by `clock`; undefined: only that it ends is asked. */
  readonly within: number | undefined;
  readonly clock: string;
}
