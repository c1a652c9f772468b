/** Index k in [0, n) with table[k] <= value < table[k + 1] (ends included), by halving. */
export function intervalOf(table: Float64Array, value: number, n: number): number {
  let low = 0;
  let high = n;
  while (high - low > 1) {
    const mid = (low + high) >> 1;
    if (table[mid]! <= value) low = mid;
    else high = mid;
  }
  return low;
}
