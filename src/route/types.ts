/** Found routes: what is asked for, what comes out, and why there is none. */
import type { Arm } from "../arm/model.ts";
import type { Slide, SweptBody } from "../clearance/swept/types.ts";
import type { Metres } from "../math/units.ts";

/** Everything that a route must keep clear of. */
export interface RouteScene {
  readonly arm: Arm;
  readonly bodies: readonly SweptBody[];
  readonly slides: readonly Slide[];
  /** Pairs of indices into `bodies`. */
  readonly pairs: readonly (readonly [number, number])[];
  /** Distance that every pair keeps along the whole route, m, at least 0; 0: they do not overlap. */
  readonly margin: Metres;
  /** Per joint how much a unit of it counts in the length of a route, > 0; default 1 for each. */
  readonly weights?: ArrayLike<number>;
}

export interface RouteRequest {
  readonly start: Float64Array;
  /** Any of these will do (inverse-kinematic branches, a free turn); at least one. */
  readonly goals: readonly Float64Array[];
  /** Same seed, same request: same route. */
  readonly seed: number;
  /** Most work before giving up, in states looked at; default 2,000,000. */
  readonly states?: number;
  /** Work put into a shorter route once one is found, in states looked at; default 6,500, within `states`. */
  readonly polish?: number;
  /**
   * Room above the margin that the search keeps where it can, m; default 0.001. At most a quarter of what start and goals
   * have, and given up where no route is found with it. What a route has in the end is told by `clearance`.
   */
  readonly room?: Metres;
  readonly cancelled?: () => boolean;
}

export type RouteOutcome =
  | {
      readonly ok: true;
      /** Joint values at the corners, start and goal included; straight in joint space between them, certified over the whole length. */
      readonly path: readonly Float64Array[];
      /** Index of the goal reached. */
      readonly goal: number;
      /** Euclidean length in joint space, rad (m for joints that slide), with the scene's weights. */
      readonly length: number;
      /** Lower bound of the least distance of any pair along the route, m; at least the margin. */
      readonly clearance: Metres;
      readonly states: number;
    }
  | {
      readonly ok: false;
      readonly reason:
        | "start outside limits"
        | "goal outside limits"
        | "start not clear"
        | "goal not clear"
        /** Proved: no route exists. */
        | "no way"
        /** Not found in the budget; one may exist. */
        | "not found"
        | "cancelled";
      /** With numbers and units; for "no way" what proves it. */
      readonly message: string;
      /** Indices into the scene's bodies: the pair that is not clear at start or goal, or that closes the way. */
      readonly pair?: readonly [number, number];
      readonly states: number;
    };

/** Finds routes in one scene; keeps its memory from query to query. */
export interface Router {
  find(request: RouteRequest): RouteOutcome;
}
