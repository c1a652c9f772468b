/** What is known of one layout. */

/** Why a layout cannot do the job, in the order in which it is found out. */
export type Verdict = "works" | "out of reach" | "line not followed" | "torque" | "collides";

export interface Figures {
  readonly verdict: Verdict;
  /** Targets of the routine that cannot be reached inside the joint limits, of `targets`. */
  readonly unreachable: number;
  readonly targets: number;
  /** Mean time per finished part over the part variants, by their share in production, s; NaN where not known. Estimate. */
  readonly cycle_s: number;
  /** Least signed distance, m; NaN where nothing is compared. Exact at each position looked at, sampled between them. */
  readonly clearance_m: number;
  /** The same of the arm's own links from everything, without that of tool and held parts from what they serve. */
  readonly armClearance_m: number;
  readonly clearancePair: readonly [string, string] | undefined;
  /** Step in which it is met. */
  readonly clearanceStep: string | undefined;
  /** Least distance of a joint from its limits over the targets, rad (m for a slide). Exact. */
  readonly jointMargin_rad: number;
  /** Least manipulability over the targets (Yoshikawa), unit mixed of m and rad. Exact. */
  readonly manipulability: number;
  /** Largest share of a joint's torque limit; NaN where masses or limits are not stated. Estimate. */
  readonly torqueShare: number;
}
