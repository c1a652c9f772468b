import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ContractError } from "../math/contract-error.ts";
import type { Arc } from "./log.ts";
import { buildNetwork, earlyTimes, lateTimes, longestFrom, positionsOf } from "./network.ts";

interface Job {
  readonly work: number;
  readonly after: readonly { readonly job: number; readonly lag: number }[];
}

/**
 * The textbook method, coded on its own: activity on node, finish-to-start with lags, one pass each way over the jobs by
 * recursion. ES = max(EF of predecessors + lag), LF = min(LS of successors - lag), float = LF - EF.
 */
function textbook(jobs: readonly Job[]) {
  const ef: number[] = [];
  const finish = (j: number): number => {
    ef[j] ??= Math.max(0, ...jobs[j]!.after.map((a) => finish(a.job) + a.lag)) + jobs[j]!.work;
    return ef[j]!;
  };
  jobs.forEach((_, j) => {
    finish(j);
  });
  const end = Math.max(...ef);
  const lf: number[] = [];
  const latest = (j: number): number => {
    const next = jobs.flatMap((job, k) => job.after.filter((a) => a.job === j).map((a) => ({ k, lag: a.lag })));
    lf[j] ??= Math.min(end, ...next.map(({ k, lag }) => latest(k) - jobs[k]!.work - lag));
    return lf[j]!;
  };
  jobs.forEach((_, j) => {
    latest(j);
  });
  return { end, es: ef.map((e, j) => e - jobs[j]!.work), ef, float: lf.map((l, j) => l - ef[j]!) };
}

/** The same jobs as a network, with a last activity after all of them. */
function network(jobs: readonly Job[]) {
  const { es, ef, end } = textbook(jobs);
  const activities = jobs.map((job, j) => ({ start: es[j]!, end: ef[j]!, work: job.work }));
  activities.push({ start: end, end, work: 0 });
  const arcs: Arc[] = jobs.flatMap((job, j) => [
    ...job.after.map((a) => ({ from: 2 * a.job + 1, to: 2 * j, lag: a.lag })),
    { from: 2 * j + 1, to: 2 * jobs.length, lag: 0 },
  ]);
  return { activities, arcs, built: buildNetwork(activities, arcs) };
}

describe("critical path method", () => {
  /*
   * By hand. A 3, B 2 and C 4 after A, D 5 after B, E 1 after C, F 2 after D and E (1 s after E).
   *   ES: A 0, B 3, C 3, D 5, E 7, F max(10, 8 + 1) = 10; end 12.
   *   LF: F 12, D 10, E 10 - 1 = 9, B 5, C 8, A min(3, 4) = 3. Float: E 9 - 8 = 1, C 8 - 7 = 1, others 0.
   */
  it("agrees with a case worked by hand", () => {
    const follows = (...list: [number, number?][]) => list.map(([job, lag = 0]) => ({ job, lag }));
    const jobs: Job[] = [
      { work: 3, after: [] },
      { work: 2, after: follows([0]) },
      { work: 4, after: follows([0]) },
      { work: 5, after: follows([1]) },
      { work: 1, after: follows([2]) },
      { work: 2, after: follows([3], [4, 1]) },
    ];
    const { built, activities } = network(jobs);
    const late = lateTimes(built, 2 * jobs.length + 1);
    expect(activities.slice(0, 6).map((a) => a.start)).toEqual([0, 3, 3, 5, 7, 10]);
    expect(activities.map((a, j) => late[2 * j + 1]! - a.end)).toEqual([0, 0, 1, 0, 1, 0, 0]);
  });

  const jobList = fc.integer({ min: 1, max: 30 }).chain((n) =>
    fc.tuple(
      ...Array.from({ length: n }, (_, j) =>
        fc.record({
          // Whole numbers, with many equal and many zero, so that instants coincide.
          work: fc.integer({ min: 0, max: 4 }),
          after:
            j === 0
              ? fc.constant([])
              : fc.array(fc.record({ job: fc.integer({ min: 0, max: j - 1 }), lag: fc.integer({ min: 0, max: 2 }) }), {
                  maxLength: 3,
                }),
        }),
      ),
    ),
  );

  it("agrees with the textbook method on random networks", () => {
    fc.assert(
      fc.property(jobList, (jobs) => {
        const expected = textbook(jobs);
        const { built, activities } = network(jobs);
        const early = earlyTimes(built);
        const late = lateTimes(built, 2 * jobs.length + 1);
        jobs.forEach((_, j) => {
          expect(early[2 * j + 1]).toBe(expected.ef[j]);
          expect(late[2 * j + 1]! - activities[j]!.end).toBe(expected.float[j]);
        });
      }),
      { seed: 20261125, numRuns: 500 },
    );
  });

  it("follows longest paths from one event as the forward pass does from a source", () => {
    fc.assert(
      fc.property(jobList, (jobs) => {
        const { built } = network(jobs);
        const out = new Float64Array(built.time.length);
        longestFrom(built, 0, positionsOf(built), Number.POSITIVE_INFINITY, out);
        // Brute force: all paths, by recursion over successors.
        const longest = new Map<number, number>();
        const walk = (event: number, length: number): void => {
          if ((longest.get(event) ?? -1) >= length) return;
          longest.set(event, length);
          for (let k = built.first[event]!; k < built.first[event + 1]!; k++)
            walk(built.to[k]!, length + built.lag[k]!);
        };
        walk(0, 0);
        out.forEach((length, event) => {
          expect(length).toBe(longest.get(event) ?? Number.NEGATIVE_INFINITY);
        });
      }),
      { seed: 7, numRuns: 200 },
    );
  });

  it("refuses activities that wait for each other", () => {
    const activities = [
      { start: 0, end: 0, work: 0 },
      { start: 0, end: 0, work: 0 },
    ];
    const arcs = [
      { from: 1, to: 2, lag: 0 },
      { from: 3, to: 0, lag: 0 },
    ];
    expect(() => buildNetwork(activities, arcs)).toThrow(ContractError);
  });
});
