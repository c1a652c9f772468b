/** Medians of repeated measurements: a few runs that were disturbed do not count. */

/** Middle value of a list that is not empty. */
export const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

/** Median time of one call over batches of calls, µs. */
export function medianTime(work: () => void, batches: number, perBatch: number): number {
  const times = Array.from({ length: batches }, () => {
    const before = performance.now();
    for (let k = 0; k < perBatch; k++) work();
    return ((performance.now() - before) * 1000) / perBatch;
  });
  return median(times);
}
