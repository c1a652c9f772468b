/** Where devices may stand during a run, for all times in the stated ranges. */
export type { Stretch, Whereabouts } from "./device-track.ts";
export { REFUSALS, type Situation, WhereaboutsFollower } from "./follower.ts";
export { type RunWhereabouts, type Standing, stretchKey, whereaboutsOf } from "./whereabouts.ts";
