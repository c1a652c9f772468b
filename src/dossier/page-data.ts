/** What the page of one check is made from. Plain data: no functions, so that it can cross between threads. */
import type { ClearanceScene } from "../check/clearance/scene.ts";
import type { CheckReport } from "../check/result.ts";
import type { ActivityKind } from "../cycle/types.ts";

/** A joint as the plots label it. Limits are SI and Infinity where the cell states none. */
export interface PageJoint {
  readonly name: string;
  readonly kind: "revolute" | "prismatic";
  /** rad or m. */
  readonly min: number;
  readonly max: number;
  /** rad/s or m/s. */
  readonly velocity: number;
  /** rad/s² or m/s². */
  readonly acceleration: number;
}

/** One bar of the cycle chart. Times in s from the start of the run. */
export interface PageActivity {
  readonly lane: string;
  readonly kind: ActivityKind;
  readonly label: string;
  readonly start: number;
  readonly end: number;
  /** s by which it could last longer without lengthening the run. */
  readonly slack: number;
  readonly critical: boolean;
}

/** The nominal run of one variant. */
export interface PageChart {
  readonly variant: string;
  /** In order of start. */
  readonly activities: readonly PageActivity[];
  /** From the first start to the last end, s. */
  readonly duration: number;
  /** One steady pass, s from the start of the run; undefined when the run has no repeated pass. */
  readonly pass:
    | { readonly number: number; readonly of: number; readonly from: number; readonly to: number }
    | undefined;
}

/** Joint motion over a stretch of the run, sampled. Joint i of sample k is at k·n + i. */
export interface PageSeries {
  /** s from the start of the run, not decreasing. */
  readonly time: Float64Array;
  /** rad or m. */
  readonly q: Float64Array;
  /** rad/s or m/s. */
  readonly qd: Float64Array;
  /** rad/s² or m/s². */
  readonly qdd: Float64Array;
}

/** The bodies at the moment of the least clearance of a step. */
export interface PagePicture {
  readonly step: string;
  readonly scene: ClearanceScene;
}

export interface CheckPageData {
  readonly report: CheckReport;
  /** Of the steps that picturedSteps names. */
  readonly pictures: readonly PagePicture[];
  readonly arm: string;
  readonly joints: readonly PageJoint[];
  readonly chart: PageChart | undefined;
  readonly series: PageSeries | undefined;
  /** Version of the program. */
  readonly version: string;
  /** Day of the check as text, as the caller wants it printed. */
  readonly date: string;
  /** Name of the cell file. */
  readonly file: string;
  /** Source text and style sheet of the plotting library, to be put into the page. */
  readonly plotScript: string;
  readonly plotStyle: string;
}
