/** Little's law. */

/** Mean number inside = rate of arrival × mean time inside; both in the same unit of time. @source Little, Operations Research 9, 1961 */
export const meanInside = (rate: number, timeInside: number): number => rate * timeInside;
