/**
 * From any clear route to a short one: other routes are looked for where only shorter ones can be, each is tightened, and the best is
 * refined until that no longer gains.
 */
import type { Connect } from "./connect.ts";
import type { EdgeCheck } from "./edge-check.ts";
import type { Box } from "./joint-range.ts";
import type { Metric } from "./metric.ts";
import { Shorten } from "./shorten.ts";

/** Share of the work that may go into other routes. */
const ELSEWHERE = 0.4;
/** Searches without a route after which no further one is made. */
const MOST_FAILURES = 3;
/** Length, of the best, that another route must promise to be below. */
const SHORTER = 0.98;
/** Drawn states of a search for another route. */
const DRAWN = 150;
/** A refinement that leaves more than this of the length gains too little; so many in a row end the work. */
const LITTLE = 0.99;
const MOST_IDLE = 2;

export interface PolishTask {
  readonly start: Float64Array;
  readonly goals: readonly Float64Array[];
  readonly box: Box;
  readonly slack: number;
  readonly random: () => number;
  /** States looked at (`EdgeCheck.states`) at which to stop. */
  readonly last: number;
  readonly cancelled?: () => boolean;
}

export class Polish {
  private readonly check: EdgeCheck;
  private readonly metric: Metric;
  private readonly connect: Connect;
  private readonly shorten: Shorten;

  constructor(check: EdgeCheck, metric: Metric, connect: Connect) {
    this.check = check;
    this.metric = metric;
    this.connect = connect;
    this.shorten = new Shorten(check, metric);
  }

  /** A route no longer than `first`, which is used up. */
  run(first: Float64Array[], task: PolishTask): Float64Array[] {
    const { check, metric } = this;
    const { start, goals, box, slack, random, last, cancelled } = task;
    const seek = check.states + ELSEWHERE * (last - check.states);
    let best = first;
    if (check.states < last) this.tighten(best, task);
    for (let failures = 0; check.states < seek && failures < MOST_FAILURES && !cancelled?.(); ) {
      const length = metric.length(best);
      const other = this.connect.find(start, goals, box, SHORTER * length, DRAWN, last, slack, random);
      if (other === undefined) {
        failures++;
        this.refine(best, task);
        continue;
      }
      this.tighten(other, task);
      if (metric.length(other) < length) best = other;
    }
    for (let idle = 0; check.states < last && idle < MOST_IDLE && !cancelled?.(); ) {
      const length = metric.length(best);
      this.refine(best, task);
      idle = metric.length(best) > LITTLE * length ? idle + 1 : 0;
    }
    return best;
  }

  private tighten(path: Float64Array[], { box, slack, random }: PolishTask): void {
    const { shorten } = this;
    shorten.drop(path, slack);
    for (let round = 0; round < 2; round++) {
      for (let k = 0; k < 5; k++) shorten.cut(path, slack, random);
      shorten.drop(path, slack);
      shorten.nudge(path, box, slack, random, 20);
    }
  }

  private refine(path: Float64Array[], { box, slack, random }: PolishTask): void {
    const { shorten } = this;
    for (let k = 0; k < 3; k++) shorten.cut(path, slack, random);
    shorten.drop(path, slack);
    shorten.nudge(path, box, slack, random, 30);
  }
}
