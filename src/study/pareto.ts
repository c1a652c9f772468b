/** The front of layouts that none beats in every respect, and an order among them. */
import { ContractError } from "../math/contract-error.ts";

/**
 * The rows that no other row dominates, ascending. A row dominates another when it is nowhere worse and somewhere better;
 * equal rows do not dominate each other, so all of them stay.
 * @param costs rows one after the other, `width` numbers each, less is better; NaN counts as worse than any number, and as
 * equal to another NaN
 * @throws ContractError if the length is no multiple of the width
 */
export function paretoFront(costs: Float64Array, width: number): number[] {
  if (!(Number.isInteger(width) && width > 0 && costs.length % width === 0))
    throw new ContractError(`paretoFront: ${costs.length} numbers are no rows of ${width}`);
  const rows = costs.length / width;
  const cost = costs.map((value) => (Number.isNaN(value) ? Number.POSITIVE_INFINITY : value));
  // In this order only earlier rows can dominate later ones.
  const order = Array.from({ length: rows }, (_, row) => row).sort((a, b) => {
    for (let k = 0; k < width; k++) {
      const [x, y] = [cost[width * a + k]!, cost[width * b + k]!];
      if (x !== y) return x < y ? -1 : 1;
    }
    return a - b;
  });
  const front: number[] = [];
  for (const row of order) if (!front.some((better) => dominates(cost, width, better, row))) front.push(row);
  return front.sort((a, b) => a - b);
}

function dominates(cost: Float64Array, width: number, a: number, b: number): boolean {
  let better = false;
  for (let k = 0; k < width; k++) {
    const [x, y] = [cost[width * a + k]!, cost[width * b + k]!];
    if (x > y) return false;
    if (x < y) better = true;
  }
  return better;
}

/**
 * Rows of a front, the most even compromise first: by the sum over the columns of how far each is from the best of the front,
 * as a share of the way to its worst; equal sums by row. Columns that are the same everywhere, or not known, do not count.
 */
export function byCompromise(front: readonly number[], costs: Float64Array, width: number): number[] {
  const sums = new Map(front.map((row) => [row, 0]));
  for (let k = 0; k < width; k++) {
    const known = front.map((row) => costs[width * row + k]!).filter(Number.isFinite);
    const best = Math.min(...known),
      worst = Math.max(...known);
    if (!(worst > best)) continue;
    for (const row of front) {
      const cost = costs[width * row + k]!;
      sums.set(row, sums.get(row)! + (Number.isFinite(cost) ? (cost - best) / (worst - best) : 1));
    }
  }
  return [...front].sort((a, b) => sums.get(a)! - sums.get(b)! || a - b);
}
