/**
 * Route floor: clear routes of an arm through a scene, certified over their whole length.
 *
 * Computed: a short route from a start to one of several goals, straight in joint space between corners; whether none exists.
 * Model: rigid bodies; slides may stand anywhere on their way at any time. Not computed: speeds and times (motion floor).
 */
export { suggestRetreats } from "./retreat.ts";
export type { Retreat, RetreatOutcome, RetreatRequest } from "./retreat-types.ts";
export { createRouter, findRoute } from "./router.ts";
export type { RouteOutcome, RouteRequest, Router, RouteScene } from "./types.ts";
