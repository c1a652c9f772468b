/** Where devices may stand during a run, for all times in the stated ranges. */
export type { Stretch, Whereabouts } from "./device-track.ts";
export { type RunWhereabouts, type Situation, type Standing, stretchKey, whereaboutsOf } from "./whereabouts.ts";
