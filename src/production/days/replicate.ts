/** Several independent simulations of the same days: means with confidence intervals. */
import { ContractError } from "../../math/contract-error.ts";
import { type Oee, oeeOf } from "../oee.ts";
import { type MeanInterval, meanInterval } from "../statistics/interval.ts";
import { WEEK } from "./calendar.ts";
import type { DaysModel } from "./model.ts";
import { type DaysResult, simulateDays } from "./simulate.ts";

export interface ReplicationOptions {
  readonly days: number;
  readonly replications: number;
  readonly seed: number;
  /** Planned run time of one part in the whole cell, s: what effectiveness is measured against. */
  readonly plannedPerPart: number;
  /** Of the intervals; default 0.95. */
  readonly confidence?: number;
}

/** Figures per week unless said otherwise; times in s. */
export interface DaysFigures {
  readonly made: MeanInterval;
  readonly good: MeanInterval;
  readonly madeUnattended: MeanInterval;
  readonly producingUnattended: MeanInterval;
  readonly planned: number;
  readonly producing: MeanInterval;
  readonly stopped: readonly MeanInterval[];
  readonly changed: readonly MeanInterval[];
  readonly refilling: MeanInterval;
  readonly refills: MeanInterval;
  readonly calls: MeanInterval;
  readonly peopleBusy: MeanInterval;
  readonly oee: Oee;
  readonly oeeInterval: MeanInterval;
  readonly replications: number;
}

/** Replication k runs with the seed mixed with k. @throws ContractError */
export function replicateDays(model: DaysModel, options: ReplicationOptions): DaysFigures {
  const { days, replications, seed, plannedPerPart, confidence = 0.95 } = options;
  if (!Number.isInteger(replications) || replications < 1 || replications > 10_000)
    throw new ContractError(`replicateDays: 1 to 10000 replications are needed, got ${replications}`);
  const results = Array.from({ length: replications }, (_, k) =>
    simulateDays(model, { days, seed: Math.imul(seed | 0, 0x01000193) + k }),
  );
  const weeks = (days * 86_400) / WEEK;
  const per = (value: (r: DaysResult) => number) =>
    meanInterval(
      results.map((r) => value(r) / weeks),
      confidence,
    );
  const oeeIn = (list: readonly DaysResult[]) => {
    const sum = (value: (r: DaysResult) => number) => list.reduce((total, r) => total + value(r), 0);
    return oeeOf({
      plannedBusy: sum((r) => r.planned) as never,
      producing: sum((r) => r.producing) as never,
      planned: plannedPerPart as never,
      made: sum((r) => r.made),
      good: sum((r) => r.good),
    });
  };
  return {
    made: per((r) => r.made),
    good: per((r) => r.good),
    madeUnattended: per((r) => r.madeUnattended),
    producingUnattended: per((r) => r.producingUnattended),
    planned: per((r) => r.planned).mean,
    producing: per((r) => r.producing),
    stopped: model.stops.map((_, i) => per((r) => r.stopped[i]!)),
    changed: model.toolChanges.map((_, i) => per((r) => r.changed[i]!)),
    refilling: per((r) => r.refilling),
    refills: per((r) => r.refills),
    calls: per((r) => r.calls),
    peopleBusy: per((r) => r.peopleBusy),
    oee: oeeIn(results),
    oeeInterval: meanInterval(
      results.map((r) => oeeIn([r]).oee),
      confidence,
    ),
    replications,
  };
}
